"""Every shot with what findings say of it: its figures, and whether it is fair. Results and downloads both start here."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.findings.fair_hits import FairMark, mark_hits
from server.findings.impact import Impact, Impacts
from server.records.arrow import ArrowCheck
from server.records.listing import all_of
from server.records.shot_facts import ShotFact, shot_facts
from server.records.trial import Trial
from server.storage import Session


@dataclass(frozen=True)
class LoosedShot:
    """One loose: as seen, as worked out. `fair` is None for what did not strike the panel."""

    fact: ShotFact
    impact: Impact
    fair: FairMark | None


@dataclass(frozen=True)
class Loosed:
    """All shots in the order they were loosed, those struck through apart, and the trials by id."""

    shots: tuple[LoosedShot, ...]
    struck: tuple[LoosedShot, ...]
    trials: Mapping[str, Trial]

    def of_trial(self, trial_id: str | None) -> "Loosed":
        """What a viewer of one trial may see; all for None. Fairness has been worked out from all shots already."""
        if trial_id is None:
            return self
        mine = [tuple(s for s in some if s.fact.trial_id == trial_id) for some in (self.shots, self.struck)]
        return Loosed(mine[0], mine[1], {key: trial for key, trial in self.trials.items() if key == trial_id})


def load_loosed(session: Session, *, pool: bool = False) -> Loosed:
    """Fetch and work out everything, in eight statements whatever the number of shots.

    Earlier hits count per panel build across trials, so fairness needs them all, whatever a view shows.
    """
    facts = shot_facts(session, struck=True)
    impacts = Impacts.load(session, [fact for fact in facts if not fact.struck], pool=pool)
    return loosed_with(session, facts, impacts=impacts)


def loosed_with(session: Session, facts: Sequence[ShotFact], *, impacts: Impacts) -> Loosed:
    """The same of figures that the caller fetched; `facts`: all of the book, those struck through among them."""
    standing = [fact for fact in facts if not fact.struck]
    trials = {trial.id: trial for trial in all_of(session, Trial, struck=True)}
    marks = mark_hits(standing, trials=trials, checks=all_of(session, ArrowCheck))
    shots = [LoosedShot(fact, impacts.of_shot(fact), None if fact.struck else marks.get(fact.shot_id)) for fact in facts]
    return Loosed(
        shots=tuple(shot for shot in shots if not shot.fact.struck),
        struck=tuple(shot for shot in shots if shot.fact.struck),
        trials=trials,
    )
