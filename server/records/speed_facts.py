"""Every speed and every mass that was read, left out or not, in a few statements: what energies are worked out from."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import and_, null, select, union
from sqlmodel import Session

from server.records.archer import Archer
from server.records.arrow import Arrow, ArrowBuild, Head
from server.records.bow import Bow, BowBuild
from server.records.instrument import Instrument, Reading
from server.records.shot import Shot
from server.records.speed import Pairing, SpeedReading, SpeedSeries
from server.records.trial import Setup, Walk


@dataclass(frozen=True)
class SpeedFact:
    """One speed reading. Of a shot: `shot_id` and the set-up's chronograph; of a series: `series_id` and its own."""

    reading_id: str
    pairing_id: str
    shot_id: str | None
    series_id: str | None
    session_id: str | None
    day: str | None
    place: int | None
    value_m_s: float | None
    method: str | None
    left_out_reason: str | None
    instrument_id: str | None
    stood_at_m: float | None
    air_temperature_k: float | None
    short_draw: bool = False
    uncertainty_m_s: float | None = None
    inputs: str | None = None


@dataclass(frozen=True)
class PairingFact:
    """A bow build, an arrow build and an archer, with what tells them apart in words."""

    pairing_id: str
    bow_build_id: str
    bow_build_number: int
    bow_id: str
    bow_name: str
    marked_weight_n: float | None
    arrow_build_id: str
    arrow_build_number: int
    arrow_id: str
    arrow_tag: str
    fletching: str | None
    head_name: str | None
    form: str | None
    archer_id: str
    archer: str


@dataclass(frozen=True)
class MassFact:
    """One reading of an arrow build's mass."""

    reading_id: str
    arrow_build_id: str
    value_kg: float
    instrument_id: str | None
    left_out_reason: str | None


_WEIGHED = (Reading.noun == "arrow_build", Reading.measured == "mass", Reading.struck_rev.is_(None))


def speeds_of_series(session: Session, pairing_ids: Iterable[str] | None = None) -> list[SpeedFact]:
    """Readings taken in series, in the order they were taken."""
    wanted = SpeedSeries.pairing_id.in_(list(pairing_ids)) if pairing_ids is not None else SpeedSeries.id.is_not(None)
    return all_speeds(session, wanted)[0]


def speeds_of_shots(session: Session, shot_ids: Iterable[str] | None = None) -> list[SpeedFact]:
    """Speeds read on shots themselves; the chronograph and its place are the set-up's. Struck shots are left out."""
    wanted = SpeedReading.shot_id.in_(list(shot_ids)) if shot_ids is not None else SpeedReading.shot_id.is_not(None)
    return all_speeds(session, wanted)[1]


def all_speeds(session: Session, *wanted: Any) -> tuple[list[SpeedFact], list[SpeedFact]]:
    """Those of series and those of shots, in one statement; struck readings, series and shots are left out."""
    three = (
        (Pairing.bow_build_id == Shot.bow_build_id)
        & (Pairing.arrow_build_id == Shot.arrow_build_id)
        & (Pairing.archer_id == Shot.archer_id)
    )
    query = (
        select(SpeedReading, SpeedSeries, Pairing.id, Setup, Shot.short_draw)
        .join(SpeedSeries, SpeedSeries.id == SpeedReading.series_id, isouter=True)
        .join(Shot, Shot.id == SpeedReading.shot_id, isouter=True)
        .join(Pairing, three, isouter=True)
        .join(Walk, Walk.id == Shot.walk_id, isouter=True)
        .join(Setup, Setup.id == Walk.setup_id, isouter=True)
        .where(SpeedReading.struck_rev.is_(None), SpeedSeries.struck_rev.is_(None), Shot.struck_rev.is_(None), *wanted)
        .order_by(SpeedSeries.id, SpeedReading.place, SpeedReading.id)
    )
    series, own = [], []
    for reading, one, pairing_id, setup, short_draw in session.execute(query):
        if one is not None:
            series.append(_fact(reading, one.pairing_id, one.session_id, one.instrument_id, one.stood_at_m, one.day, one.air_temperature_k))
        elif setup is not None:
            fact = _fact(reading, pairing_id, setup.session_id, setup.chronograph_id, setup.chronograph_at_m, None, None)
            own.append(replace(fact, short_draw=bool(short_draw)))
    return series, sorted(own, key=lambda fact: fact.reading_id)


def _fact(
    reading: SpeedReading, pairing_id: str, session_id: str | None, instrument_id: str | None, stood_at_m: float | None,
    day: str | None, air_temperature_k: float | None,
) -> SpeedFact:
    return SpeedFact(
        reading_id=reading.id, pairing_id=pairing_id, shot_id=reading.shot_id, series_id=reading.series_id,
        session_id=session_id, day=day, place=reading.place, value_m_s=reading.value_m_s, method=reading.method,
        left_out_reason=reading.left_out_reason, instrument_id=instrument_id, stood_at_m=stood_at_m,
        air_temperature_k=air_temperature_k, uncertainty_m_s=reading.uncertainty_m_s, inputs=reading.inputs,
    )  # fmt: skip


def pairings(session: Session) -> dict[str, PairingFact]:
    """Every pairing by its id, newest first."""
    query = (
        select(
            Pairing.id, BowBuild.id, BowBuild.number, Bow.id, Bow.name, Bow.marked_weight_n, ArrowBuild.id, ArrowBuild.number,
            Arrow.id, Arrow.tag, Arrow.fletching, Head.name, Head.form, Archer.id, Archer.call_name,
        )
        .join(BowBuild, BowBuild.id == Pairing.bow_build_id)
        .join(Bow, Bow.id == BowBuild.bow_id)
        .join(ArrowBuild, ArrowBuild.id == Pairing.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Archer, Archer.id == Pairing.archer_id)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .where(Pairing.struck_rev.is_(None))
        .order_by(Pairing.id.desc())
    )
    return {row[0]: PairingFact(*row) for row in session.execute(query)}


def masses_and_instruments(session: Session) -> tuple[list[MassFact], dict[str, Instrument]]:
    """`masses` and `instruments` of the whole book in one statement: most pages ask for both."""
    tool = union(select(Instrument.id), select(null())).subquery()
    weighed = and_(Reading.instrument_id.is_not_distinct_from(tool.c.id), *_WEIGHED)
    query = (
        select(Instrument, Reading)
        .select_from(tool)
        .join(Instrument, Instrument.id == tool.c.id, isouter=True)
        .join(Reading, weighed, isouter=True)
        .order_by(Reading.id)
    )
    found, tools = [], {}
    for instrument, reading in session.execute(query):
        if reading is not None:
            found.append(_mass(reading))
        if instrument is not None:
            tools[instrument.id] = instrument
    return found, tools


def masses(session: Session, arrow_build_ids: Iterable[str] | None = None) -> list[MassFact]:
    """Mass readings of arrow builds, in the order they were taken."""
    query = select(Reading).where(*_WEIGHED).order_by(Reading.id)
    if arrow_build_ids is not None:
        query = query.where(Reading.record_id.in_(list(arrow_build_ids)))
    return [_mass(one) for one in session.execute(query).scalars()]


def _mass(one: Reading) -> MassFact:
    return MassFact(one.id, one.record_id, one.value_si, one.instrument_id, one.left_out_reason)


def instruments(session: Session) -> dict[str, Instrument]:
    """Every instrument by its id, retired and struck ones too: old readings were taken with them."""
    return {one.id: one for one in session.execute(select(Instrument)).scalars()}
