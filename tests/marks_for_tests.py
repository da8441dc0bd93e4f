"""The fairness of a few shots, as any page works it out from all that bears on it."""

from __future__ import annotations

from collections.abc import Sequence

from proofyard.records.arrow import ArrowCheck
from proofyard.records.listing import all_of
from proofyard.records.shot_facts import ShotFact, facts_for_fairness
from proofyard.records.trial import Trial
from proofyard.shots.fair_hits import FairMark, mark_hits
from proofyard.storage import Session


def fair_marks(session: Session, facts: Sequence[ShotFact]) -> dict[str, FairMark]:
    """The marks of those that struck the panel, by shot id."""
    builds = sorted({fact.panel_build_id for fact in facts})
    trials = {trial.id: trial for trial in all_of(session, Trial, voided=True)}
    around = facts_for_fairness(session, builds)
    marks = mark_hits(around, builds=builds, trials=trials, checks=all_of(session, ArrowCheck))
    return {fact.shot_id: marks[fact.shot_id] for fact in facts if fact.shot_id in marks}
