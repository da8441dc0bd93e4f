"""A trial's days with their set-ups, who ticked which caution, and the trials before and after it: few statements."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, or_, select
from sqlalchemy.orm import aliased
from sqlmodel import Session

from proofyard.records.arrow import ArrowBuild, Head
from proofyard.records.book import Device, Revision, revision_of
from proofyard.records.claim_facts import CLAIM_COLUMNS, ClaimFact, FirstShot, claim_fact, first_shot_of, with_claim
from proofyard.records.instrument import Instrument
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.stand import Stand
from proofyard.records.trial import CautionTick, Incident, Setup, ShootingEnd, Trial
from proofyard.records.trial import Session as Day


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


MOST_OFFERED = 100  # trials that a list to pick from holds; all of them stand on their own page
_LOOKED_AT = 3 * MOST_OFFERED  # sessions: a trial may have several, and some nothing was shot in


def newest_trials(session: Session) -> dict[str, str]:
    """The trials that were shot in last, newest first: id -> question. What it takes doesn't grow with the book's shots."""
    newest = (
        select(Day.id, Day.trial_id, Day.day)
        .where(Day.voided_rev.is_(None))
        .order_by(Day.day.desc(), Day.id.desc())
        .limit(_LOOKED_AT)
        .subquery()
    )
    shot = select(Shot.id).where(Shot.shooting_end_id == ShootingEnd.id).exists()
    last = (func.max(newest.c.day), func.max(ShootingEnd.begun_at), func.max(ShootingEnd.number), func.max(ShootingEnd.id))
    query = (
        select(Trial.id, Trial.question)
        .select_from(newest)
        .join(Trial, Trial.id == newest.c.trial_id)
        .join(Setup, Setup.session_id == newest.c.id)
        .join(ShootingEnd, ShootingEnd.setup_id == Setup.id)
        .where(shot)
        .group_by(Trial.id)
        .order_by(*(one.desc() for one in last))
        .limit(MOST_OFFERED)
    )
    return {key: question for key, question in session.execute(query)}


@dataclass(frozen=True)
class TrialLine:
    """One trial in the list. `counted`: counted shots that hit the panel and were read; `loosed`: all but let-downs."""

    trial: Trial
    sessions: int
    loosed: int
    counted: int


def days_of(session: Session, *, trial_id: str | None = None, session_id: str | None = None, day: str | None = None) -> list[DayFact]:
    """The days of a trial, oldest first, one session, or those of a date; a crossed-out set-up is still shown by its shots."""
    ticked = select(func.count()).where(CautionTick.session_id == Day.id, CautionTick.voided_rev.is_(None)).correlate(Day).scalar_subquery()
    query = (
        select(Day, Trial, ticked, Setup, PanelBuild, Panel, Stand.name, Instrument.name)
        .join(Trial, Trial.id == Day.trial_id)
        .join(Setup, (Setup.session_id == Day.id) & Setup.voided_rev.is_(None), isouter=True)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id, isouter=True)
        .join(Panel, Panel.id == PanelBuild.panel_id, isouter=True)
        .join(Stand, Stand.id == Setup.stand_id, isouter=True)
        .join(Instrument, Instrument.id == Setup.chronograph_id, isouter=True)
        .where(Day.voided_rev.is_(None))
        .order_by(Day.day, Day.id, Setup.id)
    )
    if trial_id is not None:
        query = query.where(Day.trial_id == trial_id)
    if session_id is not None:
        query = query.where(Day.id == session_id)
    if day is not None:
        query = query.where(Day.day == day)
    found: dict[str, tuple[Any, list[SetupFact]]] = {}
    for row in session.execute(query):
        held = found.setdefault(row[0].id, (row, []))
        if row[3] is not None:
            held[1].append(SetupFact(row[3], row[4], row[5], row[6], row[7]))
    return [DayFact(row[0], row[1], row[2], tuple(setups)) for row, setups in found.values()]


@dataclass(frozen=True)
class OnOlderBuild:
    """A set-up that shots can go to, on a build of its panel that has given way to `newest`."""

    setup: Setup
    day: Day
    build: PanelBuild
    panel: Panel
    newest: PanelBuild


def on_older_builds(session: Session, *, panel_id: str | None = None, session_id: str | None = None) -> list[OnOlderBuild]:
    """Set-ups on the newest day of each trial that is not closed, but for those that the same day has with the newest build.

    One statement.
    """
    newest, later, other, after = aliased(PanelBuild), aliased(PanelBuild), aliased(Setup), aliased(Day)
    query = (
        select(Setup, Day, PanelBuild, Panel, newest)
        .join(Day, Day.id == Setup.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .join(newest, (newest.panel_id == Panel.id) & (newest.number > PanelBuild.number) & newest.voided_rev.is_(None))
        .where(
            Trial.state != "closed",
            *(table.voided_rev.is_(None) for table in (Setup, Day, Trial)),
            ~select(later.id).where(later.panel_id == Panel.id, later.number > newest.number, later.voided_rev.is_(None)).exists(),
            ~select(other.id).where(other.session_id == Day.id, other.panel_build_id == newest.id, other.voided_rev.is_(None)).exists(),
            ~select(after.id).where(after.trial_id == Trial.id, after.day > Day.day, after.voided_rev.is_(None)).exists(),
        )
        .order_by(Day.day.desc(), Setup.id)
    )
    if panel_id is not None:
        query = query.where(Panel.id == panel_id)
    if session_id is not None:
        query = query.where(Day.id == session_id)
    return [OnOlderBuild(*row) for row in session.execute(query)]


def ticks_of(session: Session, session_id: str) -> list[TickFact]:
    """Who ticked which caution, and when the book heard of it."""
    rows = session.execute(
        select(CautionTick.caution, Device.call_name, Device.letter, Revision.at)
        .join(Revision, revision_of("caution_tick", CautionTick.id))
        .join(Device, Device.id == Revision.device_id, isouter=True)
        .where(CautionTick.session_id == session_id, CautionTick.voided_rev.is_(None))
        .order_by(func.coalesce(Revision.seq, 0))  # by the bare number SQLite would begin at the whole notebook
    )
    return [TickFact(caution, who or "somebody", letter, at) for caution, who, letter, at in rows]


@dataclass(frozen=True)
class Family:
    """A trial, the one that it follows, and those that follow it.

    first     the first shot loosed in it, told by when it was loosed and not by when it was typed in
    claim     what it claims, None where its question is no claim
    """

    trial: Trial
    follows: Trial | None
    followers: Sequence[Trial]
    first: FirstShot
    claim: ClaimFact | None


def family(session: Session, trial_id: str) -> Family | None:
    """One statement; None if there is no such trial."""
    before = select(Trial.follows_id).where(Trial.id == trial_id).scalar_subquery()
    related = or_(Trial.id == trial_id, Trial.id == before, Trial.follows_id == trial_id)
    found = session.execute(with_claim(select(Trial, *first_shot_of(trial_id), *CLAIM_COLUMNS)).where(related).order_by(Trial.id)).all()
    rows = [row[0] for row in found]
    mine = next((row for row in found if row[0].id == trial_id), None)
    if mine is None:
        return None
    me, first = mine[0], FirstShot(*mine[1:4])
    after = [row for row in rows if row.follows_id == trial_id and row.voided_rev is None]
    claim = claim_fact(mine[4:], trial=me, first=first)
    return Family(me, next((row for row in rows if row.id == me.follows_id), None), after, first, claim)


def trials_there(session: Session, *, only: str | None = None) -> list[tuple[str, str]]:
    """Id and state of every trial, newest first; `only`: of that one."""
    query = select(Trial.id, Trial.state).where(Trial.voided_rev.is_(None)).order_by(Trial.id.desc())
    rows = session.execute(query if only is None else query.where(Trial.id == only))
    return [(row[0], row[1]) for row in rows]


def trial_lines(session: Session, among: Iterable[str] | None = None) -> list[TrialLine]:
    """Every trial, newest first, with its sessions and shots counted; `among`: those alone, and no other's shots are looked at."""
    some = None if among is None else list(among)
    days = select(func.count()).where(Day.trial_id == Trial.id, Day.voided_rev.is_(None)).correlate(Trial).scalar_subquery()
    shots = (
        select(
            Day.trial_id.label("trial_id"),
            func.count(Shot.id).filter(Shot.purpose != "let_down").label("loosed"),
            func.count(Shot.id).filter(Shot.purpose == "counted", ShotReading.hit == "on_panel").label("counted"),
        )
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(Day, Day.id == Setup.session_id)
        .join(ShotReading, (ShotReading.id == Shot.id) & ShotReading.voided_rev.is_(None), isouter=True)
        .where(Shot.voided_rev.is_(None), *(() if some is None else (Day.trial_id.in_(some),)))
        .group_by(Day.trial_id)
        .subquery()
    )
    query = (
        select(Trial, days, func.coalesce(shots.c.loosed, 0), func.coalesce(shots.c.counted, 0))
        .join(shots, shots.c.trial_id == Trial.id, isouter=True)
        .where(Trial.voided_rev.is_(None))
        .order_by(Trial.id.desc())
    )
    if some is not None:
        query = query.where(Trial.id.in_(some))
    return [TrialLine(*row) for row in session.execute(query)]


