"""Every speed and every mass that was read, left out or not, in a few statements: what energies are worked out from."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select
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


def speeds_of_series(session: Session, pairing_ids: Iterable[str] | None = None) -> list[SpeedFact]:
    """Readings taken in series, in the order they were taken."""
    query = (
        select(SpeedReading, SpeedSeries)
        .join(SpeedSeries, SpeedSeries.id == SpeedReading.series_id)
        .where(SpeedReading.struck_rev.is_(None), SpeedSeries.struck_rev.is_(None))
        .order_by(SpeedSeries.id, SpeedReading.place, SpeedReading.id)
    )
    if pairing_ids is not None:
        query = query.where(SpeedSeries.pairing_id.in_(list(pairing_ids)))
    return [
        SpeedFact(
            reading_id=r.id, pairing_id=s.pairing_id, shot_id=None, series_id=s.id, session_id=s.session_id, day=s.day,
            place=r.place, value_m_s=r.value_m_s, method=r.method, left_out_reason=r.left_out_reason,
            instrument_id=s.instrument_id, stood_at_m=s.stood_at_m, air_temperature_k=s.air_temperature_k,
            uncertainty_m_s=r.uncertainty_m_s, inputs=r.inputs,
        )
        for r, s in session.execute(query)
    ]


def speeds_of_shots(session: Session, shot_ids: Iterable[str] | None = None) -> list[SpeedFact]:
    """Speeds read on shots themselves; the chronograph and its place are the set-up's. Struck shots are left out."""
    three = (
        (Pairing.bow_build_id == Shot.bow_build_id)
        & (Pairing.arrow_build_id == Shot.arrow_build_id)
        & (Pairing.archer_id == Shot.archer_id)
    )
    query = (
        select(SpeedReading, Pairing.id, Setup, Shot.short_draw)
        .join(Shot, Shot.id == SpeedReading.shot_id)
        .join(Pairing, three)
        .join(Walk, Walk.id == Shot.walk_id)
        .join(Setup, Setup.id == Walk.setup_id)
        .where(SpeedReading.struck_rev.is_(None), Shot.struck_rev.is_(None))
        .order_by(SpeedReading.id)
    )
    if shot_ids is not None:
        query = query.where(SpeedReading.shot_id.in_(list(shot_ids)))
    return [
        SpeedFact(
            reading_id=r.id, pairing_id=pairing_id, shot_id=r.shot_id, series_id=None, session_id=setup.session_id, day=None,
            place=r.place, value_m_s=r.value_m_s, method=r.method, left_out_reason=r.left_out_reason,
            instrument_id=setup.chronograph_id, stood_at_m=setup.chronograph_at_m, air_temperature_k=None,
            short_draw=bool(short_draw), uncertainty_m_s=r.uncertainty_m_s, inputs=r.inputs,
        )
        for r, pairing_id, setup, short_draw in session.execute(query)
    ]


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


def masses(session: Session, arrow_build_ids: Iterable[str] | None = None) -> list[MassFact]:
    """Mass readings of arrow builds, in the order they were taken."""
    query = (
        select(Reading)
        .where(Reading.noun == "arrow_build", Reading.measured == "mass", Reading.struck_rev.is_(None))
        .order_by(Reading.id)
    )
    if arrow_build_ids is not None:
        query = query.where(Reading.record_id.in_(list(arrow_build_ids)))
    return [
        MassFact(r.id, r.record_id, r.value_si, r.instrument_id, r.left_out_reason)
        for r in session.execute(query).scalars()
    ]


def instruments(session: Session) -> dict[str, Instrument]:
    """Every instrument by its id, retired and struck ones too: old readings were taken with them."""
    return {one.id: one for one in session.execute(select(Instrument)).scalars()}
