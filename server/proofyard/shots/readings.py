"""Readings of one thing taken together: their mean, how far an instrument can be off, and where along its flight a speed was read."""

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.instrument import Instrument, Reading
from proofyard.records.speed import METHODS
from proofyard.records.speed_facts import SpeedFact
from proofyard.statistics.repeated_readings import (
    Component,
    Readings,
    accuracy_uncertainty,
    combine,
    resolution_uncertainty,
    summarise_readings,
    type_a,
    type_b,
)

# How far an instrument can be off: its stated accuracy and its smallest step, as one standard uncertainty (type B).


@dataclass(frozen=True)
class InstrumentUncertainty:
    """A standard uncertainty, and what it rests on. `own`: a reading's own, and no instrument's."""

    standard_uncertainty: float
    source: Reason
    own: bool = False


def uncertainty_of(tools: Iterable[Instrument | None], at_value: float) -> InstrumentUncertainty | None:
    """The uncertainty that the instruments of some readings share; the least sure of them speaks for all.

    None where no instrument was named, or none says how far it may be off: that is not an uncertainty of 0.
    """
    uncertainties = []
    for tool in {id(tool): tool for tool in tools}.values():  # many readings, one tool: it is as unsure for each of them
        found = _of_one(tool, at_value) if tool is not None else None
        if found is None:
            return None
        uncertainties.append(found)
    return max(uncertainties, key=lambda d: d.standard_uncertainty, default=None)


def uncertainty_of_speeds(
    readings: Iterable[SpeedFact], tools: Mapping[str, Instrument], *, at_value: float
) -> InstrumentUncertainty | None:
    """The uncertainty that some speed readings share; a reading that says its own speaks for itself, not its instrument.

    Its own is taken as shared too: distance, frame rate and air are the same from shot to shot, so this is never too
    little. None as for `uncertainty_of`.
    """
    uncertainties = []
    every = list(readings)
    # Of those that say no uncertainty of their own one a tool speaks for all.
    telling = {(one.instrument_id if one.uncertainty_m_s is None else one.reading_id): one for one in every}
    for reading in telling.values():
        found = _of_reading(reading) or uncertainty_of([tools.get(reading.instrument_id or "")], at_value)
        if found is None:
            return None
        uncertainties.append(found)
    return max(uncertainties, key=lambda d: d.standard_uncertainty, default=None)


def _of_reading(reading: SpeedFact) -> InstrumentUncertainty | None:
    if reading.uncertainty_m_s is None:
        return None
    method = METHODS.get(reading.method or "", "Other").lower()
    return InstrumentUncertainty(reading.uncertainty_m_s, because("one_readings_own", method=method), own=True)


def _of_one(tool: Instrument, at_value: float) -> InstrumentUncertainty | None:
    means = tool.accuracy_means or "limit"
    parts = []
    if tool.accuracy_ratio is not None:
        parts.append(type_b("accuracy", accuracy_uncertainty(tool.accuracy_ratio * abs(at_value), means)))
    if tool.accuracy_si is not None:
        parts.append(type_b("accuracy", accuracy_uncertainty(tool.accuracy_si, means)))
    if not parts:
        return None
    if tool.resolution_si:
        parts.append(type_b("smallest step", resolution_uncertainty(tool.resolution_si)))
    source = because(
        "instrument_says",
        tool=tool.name,
        accuracy_ratio=tool.accuracy_ratio,
        stated=tool.accuracy_si is not None,
        step=bool(tool.resolution_si),
        means_told=tool.accuracy_means is not None,
    )
    return InstrumentUncertainty(combine(*parts).standard_uncertainty, source)


# Where along its flight an arrow had the speed that was read: a mean of near readings takes none from far down range.

# Readings so close together along the flight count as one place: over 3 m an arrow loses half a percent of its speed.
ONE_PLACE_M = 3.0
# Common practice, no source: a chronograph's place is paced or taped to a quarter of a metre; one that nobody wrote
# down stands within some steps of the bow.
PLACE_EITHER_WAY_M = 0.25
UNKNOWN_PLACE_M, UNKNOWN_EITHER_WAY_M = 2.0, 2.0
OVER_THE_FLIGHT = ("frames", "sound")


