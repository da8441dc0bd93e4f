"""Depths and outcome levels compared by their order alone: no depth is too odd, and "at least 40 mm" or "3 or 4" still counts.

A reading stands between a low and a high bound. One is above another only if its low bound is above the other's high
bound; where the two bounds overlap neither is above, and the pair says nothing.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_level, because

# Beyond so many different sums counting every order takes longer than a page should, and drawing lots does as well.
MOST_SUMS = 30_000
DRAWS = 10_000
# Above so many pairs the ends of the shift come from the normal curve: the exact place differs by less than one.
MOST_PAIRS = 4000
LOTS_SEED = 5


@dataclass(frozen=True)
class Depths:
    """The depths that were compared, and which of them are "at least"."""

    first: tuple[float, ...]
    second: tuple[float, ...]
    first_at_least: tuple[bool, ...]
    second_at_least: tuple[bool, ...]


@dataclass(frozen=True)
class DepthComparison:
    """Depths of two groups: how often one goes deeper, by how much, and how often chance would part them so far.

    shift and its ends are None, with the reason in no_shift, where the depths can't carry them."""

    deeper_share: float
    p_value: float
    shift: float | None
    low: float | None
    high: float | None
    level: float
    held_level: float | None
    no_shift: Reason | None
    method: str
    depths: Depths


@dataclass(frozen=True)
class OutcomeComparison:
    """Outcome levels of two groups within energy levels. higher_share: of all pairs shot at one level, those in which the first
    group's shot stands higher, with half of those that can't be parted."""

    higher_share: float
    p_value: float
    method: str
    pairs: int
    levels: tuple[str, ...]
    levels_left_out: tuple[str, ...]
    shots: int
    other_shots: int


def compare_depths(
    first: Sequence[float],
    second: Sequence[float],
    *,
    first_at_least: Sequence[bool] = (),
    second_at_least: Sequence[bool] = (),
    level: float = 0.95,
) -> DepthComparison | CantTell:
    """Does one group go deeper, by how much, and how sure is that?

    p = share of all ways to deal the depths to two such groups that part them at least so far (Mann-Whitney, exact);
    shift = median of all first - second, its ends the k-th least and k-th greatest of them (Hodges-Lehmann)

    Takes
        first            array, finite, one unit  depths of the one group
        second           array, finite            depths of the other
        first_at_least   True or False a depth, or none  "at least so deep": the tip was not seen
        second_at_least  True or False a depth, or none
        level            scalar, 0.5 up to 1      at least so often the ends hold the true shift
    Gives
        DepthComparison; no shift where a depth is only "at least", no ends where so few can't carry the level.
        CantTell when either group has no depth
    Refuses
        CantUse  depths not finite, flags not as many as depths, level outside its range
    Holds while
        shots are independent; for the shift, the groups' depths have one shape and differ by a shift alone
    Weak when
        many depths are equal (the ends are then wider than they need be) or shots are fewer than 4 against 4
    Source
        Mann and Whitney, Annals of Mathematical Statistics 1947 18:50; Hodges and Lehmann, the same 1963 34:598;
        Gehan, Biometrika 1965 52:203 for "at least". Checked in tests/published/test_depths_and_outcome_levels.py
    >>> found = compare_depths([12.0, 20.0, 25.0, 31.0], [5.0, 6.0, 8.0, 11.0])
    >>> round(found.p_value, 4), found.shift, found.low, found.high
    (0.0286, 14.5, 1.0, 26.0)
    """
    low = [_finite(name, values) for name, values in (("first", first), ("second", second))]
    open_ended = [_flags("first_at_least", first_at_least, low[0]), _flags("second_at_least", second_at_least, low[1])]
    level = as_level(level)
    if not low[0] or not low[1]:
        return CantTell(because("one_has_no_depths"))
    bounds = [
        (value, math.inf if more else value)
        for values, flags in zip(low, open_ended, strict=True)
        for value, more in zip(values, flags, strict=True)
    ]
    size, other_size = len(low[0]), len(low[1])
    deeper, p_value, method = _rank_test([(bounds, size)])
    given = Depths(low[0], low[1], open_ended[0], open_ended[1])
    if any(map(any, open_ended)):
        why = because("depths_open_above")
        return DepthComparison(deeper, p_value, None, None, None, level, None, why, method, given)
    gaps = sorted(one - other for one in low[0] for other in low[1])
    shift = float(np.median(gaps))
    place, held = _place_of_ends(size, other_size, level=level)
    if place == 0:
        why = because("too_few_depths_for_a_shift", depths=size, other_depths=other_size, level=level)
        return DepthComparison(deeper, p_value, shift, None, None, level, None, why, method, given)
    ends = gaps[place - 1], gaps[-place]
    return DepthComparison(deeper, p_value, shift, *ends, level, held, None, method, given)


