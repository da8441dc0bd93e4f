"""The first page once something was shot: the newest day with what is still to do, then each trial in a line and a strip of heads."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from proofyard.caveats.of_shots import view_of_shots
from proofyard.caveats.over_time import energies_chosen
from proofyard.quantities.reason import Reason, because
from proofyard.records.caveat_facts import NO_FACTS
from proofyard.records.claim_facts import ClaimFact
from proofyard.records.shot_facts import ShotFact
from proofyard.records.still_to_do import OpenShot, arrows_shot_since_a_check, newest_day, open_shots
from proofyard.records.trial import Trial
from proofyard.records.trial_days import DayFact, days_of, trials_there
from proofyard.shots.loosed import LoosedShot, loosed_of_trials
from proofyard.shots.soundness import soundness
from proofyard.storage import Session
from proofyard.views.cells import FEWEST_FOR_PERCENT
from proofyard.views.counted import standing
from proofyard.views.head_strips import HeadStrip, head_strips, shares_by_head
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import Through, ViewSettings, form_of, form_words, through_of
from proofyard.wording.counts import all_listed, capital, days_listed, listed
from proofyard.wording.counts import counted as so_many
from proofyard.wording.when import day_words

MOST_GROUPS = 2  # panel types in one line
MOST_LABELS = 4  # shots named in one line of work
MOST_TRIALS = 12  # the newest; all of them stand on their own page
MOST_SHEETS = 6
MOST_ARROWS = 20  # named in one line of work


@dataclass(frozen=True)
class Work:
    """What still wants a hand. sort: unread, rear_check or arrows; href: where it is done, if all of it is in one place."""

    sort: str
    count: int
    which: str
    href: str


@dataclass(frozen=True)
class DaySheet:
    session_id: str
    trial_number: int


@dataclass(frozen=True)
class ShownDay:
    """The newest day that something was shot on. here: place, who shot how many, who has the line; more: days whose sheet isn't here."""

    day: str
    words: str
    here: str
    sheets: tuple[DaySheet, ...]
    more: int


class Claimed(Protocol):
    """A trial's claim with its answer."""

    @property
    def title(self) -> Reason: ...


# Judges a claim by its trial's shots. The page hands it over: no answer imports another.
Judge = Callable[[ClaimFact, Sequence[LoosedShot]], Claimed]


@dataclass(frozen=True)
class AnswerPart:
    """One clause. lead: the panel type and the bow that it is about, or ""."""

    lead: str
    words: Reason


@dataclass(frozen=True)
class TrialSeen:
    """One trial. number: as in the list of trials; answer: in one line; about: state, days, panel types and bows.

    claimed  that line is the answer to its claim, as the trial's own page has it; else it counts
    few      no head of that line has shots enough for a percentage
    """

    trial_id: str
    number: int
    question: str
    answer: tuple[AnswerPart, ...]
    claimed: bool
    few: bool
    about: str
    strips: tuple[HeadStrip, ...]


@dataclass(frozen=True)
class Begun:
    """trials: the newest first, of so many. most: the shots of the longest side of a strip, so that all are drawn to one length a shot."""

    shown: ShownDay
    work: tuple[Work, ...]
    trials: tuple[TrialSeen, ...]
    of: int
    most: int


def read_begun(session: Session, *, states: Mapping[str, str], judge: Judge) -> Begun | None:
    """Twelve statements whatever the number of shots; None while nothing was shot. Of the book's trials the newest alone are read."""
    newest = newest_day(session)
    if newest is None:
        return None
    day, by_archer = newest
    every = [key for key, _ in trials_there(session)]
    numbers = {key: len(every) - n for n, key in enumerate(every)}
    loosed = loosed_of_trials(session, every[:MOST_TRIALS])
    flown = [shot for shot in loosed.shots if shot.fact.purpose != "let_down"]
    trials = []
    for trial in (loosed.trials[key] for key in every[:MOST_TRIALS]):
        # Judged by all that its own page judges it by, let-downs too.
        mine = [shot for shot in loosed.shots if shot.fact.trial_id == trial.id]
        claim = loosed.claims.get(trial.id)
        answer = judge(claim, mine).title if claim else None
        shot_in_it = [shot for shot in mine if shot.fact.purpose != "let_down"]
        seen = trial_seen(trial, shot_in_it, around=flown, state=states[trial.state], claim=answer)
        trials.append(replace(seen, number=numbers[trial.id]))
    arrows = [arrow.tag for arrow in arrows_shot_since_a_check(session) if soundness(arrow) == "to_check"]
    most = max((strip.longest for trial in trials for strip in trial.strips), default=1)
    shown = shown_day(days_of(session, day=day), by_archer, day=day, numbers=numbers)
    return Begun(shown, work_of(open_shots(session), arrows, day=day), tuple(trials), len(every), most)


