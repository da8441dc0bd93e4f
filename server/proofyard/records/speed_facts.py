"""Every speed and every mass that was read, left out or not, in a few statements: what energies are worked out from."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Select, and_, func, null, select, true, union, union_all
from sqlalchemy.orm import aliased
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.bow import Bow, BowBuild, BowCheck
from proofyard.records.instrument import Instrument, Reading
from proofyard.records.listing import held
from proofyard.records.shot import Shot
from proofyard.records.speed import Combination, SpeedReading, SpeedSeries
from proofyard.records.trial import Setup, ShootingEnd


@dataclass(frozen=True)
class SpeedFact:
    """One speed reading. Of a shot: `shot_id` and the set-up's chronograph; of a series: `series_id` and its own."""

    reading_id: str
    combination_id: str
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
class CombinationFact:
    """A bow build, an arrow build and an archer, with what tells them apart in words."""

    combination_id: str
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


_WEIGHED = (Reading.noun == "arrow_build", Reading.measured == "mass", Reading.voided_rev.is_(None))


def speeds_of_series(session: Session, combination_ids: Iterable[str] | None = None) -> list[SpeedFact]:
    """Readings taken in series, in the order they were taken."""
    wanted = SpeedSeries.combination_id.in_(list(combination_ids)) if combination_ids is not None else SpeedSeries.id.is_not(None)
    return all_speeds(session, wanted)[0]


def speeds_of_shots(session: Session, shot_ids: Iterable[str] | None = None) -> list[SpeedFact]:
    """Speeds read on shots themselves; the chronograph and its place are the set-up's. Crossed-out shots are left out."""
    wanted = SpeedReading.shot_id.in_(list(shot_ids)) if shot_ids is not None else SpeedReading.shot_id.is_not(None)
    return all_speeds(session, wanted)[1]


def speeds_around(session: Session, arrow_build_ids: Iterable[str]) -> tuple[list[SpeedFact], list[SpeedFact]]:
    """All that was ever read of these arrow builds, with any bow and archer: their figures rest on nothing else.

    Found from the arrows' own combinations and shots, so that it takes as long in a big book as in a small one.
    """
    builds = list(arrow_build_ids)
    in_series = (
        select(SpeedReading.id)
        .join(SpeedSeries, SpeedSeries.id == SpeedReading.series_id)
        .join(Combination, Combination.id == SpeedSeries.combination_id)
        .where(Combination.arrow_build_id.in_(builds))
    )
    on_shots = select(SpeedReading.id).join(Shot, Shot.id == SpeedReading.shot_id).where(Shot.arrow_build_id.in_(builds))
    return all_speeds(session, SpeedReading.id.in_(union_all(in_series, on_shots)))


def all_speeds(session: Session, *wanted: Any) -> tuple[list[SpeedFact], list[SpeedFact]]:
    """Those of series and those of shots, in one statement; crossed-out readings, series and shots are left out."""
    return _speeds_read(session, *wanted) if wanted else held("all speeds", lambda: _speeds_read(session))


def _speeds_read(session: Session, *wanted: Any) -> tuple[list[SpeedFact], list[SpeedFact]]:
    three = (
        (Combination.bow_build_id == Shot.bow_build_id)
        & (Combination.arrow_build_id == Shot.arrow_build_id)
        & (Combination.archer_id == Shot.archer_id)
    )
    query = (
        select(SpeedReading, SpeedSeries, Combination.id, Setup, Shot.short_draw)
        .join(SpeedSeries, SpeedSeries.id == SpeedReading.series_id, isouter=True)
        .join(Shot, Shot.id == SpeedReading.shot_id, isouter=True)
        .join(Combination, three, isouter=True)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id, isouter=True)
        .join(Setup, Setup.id == ShootingEnd.setup_id, isouter=True)
        .where(SpeedReading.voided_rev.is_(None), SpeedSeries.voided_rev.is_(None), Shot.voided_rev.is_(None), *wanted)
        .order_by(SpeedSeries.id, SpeedReading.place, SpeedReading.id)
    )
    series, own = [], []
    for reading, one, combination_id, setup, short_draw in session.execute(query):
        if one is not None:
            series.append(
                _fact(reading, one.combination_id, one.session_id, one.instrument_id, one.stood_at_m, one.day, one.air_temperature_k)
            )
        elif setup is not None:
            fact = _fact(reading, combination_id, setup.session_id, setup.chronograph_id, setup.chronograph_at_m, None, None)
            own.append(replace(fact, short_draw=bool(short_draw)))
    return series, sorted(own, key=lambda fact: fact.reading_id)


