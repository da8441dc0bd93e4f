"""Which trials an address asks to lay side by side, what each is called there, and which pair is shown where none is asked for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.trial import Trial
from proofyard.shots.loosed import Loosed
from proofyard.views.address import AsTyped, Query, Reading, Several, Tick
from proofyard.wording.reasons.said import said

MOST = 4  # more columns than that, and nobody sees what changed
TRIALS = Several(
    name="trial", label="Trials", hint="Two to four.", wrong="One of these trials does not exist or is crossed out. Pick from those below."
)
ALIKE = Tick(name="alike", label="Only shots that are alike in everything that changed for some", hint="Except single arrows and panels.")


@dataclass(frozen=True)
class TrialName:
    """A trial and its number in the list of trials, oldest 1."""

    trial: Trial
    number: int

    @property
    def short(self) -> str:
        return f"Trial {self.number}"


@dataclass(frozen=True, kw_only=True)
class Picked(AsTyped):
    """`names`: those to compare, oldest first; `offered`: all there are, newest first.

    alike       only shots that are alike in what changed for some of them
    by_default  nobody picked: the newest pair stands in
    """

    names: tuple[TrialName, ...]
    offered: tuple[TrialName, ...]
    alike: bool = False
    by_default: bool = False

    @property
    def trials(self) -> tuple[Trial, ...]:
        return tuple(one.trial for one in self.names)

    @property
    def why_none(self) -> Reason:
        """What is wanted before anything can be compared."""
        if len(self.offered) < 2:
            return because("only_one_trial") if self.offered else because("no_trial_yet")
        return because("pick_one_more_trial") if len(self.names) == 1 else because("pick_two_to_four_trials")


def pick_trials(query: Query, trials: Mapping[str, Trial], *, by_default: bool = False) -> Picked:
    """Read the trials of an address; one that can't be used gets a sentence, and the rest is kept."""
    standing = sorted((trial for trial in trials.values() if trial.voided_rev is None), key=lambda trial: trial.id)
    names = [TrialName(trial, n) for n, trial in enumerate(standing, 1)]
    reading = Reading(query)
    ids = reading.many(TRIALS.of({one.trial.id: f"{one.number}: {one.trial.question}" for one in reversed(names)}))
    found = [one for one in names if one.trial.id in ids]
    if len(found) > MOST:
        reading.problems[TRIALS.name] = said(because("asked_too_many_trials", trials=len(found), most=MOST))
        found = found[:MOST]
    return Picked(names=tuple(found), offered=tuple(reversed(names)), alike=reading.one(ALIKE), by_default=by_default, **reading.as_typed())


def newest_pair(loosed: Loosed) -> tuple[str, str] | None:
    """The newest trial that follows another, with that one; else the newest two that were shot; None if there are none."""
    shot = {one.fact.trial_id for one in loosed.shots}
    standing = sorted((trial for trial in loosed.trials.values() if trial.voided_rev is None), key=lambda trial: trial.id, reverse=True)
    ids = {trial.id for trial in standing}
    for trial in standing:
        if trial.follows_id in ids and {trial.id, trial.follows_id} <= shot:
            return str(trial.follows_id), trial.id
    newest = [trial.id for trial in standing if trial.id in shot][:2]
    return (newest[1], newest[0]) if len(newest) == 2 else None


def common_through(trials: Sequence[Trial]) -> str:
    """What all of these call through, as it stands in an address; point through where they disagree or don't say."""
    said = {trial.through or "4" for trial in trials}
    only = said.pop() if len(said) == 1 else "4"
    return only if only != "0" else "1"
