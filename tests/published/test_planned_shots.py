"""Numbers of shots against what others printed, and against another implementation of the same test."""

from __future__ import annotations

import math

import pytest
from scipy.stats import binom, boschloo_exact

from server.statistics.planning import (
    expected_width,
    power_to_part,
    shots_all_alike,
    shots_by_normal_curve,
    shots_for_difference,
    shots_for_width,
    what_these_settle,
)
from server.statistics.refusals import CantTell, CantUse
from server.statistics.shares import Interval, share_interval

# Shots in each of two groups, level 0.95 both sides, power 0.80: Fleiss, Statistical Methods for Rates and Proportions,
# 1981, chapter 3: formula, and the same with the correction for whole counts. Worked out by hand from the formula.
BY_NORMAL_CURVE = [
    pytest.param(0.60, 0.70, 356, 376, id="Fleiss 1981, .60 against .70"),
    pytest.param(0.90, 0.30, 10, 13, id="Fleiss 1981, .90 against .30"),
    pytest.param(0.90, 0.50, 20, 25, id="Fleiss 1981, .90 against .50"),
]

# In a row without failure: NIST/SEMATECH e-Handbook, section 8.3, and every handbook of reliability (from memory).
SUCCESS_RUNS = [(0.10, 0.90, 22), (0.05, 0.90, 45), (0.01, 0.90, 230), (0.10, 0.95, 29), (0.05, 0.95, 59), (0.01, 0.95, 299), (0.01, 0.99, 459)]


@pytest.mark.parametrize(("share", "other", "plain", "corrected"), BY_NORMAL_CURVE)
def test_the_textbooks_numbers_come_out(share: float, other: float, plain: int, corrected: int) -> None:
    assert shots_by_normal_curve(share, other, corrected=False) == plain
    assert shots_by_normal_curve(share, other) == corrected
    assert shots_by_normal_curve(other, share) == corrected


@pytest.mark.parametrize(("share", "level", "shots"), SUCCESS_RUNS)
def test_runs_without_one_through_are_as_long_as_handbooks_say(share: float, level: float, shots: int) -> None:
    assert shots_all_alike(share, level=level) == shots
    assert (1 - share) ** shots <= 1 - level + 1e-12 < (1 - share) ** (shots - 1)


@pytest.mark.parametrize(("share", "other"), [(0.9, 0.3), (0.9, 0.5)])
def test_the_counted_number_lies_between_the_textbooks_two(share: float, other: float) -> None:
    """The formula without its correction is known to promise too much for few shots, the one with it too little."""
    found = shots_for_difference(share, other)
    assert not isinstance(found, CantTell)
    assert shots_by_normal_curve(share, other, corrected=False) <= found.shots <= shots_by_normal_curve(share, other)
    assert found.reached >= 0.8


@pytest.mark.parametrize(("shots", "others", "share", "other"), [(6, 6, 0.9, 0.2), (5, 7, 0.8, 0.1), (8, 3, 1.0, 0.0)])
def test_power_is_that_of_another_implementation_of_the_test(shots: int, others: int, share: float, other: float) -> None:
    """scipy.stats.boschloo_exact looks for the worst common share by optimising, ours on a grid."""
    power = 0.0
    for x in range(shots + 1):
        for y in range(others + 1):
            none = x + y in (0, shots + others)
            p = 1.0 if none else boschloo_exact([[x, y], [shots - x, others - y]]).pvalue
            if p <= 0.05:
                power += binom.pmf(x, shots, share) * binom.pmf(y, others, other)
    assert power_to_part(share, other, shots=shots, other_shots=others) == pytest.approx(power, abs=1e-9)


@pytest.mark.parametrize("shots", [3, 5, 8, 12])
@pytest.mark.parametrize("common", [0.05, 0.3, 0.5, 0.81])
def test_two_alike_are_parted_no_oftener_than_the_level_lets(shots: int, common: float) -> None:
    assert power_to_part(common, common, shots=shots, other_shots=shots) <= 0.05 + 1e-9


def test_the_expected_width_is_the_sum_over_all_results() -> None:
    found = 0.0
    for hits in range(13):
        one = share_interval(hits, 12)
        assert isinstance(one, Interval)
        found += binom.pmf(hits, 12, 0.35) * (one.high - one.low)
    assert expected_width(0.35, 12) == pytest.approx(found, abs=1e-12)
    assert expected_width(0.35, 12) == pytest.approx(expected_width(0.65, 12), abs=1e-9)


def test_one_shot_fewer_is_too_wide_and_many_shots_come_near_the_normal_curve() -> None:
    found = shots_for_width(0.5, 0.2)
    assert not isinstance(found, CantTell)
    assert expected_width(0.5, found.shots) <= 0.2 < expected_width(0.5, found.shots - 1)
    # n = 4 z^2 p q / w^2, the textbook's number for many shots: 96.04 for a width of 0.2.
    assert abs(found.shots - 4 * 1.959964**2 * 0.25 / 0.2**2) < 4
    assert isinstance(shots_for_width(0.5, 0.05), CantTell)


def test_what_no_result_can_tell_is_said() -> None:
    assert what_these_settle(2).apart is None
    assert what_these_settle(10).apart == pytest.approx(0.485)
    five = what_these_settle(5)
    assert five.apart is not None and power_to_part(five.apart, 0, shots=5, other_shots=5) >= 0.8
    assert power_to_part(five.apart - 0.006, 0, shots=5, other_shots=5) < 0.8
    # Mid-P's high end for none of n: half of (1 - p)^n is the tail.
    assert five.none_below == pytest.approx(1 - math.exp(math.log(0.05) / 5))


def test_many_shots_are_told_by_the_formula_and_two_alike_not_at_all() -> None:
    found = shots_for_difference(0.6, 0.7)
    assert not isinstance(found, CantTell)
    assert (found.shots, found.method.startswith("by a normal curve")) == (376, True)
    middling = shots_for_difference(0.9, 0.6)
    assert not isinstance(middling, CantTell) and middling.method.startswith("exact") and middling.shots < 60
    assert isinstance(shots_for_difference(0.4, 0.4), CantTell)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: expected_width(1.2, 5), lambda: expected_width(0.5, 0), lambda: expected_width(0.5, 5, method="nearly"),
        lambda: shots_for_width(0.5, 1.0), lambda: shots_all_alike(0), lambda: shots_all_alike(0.1, level=1.0),
        lambda: power_to_part(0.5, 0.5, shots=61, other_shots=5), lambda: shots_for_difference(0.9, -0.1),
        lambda: shots_by_normal_curve(0.4, 0.4), lambda: what_these_settle(0),
    ],
)  # fmt: skip
def test_what_no_plan_can_hold_is_refused(asked: object) -> None:
    with pytest.raises(CantUse):
        asked()  # type: ignore[operator]
