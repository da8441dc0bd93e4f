"""What a panel should weigh for its size by its plates, lacing, rings and cloth, and how many plates lie at a spot."""

import math
from dataclasses import dataclass

from server.physics.panel import (
    STEEL_KG_M3,
    PlateLattice,
    cloth_areal_density_kg_m2,
    layers_at_point,
    mail_areal_density_kg_m2,
    plate_areal_density_kg_m2,
    plated_areal_density_kg_m2,
    ring_mass_kg,
)
from server.physics.ranges import OutOfRange
from server.quantities import Uncertain, with_unit, written
from server.records.panel import CLOTHED, PLATED, SMALL_PLATED, Panel

# Common practice, no source: small plates of one panel, their overlaps and rounded corners differ by some hundredths;
# of a hundred rings three may be counted twice or not; a wire is read to a twentieth of a millimetre, which is some
# hundredths of its section; a weighed square of cloth is cut and quilted to some hundredths.
PLATES_SHARE, RINGS_SHARE, WIRE_SHARE, CLOTH_SHARE, WEIGHED_RING_SHARE = 0.04, 0.03, 0.07, 0.03, 0.01
SQUARES_IN_M2 = 100.0  # rings are counted on 100 by 100 mm
LACED = ("lamellar", "scale")
STEEL = f"taken as steel, {with_unit(f'{STEEL_KG_M3:.0f}', 'kg/m³')}"


@dataclass(frozen=True)
class Areal:
    """Mass for a square metre with its standard uncertainty, how it was found, by which method; None with the reason."""

    value: Uncertain | None
    words: str
    method: str = ""


def by_measures(panel: Panel, sheet: Uncertain | None, *, sheet_words: str) -> tuple[Areal, tuple[tuple[str, Areal], ...]]:
    """The whole, and each part by name where it has more than one; `sheet` is how thick its plates are."""
    parts = [(label, found) for label, found in _parts(panel, sheet, sheet_words) if found.words]
    wanting = next((found for _, found in parts if found.value is None), None)
    if wanting is not None or not parts:
        return wanting or Areal(None, ""), ()
    if len(parts) == 1:
        return parts[0][1], ()
    values = [found.value for _, found in parts if found.value is not None]
    whole = Uncertain(math.fsum(one.value for one in values), math.hypot(*(one.standard_uncertainty or 0.0 for one in values)))
    return Areal(whole, " and ".join(label.removeprefix("Its ") for label, _ in parts) + " together"), tuple(parts)


def _parts(panel: Panel, sheet: Uncertain | None, sheet_words: str) -> list[tuple[str, Areal]]:
    parts = []
    if panel.construction in PLATED:
        parts.append(("Its plates", _plates(panel, sheet, sheet_words)))
    if panel.construction == "mail":
        parts.append(("Its rings", _rings(panel)))
    if panel.construction == "textile" or panel.construction in CLOTHED and _has_cloth_measures(panel):
        parts.append(("Its cloth", _cloth(panel)))
    return parts


def _has_cloth_measures(panel: Panel) -> bool:
    return bool(panel.cloth_layer_kg_m2 and panel.cloth_layers)


def _plates(panel: Panel, sheet: Uncertain | None, sheet_words: str) -> Areal:
    if sheet is None:
        return Areal(None, sheet_words)
    relative = (sheet.standard_uncertainty or 0.0) / sheet.value
    if panel.construction == "plate":
        value = plate_areal_density_kg_m2(sheet.value)
        return Areal(Uncertain(value, value * relative), f"{sheet_words}, {STEEL}", "plate_areal_density_kg_m2")
    plates = lattice_of(panel)
    if isinstance(plates, str):
        return Areal(None, plates)
    laced = panel.construction in LACED and panel.lace_each_m is not None and panel.lace_mass_kg_m is not None
    lace_m, lace_kg_m = (panel.lace_each_m or 0.0, panel.lace_mass_kg_m or 0.0) if laced else (0.0, 0.0)
    value = plated_areal_density_kg_m2(plates, sheet.value, lace_m_each=lace_m, lace_kg_m=lace_kg_m)
    words = f"{sheet_words}, {STEEL}, {_with_what(panel, laced=laced)}"
    return Areal(Uncertain(value, value * math.hypot(relative, PLATES_SHARE)), words, "plated_areal_density_kg_m2")


def _with_what(panel: Panel, *, laced: bool) -> str:
    if panel.construction in LACED:
        return "with its lacing" if laced else "without lacing"
    return "without rivets" if _has_cloth_measures(panel) else "without cloth and rivets"


