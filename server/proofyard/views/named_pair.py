"""Which pair was the question before the first shot, as far as the trial's own words say so."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.claim_facts import ClaimFact
from proofyard.records.trial import Trial
from proofyard.shots.loosed import LoosedShot
from proofyard.views.cells import RowGroup
from proofyard.views.claimed import Names, two_of
from proofyard.views.comparable import Kind
from proofyard.views.panel_type import NOT_RECORDED


@dataclass(frozen=True)
class Declared:
    """The pair's keys and how that is known; or that none was named, and why."""

    pair: tuple[str, str] | None
    reason: Reason


def declared_of(
    groups: Sequence[RowGroup],
    *,
    kind: Kind,
    shots: Sequence[LoosedShot],
    trials: Mapping[str, Trial],
    claims: Mapping[str, ClaimFact],
    loosed: Sequence[LoosedShot],
) -> Declared:
    """What the trial of these shots wrote down. `groups`: those that were shot here; `loosed`: every shot, of other panel types too.

    A claim that compares two, stated before the first shot, is that pair. Else a trial says in words what it varies. Only where
    those words can mean one pair alone is it taken as the question asked beforehand: picking the pair after seeing the counts
    would make any of them the first.
    """
    trial = trial_of(shots, trials)
    if trial is None:
        several = len({shot.fact.trial_id for shot in shots})
        return Declared(None, because("of_several_trials", trials=several) if several > 1 else because("no_trial_named_it"))
    claimed = _claimed(claims.get(trial.id), kind, shots)
    if claimed is not None and {*claimed} <= {row.key for row in groups}:
        return Declared(claimed, because("trial_claims_these"))
    if not trial.varied:
        return Declared(None, because("trial_does_not_say"))
    if not any(_says(trial.varied, word) for word in kind.varied):
        return Declared(None, because("trial_varies_other", varied=trial.varied, kind=kind.words))
    text = f"{trial.question} {trial.varied}"
    named = [row.key for row in groups if _names(text, row, groups)]
    if len(named) == 2:
        return Declared((named[0], named[1]), because("trial_names_these", varied=trial.varied))
    # Every shot of the trial, whatever the view narrows to: two heads picked out of four are not what it asked about.
    of_trial = {kind.group(shot.fact).key for shot in loosed if shot.fact.trial_id == trial.id}
    if len(groups) == 2 and of_trial <= {row.key for row in groups}:
        return Declared((groups[0].key, groups[1].key), because("trial_shot_these", varied=trial.varied))
    return Declared(None, because("trial_names_no_two", varied=trial.varied, kind=kind.words))


def _claimed(claim: ClaimFact | None, kind: Kind, shots: Sequence[LoosedShot]) -> tuple[str, str] | None:
    """The keys of the two groups that a claim compares, where each is one group among these shots."""
    two = None if claim is None or claim.late else two_of(claim.claim)
    if two is None or two.kind != kind.key:
        return None
    one, other = (keys_named(kind, names, shots) for names in (two.one, two.other))
    return (one[0], other[0]) if len(one) == len(other) == 1 else None


def keys_named(kind: Kind, names: Names, shots: Sequence[LoosedShot]) -> list[str]:
    """The groups to which the shots of a claim's group belong."""
    return list(dict.fromkeys(kind.group(shot.fact).key for shot in shots if names(shot.fact)))


def trial_of(shots: Sequence[LoosedShot], trials: Mapping[str, Trial]) -> Trial | None:
    """The one trial that all these shots are of; None where they are of several."""
    ids = {shot.fact.trial_id for shot in shots}
    return trials.get(next(iter(ids))) if len(ids) == 1 else None


def _names(text: str, row: RowGroup, groups: Sequence[RowGroup]) -> bool:
    """Whether a trial's words name this group: "Long needle bodkin", or "needle" for short; "bodkin" alone names two."""
    if row.key in (NOT_RECORDED, "other"):
        return False
    last = row.words.split()[-1]
    alone = [last] if [one.words.split()[-1] for one in groups].count(last) == 1 else []
    return any(_says(text, word) for word in (row.words, row.key.replace("_", " "), *alone))


def _says(text: str, word: str) -> bool:
    return re.search(rf"\b{re.escape(word)}", text, re.IGNORECASE) is not None
