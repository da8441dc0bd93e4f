"""Twelve invented specimens: plate of two thicknesses, mail over linen, laced scale, each with aim spots."""

from dataclasses import dataclass, field

from .writer import Writer

COLUMNS_MM, ROWS_MM = (-110, 0, 110), (150, 50, -50, -150)


@dataclass
class DemoPanel:
    name: str
    panel: str
    build: str
    construction: str
    thickness_mm: float | None
    number: int = 1
    spots: list[tuple[str, float, float]] = field(default_factory=list)
    hits: list[tuple[float, float]] = field(default_factory=list)
    used: int = 0


def make_panels(w: Writer, caliper: str) -> dict[str, DemoPanel]:
    panels = {}
    for name, thickness in [(f"P{n}", 1.2) for n in range(1, 5)] + [(f"P{n}", 1.6) for n in range(5, 9)]:
        panels[name] = _panel(
            w,
            name,
            "plate",
            thickness,
            outline="breastplate" if name in ("P2", "P6") else "rectangle",
            thickness=f"{thickness} mm",
            material="mild steel sheet",
            mass="1,42 kg" if thickness == 1.2 else "1.90 kg",  # 360 by 420 mm of steel at 7,850 kg/m³
        )
        for place in ("upper left", "middle", "lower right"):
            read = thickness + w.rng.uniform(-0.04, 0.03)
            w.put(
                "reading",
                {
                    "noun": "panel_build",
                    "record": panels[name].build,
                    "measured": "thickness",
                    "value": f"{read:.2f} mm",
                    "instrument": caliper,
                    "place": place,
                    "at": w.now,
                },
            )
        w.put(
            "hardness_reading",
            {
                "noun": "panel_build",
                "record": panels[name].build,
                "value": f"{w.rng.randint(108, 124)} HV",
                "place": "back, lower corner",
                "at": w.now,
            },
        )
    for name in ("M1", "M2"):
        panels[name] = _panel(
            w,
            name,
            "mail",
            None,
            outline="rectangle",
            material="iron rings over quilted linen",
            mass="2.3 kg",
            ring_outer="9.5 mm",
            ring_wire="1.4 mm",
            ring_joint="riveted",
            ring_pattern="four in one",
            ring_mass="0.34 g",
            rings_counted="330",
            cloth="linen, quilted",
            cloth_layers="16",
            cloth_layer="240 g/m²",
            quilting="25 mm",
        )
    for name in ("K1", "K2"):
        panels[name] = _panel(
            w,
            name,
            "scale",
            None,
            outline="rectangle",
            material="mild steel scales on leather",
            mass="3.1 kg",
            thickness="1 mm",
            plate_width="45 mm",
            plate_height="70 mm",
            overlap="20 mm",
            rows="9",
            row_shift="12.5 mm",
            lacing="hemp cord",
            lace_hole="4 mm",
        )
    return panels


def _panel(w: Writer, name: str, construction: str, thickness_mm: float | None, **particulars: str) -> DemoPanel:
    body = {
        "name": name,
        "construction": construction,
        "width": "360 mm",
        "height": "420 mm",
        "maker": "the Orrisholt forge (invented)",
        **particulars,
    }
    panel = w.put("panel", body)
    made = DemoPanel(name, panel, "", construction, thickness_mm)
    rebuild(w, made, "first")
    return made


def rebuild(w: Writer, panel: DemoPanel, work: str, note: str | None = None) -> None:
    """A first or a further build, with its aim spots; earlier hits belong to the build before."""
    panel.number = 1 if work == "first" else panel.number + 1
    panel.build = w.put("panel_build", {"panel": panel.panel, "number": str(panel.number), "work": work, "note": note})
    panel.spots, panel.hits, panel.used = [], [], 0
    for row, y in enumerate(ROWS_MM):
        for column, x in enumerate(COLUMNS_MM):
            name = str(row * len(COLUMNS_MM) + column + 1)  # a letter and a number would be a shot
            spot = w.put(
                "panel_area", {"panel_build": panel.build, "sort": "aim", "name": name, "x": f"{x} mm", "y": f"{y} mm", "reach": "10 mm"}
            )
            panel.spots.append((spot, x / 1000, y / 1000))
    if panel.construction == "plate":
        w.put(
            "panel_area",
            {"panel_build": panel.build, "sort": "ridge", "x": "0 mm", "y": "195 mm", "to_x": "0 mm", "to_y": "-195 mm", "reach": "4 mm"},
        )
