"""Every shot with what findings say of it: its figures, and whether it is fair. Results and downloads both start here."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from proofyard.quantities import Uncertain
from proofyard.records.arrow import ArrowCheck
from proofyard.records.claim_facts import ClaimFact, trials_with_claims
from proofyard.records.listing import all_of, belonging, cache_and_latest, held, nobody_writes
from proofyard.records.shot_facts import ShotFact, facts_for_fairness, shot_facts
from proofyard.records.trial import Trial
from proofyard.records.trial_days import newest_trials
from proofyard.shots.fair_hits import FairMark, mark_hits
from proofyard.shots.impact import Impact, Impacts
from proofyard.storage import Session


@dataclass(frozen=True)
class LoosedShot:
    """One loose: as seen, as worked out. `fair` is None for what did not strike the panel."""

    fact: ShotFact
    impact: Impact
    fair: FairMark | None

    # What pages ask of every shot: what is kept of it answers without making the whole of its figures.

    @property
    def basis(self) -> str:
        return self.impact.basis

    @property
    def measured(self) -> bool:
        return self.impact.measured

    @property
    def speed_m_s(self) -> float | None:
        return self.impact.speed.value if self.impact.speed else None

    @property
    def target_speed_m_s(self) -> float | None:
        """None where it can't be told."""
        return self.impact.at_target.speed_m_s if self.impact.at_target else None

    @property
    def mass_kg(self) -> float | None:
        """Of its arrow; None where nobody weighed it."""
        return self.impact.mass.value if self.impact.mass else None

    @property
    def fair_answer(self) -> str | None:
        """One of fair, not_fair, not_known; None for what did not strike the panel."""
        return self.fair.answer if self.fair else None

    @property
    def fair_sort(self) -> str | None:
        """Why it isn't fair, or isn't known to be, as one word; None with `fair_answer`."""
        return self.fair.sort if self.fair else None

    @property
    def drag_fitted(self) -> bool | None:
        """Whether the air's part is from the arrow's own readings; None where the energy at the target can't be told."""
        return self.impact.at_target.drag.fitted if self.impact.at_target else None

    def with_mark(self, fair: FairMark) -> "LoosedShot":
        """The same shot, its fairness told otherwise."""
        return replace(self, fair=fair)

    def energy_at(self, place: str) -> Uncertain | None:
        return self.impact.energy_at(place)

    def has_energy_at(self, place: str) -> bool:
        return self.impact.has_energy_at(place)

    def parts_at_target(self) -> tuple[float, Mapping[str, float]] | None:
        """The energy there, and what each of SCOPES adds to its uncertainty; None where that can't be told."""
        there = self.impact.at_target
        return None if there is None or there.missing else (there.budget.value, there.budget.by_scope)


class LoosedInPassing(LoosedShot):
    """The same, with its figures worked out once somebody asks: most views show a part of the shots that they go through."""

    def __init__(self, fact: ShotFact, impact: Impact | Impacts, fair: FairMark | None) -> None:
        self.__dict__.update(fact=fact, fair=fair, **({"of": impact} if isinstance(impact, Impacts) else {"impact": impact}))

    @cached_property
    def impact(self) -> Impact:
        of: Impacts = self.__dict__["of"]
        return of.of_shot(self.fact)


@dataclass(frozen=True)
class Loosed:
    """All shots in the order they were loosed, those crossed out apart, the trials by id, and what a trial claims by the trial's id.

    only_trial  the one trial that it was fetched for: beside that trial's shots are only those which say something of them. None: all
    newest      then the trials that a reader can go on to, newest first: id -> question
    """

    shots: tuple[LoosedShot, ...]
    voided: tuple[LoosedShot, ...]
    trials: Mapping[str, Trial]
    claims: Mapping[str, ClaimFact] = field(default_factory=dict)
    only_trial: str | None = None
    newest: Mapping[str, str] = field(default_factory=dict)

    @property
    def facts(self) -> list[ShotFact] | None:
        """Of the shots that were fetched, for who fetches more about them; None where that is all of the book."""
        return None if self.only_trial is None else [shot.fact for shot in (*self.shots, *self.voided)]

    def of_trial(self, trial_id: str | None) -> "Loosed":
        """What a viewer of one trial may see; all for None. Fairness has been worked out from all shots already."""
        return self if trial_id is None else held(("of a trial", id(self), trial_id), lambda: (self, self._narrowed(trial_id)))[1]

    def _narrowed(self, trial_id: str) -> "Loosed":
        mine = [tuple(seen_from(some, trial_id)) for some in (self.shots, self.voided)]
        trials = {key: one for key, one in self.trials.items() if key == trial_id}
        claims = {key: one for key, one in self.claims.items() if key == trial_id}
        return Loosed(mine[0], mine[1], trials, claims)


def seen_from(shots: Sequence[LoosedShot], trial_id: str | None) -> list[LoosedShot]:
    """What a viewer of one trial sees of these shots (None: all of them): its own, and no reason names another's."""
    if trial_id is None:
        return list(shots)
    mine = [shot for shot in shots if shot.fact.trial_id == trial_id]
    return [shot.with_mark(fair.for_viewer_of(trial_id)) if (fair := shot.fair) else shot for shot in mine]


