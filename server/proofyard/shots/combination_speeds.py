"""What the readings of one combination say, series by series and all together, with each source of uncertainty beside the whole."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.instrument import Instrument
from proofyard.records.listing import belonging, held, nobody_writes, one
from proofyard.records.speed import Combination, SpeedSeries
from proofyard.records.speed_facts import (
    CombinationFact,
    SpeedFact,
    combinations,
    combinations_between,
    instruments,
    like_builds,
    masses,
    masses_and_instruments,
    speeds_around,
    speeds_of_series,
    speeds_of_shots,
)
from proofyard.shots.impact import ALIKE_MASS_RATIO, CombinationSpeed, Impacts
from proofyard.shots.readings import too_few
from proofyard.statistics.repeated_readings import Component, Readings, coverage_factor, summarise_readings, type_a, type_b
from proofyard.storage import Session


@dataclass(frozen=True)
class SeriesFound:
    """One series: its readings in order, and what those that count say."""

    series: SpeedSeries
    instrument: Instrument | None
    facts: tuple[SpeedFact, ...]
    readings: Readings | None


@dataclass(frozen=True)
class CombinationFound:
    """One combination. `uncertainties`: every source of uncertainty in the mean speed; `expanded`: k u, to hold 95 in 100, with that k."""

    fact: CombinationFact
    speed: CombinationSpeed
    series: tuple[SeriesFound, ...]
    on_shots: tuple[SpeedFact, ...]
    uncertainties: tuple[Component, ...]
    expanded: tuple[float, float] | None
    few: Reason | None
    why_no_uncertainty: tuple[Reason, ...]
    pooled_with: tuple[CombinationFact, ...]
    may_pool: bool


@dataclass(frozen=True)
class CombinationLine:
    """A combination in the list of all."""

    fact: CombinationFact
    speed: CombinationSpeed


def newest_combinations(session: Session, first: int, count: int) -> list[CombinationLine]:
    """So many combinations after the `first` newest, each with its mean speed, in three statements."""
    known = combinations_between(session, first, count)
    builds = sorted({fact.arrow_build_id for fact in known.values()})
    series, own = speeds_around(session, builds)
    weighed, tools = masses_and_instruments(session, builds)
    impacts = Impacts(series=series, own=own, mass_facts=weighed, tools=tools, known=known)
    return [CombinationLine(fact, impacts.of_combination(combination_id)) for combination_id, fact in known.items()]


@dataclass(frozen=True)
class _AllRead:
    """Every combination, instrument and speed of the book: a speed may be pooled with any other's."""

    known: Mapping[str, CombinationFact]
    tools: dict[str, Instrument]
    of_series: Mapping[str, tuple[SpeedFact, ...]]
    on_shots: Mapping[str, tuple[SpeedFact, ...]]
    impacts: Impacts


def _all_read(session: Session, *, pool: bool) -> _AllRead:
    known, tools = combinations(session), instruments(session)
    in_series, on_shots = speeds_of_series(session), speeds_of_shots(session)
    impacts = Impacts(series=in_series, own=on_shots, mass_facts=masses(session), tools=tools, known=known, pool=pool)
    return _AllRead(known, tools, _by(in_series, "series_id"), _by(on_shots, "combination_id"), impacts)


def _read_of(session: Session, builds: Collection[str], *, pool: bool) -> _AllRead:
    """The same of these arrow builds."""
    series, own = speeds_around(session, builds)
    weighed, tools = masses_and_instruments(session, builds)
    known = combinations(session, builds)
    impacts = Impacts(series=series, own=own, mass_facts=weighed, tools=tools, known=known, pool=pool)
    return _AllRead(known, tools, _by(series, "series_id"), _by(own, "combination_id"), impacts)


def _by(facts: Sequence[SpeedFact], name: str) -> dict[str, tuple[SpeedFact, ...]]:
    found: dict[str, list[SpeedFact]] = {}
    for fact in facts:
        found.setdefault(getattr(fact, name), []).append(fact)
    return {key: tuple(some) for key, some in found.items()}


def combination_found(session: Session, combination_id: str, *, pool: bool = False) -> CombinationFound | None:
    """One combination in full; None if there is none of that id. Seven statements, of its own arrow and of like ones alone."""
    mine = one(session, Combination, combination_id)
    if mine is None or mine.voided_rev is not None:
        return None
    like = like_builds(session, combination_id, mass_ratio=ALIKE_MASS_RATIO * (1 + 1e-9), most=None if pool else 1)
    if nobody_writes():
        read = held(("speeds of combinations", pool), lambda: _all_read(session, pool=pool))
    else:
        read = _read_of(session, {mine.arrow_build_id, *(like if pool else ())}, pool=pool)
    speed = read.impacts.of_combination(combination_id)
    components = _components(speed)
    series = tuple(
        _series(row, read.tools, read.of_series.get(row.id, ()))
        for row in reversed(belonging(session, SpeedSeries, "combination_id", combination_id))
    )
    return CombinationFound(
        fact=read.known[combination_id],
        speed=speed,
        series=series,
        on_shots=read.on_shots.get(combination_id, ()),
        uncertainties=components,
        expanded=_expanded(speed),
        few=too_few(speed.readings.n) if speed.readings else None,
        why_no_uncertainty=_why_no_uncertainty(speed),
        pooled_with=tuple(read.known[other] for other in speed.pooled_with),
        may_pool=bool(like),
    )


def _series(series: SpeedSeries, tools: dict[str, Instrument], facts: tuple[SpeedFact, ...]) -> SeriesFound:
    kept = [f.value_m_s for f in facts if f.left_out_reason is None and f.value_m_s is not None]
    found = summarise_readings(kept)
    return SeriesFound(series, tools.get(series.instrument_id or ""), facts, None if isinstance(found, CantTell) else found)


def _components(speed: CombinationSpeed) -> tuple[Component, ...]:
    parts: list[Component] = []
    if speed.pooled:
        parts += speed.pooled.components
    elif speed.readings:
        scatter = type_a(speed.readings)
        parts += [] if isinstance(scatter, CantTell) else [scatter]
    if speed.type_b:
        parts.append(type_b(speed.type_b.source, speed.type_b.standard_uncertainty))
    return tuple(parts)


def _expanded(speed: CombinationSpeed) -> tuple[float, float] | None:
    found = speed.speed
    if found is None or found.standard_uncertainty is None or not found.dof:
        return None
    factor = coverage_factor(found.dof)
    return factor * found.standard_uncertainty, factor


def _why_no_uncertainty(speed: CombinationSpeed) -> tuple[Reason, ...]:
    """Why a figure has no uncertainty; empty where all have one, or where there is no figure."""
    said = []
    if speed.speed is not None and speed.speed.standard_uncertainty is None:
        if speed.type_b is None:
            said.append(because("speed_combined_not_known"))
        else:
            said.append(because("speed_scatter_not_known"))
    if speed.mass is not None and speed.mass.standard_uncertainty is None and speed.speed is not None:
        said.append(because("energy_not_known_of_the_scale"))
    return tuple(said)