def shot_at_in(session: Session, *, only: str | None = None) -> dict[str, dict[str, set[str]]]:
    """Trial -> its days, the constructions of the panels set up in it, and the forms of the heads shot in it; one statement."""
    query = (
        select(Day.trial_id, Day.day, Panel.construction, Head.form)
        .join(Setup, (Setup.session_id == Day.id) & Setup.voided_rev.is_(None), isouter=True)
        .join(PanelBuild, PanelBuild.id == Setup.panel_build_id, isouter=True)
        .join(Panel, Panel.id == PanelBuild.panel_id, isouter=True)
        .join(ShootingEnd, ShootingEnd.setup_id == Setup.id, isouter=True)
        .join(Shot, (Shot.shooting_end_id == ShootingEnd.id) & Shot.voided_rev.is_(None) & (Shot.purpose != "let_down"), isouter=True)
        .join(ArrowBuild, ArrowBuild.id == Shot.arrow_build_id, isouter=True)
        .join(Head, Head.id == ArrowBuild.head_id, isouter=True)
        .where(Day.voided_rev.is_(None))
        .distinct()
    )
    found: dict[str, dict[str, set[str]]] = {}
    for trial_id, *values in session.execute(query if only is None else query.where(Day.trial_id == only)):
        own = found.setdefault(trial_id, {"day": set(), "armour": set(), "head": set()})
        for name, value in zip(own, values, strict=True):
            own[name] |= {value} if value else set()
    return found


