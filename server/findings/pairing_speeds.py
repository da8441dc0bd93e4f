"""What the readings of one pairing say, series by series and all together, with each cause of doubt beside the whole."""

from dataclasses import dataclass

from server.findings.impact import Impacts, PairingSpeed
from server.findings.measured import few_words
from server.records.instrument import Instrument
from server.records.listing import belonging
from server.records.speed import SpeedSeries
from server.records.speed_facts import (
    PairingFact,
    SpeedFact,
    instruments,
    masses,
    pairings,
    speeds_of_series,
    speeds_of_shots,
)
from server.statistics.refusals import CantTell
from server.statistics.repeated_readings import Component, Readings, coverage_factor, summarise_readings, type_a, type_b
from server.storage import Session


@dataclass(frozen=True)
class SeriesFound:
    """One series: its readings in order, and what those that count say."""

    series: SpeedSeries
    instrument: Instrument | None
    facts: tuple[SpeedFact, ...]
    readings: Readings | None


@dataclass(frozen=True)
class PairingFound:
    """One pairing. `doubts`: every cause of doubt in the mean speed; `expanded`: k u, to hold 95 in 100, with that k."""

    fact: PairingFact
    speed: PairingSpeed
    series: tuple[SeriesFound, ...]
    on_shots: tuple[SpeedFact, ...]
    doubts: tuple[Component, ...]
    expanded: tuple[float, float] | None
    few: str
    why_no_doubt: tuple[str, ...]
    pooled_with: tuple[PairingFact, ...]
    may_pool_with: int


@dataclass(frozen=True)
class PairingLine:
    """A pairing in the list of all."""

    fact: PairingFact
    speed: PairingSpeed


def all_pairings(session: Session) -> list[PairingLine]:
    """Every pairing with its mean speed, newest first, in five statements."""
    known = pairings(session)
    impacts = Impacts(
        series=speeds_of_series(session), own=speeds_of_shots(session), mass_facts=masses(session),
        tools=instruments(session), known=known,
    )  # fmt: skip
    return [PairingLine(fact, impacts.of_pairing(pairing_id)) for pairing_id, fact in known.items()]


def pairing_found(session: Session, pairing_id: str, *, pool: bool = False) -> PairingFound | None:
    """One pairing in full; None if there is none of that id. Six statements."""
    known, tools = pairings(session), instruments(session)
    if pairing_id not in known:
        return None
    in_series, on_shots = speeds_of_series(session), speeds_of_shots(session)
    impacts = Impacts(series=in_series, own=on_shots, mass_facts=masses(session), tools=tools, known=known, pool=pool)
    speed = impacts.of_pairing(pairing_id)
    doubts = _doubts(speed)
    series = tuple(
        _series(one, tools, tuple(f for f in in_series if f.series_id == one.id))
        for one in reversed(belonging(session, SpeedSeries, "pairing_id", pairing_id))
    )
    return PairingFound(
        fact=known[pairing_id], speed=speed, series=series, on_shots=tuple(f for f in on_shots if f.pairing_id == pairing_id),
        doubts=doubts, expanded=_expanded(speed), few=few_words(speed.readings.n) if speed.readings else "",
        why_no_doubt=_why_no_doubt(speed), pooled_with=tuple(known[one] for one in speed.pooled_with),
        may_pool_with=len(impacts.like_pairings(pairing_id)),
    )  # fmt: skip


def _series(series: SpeedSeries, tools: dict[str, Instrument], facts: tuple[SpeedFact, ...]) -> SeriesFound:
    kept = [f.value_m_s for f in facts if f.left_out_reason is None and f.value_m_s is not None]
    found = summarise_readings(kept)
    return SeriesFound(series, tools.get(series.instrument_id or ""), facts, None if isinstance(found, CantTell) else found)


def _doubts(speed: PairingSpeed) -> tuple[Component, ...]:
    parts: list[Component] = []
    if speed.pooled:
        parts += speed.pooled.components
    elif speed.readings:
        scatter = type_a(speed.readings)
        parts += [] if isinstance(scatter, CantTell) else [scatter]
    if speed.type_b:
        parts.append(type_b(speed.type_b.words, speed.type_b.standard_uncertainty))
    return tuple(parts)


def _expanded(speed: PairingSpeed) -> tuple[float, float] | None:
    found = speed.speed
    if found is None or found.standard_uncertainty is None or not found.dof:
        return None
    factor = coverage_factor(found.dof)
    return factor * found.standard_uncertainty, factor


def _why_no_doubt(speed: PairingSpeed) -> tuple[str, ...]:
    """Why a figure has no uncertainty; empty where all have one, or where there is no figure."""
    said = []
    if speed.speed is not None and speed.speed.standard_uncertainty is None:
        if speed.type_b is None:
            said.append("The speed’s combined uncertainty can’t be told: how far the chronograph may be off is not written down.")
        else:
            said.append("The speed’s uncertainty can’t be told: one reading tells nothing about scatter.")
    if speed.mass is not None and speed.mass.standard_uncertainty is None and speed.speed is not None:
        said.append("Energy and momentum have no uncertainty here: how far the scale may be off is not written down.")
    return tuple(said)
