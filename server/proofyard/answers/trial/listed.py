"""The list of trials, narrowed by what its address asks: a day, a state, an armour, a head. Each answer says how many trials it has."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.arrow import FORMS
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.records.trial import STATES
from proofyard.records.trial_days import TrialLine, shot_at_in, trial_lines
from proofyard.storage import Session
from proofyard.views.address import AsTyped, Choice, Query, Reading
from proofyard.wording.when import day_words

FILTERS = (
    Choice(name="day", label="Day", blank="All days"),
    Choice(name="state", label="State", blank="All states"),
    Choice(name="armour", label="Armour", blank="All armour"),
    Choice(name="head", label="Head", blank="All heads"),
)


@dataclass(frozen=True, kw_only=True)
class AskedTrials(AsTyped):
    """only: filter -> the value that a trial must have among its own."""

    only: Mapping[str, str]


@dataclass(frozen=True)
class TrialsFound:
    """lines: those that match, newest first, each with its number among all of them."""

    asked: AskedTrials
    lines: tuple[tuple[int, TrialLine], ...]
    of: int

    @property
    def told(self) -> Reason:
        return because("trials_found", count=len(self.lines), of=self.of, narrowed=bool(self.asked.only))


def read_trials(session: Session, query: Query, *, only_trial: str | None = None) -> TrialsFound:
    """Two statements. only_trial: a viewer of one trial, who learns nothing of any other."""
    every = trial_lines(session, only=only_trial)
    has = shot_at_in(session)
    values = {line.trial.id: {"state": {line.trial.state}, **has.get(line.trial.id, {})} for line in every}
    reading = Reading(query)
    only = {}
    for one in FILTERS:
        counts = Counter(value for own in values.values() for value in own.get(one.name, ()))
        if asked := reading.one(one.of(_choices(one.name, counts))):
            only[one.name] = asked
    kept = [
        (len(every) - n, line)
        for n, line in enumerate(every)
        if all(value in values[line.trial.id].get(name, ()) for name, value in only.items())
    ]
    return TrialsFound(AskedTrials(only=only, **reading.as_typed()), tuple(kept), len(every))


def _choices(name: str, counts: Counter[str]) -> dict[str, str]:
    """Those that some trial has, with how many have it: days newest first, the rest in the order of the book's own lists."""
    if name == "day":
        words, order = {day: day_words(day) for day in counts}, sorted(counts, reverse=True)
    else:
        words = {"state": STATES, "armour": CONSTRUCTIONS, "head": FORMS}[name] | {"": "Not recorded"}
        order = [key for key in words if key in counts]
    return {key: f"{words[key]} ({counts[key]})" for key in order if key}
