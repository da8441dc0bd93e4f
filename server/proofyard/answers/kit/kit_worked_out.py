"""What follows from a head's or a panel's measures: areas, edges, angles, hardness, mass for its size, layers."""

from collections.abc import Mapping, Sequence

from proofyard.physics.panel import PlateLattice, mean_layers, weighed_beside_worked_out
from proofyard.quantities import Uncertain, unit_for_reader, written_with_uncertainty
from proofyard.quantities.reason import because
from proofyard.records.arrow import Head
from proofyard.records.instrument import HardnessReading, Instrument, Reading
from proofyard.records.panel import SMALL_PLATED, Panel
from proofyard.shots.hardness_found import Worked, hardness_worked_out
from proofyard.shots.head_measures import Measure, measures_of, sectional_density, shape_of_head
from proofyard.shots.panel_measures import Areal, by_measures, lattice_of
from proofyard.shots.panel_weight import outline_area_m2, thickness_of, weighed_areal
from proofyard.shots.readings import measured
from proofyard.wording.reasons.said import said


def head_worked_out(head: Head, hardness: Sequence[HardnessReading], *, reader: str = "metric") -> tuple[Worked, ...]:
    """Measures of a head, each with how far it may be off and its method, or why it can't be told."""
    found = measures_of(shape_of_head(head))
    return (
        _told("Frontal area", found.frontal_area, "area", reader),
        _told("Cutting edge presented", found.edge, "length", reader),
        _told("Opens at", found.wedge, "angle", reader),
        _told("Tip at first contact", found.tip_area, "area", reader),
        *hardness_worked_out(hardness),
    )


def mounted_worked_out(head: Head, arrow_mass: Uncertain | None, *, reader: str = "metric") -> tuple[Worked, ...]:
    """What a head on its shaft has: the arrow's mass behind its section."""
    return (_told("Sectional density", sectional_density(shape_of_head(head), arrow_mass), "areal_density", reader),)


def _told(label: str, found: Measure, shown_as: str, reader: str) -> Worked:
    if found.value is None:
        return Worked(label, f"not known: {said(found.how, reader)}")
    return Worked(label, f"{_written(found.value, shown_as, reader)}, {said(found.how, reader)}", found.method)


def _written(found: Uncertain, shown_as: str, reader: str) -> str:
    return written_with_uncertainty(found, unit_for_reader(shown_as, reader))


def panel_worked_out(
    panel: Panel,
    thickness: Sequence[Reading],
    *,
    hardness: Sequence[HardnessReading],
    tools: Mapping[str, Instrument],
    reader: str = "metric",
) -> tuple[Worked, ...]:
    """Of one build: its readings of thickness and hardness with the panel's own measures."""
    mean = measured(thickness, tools).mean
    sheet, sheet_how = thickness_of(panel, mean)
    weighed, (reckoned, parts) = weighed_areal(panel), by_measures(panel, sheet, sheet_how=sheet_how)
    lines = [
        _areal("Weighed, for its size", weighed, reader),
        *(_areal(label, part, reader) for label, part in parts),
        _areal("By its measures", reckoned, reader),
        *_beside(panel, weighed, reckoned),
        *_layers(panel),
    ]
    return (*(line for line in lines if line.words), *hardness_worked_out(hardness, thickness_m=sheet.value if sheet else None))


def _areal(label: str, found: Areal, reader: str) -> Worked:
    if found.value is None:
        return Worked(label, f"not known: {said(found.how, reader)}" if found.how else "")
    return Worked(label, f"{_written(found.value, 'areal_density', reader)}, {said(found.how, reader)}", found.method)


def _layers(panel: Panel) -> list[Worked]:
    plates = lattice_of(panel) if panel.construction in SMALL_PLATED else None
    if not isinstance(plates, PlateLattice):
        return []
    return [Worked("Layers of plate", said(because("mean_layers_of_plates", layers=mean_layers(plates))), "mean_layers")]


def _beside(panel: Panel, weighed: Areal, reckoned: Areal) -> list[Worked]:
    area = outline_area_m2(panel)
    if weighed.value is None or reckoned.value is None or not panel.mass_kg or area is None:
        return []
    found = weighed_beside_worked_out(
        panel.mass_kg,
        area,
        worked_out_kg_m2=reckoned.value.value,
        weighed_u_kg_m2=weighed.value.standard_uncertainty or 0.0,
        worked_out_u_kg_m2=reckoned.value.standard_uncertainty or 0.0,
    )
    if found.apart is None:
        return []
    words = said(because("weighed_beside_measures", ratio=found.ratio, apart=found.apart))
    return [Worked("Weighed beside measures", words, "weighed_beside_worked_out")]
