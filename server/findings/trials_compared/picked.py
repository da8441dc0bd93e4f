"""Which trials an address asks to lay side by side, what each is called there, and which pair is shown where none is asked for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from server.findings.loosed import Loosed
from server.findings.view_settings import Query
from server.records.trial import Trial

MOST = 4  # more columns than that, and nobody sees what changed


@dataclass(frozen=True)
class TrialName:
    """A trial and its number in the list of trials, oldest 1."""

    trial: Trial
    number: int

    @property
    def short(self) -> str:
        return f"Trial {self.number}"


@dataclass(frozen=True)
class Picked:
    """`names`: those to compare, oldest first; `offered`: all there are, newest first; `typed`: as the address had them.

    of_itself  nobody picked: the newest pair stands in
    """

    names: tuple[TrialName, ...]
    offered: tuple[TrialName, ...]
    typed: tuple[str, ...]
    problems: Mapping[str, str] = field(default_factory=dict)
    of_itself: bool = False

    @property
    def trials(self) -> tuple[Trial, ...]:
        return tuple(one.trial for one in self.names)

    @property
    def why_none(self) -> str:
        """What is wanted before anything can be compared."""
        if len(self.offered) < 2:
            return "There is only one trial here, and it takes two to compare." if self.offered else "No trial yet, so nothing to compare."
        return "Pick one more to lay beside it." if len(self.names) == 1 else "Pick two or more to lay side by side."


def pick_trials(query: Query, trials: Mapping[str, Trial], *, of_itself: bool = False) -> Picked:
    """Read the trials of an address; one that can't be used gets a sentence, and the rest is kept."""
    standing = sorted((trial for trial in trials.values() if trial.struck_rev is None), key=lambda trial: trial.id)
    names = [TrialName(trial, n) for n, trial in enumerate(standing, 1)]
    typed = tuple(dict.fromkeys(value.strip() for value in query.get("trial", ()) if value.strip()))
    found = [one for one in names if one.trial.id in typed]
    problems = {}
    if len(found) < len(typed):
        problems["trial"] = "One that you asked for is not in the book, or was struck through. Pick from those below."
    if len(found) > MOST:
        problems["trial"] = f"{len(found)} at once are too many to read: {MOST} at most. The first {MOST} are shown."
        found = found[:MOST]
    return Picked(tuple(found), tuple(reversed(names)), () if of_itself else typed, problems, of_itself)


def newest_pair(loosed: Loosed) -> tuple[str, str] | None:
    """The newest trial that follows another, with that one; else the newest two that were shot; None if there are none."""
    shot = {one.fact.trial_id for one in loosed.shots}
    standing = sorted((trial for trial in loosed.trials.values() if trial.struck_rev is None), key=lambda trial: trial.id, reverse=True)
    ids = {trial.id for trial in standing}
    for trial in standing:
        if trial.follows_id in ids and {trial.id, trial.follows_id} <= shot:
            return str(trial.follows_id), trial.id
    newest = [trial.id for trial in standing if trial.id in shot][:2]
    return (newest[1], newest[0]) if len(newest) == 2 else None


def common_through(trials: Sequence[Trial]) -> str:
    """What all of these call through, as it stands in an address; point behind where they disagree or don't say."""
    said = {trial.through or "4" for trial in trials}
    only = said.pop() if len(said) == 1 else "4"
    return only if only != "0" else "1"