def _rings(panel: Panel) -> Areal:
    found = _one_ring(panel)
    if isinstance(found, str):
        return Areal(None, found)
    ring, share, words = found
    one = f"one ring weighs {words}"
    if not panel.rings_counted:
        return Areal(None, f"how many rings hang on a square decimetre was not counted; {one}")
    value = mail_areal_density_kg_m2(ring, panel.rings_counted * SQUARES_IN_M2)
    cloth = "" if _has_cloth_measures(panel) or not (panel.cloth or panel.cloth_layers) else ", without its cloth"
    counted = f"{panel.rings_counted} rings in 100 by 100\N{NO-BREAK SPACE}mm, {one}{cloth}"
    return Areal(Uncertain(value, value * math.hypot(share, RINGS_SHARE)), counted, "mail_areal_density_kg_m2")


def _one_ring(panel: Panel) -> tuple[float, float, str] | str:
    """Its mass, how far that may be off as a share, and how it was found; or why it isn't known."""
    if panel.ring_mass_kg:
        return panel.ring_mass_kg, WEIGHED_RING_SHARE, f"{written(panel.ring_mass_kg, 'g', figures=2)}, weighed"
    if not panel.ring_outer_m or not panel.ring_wire_m:
        return "what one ring weighs is not known: weigh a hundred, or measure ring and wire"
    try:
        mass = ring_mass_kg(panel.ring_outer_m, panel.ring_wire_m)
    except OutOfRange:
        return "its rings would have no hole"
    return mass, WIRE_SHARE, f"about {written(mass, 'g', figures=2)}, if it is butted and of round wire"


def _cloth(panel: Panel) -> Areal:
    if not panel.cloth_layer_kg_m2:
        return Areal(None, "what each layer of cloth weighs was not written down")
    if not panel.cloth_layers:
        return Areal(None, "how many layers of cloth it has was not written down")
    value = cloth_areal_density_kg_m2((panel.cloth_layer_kg_m2,) * panel.cloth_layers)
    words = f"{panel.cloth_layers} layers of {written(panel.cloth_layer_kg_m2, 'g/m²', figures=3)} each, on average"
    return Areal(Uncertain(value, value * CLOTH_SHARE), words, "cloth_areal_density_kg_m2")


def lattice_of(panel: Panel) -> PlateLattice | str:
    """Plates beside each other overlap by what was typed; rows lie as far apart as the panel's height makes them."""
    width, height, overlap = panel.plate_width_m, panel.plate_height_m, panel.overlap_m
    if not width or not height or overlap is None:
        return "the size of its plates and their overlap are not all written down"
    if not panel.rows or not panel.height_m:
        return "its rows and its height are not both written down"
    down = (panel.height_m - height) / (panel.rows - 1) if panel.rows > 1 else height
    try:
        return PlateLattice(width, height, width - overlap, down, panel.row_shift_m or 0.0)
    except OutOfRange:
        return "its plates, overlap, rows and height don’t fit each other"


@dataclass(frozen=True)
class LayersThere:
    """Plates at a spot: at the spot as read, and the fewest and most within a finger's error of it."""

    at: int
    fewest: int
    most: int

    @property
    def sure(self) -> bool:
        return self.fewest == self.most


def layers_there(panel: Panel, x_m: float | None, *, y_m: float | None, finger_m: float) -> LayersThere | None:
    """By the panel's measures, rows counted from its upper left corner; None where they or the place don't say.

    At the panel's own edges there are fewer plates than the rows within have, so nothing is said of them.
    """
    plates = lattice_of(panel) if panel.construction in SMALL_PLATED else ""
    if isinstance(plates, str) or x_m is None or y_m is None or not panel.width_m or not panel.height_m:
        return None
    across, down = x_m + panel.width_m / 2, panel.height_m / 2 - y_m
    edge_x, edge_y = (max(size - pitch, 0.0) + finger_m for size, pitch in ((plates.plate_width_m, plates.pitch_across_m), (plates.plate_height_m, plates.pitch_down_m)))
    if not (edge_x <= across <= panel.width_m - edge_x and edge_y <= down <= panel.height_m - edge_y):
        return None
    steps = [finger_m * step / 2 for step in (-2, -1, 0, 1, 2)]
    near = [layers_at_point(plates, across + dx, down_m=down + dy) for dx in steps for dy in steps]
    return LayersThere(layers_at_point(plates, across, down_m=down), min(near), max(near))


def layers_words(found: LayersThere | None, read: int | None) -> str:
    """ "2, or 1 to 4 within a finger's error": what the measures say beside what somebody read; empty for nothing."""
    if found is None:
        return ""
    near = "" if found.sure else f", or {found.fewest} to {found.most} within a finger’s error"
    said = f"{found.at} by plates, overlap and rows{near}"
    if read is not None and not found.fewest <= read <= found.most:
        said += ": not what was read, so look at the place or the measures"
    return said