def place_of(fact: SpeedFact) -> float | None:
    """From the bow; None if nobody said. A mean over the flight is the speed at half the way, to 1 in 1,000."""
    if fact.method in OVER_THE_FLIGHT:
        flown = _flown_m(fact.inputs)
        return None if flown is None else flown / 2
    return fact.stood_at_m


def _flown_m(inputs: str | None) -> float | None:
    try:
        flown = json.loads(inputs or "")["si"]["distance_m"]
    except (ValueError, KeyError, TypeError):
        return None
    return float(flown) if isinstance(flown, (int, float)) and math.isfinite(flown) and flown > 0 else None


def near_and_further(facts: Sequence[SpeedFact]) -> tuple[tuple[SpeedFact, ...], tuple[SpeedFact, ...]]:
    """Those read near the bow, those whose place nobody said among them; and those read further down range."""
    placed = [(fact, place_of(fact)) for fact in facts]
    end = min((place for _, place in placed if place is not None), default=math.inf) + ONE_PLACE_M
    near = tuple(fact for fact, place in placed if place is None or place <= end)
    return near, tuple(fact for fact, place in placed if place is not None and place > end)


def mean_place(facts: Sequence[SpeedFact]) -> Uncertain | None:
    """The middle of their places; None where nobody said any."""
    known = [place for place in map(place_of, facts) if place is not None]
    if not known:
        return None
    half_width = (max(known) - min(known)) / 2 + PLACE_EITHER_WAY_M
    return Uncertain(math.fsum(known) / len(known), half_width / math.sqrt(3), math.inf, len(known))


def unknown_place() -> Uncertain:
    return Uncertain(UNKNOWN_PLACE_M, UNKNOWN_EITHER_WAY_M / math.sqrt(3), math.inf)


# Readings of one thing taken together: mean, spread, and how well the mean is known, with what was left out beside it.

# GUM, Table E.1 (JCGM 100:2008): by how many percent a spread from so few readings is itself unsure.
SPREAD_UNSURE_PERCENT = {2: 76, 3: 52, 4: 42, 5: 36}


@dataclass(frozen=True)
class Measured:
    """What readings of one thing say.

    mean        with its standard uncertainty; that is None where the instrument's uncertainty is not known
    why_not     what keeps the uncertainty, or the mean, from being told
    """

    used: tuple[Reading, ...]
    left_out: tuple[Reading, ...]
    readings: Readings | None
    type_a: Component | None
    type_b: InstrumentUncertainty | None
    mean: Uncertain | None
    why_not: Reason | None


def measured(rows: Sequence[Reading], tools: Mapping[str, Instrument]) -> Measured:
    """Readings of one quantity of one thing. With one reading the instrument's uncertainty stands alone."""
    used = tuple(row for row in rows if row.left_out_reason is None)
    left_out = tuple(row for row in rows if row.left_out_reason is not None)
    found = summarise_readings(row.value_si for row in used)
    if isinstance(found, CantTell):
        return Measured(used, left_out, None, None, None, None, found.reason)
    uncertainty = uncertainty_of((tools.get(row.instrument_id or "") for row in used), found.mean)
    scatter = type_a(found)
    parts = [] if isinstance(scatter, CantTell) else [scatter]
    kind_a = parts[0] if parts else None
    if uncertainty is None:
        mean, why = Uncertain(found.mean, None, None, found.n), because("instrument_accuracy_not_recorded")
    else:
        total = combine(*parts, type_b(uncertainty.source, uncertainty.standard_uncertainty))
        mean, why = Uncertain(found.mean, total.standard_uncertainty, total.dof if total.dof > 0 else None, found.n), None
    return Measured(used, left_out, found, kind_a, uncertainty, mean, why)


def too_few(n: int) -> Reason | None:
    """What so few readings can't tell; None when there are enough."""
    if n == 1:
        return because("one_reading_no_scatter")
    return because("spread_unsure", readings=n, percent=SPREAD_UNSURE_PERCENT[n]) if n in SPREAD_UNSURE_PERCENT else None
