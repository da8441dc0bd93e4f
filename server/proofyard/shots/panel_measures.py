"""What a panel should weigh for its size by its plates, lacing, rings and cloth, and how many plates lie at a spot."""

import math
from dataclasses import dataclass

from proofyard.physics.panel import (
    STEEL_KG_M3,
    PlateLattice,
    cloth_areal_density_kg_m2,
    layers_at_point,
    line_of_sight_thickness_m,
    mail_areal_density_kg_m2,
    plate_areal_density_kg_m2,
    plated_areal_density_kg_m2,
    ring_mass_kg,
)
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import OutOfRange, Reason, because
from proofyard.records.panel import CLOTHED, PLATED, SMALL_PLATED, Panel
from proofyard.records.shot_facts import ShotFact

# Common practice, no source: small plates of one panel, their overlaps and rounded corners differ by some hundredths;
# of a hundred rings three may be counted twice or not; a wire is read to a twentieth of a millimetre, which is some
# hundredths of its section; a weighed square of cloth is cut and quilted to some hundredths.
PLATES_SHARE, RINGS_SHARE, WIRE_SHARE, CLOTH_SHARE, WEIGHED_RING_SHARE = 0.04, 0.03, 0.07, 0.03, 0.01
SQUARES_IN_M2 = 100.0  # rings are counted on 100 by 100 mm
LACED = ("lamellar", "scale")


@dataclass(frozen=True)
class Areal:
    """Mass for a square metre with its standard uncertainty, how it was found, by which method; None with the reason, if any."""

    value: Uncertain | None
    how: Reason | None
    method: str = ""


def by_measures(panel: Panel, sheet: Uncertain | None, *, sheet_how: Reason) -> tuple[Areal, tuple[tuple[str, Areal], ...]]:
    """The whole, and each part by name where it has more than one; `sheet` is how thick its plates are."""
    parts = [(label, found) for label, found in _parts(panel, sheet, sheet_how)]
    wanting = next((found for _, found in parts if found.value is None), None)
    if wanting is not None or not parts:
        return wanting or Areal(None, None), ()
    if len(parts) == 1:
        return parts[0][1], ()
    values = [found.value for _, found in parts if found.value is not None]
    whole = Uncertain(math.fsum(one.value for one in values), math.hypot(*(one.standard_uncertainty or 0.0 for one in values)))
    return Areal(whole, because("parts_together", parts=tuple(label.removeprefix("Its ") for label, _ in parts))), tuple(parts)


def _parts(panel: Panel, sheet: Uncertain | None, sheet_how: Reason) -> list[tuple[str, Areal]]:
    parts = []
    if panel.construction in PLATED:
        parts.append(("Its plates", _plates(panel, sheet, sheet_how)))
    if panel.construction == "mail":
        parts.append(("Its rings", _rings(panel)))
    if panel.construction == "textile" or panel.construction in CLOTHED and _has_cloth_measures(panel):
        parts.append(("Its cloth", _cloth(panel)))
    return parts


def _has_cloth_measures(panel: Panel) -> bool:
    return bool(panel.cloth_layer_kg_m2 and panel.cloth_layers)


def _plates(panel: Panel, sheet: Uncertain | None, sheet_how: Reason) -> Areal:
    if sheet is None:
        return Areal(None, sheet_how)
    relative = (sheet.standard_uncertainty or 0.0) / sheet.value
    if panel.construction == "plate":
        value = plate_areal_density_kg_m2(sheet.value)
        how = because("plate_of_steel", sheet=sheet_how, density_kg_m3=STEEL_KG_M3)
        return Areal(Uncertain(value, value * relative), how, "plate_areal_density_kg_m2")
    plates = lattice_of(panel)
    if isinstance(plates, Reason):
        return Areal(None, plates)
    laced = panel.construction in LACED and panel.lace_each_m is not None and panel.lace_mass_kg_m is not None
    lace_m, lace_kg_m = (panel.lace_each_m or 0.0, panel.lace_mass_kg_m or 0.0) if laced else (0.0, 0.0)
    value = plated_areal_density_kg_m2(plates, sheet.value, lace_m_each=lace_m, lace_kg_m=lace_kg_m)
    how = because("plates_of_steel", sheet=sheet_how, density_kg_m3=STEEL_KG_M3, what=_with_what(panel, laced=laced))
    return Areal(Uncertain(value, value * math.hypot(relative, PLATES_SHARE)), how, "plated_areal_density_kg_m2")


def _with_what(panel: Panel, *, laced: bool) -> Reason:
    if panel.construction in LACED:
        return because("with_its_lacing") if laced else because("without_lacing")
    return because("without_rivets") if _has_cloth_measures(panel) else because("without_cloth_and_rivets")


def _rings(panel: Panel) -> Areal:
    found = _one_ring(panel)
    if isinstance(found, Reason):
        return Areal(None, found)
    mass, share, ring = found
    if not panel.rings_counted:
        return Areal(None, because("rings_not_counted", ring=ring))
    value = mail_areal_density_kg_m2(mass, panel.rings_counted * SQUARES_IN_M2)
    bare = bool(panel.cloth or panel.cloth_layers) and not _has_cloth_measures(panel)
    how = because("rings_in_a_square", rings=panel.rings_counted, ring=ring, without_cloth=bare)
    return Areal(Uncertain(value, value * math.hypot(share, RINGS_SHARE)), how, "mail_areal_density_kg_m2")


