"""The evening of a day: its question, the answer so far with its doubt, what the bench still owes, incidents, what to shoot next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from server.findings.evening_next import NextLine, next_lines
from server.findings.fair_hits import mark_hits
from server.findings.impact import Impacts
from server.findings.loosed import Loosed, LoosedShot
from server.findings.planning.at_hand import AtHand, at_hand
from server.findings.range_kit import soundness
from server.findings.results import Results, results_of
from server.findings.shot_lines import is_unread
from server.findings.when import clock_words, day_words
from server.quantities import unit_for_reader, written
from server.records.arrow import ArrowCheck
from server.records.caveat_facts import caveat_facts
from server.records.listing import all_of, belonging
from server.records.plan_facts import kit_at_hand
from server.records.range_facts import CurrentArrow, current_arrows
from server.records.shot_facts import ShotFact, shot_facts
from server.records.speed_facts import all_speeds, masses_and_instruments, pairings
from server.records.trial import INCIDENTS, STATES, Incident, Trial
from server.records.trial import Session as Day
from server.records.trial_days import days_of
from server.storage import Session

MOST_CAVEATS = 6  # on one sheet; the results page has them all
MOST_INCIDENTS = 4  # likewise; the day's page has them all
MOST_LABELS = 12


@dataclass(frozen=True)
class Owed:
    """One thing that the bench owes. `need`: before the arrow, or the count, is used again."""

    mark: str
    words: str
    small: str
    href: str


@dataclass(frozen=True)
class EveningIncident:
    words: str
    small: str


@dataclass(frozen=True)
class Evening:
    """The sheet of one evening.

    answer     the finding, in one sentence; `doubt` what it leaves open; `rests_on` which shots
    owed       what a hand is still wanted for; caveats_more: how many stand on the results page only
    """

    day: Day
    trial: Trial
    heading: str
    state: str
    today: str
    answer: str
    doubt: tuple[str, ...]
    rests_on: str
    results_href: str
    owed: tuple[Owed, ...]
    caveats: tuple[str, ...]
    caveats_more: int
    incidents: tuple[EveningIncident, ...]
    incidents_more: int
    next_shots: tuple[NextLine, ...]
    next_lead: str


def read_evening(session: Session, session_id: str, *, reader: str) -> Evening | None:
    """Eleven statements whatever the number of shots; None if there is no such session."""
    found = days_of(session, session_id=session_id)
    if not found:
        return None
    day, trial = found[0].day, found[0].trial
    held = _gather(session, trial)
    so_far = up_to(held.loosed, day.day)
    mine = [shot for shot in so_far.shots if shot.fact.session_id == session_id]
    results = results_of(so_far, {"trial": [trial.id]}, facts=caveat_facts(session))
    incidents = belonging(session, Incident, "session_id", session_id)
    caveats = list(dict.fromkeys([*(f"{one.title}. {one.words}" for one in results.to_mind), *results.caveats]))
    lead, lines = next_lines(trial, results, shots=so_far.shots, hand=held.hand, reader=reader)
    return Evening(
        day=day,
        trial=trial,
        heading=f"The evening of {day_words(day.day)}" + (f", {day.place}" if day.place else ""),
        state=STATES[trial.state],
        today=_today(mine),
        answer=results.finding.title.rstrip("."),
        doubt=results.finding.more,
        rests_on=_rests_on(so_far, mine, results),
        results_href=f"/results?trial={trial.id}",
        owed=owed_by_bench(mine, held.arrows, labels=held.labels),
        caveats=tuple(caveats[:MOST_CAVEATS]),
        caveats_more=max(0, len(caveats) - MOST_CAVEATS),
        incidents=tuple(_incident(one, held.labels, reader=reader) for one in incidents[:MOST_INCIDENTS]),
        incidents_more=max(0, len(incidents) - MOST_INCIDENTS),
        next_shots=lines,
        next_lead=lead,
    )


@dataclass(frozen=True)
class _Held:
    """The trial's shots with their figures, and what could be shot next. `labels`: of every shot in the book."""

    loosed: Loosed
    hand: AtHand
    arrows: Sequence[CurrentArrow]
    labels: Mapping[str, str]


def _gather(session: Session, trial: Trial) -> _Held:
    """Eight statements: the same rows serve the shots' own figures and what is at hand, where like pairings are pooled."""
    facts = shot_facts(session, struck=True)
    series, own = all_speeds(session)
    known, arrows = pairings(session), current_arrows(session)
    weighed, tools = masses_and_instruments(session)
    read: dict[str, Any] = {"series": series, "own": own, "mass_facts": weighed, "tools": tools, "known": known}
    impacts = Impacts(**read)
    builds = {fact.panel_build_id for fact in facts if fact.trial_id == trial.id}
    standing = [fact for fact in facts if not fact.struck and fact.panel_build_id in builds]
    marks = mark_hits(standing, trials={trial.id: trial}, checks=all_of(session, ArrowCheck))
    mine = [LoosedShot(f, impacts.of_shot(f), None if f.struck else marks.get(f.shot_id)) for f in facts if f.trial_id == trial.id]
    loosed = Loosed(tuple(shot for shot in mine if not shot.fact.struck), tuple(shot for shot in mine if shot.fact.struck), {trial.id: trial})
    kit = {sort: [key for key, _ in pairs] for sort, pairs in kit_at_hand(session, trial_id=trial.id).items()}
    hand = at_hand(
        known, Impacts(**read, pool=True), arrows=arrows, bow_builds=kit["bow"], archers=kit["archer"], only_arrows=kit["uses_arrow"],
        only_bows=kit["uses_bow"],
    )  # fmt: skip
    return _Held(loosed, hand, arrows, {fact.shot_id: fact.label for fact in facts})


