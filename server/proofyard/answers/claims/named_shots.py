"""The shots that a claim of energies names, as its trial's own page counts them: by group, with what is undecided and what stands apart."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from proofyard.answers.claims.evidence import may_be
from proofyard.records.claim import Claim
from proofyard.records.claim_facts import ClaimFact
from proofyard.records.listing import by_number
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.statistics.energy_claims import FEWEST_OF_A_TYPE
from proofyard.views.cells import CountedShot, counted_shots, settled
from proofyard.views.claimed import Names, groups_of, looks_of, why_apart
from proofyard.views.counted import sort_shots
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import ViewSettings, through_of

Resolved = list[tuple[CountedShot, int]]


@dataclass(frozen=True, eq=False)
class GroupSeen:
    """One group of a claim: its decided shots with an energy, and how many are undecided or have no energy."""

    shots: tuple[CountedShot, ...]
    undecided: int
    unmeasured: int

    @property
    def through(self) -> int:
        return sum(one.through_low for one in self.shots)

    @property
    def arrows(self) -> tuple[str, ...]:
        return tuple(sorted({one.shot.fact.arrow_tag for one in self.shots}, key=by_number))

    @property
    def panels(self) -> tuple[str, ...]:
        return tuple(sorted({one.shot.fact.panel_name for one in self.shots}, key=by_number))

    @property
    def types(self) -> set[str]:
        """What was shot at, in words."""
        return {panel_type_of(one.shot.fact)[1] for one in self.shots}


@dataclass(frozen=True)
class NamedShots:
    """The trial's shots with the settings of its own page, and those that its claim names, group by group."""

    fact: ClaimFact
    loosed: Loosed
    settings: ViewSettings
    names: tuple[Names, ...]

    @property
    def claim(self) -> Claim:
        return self.fact.claim

    @property
    def looks(self) -> str:
        return looks_of(self.fact.trial, self.fact, self.loosed.shots)

    def group(self, names: Names) -> GroupSeen:
        mine = self._with_energy(names)
        decided = tuple(one for one in mine if one.through_low == one.through_high)
        off_axis = sum(names(one.fact) for one in sort_shots(self.loosed, self.settings).off_axis)
        return GroupSeen(decided, len(mine) - len(decided), off_axis)

    def counted(self, names: Names) -> tuple[list[CountedShot], int]:
        """Of a group those with an energy, undecided ones among them, and how many have none."""
        return self._with_energy(names), self.group(names).unmeasured

    def resolved(self, names: Names, worst_first: Sequence[str]) -> Resolved:
        """The same with all that is undecided, fairness too, turned out as the first of these that it may be."""
        found = []
        for one in self._with_energy(names, fair="fair_or_not_known"):
            possible = may_be(one.shot, self.settings.through)
            sort = next(sort for sort in worst_first if sort in possible)
            if sort != "out":
                found.append((one, int(sort == "through")))
        return found

    @property
    def undecided(self) -> int:
        every = [one for names in self.names for one in self._with_energy(names, fair="fair_or_not_known")]
        return sum(len(may_be(one.shot, self.settings.through)) > 1 for one in every)

    @property
    def apart(self) -> Mapping[str, int]:
        """How many of those named are in no count, by reason; those without an energy beside them."""
        mine = [shot for shot in self.loosed.shots if any(names(shot.fact) for names in self.names)]
        found = Counter(why for shot in mine if (why := why_apart(shot)) not in (None, "no_shot"))
        unmeasured = sum(self.group(names).unmeasured for names in self.names)
        return {**{str(why): n for why, n in found.items()}, **({"no_target": unmeasured} if unmeasured else {})}

    @property
    def wanted(self) -> int:
        """Shots up to the number set beforehand, of the group that has fewest; 0 where none is set, or it is reached."""
        if self.fact.late or not self.claim.set_shots:
            return 0
        counts = [sum(names(shot.fact) and why_apart(shot) is None for shot in self.loosed.shots) for names in self.names]
        return max(0, self.claim.set_shots - min(counts))

    def _with_energy(self, names: Names, *, fair: str = "fair") -> list[CountedShot]:
        settings = replace(self.settings, fair=fair)
        mine = [one for one in sort_shots(self.loosed, settings).counted if names(one.fact)]
        return [one for one in counted_shots(mine, settings, edges=()) if one.energy and one.energy.value > 0]


def named_shots(fact: ClaimFact, shots: Sequence[LoosedShot]) -> NamedShots:
    """Of a trial's standing shots."""
    loosed = Loosed(tuple(shots), (), {fact.trial.id: fact.trial}, {fact.trial.id: fact})
    settings = settled(ViewSettings(only={"trial": fact.trial.id}, through=through_of(fact.trial)), loosed.shots)
    return NamedShots(fact, loosed, settings, groups_of(fact.claim))


def own_units(claim: Claim, groups: Sequence[GroupSeen]) -> list[list[tuple[str, int]]]:
    """Of each group how many arrows and panels are its own. What both groups were shot with, or at, cancels."""
    arrows = [frozenset(one.shot.fact.arrow_id for one in group.shots) for group in groups]
    panels = [frozenset(one.shot.fact.panel_id for one in group.shots) for group in groups]
    shared_arrows, shared_panels = (len(groups) > 1 and len(set(some)) == 1 for some in (arrows, panels))
    # Of two panels that are named nothing is asked about panels like them.
    kept_panels = not shared_panels and claim.claim_form != "panel"
    return [
        ([] if shared_arrows else [("arrow", len(arrow))]) + ([("panel", len(panel))] if kept_panels else [])
        for arrow, panel in zip(arrows, panels, strict=True)
    ]


def lacking(claim: Claim, groups: Sequence[GroupSeen]) -> tuple[str, int] | None:
    """Arrows or panels, whichever are fewest, where they are too few to speak of a type whose spread nobody has stated."""
    if claim.spread_ratio is not None:
        return None
    fewest = min((one for some in own_units(claim, groups) for one in some), key=lambda one: one[1], default=None)
    return fewest if fewest and fewest[1] < FEWEST_OF_A_TYPE else None
