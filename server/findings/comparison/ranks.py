"""Two groups over all their energy levels, by order alone: how often through, how deep, how high on the ladder."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from server.findings.cells import CountedShot
from server.findings.comparison.levels import LevelPair
from server.findings.through import FIRST_BEHIND
from server.records.shot_facts import ShotFact
from server.statistics.comparing_by_ranks import DepthComparison, compare_depths, compare_ladders
from server.statistics.refusals import CantTell

Bounds = tuple[int, int]
# Depths are ranked in whole micrometres; no tip stands a kilometre behind, so this is "nobody knows how deep".
_DEEPEST_UM = 10**9


@dataclass(frozen=True)
class RankFinding:
    """How one group stands against another, within energy levels.

    higher_share  of all pairs shot at one level: those in which the first group's shot stands higher, and half of those
                  that can't be parted
    smallest_p    what these shots could give at most: every one of the first above every one of the second
    """

    higher_share: float
    p_value: float
    smallest_p: float
    method: str
    levels: tuple[str, ...]
    shots: int
    other_shots: int


def through_bounds(one: CountedShot) -> Bounds:
    return int(one.through_low), int(one.through_high)


def rung_bounds(one: CountedShot) -> Bounds:
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


def by_ranks(levels: Sequence[LevelPair], bounds: Callable[[CountedShot], Bounds]) -> RankFinding | CantTell:
    """The first group against the second in those levels where they may be compared."""
    alike = [one for one in levels if one.comparable]
    if not alike:
        return CantTell("no energy level holds both at like energy")
    shots = [(one, True, level.band.with_unit) for level in alike for one in level.first.shots]
    shots += [(one, False, level.band.with_unit) for level in alike for one in level.second.shots]
    is_first, names = [first for _, first, _ in shots], [name for _, _, name in shots]
    found = compare_ladders([bounds(one) for one, _, _ in shots], is_first, energy_levels=names)
    if isinstance(found, CantTell):
        return found
    smallest = smallest_by_order([(len(level.first.shots), len(level.second.shots)) for level in alike])
    return RankFinding(found.higher_share, found.p_value, smallest, found.method, found.levels, found.shots, found.other_shots)


def smallest_by_order(sizes: Sequence[tuple[int, int]]) -> float:
    """The least p that a test by order could give: all of one alike and above all of the other, at every level.

    Of all the ways to deal the shots only that one is so far apart; its mirror too, where both are as many everywhere.
    """
    ways = math.prod(math.comb(first + second, first) for first, second in sizes)
    ends = 2 if all(first == second for first, second in sizes) else 1
    return ends / ways


def by_depth(levels: Sequence[LevelPair]) -> RankFinding | CantTell:
    """Depths by ranks; can't be told while no tip stood behind, or none of those that did was measured."""
    facts = [one.shot.fact for level in levels if level.comparable for cell in (level.first, level.second) for one in cell.shots]
    if facts and not any(_may_be_behind(fact) for fact in facts):
        return CantTell("no tip stood behind in either, so depth says nothing")
    if facts and not any(fact.depth_m for fact in facts if _may_be_behind(fact)):
        return CantTell("nobody measured how deep the tips stood behind")
    return by_ranks(levels, depth_bounds)


def depth_shift(level: LevelPair, *, confidence: float = 0.95) -> DepthComparison | CantTell:
    """By how much one goes deeper at one level; only where every tip stood behind and was measured."""
    sides = level.facts
    if not level.comparable or not all(_surely_behind(fact) and fact.depth_m for side in sides for fact in side):
        return CantTell("not every tip stood behind and was measured")
    first, second = ([fact.depth_m or 0.0 for fact in side] for side in sides)
    at_least = [[fact.depth_bound == "at_least" for fact in side] for side in sides]
    return compare_depths(first, second, first_at_least=at_least[0], second_at_least=at_least[1], level=confidence)


def _may_be_behind(fact: ShotFact) -> bool:
    return fact.outcome_high is not None and fact.outcome_high >= FIRST_BEHIND


def _surely_behind(fact: ShotFact) -> bool:
    return fact.outcome_low is not None and fact.outcome_low >= FIRST_BEHIND
