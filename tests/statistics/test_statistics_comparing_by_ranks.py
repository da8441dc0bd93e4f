"""Depths and outcome levels by their order: counted out by hand's way, and what may not change the answer."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics import comparing_by_ranks
from proofyard.statistics.comparing_by_ranks import DepthComparison, OutcomeComparison, compare_depths, compare_outcomes
from scipy.stats import mannwhitneyu

OutcomeLevel = tuple[int, int]


def depths(first: list[float], second: list[float], **more: object) -> DepthComparison:
    found = compare_depths(first, second, **more)
    assert isinstance(found, DepthComparison)
    return found


def stacks(outcome_levels: list[OutcomeLevel], is_first: list[bool], levels: list[str]) -> OutcomeComparison:
    found = compare_outcomes(outcome_levels, is_first, energy_levels=levels)
    assert isinstance(found, OutcomeComparison)
    return found


def counted_p(strata: list[tuple[list[OutcomeLevel], int]]) -> float:
    """Every way to deal each level's outcome levels, pair by pair: wins less losses over N + 1, no scores and no short cut."""

    def gap(bounds: list[OutcomeLevel], ours: tuple[int, ...]) -> float:
        theirs = [at for at in range(len(bounds)) if at not in ours]
        won = sum((bounds[i][0] > bounds[j][1]) - (bounds[i][1] < bounds[j][0]) for i in ours for j in theirs)
        return won / (len(bounds) + 1)

    seen = sum(gap(bounds, tuple(range(size))) for bounds, size in strata)
    deals = [[gap(bounds, ours) for ours in combinations(range(len(bounds)), size)] for bounds, size in strata]
    sums = [sum(one) for one in product(*deals)]
    return sum(abs(one) >= abs(seen) - 1e-9 for one in sums) / len(sums)


outcome_level = st.tuples(st.integers(0, 5), st.integers(0, 5)).map(lambda pair: (min(pair), max(pair)))
level = st.tuples(st.lists(outcome_level, min_size=1, max_size=3), st.lists(outcome_level, min_size=1, max_size=3))