def _one_ring(panel: Panel) -> tuple[float, float, Reason] | Reason:
    """Its mass, how far that may be off as a share, and how it was found; or why it isn't known."""
    if panel.ring_mass_kg:
        return panel.ring_mass_kg, WEIGHED_RING_SHARE, because("ring_weighed", mass_kg=panel.ring_mass_kg)
    if not panel.ring_outer_m or not panel.ring_wire_m:
        return because("ring_mass_not_known")
    try:
        mass = ring_mass_kg(panel.ring_outer_m, panel.ring_wire_m)
    except OutOfRange:
        return because("rings_without_a_hole")
    return mass, WIRE_SHARE, because("ring_by_its_wire", mass_kg=mass)


def _cloth(panel: Panel) -> Areal:
    if not panel.cloth_layer_kg_m2:
        return Areal(None, because("cloth_layer_not_weighed"))
    if not panel.cloth_layers:
        return Areal(None, because("cloth_layers_not_counted"))
    value = cloth_areal_density_kg_m2((panel.cloth_layer_kg_m2,) * panel.cloth_layers)
    how = because("cloth_of_layers", layers=panel.cloth_layers, layer_kg_m2=panel.cloth_layer_kg_m2)
    return Areal(Uncertain(value, value * CLOTH_SHARE), how, "cloth_areal_density_kg_m2")


def lattice_of(panel: Panel) -> PlateLattice | Reason:
    """Plates beside each other overlap by what was typed; rows lie as far apart as the panel's height makes them."""
    width, height, overlap = panel.plate_width_m, panel.plate_height_m, panel.overlap_m
    if not width or not height or overlap is None:
        return because("plate_sizes_not_recorded")
    if not panel.rows or not panel.height_m:
        return because("rows_not_recorded")
    down = (panel.height_m - height) / (panel.rows - 1) if panel.rows > 1 else height
    try:
        return PlateLattice(width, height, width - overlap, down, panel.row_shift_m or 0.0)
    except OutOfRange:
        return because("plates_do_not_fit")


@dataclass(frozen=True)
class LayersThere:
    """Plates at a spot: at the spot as read, and the fewest and most within the position accuracy."""

    at: int
    fewest: int
    most: int

    @property
    def sure(self) -> bool:
        return self.fewest == self.most


def layers_there(panel: Panel, x_m: float | None, *, y_m: float | None, position_accuracy_m: float) -> LayersThere | None:
    """By the panel's measures, rows counted from its upper left corner; None where they or the place don't say.

    At the panel's own edges there are fewer plates than the rows within have, so nothing is said of them.
    """
    plates = lattice_of(panel) if panel.construction in SMALL_PLATED else None
    if not isinstance(plates, PlateLattice) or x_m is None or y_m is None or not panel.width_m or not panel.height_m:
        return None
    across, down = x_m + panel.width_m / 2, panel.height_m / 2 - y_m
    edge_x, edge_y = (
        max(size - pitch, 0.0) + position_accuracy_m
        for size, pitch in ((plates.plate_width_m, plates.pitch_across_m), (plates.plate_height_m, plates.pitch_down_m))
    )
    if not (edge_x <= across <= panel.width_m - edge_x and edge_y <= down <= panel.height_m - edge_y):
        return None
    steps = [position_accuracy_m * step / 2 for step in (-2, -1, 0, 1, 2)]
    near = [layers_at_point(plates, across + dx, down_m=down + dy) for dx in steps for dy in steps]
    return LayersThere(layers_at_point(plates, across, down_m=down), min(near), max(near))


def layers_told(found: LayersThere | None, read: int | None) -> Reason | None:
    """What the measures say beside what somebody read; None for nothing."""
    if found is None:
        return None
    other = read is not None and not found.fewest <= read <= found.most
    return because("layers_by_measures", at=found.at, fewest=found.fewest, most=found.most, not_as_read=other)


def in_its_way(fact: ShotFact, *, there: LayersThere | None = None) -> Reason | None:
    """How much plate lay before a shot along its flight; None where thickness or angle is not known, or it is no plate.

    there   layers by the panel's measures, for a shot whose layers nobody read; taken only where the position accuracy leaves one
    """
    angle = fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad
    if not fact.thickness_m or angle is None or fact.construction not in PLATED:
        return None
    by_measure = there.at if there is not None and there.sure and there.at > 0 else None
    layers = fact.layers or (1 if fact.construction == "plate" else by_measure)
    if layers is None:
        return None
    try:
        along = line_of_sight_thickness_m(layers * fact.thickness_m, abs(angle))
    except OutOfRange:
        return None
    return because("thickness_along_the_shot", along_m=along, layers=layers, sheet_m=fact.thickness_m, angle_rad=angle)
