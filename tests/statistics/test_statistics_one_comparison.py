"""The one comparison: which way it takes, that interval and verdict agree, and what it does to energies that differ."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse
from proofyard.statistics.odds_within_levels import Level, Odds, odds_interval, odds_within_levels
from proofyard.statistics.one_comparison import Ends, Shots, alike_margin, compare_two, energy_levels, levels_of_family, own_uncertainty

FIXED_LEVELS = (30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0)


def at(energy: float, hits: int, shots: int, name: str = "a") -> Shots:
    return Shots((energy,) * shots, (1,) * hits + (0,) * (shots - hits), (name,) * shots)


def drawn(shots: int, *, middle: float, seed: int) -> Shots:
    lots = np.random.default_rng(seed)
    energies = np.exp(lots.uniform(math.log(30), math.log(65), shots))
    through = lots.random(shots) < 1 / (1 + (energies / middle) ** -8)
    return Shots(tuple(energies.tolist()), tuple(int(one) for one in through))


def test_five_shots_each_over_energies_that_overlap_are_compared_by_the_curve() -> None:
    first, second = drawn(8, middle=45, seed=1), drawn(8, middle=45, seed=2)
    assert compare_two(first, second, own={}).way == "curve"
    few = Shots(second.energies_j[:4], second.through[:4])
    assert compare_two(first, few, own={}).way != "curve"


def test_the_way_is_the_same_whatever_the_outcomes() -> None:
    lots = np.random.default_rng(3)
    for energies, other in (
        (FIXED_LEVELS, FIXED_LEVELS),
        (FIXED_LEVELS[:3], FIXED_LEVELS),
        ((40.0,) * 6, (40.5,) * 6),
        (FIXED_LEVELS[:2], FIXED_LEVELS[5:]),
    ):
        ways = set()
        for _ in range(20):
            first, second = (Shots(some, tuple(int(one) for one in lots.random(len(some)) < 0.5)) for some in (energies, other))
            found = compare_two(first, second, own={})
            ways.add("apart" if found.way == "a_fortiori" else found.way)
        assert len(ways) == 1, ways


def test_the_verdict_is_the_interval_and_the_interval_turns_with_the_groups() -> None:
    for seed in range(12):
        first, second = drawn(12, middle=45, seed=seed), drawn(12, middle=58, seed=100 + seed)
        here, there = compare_two(first, second, own={}), compare_two(second, first, own={})
        ends, turned = here.ends(0.95), there.ends(0.95)
        if ends is None or turned is None:
            assert here.verdict(ends) == there.verdict(turned) == "too_few"
            continue
        assert here.verdict(ends) == {"first": "second", "second": "first"}.get(there.verdict(turned), there.verdict(turned))
        if ends.low is not None and turned.high is not None:
            assert ends.low == pytest.approx(1 / turned.high, rel=1e-4)
        # No own uncertainty here, so p and interval are one likelihood seen from two sides.
        assert here.p_value is not None and (here.p_value < 0.05) == (ends.side != "")


@given(st.lists(st.tuples(st.integers(1, 8), st.integers(1, 8), st.data()), min_size=1, max_size=3))
@settings(max_examples=60, deadline=None)
def test_odds_leave_out_1_just_where_p_says_so(drawn_levels: list[tuple[int, int, st.DataObject]]) -> None:
    levels: list[Level] = [(data.draw(st.integers(0, n)), n, data.draw(st.integers(0, m)), m) for n, m, data in drawn_levels]
    found = odds_within_levels(levels)
    if isinstance(found, CantTell):
        return
    for level in (0.8, 0.95, 0.99):
        low, high = odds_interval(found, level=level)
        outside = bool(Ends(low, high, level).side)
        assert outside == (found.p_value < 1 - level - 1e-9) or abs(found.p_value - (1 - level)) < 1e-9
        assert found.ratio is None or (low or 0) <= found.ratio <= (high or math.inf)
    turned = odds_within_levels([(y, m, x, n) for x, n, y, m in levels])
    assert isinstance(turned, Odds) and turned.p_value == pytest.approx(found.p_value)


def test_what_no_level_could_tell_is_said() -> None:
    assert isinstance(odds_within_levels([(3, 3, 2, 2)]), CantTell)
    assert isinstance(odds_within_levels([(3, 3, 2, 2), (0, 4, 0, 1)]), CantTell)
    assert isinstance(odds_within_levels([(1, 2, 0, 0)]), CantTell)
    for wrong in ([(3, 2, 0, 1)], [(-1, 2, 0, 1)], [(1.5, 2, 0, 1)]):
        with pytest.raises(CantUse):
            odds_within_levels(wrong)


def test_three_of_three_against_none_of_three_is_not_shown_and_four_against_four_is() -> None:
    """Its end is exactly 1: p = 2 x 1/2 x 1/20."""
    found = compare_two(at(60, 3, 3), at(60, 0, 3, "b"), own={"a": 0, "b": 0})
    assert found.way == "levels" and found.p_value == pytest.approx(0.05) and found.verdict(found.ends(0.95)) == "too_few"
    four = compare_two(at(60, 4, 4), at(60, 0, 4, "b"), own={"a": 0, "b": 0})
    assert four.verdict(four.ends(0.95)) == "first"


def test_a_large_number_of_shots_at_a_level_does_not_overflow() -> None:
    found = odds_within_levels([(3000, 5000, 2800, 5000)])
    assert isinstance(found, Odds) and found.ratio == pytest.approx(3000 * 2200 / (2000 * 2800), rel=1e-3)
    low, high = odds_interval(found)
    assert low is not None and high is not None and low < found.ratio < high


def test_energies_count_as_alike_by_their_measured_gap() -> None:
    known = {"a": 0.001, "b": 0.001}
    first = at(60, 2, 3)
    for energy, alike in ((61.4, "alike"), (61.6, "first_less"), (58.4, "second_less")):
        (level,) = energy_levels(first, at(energy, 1, 3, "b"), margin=alike_margin(None), own=known)
        assert level.alike == alike
    poor = {"a": 0.03, "b": 0.03}
    (level,) = energy_levels(first, at(60.0, 1, 3, "b"), margin=alike_margin(None), own=poor)
    assert level.alike == "not_known"
    (level,) = energy_levels(first, at(60.0, 1, 3, "b"), margin=alike_margin(None), own=None)
    assert level.alike == "not_known"
    # One combination shot both: what it has wrong it has wrong on both sides.
    (level,) = energy_levels(first, at(60.0, 1, 3, "a"), margin=alike_margin(None), own=poor)
    assert level.alike == "alike" and level.own == 0


def test_the_margin_is_five_points_of_share_at_the_slope_of_the_curve() -> None:
    for slope in (4.0, 8.0, 16.0):
        gap = alike_margin(slope)
        share = 1 / (1 + math.exp(-slope * gap))
        assert share - 0.5 == pytest.approx(0.05, abs=0.001)
    assert alike_margin(2) == alike_margin(4) and alike_margin(40) == alike_margin(16)
    with pytest.raises(CantUse):
        alike_margin(0)


def test_a_head_with_less_energy_that_got_through_more_often_is_shown_all_the_more() -> None:
    known = {"a": 0.001, "b": 0.001}
    found = compare_two(at(60, 8, 8), at(66, 0, 8, "b"), own=known)
    assert found.way == "a_fortiori" and found.less == "first"
    ends = found.ends(0.95)
    assert ends is not None and ends.high is None and found.verdict(ends) == "first"
    # The other way round nothing is shown: the energy could be why.
    other = compare_two(at(60, 0, 8), at(66, 8, 8, "b"), own=known)
    assert other.verdict(other.ends(0.95)) == "apart"
    # So with energies that meet nowhere.
    far = compare_two(at(60, 8, 8), at(90, 0, 8, "b"), own=known)
    assert far.verdict(far.ends(0.95)) == "first"
    wrong_way = compare_two(at(60, 0, 8), at(90, 8, 8, "b"), own=known)
    assert wrong_way.verdict(wrong_way.ends(0.95)) == "apart"


def test_a_flat_curve_falls_to_no_other_way() -> None:
    falling = Shots(FIXED_LEVELS, (1, 1, 1, 1, 0, 0, 0, 0))
    found = compare_two(falling, falling, own={})
    assert found.way == "curve" and found.ratio is None and found.why is not None
    assert found.verdict(found.ends(0.95)) == "too_few" and 0 < found.smallest_p < 0.05


def test_a_curve_that_hardly_rises_gives_no_astronomical_ratio() -> None:
    """A slope of 0.002 a unit of ln(energy), over heads far apart: the ratio would be e to the 1,416, which no float holds."""
    levels = (60.0, 80.0, 105.0)
    through, held = Shots(sum(((e,) * 3 for e in levels), ()), (1, 1, 0) * 3), Shots(sum(((e,) * 2 for e in levels), ()), (0,) * 6)
    found = compare_two(through, held, own={})
    assert found.curve is not None and found.curve.log_ratio > 1000 and found.ratio is None
    ends = found.ends(0.8)
    assert ends is not None and ends.low is not None and 1 < ends.low < 1000 and ends.high is None
    assert found.verdict(ends) == "first"


def test_energies_chosen_by_the_outcomes_widen_the_curve_and_allow_no_level() -> None:
    first, second = drawn(20, middle=45, seed=1), drawn(20, middle=52, seed=2)
    plain, chosen = compare_two(first, second, own={}), compare_two(first, second, own={}, chosen=True)
    ends, wider = plain.ends(0.95), chosen.ends(0.95)
    assert ends and wider and ends.low and wider.low and wider.low < ends.low
    assert plain.p_value and chosen.p_value and chosen.p_value > plain.p_value
    levels = compare_two(at(60, 4, 4), at(60, 0, 4, "b"), own={"a": 0, "b": 0}, chosen=True)
    assert levels.way == "apart" and levels.why is not None and levels.why.code == "energies_chosen_and_no_curve"


def test_own_uncertainties_widen_the_curve() -> None:
    first, second = drawn(20, middle=45, seed=1), drawn(20, middle=52, seed=2)
    named = [Shots(one.energies_j, one.through, (name,) * 20) for one, name in ((first, "a"), (second, "b"))]
    plain, wide = (compare_two(named[0], named[1], own=own).ends(0.95) for own in ({"a": 0.0, "b": 0.0}, {"a": 0.05, "b": 0.05}))
    assert plain and wide and plain.low and wide.low and plain.high and wide.high
    assert wide.low < plain.low and wide.high > plain.high


def test_levels_are_cut_where_energies_part_and_where_they_run_too_far() -> None:
    scattered = Shots((60.0, 61.0, 62.5, 80.0, 82.0), (0,) * 5)
    assert [len(one.first) for one in energy_levels(scattered, scattered, margin=0.05, own={})] == [3, 2]
    running = Shots(tuple(60 * 1.03**n for n in range(12)), (0,) * 12)
    levels = energy_levels(running, running, margin=0.05, own={})
    assert len(levels) == 3 and sum(len(one.first) for one in levels) == 12


def test_what_no_record_could_hold_is_refused() -> None:
    good = at(60, 1, 3)
    for wrong in (Shots((60.0,), (2,)), Shots((-1.0,), (1,)), Shots((60.0,), (1, 0)), Shots((60.0,), (1,), ("a", "b"))):
        with pytest.raises(CantUse):
            compare_two(good, wrong, own={})
    with pytest.raises(CantUse):
        own_uncertainty(["a"], ["b"], own={"a": 0.1})
    with pytest.raises(CantUse):
        own_uncertainty([], ["b"], own={"b": 0.1})
    with pytest.raises(CantUse):
        levels_of_family(0, named=False)
    with pytest.raises(CantUse):
        levels_of_family(2, named=False, looks="now and then")