def shown_day(days: Sequence[DayFact], by_archer: Mapping[str, int], *, day: str, numbers: Mapping[str, int]) -> ShownDay:
    officers = dict.fromkeys(one.day.officer for one in days if one.day.officer)
    said = list(dict.fromkeys(one.day.place for one in days if one.day.place))
    said.append(f"{all_listed(sorted(by_archer))}, {so_many(sum(by_archer.values()), 'shot')}")
    if len(officers) == 1:
        said.append(f"{next(iter(officers))} had the line")
    sheets = [DaySheet(one.day.id, numbers[one.trial.id]) for one in days if one.trial.id in numbers]
    newest = sorted(sheets, key=lambda one: one.trial_number)[-MOST_SHEETS:]
    return ShownDay(day, day_words(day), ". ".join(said) + ".", tuple(one for one in sheets if one in newest), len(sheets) - len(newest))


def work_of(facts: Sequence[ShotFact | OpenShot], arrows: Sequence[str], *, day: str) -> tuple[Work, ...]:
    """Of all days: what was left open a week ago is open still. The newest day's is done at the range, an older one's on its page."""
    unread = [fact for fact in facts if fact.unread]
    checks = [fact for fact in facts if fact.rear_check and fact.hit is not None]
    found = [_shots_to_do("unread", unread, day, "/range/butt"), _shots_to_do("rear_check", checks, day, "/range/bench")]
    if arrows:
        found.append(Work("arrows", len(arrows), listed(arrows, most=MOST_ARROWS), "/range/bench"))
    return tuple(one for one in found if one)


def _shots_to_do(sort: str, facts: Sequence[ShotFact | OpenShot], day: str, at_the_range: str) -> Work | None:
    if not facts:
        return None
    first = facts[: MOST_LABELS - 1] if len(facts) > MOST_LABELS else facts
    by_panel: dict[str, list[str]] = {}
    for fact in first:
        by_panel.setdefault(fact.panel_name, []).append(fact.label)
    which = "; ".join(f"{', '.join(labels)} on {panel}" for panel, labels in by_panel.items())
    more = f" and {len(facts) - len(first)} more" if len(first) < len(facts) else ""
    return Work(sort, len(facts), which + more, at_the_range if facts[-1].day == day else f"/sessions/{facts[-1].session_id}")


def trial_seen(
    trial: Trial, shots: Sequence[LoosedShot], *, around: Sequence[LoosedShot], state: str, claim: Reason | None = None
) -> TrialSeen:
    """A count of hits needs no energy: shots that were not measured are counted, as on the trial's own page.

    claim  the answer to what the trial claims, which then is its line
    """
    counted = [shot for shot in shots if standing(shot, ViewSettings()) in (None, "not_measured")]
    through = through_of(trial)
    chosen = bool(counted) and bool(
        energies_chosen(view_of_shots(counted, NO_FACTS, around=around, trials={trial.id: trial}, through=through))
    )
    parts, most = ((AnswerPart("", claim),), 0) if claim else _answer(shots, counted, through, chosen=chosen)
    return TrialSeen(
        trial_id=trial.id,
        number=0,
        question=trial.question,
        answer=parts,
        claimed=claim is not None,
        few=0 < most < FEWEST_FOR_PERCENT,
        about=_about(state, shots),
        strips=() if chosen else head_strips(counted, through),
    )


def _about(state: str, shots: Sequence[LoosedShot]) -> str:
    facts = [shot.fact for shot in shots]
    bows = {fact.bow_name: fact.marked_weight_n or 0.0 for fact in facts}
    types = dict.fromkeys(panel_type_of(fact)[1] for fact in sorted(facts, key=lambda fact: fact.panel_name))
    said = (state, days_listed(fact.day for fact in facts), ", ".join(types), all_listed(sorted(bows, key=lambda name: bows[name])))
    return " · ".join(filter(None, said))


def _answer(
    shots: Sequence[LoosedShot], counted: Sequence[LoosedShot], through: Through, *, chosen: bool
) -> tuple[tuple[AnswerPart, ...], int]:
    """What the strongest bow did to each panel type, head by head in the order of the forms, never of the counts; the most shots of one."""
    if not counted or chosen:
        why = because("home_chosen") if counted else because("home_none_counted") if shots else because("home_no_shots")
        return (AnswerPart("", why),), 0
    by_type: dict[str, list[LoosedShot]] = {}
    for shot in counted:
        by_type.setdefault(panel_type_of(shot.fact)[1], []).append(shot)
    widest = sorted(by_type, key=lambda words: (-len(by_type[words]), words))
    parts, most = [], 0
    for target in widest[:MOST_GROUPS]:
        strongest = max(by_type[target], key=lambda shot: (shot.fact.marked_weight_n or 0.0, shot.fact.bow_name)).fact
        mine = [shot for shot in by_type[target] if shot.fact.bow_id == strongest.bow_id]
        heads = tuple(f"{form_words(form).lower()} {share}" for form, share in shares_by_head(mine, through))
        parts.append(AnswerPart(f"{capital(target)}, {strongest.bow_name}:", because("home_heads", past=through.past, heads=heads)))
        most = max(most, *Counter(form_of(shot.fact) for shot in mine).values())
    if len(widest) > len(parts):
        parts.append(AnswerPart("", because("home_more_types", more=len(widest) - len(parts))))
    return tuple(parts), most