@given(st.lists(level, min_size=1, max_size=2))
@settings(max_examples=60, deadline=None)
def test_the_rank_test_of_outcome_levels_is_what_dealing_every_hand_gives(
    given_levels: list[tuple[list[OutcomeLevel], list[OutcomeLevel]]],
) -> None:
    outcome_levels, is_first, names = [], [], []
    for number, (ours, theirs) in enumerate(given_levels):
        outcome_levels += ours + theirs
        is_first += [True] * len(ours) + [False] * len(theirs)
        names += [f"level {number}"] * (len(ours) + len(theirs))
    found = stacks(outcome_levels, is_first, names)
    assert found.method == "exact"
    assert found.p_value == pytest.approx(counted_p([(a + b, len(a)) for a, b in given_levels]), abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_depths_without_ties_agree_with_scipy(seed: int) -> None:
    lots = np.random.default_rng(seed)
    first, second = lots.normal(1, 1, 9).tolist(), lots.normal(0, 1, 7).tolist()
    assert depths(first, second).p_value == pytest.approx(float(mannwhitneyu(first, second, method="exact").pvalue), abs=1e-12)


@pytest.mark.parametrize(("n", "m"), [(4, 4), (5, 3), (6, 6), (9, 4)])
def test_the_ends_of_the_shift_are_where_the_test_begins_to_tell(n: int, m: int) -> None:
    """The interval holds the shifts that the test lets pass: moved just inside an end p > 0.05, just outside p <= 0.05."""
    lots = np.random.default_rng(n * m)
    first, second = lots.normal(20, 5, n).tolist(), lots.normal(12, 5, m).tolist()
    found = depths(first, second)
    assert found.low is not None and found.high is not None and found.held_level is not None
    assert found.held_level >= 0.95
    for end, inward in ((found.low, 1e-6), (found.high, -1e-6)):
        assert depths([x - end - inward for x in first], second).p_value > 0.05
        assert depths([x - end + inward for x in first], second).p_value <= 0.05


@given(st.lists(st.integers(0, 60), min_size=1, max_size=8), st.lists(st.integers(0, 60), min_size=1, max_size=8))
@settings(deadline=None)
def test_swapping_the_groups_turns_the_shift_and_keeps_the_p(first: list[int], second: list[int]) -> None:
    here, there = (
        depths([float(x) for x in first], [float(x) for x in second]),
        depths([float(x) for x in second], [float(x) for x in first]),
    )
    assert there.p_value == here.p_value
    assert there.deeper_share == pytest.approx(1 - here.deeper_share)
    assert here.shift is not None and there.shift == pytest.approx(-here.shift)
    if here.low is not None and here.high is not None:
        assert (there.low, there.high) == (-here.high, -here.low)
        assert here.low <= here.shift <= here.high


@given(st.lists(st.integers(0, 60), min_size=2, max_size=8), st.lists(st.integers(0, 60), min_size=2, max_size=8))
@settings(deadline=None)
def test_only_the_order_counts_for_the_p(first: list[int], second: list[int]) -> None:
    plain = depths([float(x) for x in first], [float(x) for x in second])
    bent = depths([float(x) ** 3 for x in first], [float(x) ** 3 for x in second])
    assert bent.p_value == plain.p_value


def test_at_least_so_deep_never_counts_as_shallower() -> None:
    sure = depths([40.0, 30.0, 35.0], [20.0, 25.0, 38.0])
    open_ended = depths([40.0, 30.0, 35.0], [20.0, 25.0, 38.0], first_at_least=[False, True, True])
    assert open_ended.deeper_share > sure.deeper_share
    assert open_ended.shift is None
    assert open_ended.no_shift == because("depths_open_above")


def test_3_against_3_depths_bound_no_shift() -> None:
    found = depths([4.0, 5.0, 6.0], [1.0, 2.0, 3.0])
    assert (found.shift, found.low, found.high) == (3.0, None, None)
    assert found.no_shift == because("too_few_depths_for_a_shift", depths=3, other_depths=3, level=0.95)
    assert found.p_value == pytest.approx(0.1)


def test_many_depths_take_their_ends_from_the_normal_curve_nearly_where_the_count_has_them(monkeypatch: pytest.MonkeyPatch) -> None:
    lots = np.random.default_rng(1)
    first, second = lots.normal(3, 5, 40).tolist(), lots.normal(0, 5, 35).tolist()
    counted = depths(first, second)
    monkeypatch.setattr(comparing_by_ranks, "MOST_PAIRS", 10)
    nearly = depths(first, second)
    assert counted.low is not None and nearly.low is not None and counted.high is not None and nearly.high is not None
    assert (nearly.low, nearly.high) == pytest.approx((counted.low, counted.high), abs=0.1)


def test_orders_drawn_by_lot_say_nearly_what_counting_says(monkeypatch: pytest.MonkeyPatch) -> None:
    outcome_levels = [(5, 5), (4, 5), (3, 3), (5, 5), (2, 3), (1, 1), (0, 2), (3, 3), (2, 2), (1, 1)]
    heads, names = [True, True, True, False, False] * 2, ["40 J"] * 5 + ["60 J"] * 5
    counted = stacks(outcome_levels, heads, names)
    monkeypatch.setattr(comparing_by_ranks, "MOST_SUMS", 1)
    drawn = stacks(outcome_levels, heads, names)
    assert counted.method == "exact" and "by lot" in drawn.method
    assert drawn.p_value == pytest.approx(counted.p_value, abs=0.02)
    assert drawn == stacks(outcome_levels, heads, names)


def test_a_level_with_one_head_only_is_left_out_and_named() -> None:
    found = stacks([(5, 5), (2, 2), (4, 4)], [True, False, True], ["40 J", "40 J", "60 J"])
    assert (found.levels, found.levels_left_out) == (("40 J",), ("60 J",))
    assert (found.shots, found.other_shots, found.pairs) == (1, 1, 1)


def test_energy_alone_does_not_make_one_head_better() -> None:
    """All of one head's shots at 60 J and most of the other's at 40 J: across, it looks better; within, it is worse."""
    outcome_levels = [(1, 1), (2, 2), (2, 2), (5, 5), (4, 4), (4, 4), (4, 4)]
    heads = [False, False, False, False, True, True, True]
    assert stacks(outcome_levels, heads, ["any"] * 7).higher_share > 0.5
    assert stacks(outcome_levels, heads, ["40 J"] * 3 + ["60 J"] * 4).higher_share == 0


def test_what_cant_be_told_is_said_in_words() -> None:
    assert compare_depths([], [1.0]) == CantTell(because("one_has_no_depths"))
    one_head = compare_outcomes([(1, 1)], [True], energy_levels=["a"])
    assert one_head == CantTell(because("one_head_only"))
    apart = compare_outcomes([(1, 1), (2, 2)], [True, False], energy_levels=["a", "b"])
    assert apart == CantTell(because("no_energy_level_of_both_heads"))
    assert compare_outcomes([], [], energy_levels=[]) == CantTell(because("no_shots"))


def test_what_no_record_could_hold_is_refused() -> None:
    with pytest.raises(CantUse):
        compare_depths([float("nan")], [1.0])
    with pytest.raises(CantUse):
        compare_depths([1.0], [1.0], first_at_least=[True, False])
    with pytest.raises(CantUse):
        compare_outcomes([(4, 3)], [True], energy_levels=["a"])
    with pytest.raises(CantUse):
        compare_outcomes([(3, 4)], [True, False], energy_levels=["a"])
