"""What a session's page shows: its cautions, set-ups, ends with their shots in order, incidents, and what is unread."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.caveats.caveat import Caveat
from proofyard.caveats.of_shots import caveats_of_day
from proofyard.quantities.reason import Reason, because
from proofyard.records.claim import Claim
from proofyard.records.listing import belonging
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.speed_facts import SpeedFact, speeds_of_shots
from proofyard.records.trial import CAUTIONS, INCIDENTS, Incident, Trial
from proofyard.records.trial import Session as Day
from proofyard.records.trial_days import (
    IncidentFact,
    OnOlderBuild,
    SetupFact,
    TickFact,
    days_of,
    incidents,
    incidents_counted,
    on_older_builds,
    ticks_of,
)
from proofyard.records.written_down import clock_offsets
from proofyard.shots.lines import ShotLine, head_words
from proofyard.storage import Session
from proofyard.views.settings import through_of
from proofyard.wording.panels import panel_words
from proofyard.wording.reasons.said import said
from proofyard.wording.setups import setup_words
from proofyard.wording.what_it_did import what_it_did
from proofyard.wording.when import clock_words, day_words

APART_MS = 10 * 60_000  # a clock that was set by hand is off by minutes; more is a wrong day, zone or battery


@dataclass(frozen=True)
class Caution:
    """One caution; `ticked` says who ticked it and when."""

    key: str
    words: str
    ticked: Reason | None


@dataclass(frozen=True)
class SetupLine:
    """`newer`: number of the panel's newest build, where no set-up of the day has it yet."""

    setup_id: str
    panel_build_id: str
    mark: str
    panel: str
    words: str
    about: Reason
    shots: int
    newer: int | None


@dataclass(frozen=True)
class Unplaced:
    """One shot in the form that asks for the order of an end."""

    shot_id: str
    label: str
    words: str
    position: int | None
    rev: int


@dataclass(frozen=True)
class ShootingEndShown:
    """An end with its shots. `ask`: its order is not known to the last shot, so somebody should say."""

    shooting_end_id: str
    heading: str
    shots: tuple[ShotLine, ...]
    ask: tuple[Unplaced, ...]


@dataclass(frozen=True)
class SessionRead:
    """`labels`: of the shots that stand, by id; `speeds`: read on those; `claimed`: whether the trial's question is a claim."""

    day: Day
    trial: Trial
    heading: str
    lead: Reason
    cautions: tuple[Caution, ...]
    is_open: bool
    setups: tuple[SetupLine, ...]
    shooting_ends: tuple[ShootingEndShown, ...]
    loosed: int
    unread: tuple[str, ...]
    incidents: tuple[Incident, ...]
    labels: dict[str, str]
    facts: tuple[ShotFact, ...]
    speeds: tuple[SpeedFact, ...]
    to_check: tuple[Caveat, ...]
    clocks: Reason | None
    claimed: bool


def read_session(session: Session, session_id: str, *, reader: str) -> SessionRead | None:
    """Nine statements whatever the number of shots; None if there is no such session."""
    found = days_of(session, session_id=session_id)
    if not found:
        return None
    day = found[0]
    facts = shot_facts(session, voided=True, session_id=session_id)
    standing = [f for f in facts if not f.voided]
    labels = {f.shot_id: f.label for f in standing}
    speeds = speeds_of_shots(session, labels)
    ticked = {tick.caution: tick for tick in ticks_of(session, session_id)}
    cautions = tuple(Caution(key, words, _ticked(ticked.get(key))) for key, words in CAUTIONS.items())
    loosed = [f for f in standing if f.purpose != "let_down"]
    older = {one.setup.id: one for one in on_older_builds(session, session_id=session_id)}
    return SessionRead(
        day=day.day,
        trial=day.trial,
        heading=day_words(day.day.day) + (f", {day.day.place}" if day.day.place else ""),
        lead=_lead(day.trial, ticked=len(ticked), shots=len(loosed), unread=sum(fact.unread for fact in standing)),
        cautions=cautions,
        is_open=len(ticked) >= len(CAUTIONS),
        setups=tuple(_setup(n, one, standing, reader, older=older.get(one.setup.id)) for n, one in enumerate(day.setups, 1)),
        shooting_ends=shooting_ends_shown(facts, reader=reader),
        loosed=len(loosed),
        unread=tuple(f.label for f in standing if f.unread),
        incidents=tuple(belonging(session, Incident, "session_id", session_id)),
        labels=labels,
        facts=tuple(facts),
        speeds=tuple(speeds),
        to_check=caveats_of_day(session, facts, speeds, trial=day.trial, through=through_of(day.trial)),
        clocks=clocks_apart(clock_offsets(session, session_id)),
        claimed=bool(belonging(session, Claim, "trial_id", day.trial.id)),
    )