def _fact(
    reading: SpeedReading,
    combination_id: str,
    session_id: str | None,
    instrument_id: str | None,
    stood_at_m: float | None,
    day: str | None,
    air_temperature_k: float | None,
) -> SpeedFact:
    return SpeedFact(
        reading_id=reading.id,
        combination_id=combination_id,
        shot_id=reading.shot_id,
        series_id=reading.series_id,
        session_id=session_id,
        day=day,
        place=reading.place,
        value_m_s=reading.value_m_s,
        method=reading.method,
        left_out_reason=reading.left_out_reason,
        instrument_id=instrument_id,
        stood_at_m=stood_at_m,
        air_temperature_k=air_temperature_k,
        uncertainty_m_s=reading.uncertainty_m_s,
        inputs=reading.inputs,
    )


def combinations(session: Session, arrow_build_ids: Iterable[str] | None = None) -> dict[str, CombinationFact]:
    """Every combination, or every one of these arrow builds, by its id, newest first."""
    return _combinations(session, arrow_build_ids) if arrow_build_ids is not None else held("combinations", lambda: _combinations(session))


def like_builds(session: Session, combination_id: str, *, mass_ratio: float, most: int | None = None) -> set[str]:
    """The arrow builds of other combinations of the same bow build, archer and fletching whose arrows weigh alike. One statement.

    mass_ratio  how far from the first's mean mass another's may be, as a share of it
    most        look no further once so many are found
    """
    me, my_build, my_arrow = aliased(Combination), aliased(ArrowBuild), aliased(Arrow)
    mass = func.avg(Reading.value_si)
    own, theirs = (
        select(mass).where(Reading.record_id == build.id, Reading.left_out_reason.is_(None), *_WEIGHED).correlate(build).scalar_subquery()
        for build in (my_build, ArrowBuild)
    )
    mine = (
        select(me.id, me.bow_build_id, me.archer_id, my_arrow.fletching, own.label("mass"))
        .join(my_build, my_build.id == me.arrow_build_id)
        .join(my_arrow, my_arrow.id == my_build.arrow_id)
        .where(me.id == combination_id)
        .subquery()
    )
    alike = and_(
        Combination.bow_build_id == mine.c.bow_build_id,
        Combination.archer_id == mine.c.archer_id,
        Arrow.fletching.is_not_distinct_from(mine.c.fletching),
        Combination.voided_rev.is_(None),
        Combination.id != mine.c.id,
        func.abs(theirs - mine.c.mass) <= mass_ratio * mine.c.mass,
    )
    query = (
        select(Combination.arrow_build_id)
        .select_from(mine)
        .join(Combination, true())
        .join(ArrowBuild, ArrowBuild.id == Combination.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .where(alike)
        .limit(most)
    )
    return set(session.execute(query).scalars())


def combinations_between(session: Session, first: int, count: int) -> dict[str, CombinationFact]:
    """So many combinations by their id, newest first, after the `first` newest."""
    return _combinations(session, None, lambda query: query.limit(count).offset(first))


def combinations_of_bow(session: Session, bow_build_id: str, *, archer_id: str | None = None, most: int) -> dict[str, CombinationFact]:
    """The newest combinations of one bow build, of all archers or one, at most so many, by their id."""
    wanted = [Combination.bow_build_id == bow_build_id, *([Combination.archer_id == archer_id] if archer_id else [])]
    return _combinations(session, None, lambda query: query.where(*wanted).limit(most))


def archers_of_bow(session: Session, bow_build_id: str) -> dict[str, int]:
    """Archer id -> how many combinations they have with this bow build, most first."""
    number = func.count()
    query = select(Combination.archer_id, number).where(Combination.bow_build_id == bow_build_id, Combination.voided_rev.is_(None))
    rows = session.execute(query.group_by(Combination.archer_id).order_by(number.desc(), Combination.archer_id))
    return {archer_id: count for archer_id, count in rows}


def _combinations(
    session: Session, arrow_build_ids: Iterable[str] | None = None, cut: Callable[[Select[Any]], Select[Any]] = lambda query: query
) -> dict[str, CombinationFact]:
    query = (
        select(
            Combination.id,
            BowBuild.id,
            BowBuild.number,
            Bow.id,
            Bow.name,
            Bow.marked_weight_n,
            ArrowBuild.id,
            ArrowBuild.number,
            Arrow.id,
            Arrow.tag,
            Arrow.fletching,
            Head.name,
            Head.form,
            Archer.id,
            Archer.call_name,
        )
        .join(BowBuild, BowBuild.id == Combination.bow_build_id)
        .join(Bow, Bow.id == BowBuild.bow_id)
        .join(ArrowBuild, ArrowBuild.id == Combination.arrow_build_id)
        .join(Arrow, Arrow.id == ArrowBuild.arrow_id)
        .join(Archer, Archer.id == Combination.archer_id)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .where(Combination.voided_rev.is_(None))
        .order_by(Combination.id.desc())
    )
    if arrow_build_ids is not None:
        query = query.where(Combination.arrow_build_id.in_(list(arrow_build_ids)))
    return {row[0]: CombinationFact(*row) for row in session.execute(cut(query))}


def masses_and_instruments(session: Session, arrow_build_ids: Iterable[str] | None = None) -> tuple[list[MassFact], dict[str, Instrument]]:
    """`masses` and `instruments` in one statement, since most pages ask for both; the masses of all builds, or of these."""
    return _weighed(session, arrow_build_ids) if arrow_build_ids is not None else held("masses", lambda: _weighed(session))


def _weighed(session: Session, arrow_build_ids: Iterable[str] | None = None) -> tuple[list[MassFact], dict[str, Instrument]]:
    tool = union(select(Instrument.id), select(null())).subquery()
    weighed: Any = Reading
    met: tuple[Any, ...] = _WEIGHED
    if arrow_build_ids is not None:
        # Kept apart and found by their arrows first: else each tool would be asked for all that was ever weighed with it.
        mine = select(Reading).where(Reading.record_id.in_(list(arrow_build_ids)), *_WEIGHED).cte("mine").prefix_with("MATERIALIZED")
        weighed, met = aliased(Reading, mine), ()
    query = (
        select(Instrument, weighed)
        .select_from(tool)
        .join(Instrument, Instrument.id == tool.c.id, isouter=True)
        .join(weighed, and_(weighed.instrument_id.is_not_distinct_from(tool.c.id), *met), isouter=True)
        .order_by(weighed.id)
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
    """Every instrument by its id, retired and crossed-out ones too: old readings were taken with them."""
    return {one.id: one for one in session.execute(select(Instrument)).scalars()}


def bows_in_combinations(session: Session) -> list[tuple[BowBuild, Bow, Archer, BowCheck | None]]:
    """Each bow build with each archer who has shot it, or is to, once for each check of the build. One statement."""
    shot = (
        select(BowBuild, Bow, Archer, BowCheck)
        .join(Combination, Combination.bow_build_id == BowBuild.id)
        .join(Bow, Bow.id == BowBuild.bow_id)
        .join(Archer, Archer.id == Combination.archer_id)
        .join(BowCheck, (BowCheck.bow_build_id == BowBuild.id) & BowCheck.voided_rev.is_(None), isouter=True)
        .distinct()
        .order_by(BowBuild.id, Archer.id, BowCheck.id)
    )
    return [(build, bow, archer, check) for build, bow, archer, check in session.execute(shot)]