def up_to(loosed: Loosed, day: str) -> Loosed:
    """What the book knew of that evening: shots of later days are left away."""
    kept = [tuple(shot for shot in some if shot.fact.day <= day) for some in (loosed.shots, loosed.struck)]
    return replace(loosed, shots=kept[0], struck=kept[1])


def _today(shots: Sequence[LoosedShot]) -> str:
    """ "38 shots loosed, 33 struck the panel and were read"."""
    loosed = [shot.fact for shot in shots if shot.fact.purpose != "let_down"]
    if not loosed:
        return "No shots this day."
    struck = sum(fact.hit == "fair_target" and fact.outcome_low is not None for fact in loosed if fact.purpose == "counted")
    unread = sum(map(is_unread, loosed))
    said = f"{_many(len(loosed), 'shot')} loosed this day, {struck} struck the panel and {'was' if struck == 1 else 'were'} read"
    return said + (f", {unread} still unread." if unread else ".")


def _rests_on(so_far: Loosed, mine: Sequence[LoosedShot], results: Results) -> str:
    days = sorted({shot.fact.day for shot in so_far.shots})
    if not days:
        return ""
    which = "this day’s shots" if len({shot.fact.session_id for shot in so_far.shots}) == 1 and mine else f"all shots of this trial up to this evening, {_many(len(days), 'day')}"
    return f"That rests on {which}: {results.counted} counted of {results.loosed} loosed."


def owed_by_bench(shots: Sequence[LoosedShot], arrows: Sequence[CurrentArrow], *, labels: Mapping[str, str]) -> tuple[Owed, ...]:
    """What still wants a hand: unread shots, looks behind, open rungs, arrows to check, figures that nobody measured."""
    facts = [shot.fact for shot in shots]
    owed = [_shots_owed("Not read yet", [fact for fact in facts if is_unread(fact)])]
    owed.append(_shots_owed("Look behind on the bench", [fact for fact in facts if fact.look_behind and fact.hit is not None]))
    no_rung = [fact for fact in facts if fact.hit == "fair_target" and fact.outcome_low is None and not fact.look_behind]
    owed.append(_shots_owed("Struck, no rung read", no_rung))
    # An arrow that was worked on since is another build, and owes no check of the old one.
    builds = {fact.arrow_build_id for fact in facts}
    owed += _arrows_owed([arrow for arrow in arrows if arrow.build in builds], labels)
    owed += _unmeasured(shots)
    return tuple(one for one in owed if one is not None)


def _arrows_owed(arrows: Sequence[CurrentArrow], labels: Mapping[str, str]) -> list[Owed]:
    """Arrows to check in one line, those found not sound in another, each with the shot that it was last."""
    found = []
    for answer, words in (("to_check", "to check before {} again"), ("not_sound", "not sound: out of the quiver")):
        some = [arrow for arrow in arrows if soundness(arrow) == answer]
        if some:
            told = ", ".join(arrow.tag + (f" ({labels[arrow.last_shot]})" if arrow.last_shot and arrow.last_shot in labels else "") for arrow in some)
            said = words.format("it flies" if len(some) == 1 else "they fly")
            href = f"/arrows/{some[0].arrow}" if len(some) == 1 else "/kit"
            found.append(Owed(str(len(some)), f"{'Arrow' if len(some) == 1 else 'Arrows'} {said}", told, href))
    return found


def _shots_owed(words: str, facts: Sequence[ShotFact]) -> Owed | None:
    if not facts:
        return None
    labels = ", ".join(fact.label for fact in facts[:MOST_LABELS]) + (f" and {len(facts) - MOST_LABELS} more" if len(facts) > MOST_LABELS else "")
    href = f"/shots/{facts[0].shot_id}" if len(facts) == 1 else f"/sessions/{facts[0].session_id}"
    return Owed(str(len(facts)), words, labels, href)


def _unmeasured(shots: Sequence[LoosedShot]) -> list[Owed]:
    """What was never measured, each want once, with the shots that have no energy for it."""
    wants: dict[str, list[ShotFact]] = {}
    for shot in shots:
        if shot.fact.purpose == "counted" and not shot.impact.measured:
            wants.setdefault(_want(shot), []).append(shot.fact)
    found = sorted(wants.items(), key=lambda pair: -len(pair[1]))
    return [
        Owed(str(len(facts)), f"Energy not measured: {want}", ", ".join(fact.label for fact in facts[:MOST_LABELS]), f"/pairings/{facts[0].pairing_id}")
        for want, facts in found
    ]


def _want(shot: LoosedShot) -> str:
    fact = shot.fact
    if fact.short_draw and shot.impact.speed is None:
        return "a short draw with no speed of its own, which nothing mends now"
    if shot.impact.speed is None and shot.impact.mass is None:
        return f"arrow {fact.arrow_tag} to weigh, and a speed of it with {fact.bow_name} and {fact.archer}"
    if shot.impact.mass is None:
        return f"arrow {fact.arrow_tag}, build {fact.arrow_build_number}, to weigh"
    return f"speeds to read of {fact.archer} with {fact.bow_name}"


def _incident(one: Incident, labels: Mapping[str, str], *, reader: str) -> EveningIncident:
    words = INCIDENTS[one.what]
    if one.distance_m is not None:
        words += f", {written(one.distance_m, unit_for_reader('distance', reader))}"
    label = labels.get(one.shot_id or "")
    at = f"{clock_words(one.at)}. " if one.at is not None else ""
    done = one.done or "What was done is not written down."
    return EveningIncident(words + (f" ({label})" if label else ""), at + done)


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"