def compare_outcomes(
    outcome_levels: Sequence[tuple[int, int]], is_first: Sequence[bool], *, energy_levels: Sequence[str]
) -> OutcomeComparison | CantTell:
    """Does one head reach a higher outcome level than another, at like energy?

    sum over levels of (first's score)/(N + 1), score = shots surely below less shots surely above, within the level;
    p = share of all ways to deal the level's outcome levels to the two heads that give a sum at least so far from 0

    Takes
        outcome_levels  pairs of whole numbers, low no more than high  "3 or 4" is (3, 4), a sure 3 is (3, 3)
        is_first       True or False a shot   True for the head asked about, False for the other
        energy_levels  a name a shot          the energy band or the combination: only shots of one name are compared
    Gives
        OutcomeComparison; CantTell when only one head was shot, or no level has shots with both
    Refuses
        CantUse  a low outcome level above its high one, not as many heads or levels as outcome levels
    Holds while
        within a level which head was shot had nothing to do with the spot or the hour; shots are independent
    Weak when
        levels are wide and one head sits at their upper end: then energy is mistaken for the head
    Source
        van Elteren, Bulletin of the International Statistical Institute 1960 37:351 (the weights); exact by counting.
        Checked in tests/published/test_depths_and_outcome_levels.py and by enumeration in
        tests/statistics/test_statistics_comparing_by_ranks.py
    >>> outcome_levels = [(5, 5), (4, 4), (3, 4), (2, 2), (3, 3), (1, 1)]
    >>> found = compare_outcomes(outcome_levels, [True, True, True, False, False, False], energy_levels=["40 J"] * 6)
    >>> round(found.higher_share, 3), round(found.p_value, 3)
    (0.944, 0.1)
    """
    if not len(outcome_levels) == len(is_first) == len(energy_levels):
        raise CantUse("outcome_levels", len(outcome_levels), "as many outcome levels as heads and energy levels")
    for low, high in outcome_levels:
        if low > high:
            raise CantUse("outcome_levels", (low, high), "the low outcome level first")
    shots = sum(map(bool, is_first))
    if shots in (0, len(outcome_levels)):
        return CantTell(because("one_head_only") if outcome_levels else because("no_shots"))
    strata, kept, left_out = [], [], []
    for name in dict.fromkeys(energy_levels):
        at = [place for place, one in enumerate(energy_levels) if one == name]
        ours = [outcome_levels[place] for place in at if is_first[place]]
        theirs = [outcome_levels[place] for place in at if not is_first[place]]
        if ours and theirs:
            strata.append(([(float(low), float(high)) for low, high in ours + theirs], len(ours)))
            kept.append(name)
        else:
            left_out.append(name)
    if not strata:
        return CantTell(because("no_energy_level_of_both_heads"))
    higher, p_value, method = _rank_test(strata)
    pairs = sum(size * (len(bounds) - size) for bounds, size in strata)
    other = sum(len(bounds) - size for bounds, size in strata)
    counts = sum(size for _, size in strata), other
    return OutcomeComparison(higher, p_value, method, pairs, tuple(kept), tuple(left_out), *counts)


def _finite(name: str, values: Iterable[float]) -> tuple[float, ...]:
    given = tuple(float(value) for value in values)
    for value in given:
        if not math.isfinite(value):
            raise CantUse(name, value, "finite numbers")
    return given


def _flags(name: str, flags: Sequence[bool], values: tuple[float, ...]) -> tuple[bool, ...]:
    if not flags:
        return (False,) * len(values)
    if len(flags) != len(values):
        raise CantUse(name, len(flags), f"one for each of the {len(values)} depths")
    return tuple(map(bool, flags))


Strata = Sequence[tuple[list[tuple[float, float]], int]]


def _scores(bounds: list[tuple[float, float]]) -> list[int]:
    """For each, how many are surely below it less how many are surely above."""
    lows, highs = sorted(low for low, _ in bounds), sorted(high for _, high in bounds)
    return [bisect_left(highs, low) - (len(lows) - bisect_right(lows, high)) for low, high in bounds]


