"""The sheet of a day: its question, the answer so far with its uncertainty, what is still to do, incidents, what to shoot next."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from proofyard.answers.day.next import NextLine, next_lines
from proofyard.answers.day.others import Claimed, Others, SoFar
from proofyard.caveats.caveat import Caveat
from proofyard.quantities.reason import Reason, because
from proofyard.records.caveat_facts import caveat_facts
from proofyard.records.claim_facts import claims_of
from proofyard.records.listing import belonging
from proofyard.records.range_facts import CurrentArrow
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Incident, Trial
from proofyard.records.trial import Session as Day
from proofyard.records.trial_days import days_of
from proofyard.shots.fair_hits import mark_hits
from proofyard.shots.loosed import Loosed, LoosedShot, facts_around, seen_from
from proofyard.shots.soundness import soundness
from proofyard.storage import Session
from proofyard.views.at_hand import AtHand
from proofyard.views.kit_to_choose_from import KitToChooseFrom
from proofyard.wording.reasons.said import said
from proofyard.wording.when import day_words

MOST_CAVEATS = 6  # on one sheet; the results page has them all
MOST_INCIDENTS = 4  # likewise; the day's page has them all


@dataclass(frozen=True)
class StillToDo:
    """One thing still to do on the bench: of how many, and which they are."""

    count: int
    what: Reason
    labels: tuple[str, ...]
    href: str


@dataclass(frozen=True)
class DayReport:
    """The sheet of one day.

    claim      the trial's claim with its answer, which comes first; None where its question is no claim
    answer     the finding, in one sentence; `more` what it leaves open; `rests_on` which shots
    still_to_do       what a hand is still wanted for; caveats_more: how many stand on the results page only; `about`: what else that says
    labels     of every shot that this viewer may see
    """

    day: Day
    trial: Trial
    heading: str
    today: Reason
    claim: Claimed | None
    answer: str
    more: tuple[str, ...]
    rests_on: Reason | None
    still_to_do: tuple[StillToDo, ...]
    caveats: tuple[Caveat, ...]
    caveats_more: int
    about: tuple[str, ...]
    incidents: tuple[Incident, ...]
    incidents_more: int
    next_shots: tuple[NextLine, ...]
    next_lead: Reason
    labels: Mapping[str, str]


def read_day_report(session: Session, session_id: str, *, reader: str, others: Others, only_trial: str | None = None) -> DayReport | None:
    """Twelve statements whatever the number of shots; None if there is no such session."""
    found = days_of(session, session_id=session_id)
    if not found:
        return None
    day, trial = found[0].day, found[0].trial
    claims = claims_of(session, [trial.id])
    held = _gather(session, trial, only_trial)
    so_far = up_to(replace(held.loosed, claims=claims), day.day)
    mine = [shot for shot in so_far.shots if shot.fact.session_id == session_id]
    results = others.results(
        so_far, {"trial": [trial.id]}, facts=caveat_facts(session, [shot.fact for shot in (*so_far.shots, *so_far.voided)]), reader=reader
    )
    incidents = belonging(session, Incident, "session_id", session_id)
    claimed = claims.get(trial.id)
    lead, lines = next_lines(trial, results, others.next_shot, shots=so_far.shots, hand=held.hand, reader=reader)
    return DayReport(
        day=day,
        trial=trial,
        heading=f"Day sheet, {day_words(day.day)}" + (f", {day.place}" if day.place else ""),
        today=_today(mine),
        claim=others.claim(claimed, so_far.shots) if claimed else None,
        answer=said(results.finding.title, reader),
        more=tuple(said(one, reader) for one in results.finding.more),
        rests_on=_rests_on(so_far, mine, results),
        still_to_do=still_to_do_of(mine, held.arrows, labels=held.labels),
        caveats=tuple(results.to_check[:MOST_CAVEATS]),
        caveats_more=max(0, len(results.to_check) - MOST_CAVEATS),
        about=tuple(dict.fromkeys(said(one, reader) for one in results.about)),
        incidents=tuple(incidents[:MOST_INCIDENTS]),
        incidents_more=max(0, len(incidents) - MOST_INCIDENTS),
        next_shots=lines,
        next_lead=lead,
        labels=held.labels,
    )


@dataclass(frozen=True)
class _Held:
    """The trial's shots with their figures, and what could be shot next. `labels`: of every shot that this viewer may see."""

    loosed: Loosed
    hand: AtHand
    arrows: Sequence[CurrentArrow]
    labels: Mapping[str, str]


def _gather(session: Session, trial: Trial, only_trial: str | None) -> _Held:
    """Nine statements: the same rows serve the shots' own figures and what is at hand, where like combinations are pooled."""
    facts = facts_around(session, trial.id)
    builds = {fact.panel_build_id for fact in facts if fact.trial_id == trial.id}
    kit = KitToChooseFrom.load(session, facts, trials=[trial.id], panel_builds=builds, trial_id=trial.id)
    marks = mark_hits(facts, builds=builds, trials={trial.id: trial}, checks=kit.checks)
    mine = [LoosedShot(f, kit.impacts.of_shot(f), None if f.voided else marks.get(f.shot_id)) for f in facts if f.trial_id == trial.id]
    mine = seen_from(mine, only_trial)
    loosed = Loosed(
        tuple(shot for shot in mine if not shot.fact.voided), tuple(shot for shot in mine if shot.fact.voided), {trial.id: trial}
    )
    hand = kit.at_hand(only_arrows=kit.uses["uses_arrow"], only_bows=kit.uses["uses_bow"])
    return _Held(loosed, hand, kit.arrows, {fact.shot_id: fact.label for fact in facts if only_trial in (None, fact.trial_id)})


