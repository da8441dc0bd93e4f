"""Which measure of the heads orders their outcomes best on one panel type, the charts behind it, and what the angle does."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from types import MappingProxyType

from proofyard.answers.measures.heads import LABELS, HeadUnit, head_units, shaft_drag, unit_of
from proofyard.caveats.caveat import Caveat
from proofyard.caveats.collected import caveats_of
from proofyard.caveats.of_shots import view_of_shots
from proofyard.charts.energy_by_measure import AngleMark, MeasureMark, draw_by_angle, draw_by_measure
from proofyard.charts.figure import Figure
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from proofyard.records.instrument import HardnessReading
from proofyard.records.listing import readings_of
from proofyard.shots.loosed import Loosed, load_loosed
from proofyard.statistics.which_measure import (
    EnergiesByHead,
    MeasureFound,
    MeasuresFound,
    energies_by_common_slope,
    measures_by_concordance,
    measures_by_correlation,
)
from proofyard.storage import Storage
from proofyard.views.address import AsTyped, Query, Reading, Several
from proofyard.views.cells import CountedShot
from proofyard.views.counted import CountedView, count_shots
from proofyard.views.settings import asked_trial, wants_pool

MARGIN_POINTS, FLATTEST, STEEPEST, USUAL_MARGIN = 0.2, 4.0, 16.0, 0.025  # 5 points of share: 0.2 over the slope
MEASURES = Several(
    name="measure",
    label="Measures",
    hint="None ticked asks for all; the fewer, the fewer heads it takes.",
    choices=LABELS,
    wrong="One of these is no measure. Tick from those below.",
)


@dataclass(frozen=True)
class MeasureRow:
    """One measure: what was found of it, and its chart."""

    key: str
    words: str
    found: MeasureFound | None
    how: str
    drawing: Figure | None

    @property
    def told(self) -> Reason:
        one = self.found
        if one is None or one.strength is None:
            return because("measure_says_nothing", heads=one.heads if one else 0)
        same = tuple(LABELS[key].lower() for key in one.one_line)
        return because("measure_told", how=self.how, strength=one.strength, rises=one.rises, heads=one.heads, p=one.p, one_line=same)


@dataclass(frozen=True)
class Measures:
    """All that the page shows. `units`: the heads; `energy`: how often more energy got through with one head; `angle` None: all
    shots hit at one."""

    view: CountedView
    asked: AsTyped
    finding: Reason
    why: Reason | None
    rows: tuple[MeasureRow, ...]
    units: tuple[HeadUnit, ...]
    energy: Reason
    drag: Reason
    angle: Figure | None
    panel_type: str
    to_check: tuple[Caveat, ...]

    @property
    def results(self) -> str:
        return self.view.settings.address("/results")


def read_measures(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> Measures:
    """As an address asks for it. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query), trial_id=asked_trial(query, only_trial)).of_trial(only_trial)
        heads = {shot.fact.head_id for shot in loosed.shots if shot.fact.head_id}
        hardness: dict[str, list[HardnessReading]] = {}
        for row in readings_of(session, HardnessReading, "head", heads):
            hardness.setdefault(row.record_id, []).append(row)
        facts = caveat_facts(session, loosed.facts)
    return measures(loosed, query, hardness=hardness, facts=facts, reader=reader)


def measures(
    loosed: Loosed,
    query: Query,
    *,
    hardness: Mapping[str, Sequence[HardnessReading]] = MappingProxyType({}),
    facts: CaveatFacts = NO_FACTS,
    reader: str = "metric",
) -> Measures:
    """Of these shots, at one panel type."""
    plain = {name: values for name, values in query.items() if name not in ("axis", "rows", "row_edges")}
    view = count_shots(loosed, plain, by_form=True, one_type=True, reader=reader)
    reading = Reading(query)
    wanted = reading.many(MEASURES) or tuple(LABELS)
    settled = [one for one in view.counted_shots if one.through_low == one.through_high and one.energy is not None and one.energy.value > 0]
    units = head_units(settled, hardness)
    slope = _common_slope(units)
    found = which_explains(units, wanted, view=view, by_slope=slope)
    rows = _rows(wanted, units, found, slope=slope, reader=reader)
    about = view_of_shots(
        view.shots.counted, facts, around=loosed.shots, trials=loosed.trials, through=view.settings.through, place=view.settings.place
    )
    panel_type = view.types.get(view.settings.only.get("panel_type", ""), "")
    return Measures(
        view=view,
        asked=AsTyped(
            schema={**view.asked.schema, **reading.schema},
            typed={**view.asked.typed, **reading.typed},
            ticked={**view.asked.ticked, **reading.ticked},
            problems={**view.asked.problems, **reading.problems},
        ),
        finding=finding_of(rows, found, units=len(units), on=panel_type),
        why=found.reason if isinstance(found, CantTell) else found.refused,
        rows=rows,
        units=units,
        energy=_energy_told(units),
        drag=shaft_drag(units),
        angle=_angle(settled, view, reader=reader),
        panel_type=panel_type,
        to_check=caveats_of(about),
    )


def _common_slope(units: Sequence[HeadUnit]) -> EnergiesByHead | CantTell:
    shots = [(unit.key, one) for unit in units for one in unit.shots]
    energies = [one.energy.value for _, one in shots if one.energy is not None]
    return energies_by_common_slope(energies, [int(one.through_low) for _, one in shots], heads=[key for key, _ in shots])