def panels_of(session: Session, build_id: str) -> list[tuple[PanelBuild, Panel]]:
    """A panel build with its panel, first, and then the panel's other builds by number."""
    mine = select(PanelBuild.panel_id).where(PanelBuild.id == build_id).scalar_subquery()
    rows = session.execute(
        select(PanelBuild, Panel)
        .join(Panel, Panel.id == PanelBuild.panel_id)
        .where(PanelBuild.panel_id == mine, or_(PanelBuild.voided_rev.is_(None), PanelBuild.id == build_id))
        .order_by((PanelBuild.id == build_id).desc(), PanelBuild.number)
    )
    return [(build, panel) for build, panel in rows]


@dataclass(frozen=True)
class IncidentFact:
    incident: Incident
    day: str
    place: str | None
    session_id: str
    question: str
    label: str | None
    at: int


def incidents_counted(session: Session, *, trial_id: str | None = None) -> dict[str, int]:
    """How many of each kind there are in the whole book, or in one trial."""
    query = (
        select(Incident.what, func.count())
        .join(Day, Day.id == Incident.session_id)
        .where(Incident.voided_rev.is_(None), *([Day.trial_id == trial_id] if trial_id else []))
        .group_by(Incident.what)
    )
    return {what: count for what, count in session.execute(query)}


def incidents(session: Session, *, first: int, most: int, trial_id: str | None = None) -> list[IncidentFact]:
    """Of the whole book, or of one trial, newest first, at most so many after the `first` newest; those crossed out are left out."""
    query = (
        select(Incident, Day.day, Day.place, Day.id, Trial.question, Shot.label, func.coalesce(Incident.at, Revision.at))
        .join(Day, Day.id == Incident.session_id)
        .join(Trial, Trial.id == Day.trial_id)
        .join(Revision, revision_of("incident", Incident.id))
        .join(Shot, Shot.id == Incident.shot_id, isouter=True)
        .where(Incident.voided_rev.is_(None))
        .order_by(Day.day.desc(), Incident.id.desc())
    )
    wanted = query if trial_id is None else query.where(Trial.id == trial_id)
    return [IncidentFact(*row) for row in session.execute(wanted.limit(most).offset(first))]


def is_open_on(session: Session, day: str) -> bool:
    """Whether an open trial has a session on this day."""
    query = (
        select(Day.id)
        .join(Trial, Trial.id == Day.trial_id)
        .where(Day.day == day, Trial.state == "open", Day.voided_rev.is_(None), Trial.voided_rev.is_(None))
    )
    return session.execute(query.limit(1)).first() is not None


def closed_since(session: Session, seq: int) -> bool:
    """Whether a trial that is closed now was changed after a number."""
    query = (
        select(Trial.id)
        .join(Revision, (Revision.noun == "trial") & (Revision.record_id == Trial.id))
        .where(Revision.seq > seq, Trial.state == "closed")
    )
    return session.execute(query.limit(1)).first() is not None
