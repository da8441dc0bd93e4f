"""A trial's days with their set-ups, who ticked which caution, and the trials before and after it: few statements."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, or_, select
from sqlmodel import Session

from server.records.book import Device, Revision
from server.records.instrument import Instrument
from server.records.panel import Panel, PanelBuild
from server.records.shot import Shot, ShotReading
from server.records.stand import Stand
from server.records.trial import CautionTick, Setup, Trial, Walk
from server.records.trial import Session as Day


@dataclass(frozen=True)
class SetupFact:
    """A panel build on a stand at a distance, with the words that tell them apart."""

    setup: Setup
    build: PanelBuild
    panel: Panel
    stand: str | None
    chronograph: str | None


@dataclass(frozen=True)
class DayFact:
    """A session, how many of its cautions are ticked, and its set-ups in the order they were made."""

    day: Day
    trial: Trial
    ticked: int
    setups: tuple[SetupFact, ...]


@dataclass(frozen=True)
class TickFact:
    caution: str
    who: str
    letter: str | None
    at: int


@dataclass(frozen=True)
class TrialLine:
    """One trial in the list. `counted`: counted shots that struck the panel and were read; `loosed`: all but let-downs."""

    trial: Trial
    sessions: int
    loosed: int
    counted: int


def days_of(session: Session, *, trial_id: str | None = None, session_id: str | None = None) -> list[DayFact]:
    """The days of a trial, oldest first, or one day; a struck set-up that shots point to is still shown by them."""
    ticked = (
        select(func.count())
        .where(CautionTick.session_id == Day.id, CautionTick.struck_rev.is_(None))
        .correlate(Day)
        .scalar_subquery()
    )
    query = (
        select(Day, Trial, ticked, Setup, PanelBuild, Panel, Stand.name, Instrument.name)
        .join(Trial, Trial.id == Day.trial_id)
        .join(Setup, (Setup.session_id == Day.id) & Setup.struck_rev.is_(None), isouter=True)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id, isouter=True)
        .join(Panel, Panel.id == PanelBuild.panel_id, isouter=True)
        .join(Stand, Stand.id == Setup.stand_id, isouter=True)
        .join(Instrument, Instrument.id == Setup.chronograph_id, isouter=True)
        .where(Day.struck_rev.is_(None))
        .order_by(Day.day, Day.id, Setup.id)
    )
    if trial_id is not None:
        query = query.where(Day.trial_id == trial_id)
    if session_id is not None:
        query = query.where(Day.id == session_id)
    found: dict[str, tuple[Any, list[SetupFact]]] = {}
    for row in session.execute(query):
        held = found.setdefault(row[0].id, (row, []))
        if row[3] is not None:
            held[1].append(SetupFact(row[3], row[4], row[5], row[6], row[7]))
    return [DayFact(row[0], row[1], row[2], tuple(setups)) for row, setups in found.values()]


def ticks_of(session: Session, session_id: str) -> list[TickFact]:
    """Who ticked which caution, and when the book heard of it."""
    rows = session.execute(
        select(CautionTick.caution, Device.call_name, Device.letter, Revision.at)
        .join(Revision, (Revision.noun == "caution_tick") & (Revision.record_id == CautionTick.id) & (Revision.rev == 1))
        .join(Device, Device.id == Revision.device_id, isouter=True)
        .where(CautionTick.session_id == session_id, CautionTick.struck_rev.is_(None))
        .order_by(Revision.seq)
    )
    return [TickFact(caution, who or "somebody", letter, at) for caution, who, letter, at in rows]


@dataclass(frozen=True)
class Family:
    """A trial, the one that it follows, and those that follow it.

    first_shot_seq    the notebook's number for the first shot that the book took in it; phones' clocks say nothing of that
    """

    trial: Trial
    follows: Trial | None
    followers: Sequence[Trial]
    first_shot_seq: int | None


def family(session: Session, trial_id: str) -> Family | None:
    """One statement; None if there is no such trial."""
    before = select(Trial.follows_id).where(Trial.id == trial_id).scalar_subquery()
    first_shot = (
        select(func.min(Revision.seq))
        .join(Shot, Shot.id == Revision.record_id)
        .join(Walk, Walk.id == Shot.walk_id)
        .join(Setup, Setup.id == Walk.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .where(Revision.noun == "shot", Revision.rev == 1, Day.trial_id == trial_id)
        .scalar_subquery()
    )
    found = session.execute(
        select(Trial, first_shot).where(or_(Trial.id == trial_id, Trial.id == before, Trial.follows_id == trial_id)).order_by(Trial.id)
    ).all()
    rows = [row[0] for row in found]
    me = next((row for row in rows if row.id == trial_id), None)
    if me is None:
        return None
    after = [row for row in rows if row.follows_id == trial_id and row.struck_rev is None]
    return Family(me, next((row for row in rows if row.id == me.follows_id), None), after, found[0][1])


def trial_lines(session: Session, *, only: str | None = None) -> list[TrialLine]:
    """Every trial, newest first, with its sessions and shots counted; `only`: that one."""
    days = (
        select(func.count()).where(Day.trial_id == Trial.id, Day.struck_rev.is_(None)).correlate(Trial).scalar_subquery()
    )
    shots = (
        select(
            Day.trial_id.label("trial_id"),
            func.count(Shot.id).filter(Shot.purpose != "let_down").label("loosed"),
            func.count(Shot.id).filter(Shot.purpose == "counted", ShotReading.hit == "fair_target").label("counted"),
        )
        .join(Walk, Walk.id == Shot.walk_id)
        .join(Setup, Setup.id == Walk.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .join(ShotReading, (ShotReading.id == Shot.id) & ShotReading.struck_rev.is_(None), isouter=True)
        .where(Shot.struck_rev.is_(None))
        .group_by(Day.trial_id)
        .subquery()
    )
    query = (
        select(Trial, days, func.coalesce(shots.c.loosed, 0), func.coalesce(shots.c.counted, 0))
        .join(shots, shots.c.trial_id == Trial.id, isouter=True)
        .where(Trial.struck_rev.is_(None))
        .order_by(Trial.id.desc())
    )
    if only is not None:
        query = query.where(Trial.id == only)
    return [TrialLine(*row) for row in session.execute(query)]


def panels_of(session: Session, build_id: str) -> list[tuple[PanelBuild, Panel]]:
    """A panel build with its panel, first, and then the panel's other builds by number."""
    mine = select(PanelBuild.panel_id).where(PanelBuild.id == build_id).scalar_subquery()
    rows = session.execute(
        select(PanelBuild, Panel)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(PanelBuild.panel_id == mine, or_(PanelBuild.struck_rev.is_(None), PanelBuild.id == build_id))
        .order_by((PanelBuild.id == build_id).desc(), PanelBuild.number)
    )
    return [(build, panel) for build, panel in rows]