def which_explains(
    units: Sequence[HeadUnit], wanted: Sequence[str], *, view: CountedView, by_slope: EnergiesByHead | CantTell
) -> MeasuresFound | CantTell:
    """Within the levels of energy where heads had like energies there, else by their 50 % energies. Outcomes don't choose."""
    if not units:
        return CantTell(because("no_shots"))
    values = {key: [unit.measures[key] for unit in units] for key in wanted}
    if energies_match(units, view, slope=None if isinstance(by_slope, CantTell) else by_slope.slope):
        through, held = _by_level(units, view)
        return measures_by_concordance(values, through=through, held=held)
    if isinstance(by_slope, CantTell):
        return by_slope
    return measures_by_correlation(values, [by_slope.log_energies[unit.key] for unit in units])


def energies_match(units: Sequence[HeadUnit], view: CountedView, *, slope: float | None) -> bool:
    """Whether all heads that met in a band had mean energies there within a margin that moves the share by five points at most."""
    margin = USUAL_MARGIN if slope is None else MARGIN_POINTS / min(max(slope, FLATTEST), STEEPEST)
    for band in view.bands:
        means = []
        for unit in units:
            energies = [one.energy.value for one in unit.shots if one.energy is not None and band.holds(one.energy.value)]
            means += [math.fsum(energies) / len(energies)] if energies else []
        if len(means) > 1 and math.log(max(means) / min(means)) > margin:
            return False
    return True


def _by_level(units: Sequence[HeadUnit], view: CountedView) -> tuple[list[list[int]], list[list[int]]]:
    """Through and held, heads by bands."""
    found: tuple[list[list[int]], list[list[int]]] = ([], [])
    for side, did in zip(found, (True, False), strict=True):
        for unit in units:
            mine = [one.energy.value for one in unit.shots if one.energy is not None and one.through_low is did]
            side.append([sum(map(band.holds, mine)) for band in view.bands])
    return found


def _rows(
    wanted: Sequence[str], units: Sequence[HeadUnit], found: MeasuresFound | CantTell, *, slope: EnergiesByHead | CantTell, reader: str
) -> tuple[MeasureRow, ...]:
    """The strongest first; each with its chart, whatever can be told of it."""
    told = {} if isinstance(found, CantTell) else {one.name: one for one in found.found}
    order = sorted(wanted, key=lambda key: list(told).index(key) if key in told else len(told))
    how = "" if isinstance(found, CantTell) else found.how
    return tuple(MeasureRow(key, LABELS[key], told.get(key), how, _chart(key, units, slope, reader=reader)) for key in order)


def _chart(key: str, units: Sequence[HeadUnit], slope: EnergiesByHead | CantTell, *, reader: str) -> Figure | None:
    """Against the heads' 50 % energies by one slope; against the share through where there is no such slope."""
    marks = []
    for number, unit in enumerate(units, start=1):
        value = unit.measures[key]
        if value is None:
            continue
        energy = None if isinstance(slope, CantTell) else math.exp(slope.log_energies[unit.key])
        always = unit.hits in (0, len(unit.shots))
        marks.append(MeasureMark(number, unit.words, value, energy, unit.hits, len(unit.shots), always))
    if len(marks) < 2:
        return None
    return draw_by_measure(LABELS[key], marks, measure_unit=unit_of(key, reader), energy_unit=unit_for_reader("energy", reader))


def _energy_told(units: Sequence[HeadUnit]) -> Reason:
    """Energy itself, within one head: of two shots with different outcomes, how often that with more energy got through."""
    more = pairs = 0
    for unit in units:
        sides = [[one.energy.value for one in unit.shots if one.energy is not None and one.through_low is did] for did in (True, False)]
        for through, held in product(*sides):
            pairs += through != held
            more += through > held
    return because("energy_orders", more=more, pairs=pairs)


def _angle(shots: Sequence[CountedShot], view: CountedView, *, reader: str) -> Figure | None:
    """Every shot by its angle from square and its energy; nothing where all had one angle."""
    marks = []
    for one in shots:
        fact = one.shot.fact
        angle = fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad
        if angle is not None and one.energy is not None:
            marks.append(AngleMark(fact.label, f"/shots/{fact.shot_id}", abs(angle), one.energy.value, one.through_low))
    if len({round(one.angle_rad, 4) for one in marks}) < 2:
        return None
    return draw_by_angle(marks, unit=view.unit)


def finding_of(rows: Sequence[MeasureRow], found: MeasuresFound | CantTell, *, units: int, on: str) -> Reason:
    """The measure that orders the heads best where luck seldom does as well; else that none is shown, or why none can be."""
    if isinstance(found, CantTell):
        return because("measures_not_told", why=found.reason)
    if found.refused is not None:
        return because("measures_not_told", why=found.refused)
    shown = [row for row in rows if row.found is not None and row.found.p is not None and row.found.p <= 0.05]
    if not shown:
        return because("no_measure_shown", heads=units, on=on)
    best = shown[0]
    assert best.found is not None
    one = best.found
    same = tuple(LABELS[key].lower() for key in one.one_line)
    return because("measure_shown", measure=best.words, on=on, rises=one.rises, heads=one.heads, p=one.p, one_line=same)
