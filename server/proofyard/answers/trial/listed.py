"""The list of trials, narrowed by what its address asks: a day, a state, an armour, a head. Each answer says how many trials it has."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.arrow import FORMS
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.records.trial import STATES
from proofyard.records.trial_days import TrialLine, shot_at_in, trial_lines, trials_there
from proofyard.storage import Session
from proofyard.views.address import PAGE, AskedPage, Choice, Query, Reading
from proofyard.wording.when import day_words

A_PAGE = 50  # trials: a line is 400 bytes
FILTERS = (
    Choice(name="day", label="Day", blank="All days"),
    Choice(name="state", label="State", blank="All states"),
    Choice(name="armour", label="Armour", blank="All armour"),
    Choice(name="head", label="Head", blank="All heads"),
)


@dataclass(frozen=True, kw_only=True)
class AskedTrials(AskedPage):
    """only: filter -> the value that a trial must have among its own."""

    only: Mapping[str, str]


@dataclass(frozen=True)
class TrialsFound:
    """lines: those of this page that match, newest first, each with its number among all of them.

    count   how many match; of: how many there are; page: which page of the list this is, of `pages`
    """

    asked: AskedTrials
    lines: tuple[tuple[int, TrialLine], ...]
    count: int
    of: int
    page: int
    pages: int

    @property
    def told(self) -> Reason:
        return because("trials_found", count=self.count, of=self.of, narrowed=bool(self.asked.only))

    @property
    def shown(self) -> Reason:
        first = (self.page - 1) * A_PAGE + 1
        return because("shots_on_page", first=first, last=first + len(self.lines) - 1, count=self.count)


def read_trials(session: Session, query: Query, *, only_trial: str | None = None) -> TrialsFound:
    """Three statements. only_trial: a viewer of one trial, who learns nothing of any other."""
    every = trials_there(session, only=only_trial)
    has = shot_at_in(session, only=only_trial)
    values = {key: {"state": {state}, **has.get(key, {})} for key, state in every}
    reading = Reading(query)
    only = {}
    for one in FILTERS:
        counts = Counter(value for own in values.values() for value in own.get(one.name, ()))
        if value := reading.one(one.of(_choices(one.name, counts))):
            only[one.name] = value
    asked = AskedTrials(only=only, page=reading.one(PAGE), **reading.as_typed())
    numbers = {key: len(every) - n for n, (key, _) in enumerate(every)}
    kept = [key for key in numbers if all(value in values[key].get(name, ()) for name, value in only.items())]
    pages = max(1, -(-len(kept) // A_PAGE))
    page = min(asked.page, pages)
    lines = trial_lines(session, kept[(page - 1) * A_PAGE : page * A_PAGE])
    return TrialsFound(asked, tuple((numbers[line.trial.id], line) for line in lines), len(kept), len(every), page, pages)


def _choices(name: str, counts: Counter[str]) -> dict[str, str]:
    """Those that some trial has, with how many have it: days newest first, the rest in the order of the book's own lists."""
    if name == "day":
        words, order = {day: day_words(day) for day in counts}, sorted(counts, reverse=True)
    else:
        words = {"state": STATES, "armour": CONSTRUCTIONS, "head": FORMS}[name] | {"": "Not recorded"}
        order = [key for key in words if key in counts]
    return {key: f"{words[key]} ({counts[key]})" for key in order if key}