def _rank_test(strata: Strata) -> tuple[float, float, str]:
    """Share of pairs in which the first stands higher, two-sided p and how it was found.

    Weights 1/(N + 1) are brought to whole numbers, so that equal sums are equal and none is lost to rounding.
    """
    whole = math.lcm(*(len(bounds) + 1 for bounds, _ in strata))
    weighted = [([score * (whole // (len(bounds) + 1)) for score in _scores(bounds)], size) for bounds, size in strata]
    seen = sum(sum(scores[:size]) for scores, size in weighted)
    # Within a group the scores of its own pairs cancel, so the first group's sum counts pairs across: wins less losses.
    won = sum(sum(_scores(bounds)[:size]) for bounds, size in strata)
    pairs = sum(size * (len(bounds) - size) for bounds, size in strata)
    share = 0.5 + won / (2 * pairs)
    ways = _ways(weighted)
    if ways is None:
        return share, _by_lot(weighted, seen), "drawn by lot"
    # Whole numbers of any size: with 60 shots there are more orders than a float can count.
    far = sum(count for total, count in ways.items() if abs(total) >= abs(seen))
    return share, far / sum(ways.values()), "exact"


def _ways(weighted: Sequence[tuple[list[int], int]]) -> dict[int, int] | None:
    """In how many ways each sum can come about; None when there are too many sums to count."""
    total: dict[int, int] = {0: 1}
    for scores, size in weighted:
        of_size = _ways_of_one(scores, size)
        if of_size is None or len(total) * len(of_size) > 10 * MOST_SUMS:
            return None
        joined: dict[int, int] = {}
        for before, ways in total.items():
            for more, count in of_size.items():
                joined[before + more] = joined.get(before + more, 0) + ways * count
        total = joined
    return total


def _ways_of_one(scores: list[int], size: int) -> dict[int, int] | None:
    """In how many ways so many of these scores give each sum; None where the sums of so many or fewer are too many to count.

    Scores are told by their places on a ruler. All ways to take some stand in one long number, those of each sum in digits of
    their own: to take one more score is then a shift and an addition.
    """
    least = min(scores)
    step = math.gcd(*(score - least for score in scores)) or 1
    places = [(score - least) // step for score in scores]
    if _too_many_sums(places, size):
        return None
    most = math.comb(len(scores), min(size, len(scores) // 2))  # fewer taken can have more ways
    width = (most.bit_length() + 7) // 8
    of_size = [1] + [0] * size
    for done, place in enumerate(places):
        for taken in range(min(size, done + 1), 0, -1):
            of_size[taken] += of_size[taken - 1] << (8 * width * place)
    digits = of_size[size].to_bytes(width * (sum(sorted(places)[len(places) - size :]) + 1), "little")
    counts = (int.from_bytes(digits[at : at + width], "little") for at in range(0, len(digits), width))
    return {size * least + step * place: count for place, count in enumerate(counts) if count}


def _too_many_sums(places: Sequence[int], size: int) -> bool:
    """Whether so many or fewer of these have too many sums: a bit for each sum that can come about, and no counts yet."""
    reached = [1] + [0] * size
    for done, place in enumerate(places):
        for taken in range(min(size, done + 1), 0, -1):
            reached[taken] |= reached[taken - 1] << place
        if sum(map(int.bit_count, reached)) > MOST_SUMS:
            return True
    return False


def _by_lot(weighted: Sequence[tuple[list[int], int]], seen: int) -> float:
    """The seen order is one of the draws, so p is never 0 and the test never raises a false alarm too often."""
    lots = np.random.default_rng(LOTS_SEED)
    sums = np.zeros(DRAWS, dtype=np.int64)
    for scores, size in weighted:
        values = np.array(scores, dtype=np.int64)
        # Chunks keep the table of lots small however many shots there are.
        for start in range(0, DRAWS, 1000):
            order = lots.random((1000, values.size)).argpartition(size - 1, axis=1)[:, :size]
            sums[start : start + 1000] += values[order].sum(axis=1)
    return (1 + int((np.abs(sums) >= abs(seen)).sum())) / (DRAWS + 1)


def _place_of_ends(size: int, other_size: int, *, level: float) -> tuple[int, float]:
    """Which of the sorted differences are the ends, counted from outside, and how often they then hold the shift."""
    places = size * other_size
    if places > MOST_PAIRS:
        from scipy.special import ndtri

        spread = math.sqrt(places * (size + other_size + 1) / 12)
        return math.floor(places / 2 - float(ndtri((1 + level) / 2)) * spread), level
    # counts[u]: in how many orders u pairs are won, by Mann and Whitney's recurrence as a product of polynomials.
    counts = [1] + [0] * places
    for step in range(1, other_size + 1):
        for place in range(places, size + step - 1, -1):
            counts[place] -= counts[place - size - step]
        for place in range(step, places + 1):
            counts[place] += counts[place - step]
    orders, tail, place = math.comb(size + other_size, size), 0, 0
    while 2 * (tail + counts[place]) <= (1 - level) * orders * (1 + 1e-12):
        tail += counts[place]
        place += 1
    return place, 1 - 2 * tail / orders
