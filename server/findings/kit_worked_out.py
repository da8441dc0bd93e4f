"""What follows from a head's or a panel's measures: areas, edges, angles, hardness, mass for its size, layers."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.findings.hardness_found import Worked, hardness_worked_out
from server.findings.head_measures import (
    Measure,
    measures_of,
    sectional_density,
    shape_of_head,
)
from server.findings.measured import measured
from server.physics.panel import (
    STEEL_KG_M3,
    PlateLattice,
    line_of_sight_thickness_m,
    mean_layers,
    plate_areal_density_kg_m2,
    plated_areal_density_kg_m2,
    ring_mass_kg,
    weighed_beside_worked_out,
)
from server.physics.ranges import OutOfRange
from server.quantities import Uncertain, unit_for_reader, with_unit, written, written_with_uncertainty
from server.records.arrow import Head
from server.records.instrument import HardnessReading, Instrument, Reading
from server.records.panel import PLATED, SMALL_PLATED, Panel
from server.records.shot_facts import ShotFact

# Common practice, no source: a panel is weighed and its size read to a hundredth each; small plates of one panel, their
# overlaps and rounded corners differ by some hundredths, a plate's mean thickness by what its readings say.
WEIGHED_SHARE, SIZE_SHARE, PLATES_SHARE, THICKNESS_SHARE = 0.01, 0.01, 0.04, 0.02


def head_worked_out(head: Head, hardness: Sequence[HardnessReading]) -> tuple[Worked, ...]:
    """Measures of a head, each with how far it may be off and its method, or why it can't be told."""
    found = measures_of(shape_of_head(head))
    return (
        _told("Frontal area", found.frontal_area, "mm²"),
        _told("Cutting edge presented", found.edge, "mm"),
        _told("Opens at", found.wedge, "deg"),
        _told("Tip at first contact", found.tip_area, "mm²"),
        *hardness_worked_out(hardness),
    )


def mounted_worked_out(head: Head, arrow_mass: Uncertain | None) -> tuple[Worked, ...]:
    """What a head on its shaft has: the arrow's mass behind its section."""
    return (_told("Sectional density", sectional_density(shape_of_head(head), arrow_mass), "kg/m²"),)


def _told(label: str, found: Measure, unit: str) -> Worked:
    if found.value is None:
        return Worked(label, f"can’t be told: {found.words}")
    return Worked(label, f"{written_with_uncertainty(found.value, unit)}, {found.words}", found.method)


@dataclass(frozen=True)
class Areal:
    """Mass for a square metre with its standard uncertainty, how it was found, by which method; None with the reason."""

    value: Uncertain | None
    words: str
    method: str = ""


def panel_worked_out(
    panel: Panel, thickness: Sequence[Reading], *, hardness: Sequence[HardnessReading], tools: Mapping[str, Instrument]
) -> tuple[Worked, ...]:
    """Of one build: its readings of thickness and hardness with the panel's own measures."""
    mean = measured(thickness, tools).mean
    sheet, sheet_words = thickness_of(panel, mean)
    weighed, reckoned = _weighed(panel), _reckoned(panel, sheet, sheet_words)
    lines = [
        _areal("Weighed, for its size", weighed),
        _areal("By its measures", reckoned),
        *_beside(panel, weighed, reckoned),
        *_layers(panel),
    ]
    return (*(line for line in lines if line.words), *hardness_worked_out(hardness, thickness_m=sheet.value if sheet else None))


def thickness_of(panel: Panel, mean: Uncertain | None) -> tuple[Uncertain | None, str]:
    """The mean of its readings; else as sold, which a mill keeps to a few hundredths."""
    if mean is not None:
        u = mean.standard_uncertainty
        return Uncertain(mean.value, u if u is not None else mean.value * THICKNESS_SHARE), f"mean of {mean.n} readings"
    if panel.thickness_m:
        return Uncertain(panel.thickness_m, panel.thickness_m * THICKNESS_SHARE), "as sold, not measured"
    return None, "its thickness was not measured"


def _areal(label: str, found: Areal) -> Worked:
    if found.value is None:
        return Worked(label, f"can’t be told: {found.words}" if found.words else "")
    return Worked(label, f"{written_with_uncertainty(found.value, 'kg/m²')}, {found.words}", found.method)


def _area_m2(panel: Panel) -> float | None:
    if not panel.width_m or not panel.height_m:
        return None
    shares = {"rectangle": 1.0, "disc": math.pi / 4}
    return panel.width_m * panel.height_m * shares[panel.outline] if panel.outline in shares else None


