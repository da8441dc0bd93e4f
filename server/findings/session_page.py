"""What a session's page shows: its cautions, set-ups, walks with their shots in order, incidents, and what is unread."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.caveats.caveat import Caveat
from server.findings.caveats.of_shots import caveats_of_day
from server.findings.panel_hits import build_words, panel_words
from server.findings.shot_lines import ShotLine, head_words, is_unread
from server.findings.shot_page import what_it_did
from server.findings.through import through_of
from server.findings.when import clock_words, day_words, moment_words
from server.quantities import unit_for_reader, written
from server.records.listing import belonging
from server.records.shot_facts import ShotFact, shot_facts
from server.records.trial import CAUTIONS, INCIDENTS, Incident, Trial
from server.records.trial import Session as Day
from server.records.trial_days import SetupFact, TickFact, days_of, ticks_of
from server.storage import Session


@dataclass(frozen=True)
class Caution:
    """One caution; `ticked` says who ticked it and when, or is empty."""

    key: str
    words: str
    ticked: str


@dataclass(frozen=True)
class SetupLine:
    setup_id: str
    panel_build_id: str
    mark: str
    words: str
    small: str
    shots: str


@dataclass(frozen=True)
class Unplaced:
    """One shot in the form that asks for the order of a walk."""

    shot_id: str
    label: str
    words: str
    position: int | None
    rev: int


@dataclass(frozen=True)
class WalkShown:
    """A walk with its shots. `ask`: its order is not known to the last shot, so somebody should say."""

    walk_id: str
    heading: str
    shots: tuple[ShotLine, ...]
    ask: tuple[Unplaced, ...]


@dataclass(frozen=True)
class IncidentLine:
    incident_id: str
    words: str
    small: str
    label: str
    shot_id: str


@dataclass(frozen=True)
class SessionRead:
    day: Day
    trial: Trial
    heading: str
    lead: str
    cautions: tuple[Caution, ...]
    is_open: bool
    setups: tuple[SetupLine, ...]
    walks: tuple[WalkShown, ...]
    loosed: int
    unread: tuple[str, ...]
    incidents: tuple[IncidentLine, ...]
    shots_by_id: dict[str, str]
    facts: tuple[ShotFact, ...]
    to_mind: tuple[Caveat, ...]


def read_session(session: Session, session_id: str, *, reader: str) -> SessionRead | None:
    """Six statements whatever the number of shots; None if there is no such session."""
    found = days_of(session, session_id=session_id)
    if not found:
        return None
    day = found[0]
    facts = shot_facts(session, struck=True, session_id=session_id)
    standing = [f for f in facts if not f.struck]
    labels = {f.shot_id: f.label for f in standing}
    ticked = {tick.caution: tick for tick in ticks_of(session, session_id)}
    cautions = tuple(Caution(key, words, _ticked(ticked.get(key))) for key, words in CAUTIONS.items())
    incidents = belonging(session, Incident, "session_id", session_id)
    loosed = [f for f in standing if f.purpose != "let_down"]
    return SessionRead(
        day=day.day,
        trial=day.trial,
        heading=day_words(day.day.day) + (f", {day.day.place}" if day.day.place else ""),
        lead=_lead(day.trial, ticked=len(ticked), shots=len(loosed), unread=sum(map(is_unread, standing))),
        cautions=cautions,
        is_open=len(ticked) >= len(CAUTIONS),
        setups=tuple(_setup(n, one, standing, reader=reader) for n, one in enumerate(day.setups, 1)),
        walks=walks_shown(facts, reader=reader),
        loosed=len(loosed),
        unread=tuple(f.label for f in standing if is_unread(f)),
        incidents=tuple(_incident(one, labels, reader=reader) for one in incidents),
        shots_by_id=labels,
        facts=tuple(facts),
        to_mind=caveats_of_day(session, facts, trial=day.trial, through=through_of(day.trial)),
    )


def _ticked(tick: TickFact | None) -> str:
    if tick is None:
        return ""
    return f"Ticked by {tick.who}" + (f", phone {tick.letter}" if tick.letter else "") + f", {moment_words(tick.at)}"


def _lead(trial: Trial, *, ticked: int, shots: int, unread: int) -> str:
    if trial.state == "closed":
        start = "The trial is closed, so no shots are taken."
    elif ticked < len(CAUTIONS):
        start = f"Not open: {ticked} of {len(CAUTIONS)} cautions ticked."
    elif trial.state == "planned":
        start = "The cautions are ticked, but the trial is only planned: open it, and shots are taken."
    else:
        start = "Open."
    said = f"{shots} shot{'' if shots == 1 else 's'} loosed" if shots else "No shots yet"
    return f"{start} {said}" + (f", {unread} not read yet." if unread else ".")


def setup_words(one: SetupFact, *, reader: str) -> str:
    """ "P3 at 14 m, on stand S1"."""
    words = build_words(one.panel, one.build)
    if one.setup.distance_m is not None:
        words += f" at {written(one.setup.distance_m, unit_for_reader('distance', reader))}"
    return words + (f", on {one.stand}" if one.stand else "")


def _setup(n: int, one: SetupFact, facts: Sequence[ShotFact], *, reader: str) -> SetupLine:
    small = [panel_words(one.panel)]
    if one.setup.angle_rad is not None:
        small.append("square to the line of flight" if one.setup.angle_rad == 0 else f"{written(one.setup.angle_rad, 'deg')} off square")
    if one.chronograph:
        at = one.setup.chronograph_at_m
        small.append(one.chronograph + (f", {written(at, unit_for_reader('distance', reader))} from the bow" if at is not None else ""))
    shots = sum(f.setup_id == one.setup.id and f.purpose != "let_down" for f in facts)
    return SetupLine(
        one.setup.id, one.build.id, str(n), setup_words(one, reader=reader), "; ".join(s for s in small if s), f"{shots} shot{'' if shots == 1 else 's'}"
    )  # fmt: skip


def walks_shown(facts: Sequence[ShotFact], *, reader: str) -> tuple[WalkShown, ...]:
    """The walks, newest first; within one, the shots in order as far as it is known."""
    groups: dict[str, list[ShotFact]] = {}
    for fact in facts:
        groups.setdefault(fact.walk_id, []).append(fact)
    shown = [_walk(n, shots, reader=reader) for n, shots in enumerate(groups.values(), 1)]
    return tuple(reversed(shown))


def _walk(n: int, shots: Sequence[ShotFact], *, reader: str) -> WalkShown:
    first = shots[0]
    began = f", {clock_words(first.walk_begun_at)}" if first.walk_begun_at is not None else ""
    ordered = sorted(shots, key=lambda f: (f.position is None, f.position or 0))
    counted = [f for f in ordered if not f.struck and f.purpose not in ("let_down", "speed_only")]
    unknown = len(counted) > 1 and any(f.position is None for f in counted)
    return WalkShown(
        walk_id=first.walk_id,
        heading=f"Walk {n}{began}, {first.panel_name}",
        shots=tuple(_line(f, reader=reader) for f in ordered),
        ask=tuple(Unplaced(f.shot_id, f.label, _who(f), f.position, f.rev) for f in counted) if unknown else (),
    )


def _who(fact: ShotFact) -> str:
    return f"{fact.archer}, arrow {fact.arrow_tag}, {head_words(fact)}"


def _line(fact: ShotFact, *, reader: str) -> ShotLine:
    did = what_it_did(fact, reader=reader)
    small = "struck through" if fact.struck else f"{did[0].upper()}{did[1:]}"
    if fact.position is None and not fact.struck:
        small += "; place in the walk not known"
    glyph = "" if fact.outcome_low is not None else {"missed": "missed", "partial": "partial", "spoiled": "spoiled"}.get(fact.hit or "", "")
    return ShotLine(fact.shot_id, fact.label, _who(fact), small, fact.outcome_low, fact.outcome_high, is_unread(fact), fact.struck, glyph)


def _incident(one: Incident, labels: dict[str, str], *, reader: str) -> IncidentLine:
    words = INCIDENTS[one.what]
    if one.distance_m is not None:
        words += f", {written(one.distance_m, unit_for_reader('distance', reader))}"
    small = one.done or "what was done is not written down"
    if one.at is not None:
        small = f"{clock_words(one.at)}. {small}"
    return IncidentLine(one.id, words, small, labels.get(one.shot_id or "", ""), one.shot_id or "")


