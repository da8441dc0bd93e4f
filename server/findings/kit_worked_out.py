"""What follows from a head's or a panel's measures: areas, edges, angles, hardness, mass for its size, layers."""

import math
from collections.abc import Mapping, Sequence

from server.findings.hardness_found import Worked, hardness_worked_out
from server.findings.head_measures import (
    Measure,
    measures_of,
    sectional_density,
    shape_of_head,
)
from server.findings.measured import measured
from server.findings.panel_measures import Areal, LayersThere, by_measures, lattice_of
from server.physics.panel import line_of_sight_thickness_m, mean_layers, weighed_beside_worked_out
from server.physics.ranges import OutOfRange
from server.quantities import Uncertain, unit_for_reader, written, written_with_uncertainty
from server.records.arrow import Head
from server.records.instrument import HardnessReading, Instrument, Reading
from server.records.panel import PLATED, SMALL_PLATED, Panel
from server.records.shot_facts import ShotFact

# Common practice, no source: a panel is weighed and its size read to a hundredth each; a plate's mean thickness differs
# by what its readings say, and as sold by some hundredths.
WEIGHED_SHARE, SIZE_SHARE, THICKNESS_SHARE = 0.01, 0.01, 0.02


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


def panel_worked_out(
    panel: Panel, thickness: Sequence[Reading], *, hardness: Sequence[HardnessReading], tools: Mapping[str, Instrument]
) -> tuple[Worked, ...]:
    """Of one build: its readings of thickness and hardness with the panel's own measures."""
    mean = measured(thickness, tools).mean
    sheet, sheet_words = thickness_of(panel, mean)
    weighed, (reckoned, parts) = _weighed(panel), by_measures(panel, sheet, sheet_words=sheet_words)
    lines = [
        _areal("Weighed, for its size", weighed),
        *(_areal(label, part) for label, part in parts),
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


def in_its_way(fact: ShotFact, reader: str, *, there: LayersThere | None = None) -> str:
    """How much plate lay before a shot along its flight; empty where thickness or angle is not known, or it is no plate.

    there   layers by the panel's measures, for a shot whose layers nobody read; taken only where a finger's error leaves one
    """
    angle = fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad
    if not fact.thickness_m or angle is None or fact.construction not in PLATED:
        return ""
    by_measure = there.at if there is not None and there.sure and there.at > 0 else None
    layers = fact.layers or (1 if fact.construction == "plate" else by_measure)
    if layers is None:
        return ""
    unit = unit_for_reader("thickness", reader)
    square = f"{layers} × " if layers > 1 else ""
    try:
        along = line_of_sight_thickness_m(layers * fact.thickness_m, abs(angle))
    except OutOfRange:
        return ""
    return f"{written(along, unit, figures=3)} along the shot: {square}{written(fact.thickness_m, unit)} as sold, at {written(angle, 'deg')} off square"