def up_to(loosed: Loosed, day: str) -> Loosed:
    """What the book knew on that day: shots of later days are left out."""
    kept = [tuple(shot for shot in some if shot.fact.day <= day) for some in (loosed.shots, loosed.voided)]
    return replace(loosed, shots=kept[0], voided=kept[1])


def _today(shots: Sequence[LoosedShot]) -> Reason:
    loosed = [shot.fact for shot in shots if shot.fact.purpose != "let_down"]
    hits = sum(fact.hit == "on_panel" and fact.outcome_low is not None for fact in loosed if fact.purpose == "counted")
    return because("day_shots", shots=len(loosed), hits=hits, unread=sum(fact.unread for fact in loosed))


def _rests_on(so_far: Loosed, mine: Sequence[LoosedShot], results: SoFar) -> Reason | None:
    days = {shot.fact.day for shot in so_far.shots}
    if not days:
        return None
    alone = bool(mine) and len({shot.fact.session_id for shot in so_far.shots}) == 1
    return because("day_rests_on", days=len(days), this_day_alone=alone, counts=results.counted, shots=results.loosed)


def still_to_do_of(shots: Sequence[LoosedShot], arrows: Sequence[CurrentArrow], *, labels: Mapping[str, str]) -> tuple[StillToDo, ...]:
    """What still wants a hand: unread shots, checks from behind, open outcomes, arrows to check, figures that nobody measured."""
    facts = [shot.fact for shot in shots]
    still_to_do = [_shots_to_do(because("day_unread"), [fact for fact in facts if fact.unread])]
    still_to_do.append(_shots_to_do(because("day_rear_check"), [fact for fact in facts if fact.rear_check and fact.hit is not None]))
    no_outcome_level = [fact for fact in facts if fact.hit == "on_panel" and fact.outcome_low is None and not fact.rear_check]
    still_to_do.append(_shots_to_do(because("day_no_outcome"), no_outcome_level))
    # An arrow that was worked on since is another build, and needs no check of the old one.
    builds = {fact.arrow_build_id for fact in facts}
    still_to_do += _arrows_to_check([arrow for arrow in arrows if arrow.build in builds], labels)
    still_to_do += _unmeasured(shots)
    return tuple(one for one in still_to_do if one is not None)


def _arrows_to_check(arrows: Sequence[CurrentArrow], labels: Mapping[str, str]) -> list[StillToDo]:
    """Arrows to check in one line, those found not sound in another, each with the shot that it was last."""
    found = []
    for answer in ("to_check", "not_sound"):
        some = [arrow for arrow in arrows if soundness(arrow) == answer]
        if some:
            told = ", ".join(one.tag + (f" ({labels[one.last_shot]})" if one.last_shot and one.last_shot in labels else "") for one in some)
            what = because("day_to_check", arrows=len(some)) if answer == "to_check" else because("day_not_sound", arrows=len(some))
            found.append(StillToDo(len(some), what, (told,), f"/arrows/{some[0].arrow}" if len(some) == 1 else "/kit"))
    return found


def _shots_to_do(what: Reason, facts: Sequence[ShotFact]) -> StillToDo | None:
    if not facts:
        return None
    href = f"/shots/{facts[0].shot_id}" if len(facts) == 1 else f"/sessions/{facts[0].session_id}"
    return StillToDo(len(facts), what, tuple(fact.label for fact in facts), href)


def _unmeasured(shots: Sequence[LoosedShot]) -> list[StillToDo]:
    """What was never measured, each want once, with the shots that have no energy for it."""
    wants: dict[Reason, list[ShotFact]] = {}
    for shot in shots:
        if shot.fact.purpose == "counted" and not shot.impact.measured:
            wants.setdefault(_want(shot), []).append(shot.fact)
    found = sorted(wants.items(), key=lambda pair: -len(pair[1]))
    return [
        StillToDo(
            len(facts),
            because("day_unmeasured", want=want),
            tuple(fact.label for fact in facts),
            f"/combinations/{facts[0].combination_id}",
        )
        for want, facts in found
    ]


def _want(shot: LoosedShot) -> Reason:
    fact = shot.fact
    if fact.short_draw and shot.impact.speed is None:
        return because("day_short_draw")
    if shot.impact.speed is None and shot.impact.mass is None:
        return because("day_weigh_and_read", arrow=fact.arrow_tag, bow=fact.bow_name, archer=fact.archer)
    if shot.impact.mass is None:
        return because("day_weigh", arrow=fact.arrow_tag, build=fact.arrow_build_number)
    return because("day_read_speeds", archer=fact.archer, bow=fact.bow_name)
