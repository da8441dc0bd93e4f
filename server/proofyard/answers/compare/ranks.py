"""Two groups over all their energy levels, by order alone: how deep, how high on the outcome. A second question, always exploratory."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, because
from proofyard.records.shot_facts import ShotFact
from proofyard.statistics.comparing_by_ranks import DepthComparison, compare_depths
from proofyard.views.cells import CountedShot
from proofyard.views.kept_fits import ranked
from proofyard.views.pair_comparison import Pair, PairLevel
from proofyard.views.settings import FIRST_BEHIND

Bounds = tuple[int, int]
# Depths are ranked in whole micrometres; no tip stands a kilometre behind, so this is "nobody knows how deep".
_DEEPEST_UM = 10**9


@dataclass(frozen=True)
class RankFinding:
    """How one group stands against another, within levels of like energy.

    higher_share  of all pairs shot at one level: those in which the first group's shot stands higher, and half of those
                  that can't be parted
    pairs         how many such pairs there are
    """

    higher_share: float
    pairs: int
    p_value: float
    method: str
    shots: int
    other_shots: int


def outcome_level_bounds(one: CountedShot) -> Bounds:
    fact = one.shot.fact
    assert fact.outcome_low is not None and fact.outcome_high is not None
    return fact.outcome_low, fact.outcome_high


def depth_bounds(one: CountedShot) -> Bounds:
    """How far past the rear face, µm. What is not behind stands at 0: that is a depth too, and the least there is."""
    fact = one.shot.fact
    assert fact.outcome_low is not None and fact.outcome_high is not None
    if fact.outcome_high < FIRST_BEHIND:
        return 0, 0
    if fact.depth_m:
        return round(fact.depth_m * 1e6), _DEEPEST_UM if fact.depth_bound == "at_least" else round(fact.depth_m * 1e6)
    return (1 if fact.outcome_low >= FIRST_BEHIND else 0), _DEEPEST_UM


def alike_levels(pair: Pair) -> list[PairLevel]:
    """Those where both were shot at like energy: elsewhere the energy would be mistaken for the group."""
    return [level for level in pair.levels if level.found.alike == "alike"]


def by_ranks(pair: Pair, bounds: Callable[[CountedShot], Bounds]) -> RankFinding | CantTell:
    """The first group against the second in those levels where they may be ranked."""
    levels = alike_levels(pair)
    if not levels:
        return CantTell(because("no_level_of_like_energy"))
    shots = [(one, True, str(n)) for n, level in enumerate(levels) for one in level.first]
    shots += [(one, False, str(n)) for n, level in enumerate(levels) for one in level.second]
    is_first, names = [first for _, first, _ in shots], [name for _, _, name in shots]
    found = ranked([bounds(one) for one, _, _ in shots], is_first, energy_levels=names)
    if isinstance(found, CantTell):
        return found
    return RankFinding(found.higher_share, found.pairs, found.p_value, found.method, found.shots, found.other_shots)


def by_depth(pair: Pair) -> RankFinding | CantTell:
    """Depths by ranks; can't be told while no point was through, or none of those was measured."""
    facts = [one.shot.fact for level in alike_levels(pair) for one in (*level.first, *level.second)]
    if facts and not any(_perhaps_behind(fact) for fact in facts):
        return CantTell(because("no_point_through_in_either"))
    if facts and not any(fact.depth_m for fact in facts if _perhaps_behind(fact)):
        return CantTell(because("no_depth_measured"))
    return by_ranks(pair, depth_bounds)


def depth_shift(level: PairLevel, *, confidence: float = 0.95) -> DepthComparison | CantTell:
    """By how much one goes deeper at one level; only where every point was through and measured."""
    sides = [[one.shot.fact for one in some] for some in (level.first, level.second)]
    if level.found.alike != "alike" or not all(_surely_behind(fact) and fact.depth_m for side in sides for fact in side):
        return CantTell(because("not_every_point_measured"))
    first, second = (_depths(side) for side in sides)
    at_least = [[fact.depth_bound == "at_least" for fact in side] for side in sides]
    return compare_depths(first, second, first_at_least=at_least[0], second_at_least=at_least[1], level=confidence)


def _depths(side: Sequence[ShotFact]) -> list[float]:
    return [fact.depth_m or 0.0 for fact in side]


def _perhaps_behind(fact: ShotFact) -> bool:
    return fact.outcome_high is not None and fact.outcome_high >= FIRST_BEHIND


def _surely_behind(fact: ShotFact) -> bool:
    return fact.outcome_low is not None and fact.outcome_low >= FIRST_BEHIND