def clocks_apart(offsets: Sequence[tuple[str, int]]) -> Reason | None:
    """Whether the laptop's clock and the phones' are far apart: times of shots follow the laptop's, so nobody would notice.

    offsets: call name, and what must be added to that phone's clock to give the laptop's, in ms.
    """
    far = [(name, ms) for name, ms in offsets if abs(ms) > APART_MS]
    most = max((ms for _, ms in far), key=abs, default=0)
    return because("session_clocks_apart", ms=most, names=tuple(name for name, _ in far)) if far else None


def _ticked(tick: TickFact | None) -> Reason | None:
    return because("session_ticked", who=tick.who, letter=tick.letter, at=tick.at) if tick else None


def _lead(trial: Trial, *, ticked: int, shots: int, unread: int) -> Reason:
    return because("session_lead", state=trial.state, ticked=ticked, cautions=len(CAUTIONS), shots=shots, unread=unread)


def _setup(n: int, one: SetupFact, facts: Sequence[ShotFact], reader: str, *, older: OnOlderBuild | None) -> SetupLine:
    newest = older.newest.number if older else None
    about = because(
        "session_setup",
        made=panel_words(one.panel),
        angle_rad=one.setup.angle_rad,
        chronograph=one.chronograph,
        chronograph_at_m=one.setup.chronograph_at_m,
        panel=one.panel.name,
        build=one.build.number,
        newest=newest,
    )
    shots = sum(f.setup_id == one.setup.id and f.purpose != "let_down" for f in facts)
    return SetupLine(one.setup.id, one.build.id, str(n), one.panel.name, setup_words(one, reader=reader), about, shots, newest)


def shooting_ends_shown(facts: Sequence[ShotFact], *, reader: str) -> tuple[ShootingEndShown, ...]:
    """The ends, newest first; within one, the shots in order as far as it is known."""
    groups: dict[str, list[ShotFact]] = {}
    for fact in facts:
        groups.setdefault(fact.shooting_end_id, []).append(fact)
    shown = [_shooting_end(n, shots, reader=reader) for n, shots in enumerate(groups.values(), 1)]
    return tuple(reversed(shown))


def _shooting_end(n: int, shots: Sequence[ShotFact], *, reader: str) -> ShootingEndShown:
    first = shots[0]
    began = f", {clock_words(first.shooting_end_begun_at)}" if first.shooting_end_begun_at is not None else ""
    ordered = sorted(shots, key=lambda f: (f.position is None, f.position or 0))
    counted = [f for f in ordered if not f.voided and f.purpose not in ("let_down", "speed_only")]
    unknown = len(counted) > 1 and any(f.position is None for f in counted)
    return ShootingEndShown(
        shooting_end_id=first.shooting_end_id,
        heading=f"End {n}{began}, {first.panel_name}",
        shots=tuple(_line(f, reader=reader) for f in ordered),
        ask=tuple(Unplaced(f.shot_id, f.label, _who(f), f.position, f.rev) for f in counted) if unknown else (),
    )


def _who(fact: ShotFact) -> str:
    return f"{fact.archer}, arrow {fact.arrow_tag}, {head_words(fact)}"


def _line(fact: ShotFact, *, reader: str) -> ShotLine:
    did = what_it_did(fact, reader=reader)
    small = "crossed out" if fact.voided else f"{did[0].upper()}{did[1:]}"
    if fact.position is None and not fact.voided:
        small = said(because("order_not_recorded", did=small))
    glyph = "" if fact.outcome_low is not None else {"missed": "missed", "partial": "partial", "spoiled": "spoiled"}.get(fact.hit or "", "")
    return ShotLine(fact.shot_id, fact.label, _who(fact), small, fact.outcome_low, fact.outcome_high, fact.unread, fact.voided, glyph)


INCIDENTS_A_PAGE = 100


@dataclass(frozen=True)
class IncidentList:
    """What happened on all days, newest first."""

    heading: Reason
    found: tuple[IncidentFact, ...]
    page: int = 1
    pages: int = 1


def incident_list(session: Session, *, only_trial: str | None = None, page: int = 1) -> IncidentList:
    """Two statements. only_trial: what a viewer of one trial sees; the heading counts the incidents of all pages."""
    counts = incidents_counted(session, trial_id=only_trial)
    heading = because("session_incidents", kinds=tuple((what, counts[what]) for what in INCIDENTS if counts.get(what)))
    pages = max(1, -(-sum(counts.values()) // INCIDENTS_A_PAGE))
    here = min(page, pages)
    found = incidents(session, first=(here - 1) * INCIDENTS_A_PAGE, most=INCIDENTS_A_PAGE, trial_id=only_trial)
    return IncidentList(heading, tuple(found), here, pages)