def _weighed(panel: Panel) -> Areal:
    area = _area_m2(panel)
    if not panel.mass_kg:
        return Areal(None, "it was not weighed")
    if area is None:
        return Areal(None, "its width and height are not both written down" if panel.outline in ("rectangle", "disc") else "the area of its outline is not known")
    value = panel.mass_kg / area
    return Areal(Uncertain(value, value * math.hypot(WEIGHED_SHARE, SIZE_SHARE)), f"mass over {panel.outline}", "weighed_beside_worked_out")


def _reckoned(panel: Panel, sheet: Uncertain | None, sheet_words: str) -> Areal:
    if panel.construction == "mail":
        return Areal(None, f"how many rings hang on a square decimetre was not counted{_ring(panel)}")
    if panel.construction not in PLATED:
        return Areal(None, "what each layer of cloth weighs was not written down" if panel.construction == "textile" else "")
    if sheet is None:
        return Areal(None, sheet_words)
    relative = (sheet.standard_uncertainty or 0.0) / sheet.value
    steel = f"taken as steel, {with_unit(f'{STEEL_KG_M3:.0f}', 'kg/m³')}"
    if panel.construction == "plate":
        value = plate_areal_density_kg_m2(sheet.value)
        return Areal(Uncertain(value, value * relative), f"{sheet_words}, {steel}", "plate_areal_density_kg_m2")
    plates = lattice_of(panel)
    if isinstance(plates, str):
        return Areal(None, plates)
    value = plated_areal_density_kg_m2(plates, sheet.value)
    words = f"{sheet_words}, {steel}, without lacing, cloth and rivets"
    return Areal(Uncertain(value, value * math.hypot(relative, PLATES_SHARE)), words, "plated_areal_density_kg_m2")


def _ring(panel: Panel) -> str:
    if not panel.ring_outer_m or not panel.ring_wire_m:
        return ""
    try:
        return f"; one ring weighs about {written(ring_mass_kg(panel.ring_outer_m, panel.ring_wire_m), 'g', figures=2)}, if it is butted and of round wire"
    except OutOfRange:
        return "; its rings would have no hole"


def lattice_of(panel: Panel) -> PlateLattice | str:
    """Plates beside each other overlap by what was typed; rows lie as far apart as the panel's height makes them."""
    width, height, overlap = panel.plate_width_m, panel.plate_height_m, panel.overlap_m
    if not width or not height or overlap is None:
        return "the size of its plates and their overlap are not all written down"
    if not panel.rows or not panel.height_m:
        return "its rows and its height are not both written down"
    down = (panel.height_m - height) / (panel.rows - 1) if panel.rows > 1 else height
    try:
        return PlateLattice(width, height, width - overlap, down)
    except OutOfRange:
        return "its plates, overlap, rows and height don’t fit each other"


def _layers(panel: Panel) -> list[Worked]:
    plates = lattice_of(panel) if panel.construction in SMALL_PLATED else ""
    if isinstance(plates, str):
        return []
    words = f"{mean_layers(plates):.1f} on average, by plates, overlap and rows; at one spot it is a whole number"
    return [Worked("Layers of plate", words, "mean_layers")]


def _beside(panel: Panel, weighed: Areal, reckoned: Areal) -> list[Worked]:
    area = _area_m2(panel)
    if weighed.value is None or reckoned.value is None or not panel.mass_kg or area is None:
        return []
    found = weighed_beside_worked_out(
        panel.mass_kg, area, worked_out_kg_m2=reckoned.value.value, weighed_u_kg_m2=weighed.value.standard_uncertainty or 0.0,
        worked_out_u_kg_m2=reckoned.value.standard_uncertainty or 0.0,
    )  # fmt: skip
    if found.apart is None:
        return []
    more = f"{abs(found.ratio - 1) * 100:.0f}\N{NO-BREAK SPACE}% {'more' if found.ratio >= 1 else 'less'} than its measures account for"
    if abs(found.apart) <= 2:
        words = f"{more}: no more than both may be off by"
    else:
        words = f"{more}, {abs(found.apart):.0f} times what both may be off by: a measure, a layer or {'a rivet' if found.ratio >= 1 else 'a hole'} is missing"
    return [Worked("Weighed beside measures", words, "weighed_beside_worked_out")]


def in_its_way(fact: ShotFact, reader: str) -> str:
    """How much plate lay before a shot along its flight; empty where thickness or angle is not known, or it is no plate."""
    angle = fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad
    if not fact.thickness_m or angle is None or fact.construction not in PLATED:
        return ""
    layers = fact.layers or (1 if fact.construction == "plate" else None)
    if layers is None:
        return ""
    unit = unit_for_reader("thickness", reader)
    square = f"{layers} × " if layers > 1 else ""
    try:
        along = line_of_sight_thickness_m(layers * fact.thickness_m, abs(angle))
    except OutOfRange:
        return ""
    return f"{square}{written(fact.thickness_m, unit)} as sold, {written(along, unit, figures=3)} along the shot at {written(angle, 'deg')} off square"