def load_loosed(session: Session, *, pool: bool = False, trial_id: str | None = None) -> Loosed:
    """Fetch and work out everything, in eight statements whatever the number of shots.

    Earlier hits count per panel build across trials, so fairness needs them all, whatever a view shows. With a trial that has
    shots: its own, all that says which of them were fair, and no other. A view that pools may need readings of any.
    """
    if trial_id is not None and not pool and not nobody_writes():
        facts = facts_for_fairness(session, trial_id=trial_id)
        if any(fact.trial_id == trial_id for fact in facts):
            return _loosed_for(session, trial_id, facts)
    kept = None if pool or nobody_writes() else cache_and_latest(session)
    if kept:
        # Late: it is made of what stands here, and a small book keeps nothing.
        from proofyard.shots.remembered import shots_of_all

        found = shots_of_all(session, kept)
        if found is not None:
            return Loosed(found.standing, found.voided, *trials_with_claims(session))
    return held(("loosed", pool), lambda: loosed_with(session, shot_facts(session, voided=True), impacts=Impacts.load(session, pool=pool)))


def _apart(shots: Sequence[LoosedShot], trials: Mapping[str, Trial], claims: Mapping[str, ClaimFact]) -> Loosed:
    """Those crossed out apart."""
    standing, voided = (tuple(shot for shot in shots if shot.fact.voided == out) for out in (False, True))
    return Loosed(shots=standing, voided=voided, trials=trials, claims=claims)


def loosed_of_trials(session: Session, trial_ids: Iterable[str]) -> Loosed:
    """The shots of these trials and all that says which of them were fair, in seven statements."""
    wanted = frozenset(trial_ids)
    facts = facts_for_fairness(session, trial_id=wanted)
    return fair_in(session, wanted, facts, impacts=Impacts.load(session, facts))


def _loosed_for(session: Session, trial_id: str, facts: Sequence[ShotFact]) -> Loosed:
    found = fair_in(session, {trial_id}, facts, impacts=Impacts.load(session, facts))
    return replace(found, only_trial=trial_id, newest=newest_trials(session))


def fair_in(session: Session, trial_ids: Collection[str], facts: Sequence[ShotFact], *, impacts: Impacts) -> Loosed:
    """The same of shots and figures that the caller fetched; `facts`: these trials' and those around them."""
    trials, claims = trials_with_claims(session, {fact.trial_id for fact in facts} | set(trial_ids))
    builds = {fact.panel_build_id for fact in facts if fact.trial_id in trial_ids}
    marks = mark_hits(facts, builds=builds, trials=trials, checks=checks_of(session, facts))
    return _apart([LoosedInPassing(fact, impacts, None if fact.voided else marks.get(fact.shot_id)) for fact in facts], trials, claims)


def facts_around(session: Session, trial_id: str) -> Sequence[ShotFact]:
    """This trial's shots and all that says which of them were fair; of a book that is held, what is held."""
    return shot_facts(session, voided=True) if nobody_writes() else facts_for_fairness(session, trial_id=trial_id)


def checks_of(session: Session, facts: Iterable[ShotFact]) -> Sequence[ArrowCheck]:
    """What anybody found of the arrows that were shot here."""
    return belonging(session, ArrowCheck, "arrow_build_id", sorted({fact.arrow_build_id for fact in facts}))


def loosed_with(session: Session, facts: Sequence[ShotFact], *, impacts: Impacts) -> Loosed:
    """The same of figures that the caller fetched; `facts`: all of the book, those crossed out among them."""
    trials, claims = trials_with_claims(session)
    marks = mark_hits(facts, trials=trials, checks=all_of(session, ArrowCheck))
    return _apart([LoosedInPassing(fact, impacts, None if fact.voided else marks.get(fact.shot_id)) for fact in facts], trials, claims)


def loosed_on(session: Session, panel_build_ids: Iterable[str], *, trials: Mapping[str, Trial] | None = None) -> list[LoosedShot]:
    """In the order they were loosed, crossed-out ones too; seven statements, and one more if `trials` are not given."""
    builds = sorted(set(panel_build_ids))
    if not builds:
        return []
    if nobody_writes():
        return _of_builds(session, set(builds))
    around = facts_for_fairness(session, builds)
    known = trials if trials is not None else trials_of(session, around)
    marks = mark_hits(around, builds=builds, trials=known, checks=checks_of(session, around))
    facts = [fact for fact in around if fact.panel_build_id in set(builds)]
    impacts = Impacts.load(session, facts)
    return [LoosedShot(f, impacts.of_shot(f), None if f.voided else marks.get(f.shot_id)) for f in facts]


def trials_of(session: Session, facts: Iterable[ShotFact]) -> dict[str, Trial]:
    """Of these shots, by id; those crossed out too, since their rules marked what was shot."""
    return {one.id: one for one in belonging(session, Trial, "id", sorted({fact.trial_id for fact in facts}), voided=True)}


def _of_builds(session: Session, builds: set[str]) -> list[LoosedShot]:
    """The same out of all shots, which are held."""
    whole = load_loosed(session)
    by_id = {one.fact.shot_id: one for one in (*whole.shots, *whole.voided)}
    return [by_id[fact.shot_id] for fact in shot_facts(session, voided=True) if fact.panel_build_id in builds]


def on_the_panel(shots: Sequence[LoosedShot]) -> list[LoosedShot]:
    """Those that left something on the panel, in order."""
    return [s for s in shots if not s.fact.voided and s.fact.hit in ("on_panel", "partial") and s.fact.purpose != "let_down"]
