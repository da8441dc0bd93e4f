"""The kit that a next shot is chosen from, fetched: shots' own figures, and those of combinations, pooled with like ones.

Of a book with many arrows in use those that phones are told of alone, so that a choice costs what its trial holds: an arrow that no
phone at the range knows of can't be shot next. Like combinations are looked for among these arrows too.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from proofyard.quantities.reason import because
from proofyard.records.arrow import ArrowCheck
from proofyard.records.arrows_at_the_range import NEWEST_BUILDS, arrows_wanted, builds_beside
from proofyard.records.plan_facts import kit_at_hand
from proofyard.records.range_facts import CurrentArrow
from proofyard.records.shot_facts import ShotFact
from proofyard.records.speed_facts import CombinationFact, combinations, masses_and_instruments, speeds_around
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import checks_of
from proofyard.storage import Session
from proofyard.views.at_hand import AtHand, at_hand


@dataclass(frozen=True)
class KitToChooseFrom:
    """impacts: of the shots themselves; pooled: of combinations, with like ones. of_many: more arrows are in use than these.

    uses    what one trial says that it uses: ids by "uses_arrow", "uses_bow"
    checks  of the arrows that were shot
    """

    impacts: Impacts
    pooled: Impacts
    known: Mapping[str, CombinationFact]
    arrows: Sequence[CurrentArrow]
    of_many: bool
    uses: Mapping[str, tuple[str, ...]]
    checks: Sequence[ArrowCheck]

    @classmethod
    def load(
        cls,
        session: Session,
        facts: Sequence[ShotFact],
        *,
        trials: Collection[str],
        panel_builds: Collection[str],
        trial_id: str | None = None,
    ) -> "KitToChooseFrom":
        """Seven statements.

        facts                   the shots whose figures, and whose arrows' checks, are asked for
        trials, panel_builds    what is shot, and at which panels
        trial_id                the one that says what it uses
        """
        arrows = arrows_wanted(session, trials, panel_builds)
        beside, of_many = builds_beside(session, arrows)
        builds = sorted({fact.arrow_build_id for fact in facts}.union(beside))
        series, own = speeds_around(session, builds)
        weighed, tools = masses_and_instruments(session, builds)
        known = combinations(session, builds)
        alone, together = (
            Impacts(series=series, own=own, mass_facts=weighed, tools=tools, known=known, pool=pool) for pool in (False, True)
        )
        kit = {sort: tuple(key for key, _ in pairs) for sort, pairs in kit_at_hand(session, trial_id=trial_id).items()}
        return cls(alone, together, known, arrows, of_many, kit, checks_of(session, facts))

    def at_hand(self, *, only_arrows: Iterable[str], only_bows: Iterable[str]) -> AtHand:
        """only_arrows, only_bows: those that the trial says it uses; empty for all."""
        found = at_hand(
            self.known,
            self.pooled,
            arrows=self.arrows,
            bow_builds=self.uses["bow"],
            archers=self.uses["archer"],
            only_arrows=only_arrows,
            only_bows=only_bows,
        )
        few = because("chosen_of_many_arrows", newest=NEWEST_BUILDS)
        return replace(found, left_out=(*found.left_out, few)) if self.of_many else found
