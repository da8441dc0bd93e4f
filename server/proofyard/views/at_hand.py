"""What can be shot now, and with what energy: combinations of a bow, a sound arrow and an archer whose speed is known."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from proofyard.quantities.reason import Reason, because
from proofyard.records.range_facts import CurrentArrow
from proofyard.records.speed_facts import CombinationFact
from proofyard.shots.impact import Impacts
from proofyard.shots.soundness import soundness
from proofyard.wording.counts import bow_label


@dataclass(frozen=True)
class InHand:
    """One combination with the energy of its mean speed where that was read: joules at the chronograph. pooled: like combinations
    spoke for it."""

    fact: CombinationFact
    energy_j: float
    pooled: bool

    @property
    def bow_words(self) -> str:
        label = bow_label(self.fact.marked_weight_n, self.fact.bow_name)
        return f"{label}\u00a0lb bow" if self.fact.marked_weight_n is not None else self.fact.bow_name

    @property
    def words(self) -> str:
        return f"arrow {self.fact.arrow_tag}, {self.bow_words}, {self.fact.archer}"


@dataclass(frozen=True)
class AtHand:
    """What can be shot, and what can't be chosen from."""

    combinations: tuple[InHand, ...]
    left_out: tuple[Reason, ...]


def at_hand(
    known: Mapping[str, CombinationFact],
    impacts: Impacts,
    *,
    arrows: Iterable[CurrentArrow],
    bow_builds: Iterable[str],
    archers: Iterable[str],
    only_arrows: Iterable[str] = (),
    only_bows: Iterable[str] = (),
) -> AtHand:
    """only_arrows, only_bows: those that the trial says it uses; empty for all."""
    used_arrows, used_bows = set(only_arrows), set(only_bows)
    builds = {one.build: one for one in arrows if not used_arrows or one.arrow in used_arrows}
    bows, people = set(bow_builds), set(archers)
    found, unsound, unknown = [], set(), 0
    for combination_id, fact in known.items():
        arrow = builds.get(fact.arrow_build_id)
        if arrow is None or fact.bow_build_id not in bows or fact.archer_id not in people or (used_bows and fact.bow_id not in used_bows):
            continue
        if soundness(arrow) != "sound":
            unsound.add(fact.arrow_tag)
            continue
        speed = impacts.of_combination(combination_id)
        energy = speed.energy_at_chronograph_j
        if energy is None or energy.value <= 0:
            unknown += 1
        else:
            found.append(InHand(fact, energy.value, speed.pooled is not None))
    left_out = []
    if unsound:
        tags: list[str] = sorted(unsound, key=lambda tag: (len(tag), tag))
        left_out.append(because("arrows_to_check_first", tags=tuple(tags)))
    if unknown:
        left_out.append(because("combinations_without_energy", count=unknown))
    found.sort(key=lambda one: (one.energy_j, one.fact.combination_id))
    return AtHand(tuple(found), tuple(left_out))
