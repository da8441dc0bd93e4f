"""Numbers of shots: sums over all results, what no result can tell, and what is refused."""

from __future__ import annotations

import math

import pytest
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.planning import (
    expected_width,
    power_to_part,
    shots_all_alike,
    shots_by_normal_curve,
    shots_for_difference,
    shots_for_width,
    what_these_settle,
)
from proofyard.statistics.shares import Interval, share_interval
from scipy.stats import binom


@pytest.mark.parametrize(("share", "other"), [(0.9, 0.3), (0.9, 0.5)])
def test_the_counted_number_lies_between_the_textbooks_two(share: float, other: float) -> None:
    """The formula without its correction is known to promise too much for few shots, the one with it too little."""
    found = shots_for_difference(share, other)
    assert not isinstance(found, CantTell)
    assert shots_by_normal_curve(share, other, corrected=False) <= found.shots <= shots_by_normal_curve(share, other)
    assert found.reached >= 0.8


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
    assert (found.shots, found.method == because("by_a_normal_curve")) == (376, True)
    middling = shots_for_difference(0.9, 0.6)
    assert not isinstance(middling, CantTell) and middling.method == because("every_result_of_the_mid_p_test") and middling.shots < 60
    assert isinstance(shots_for_difference(0.4, 0.4), CantTell)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: expected_width(1.2, 5),
        lambda: expected_width(0.5, 0),
        lambda: expected_width(0.5, 5, method="nearly"),
        lambda: shots_for_width(0.5, 1.0),
        lambda: shots_all_alike(0),
        lambda: shots_all_alike(0.1, level=1.0),
        lambda: power_to_part(0.5, 0.5, shots=61, other_shots=5),
        lambda: shots_for_difference(0.9, -0.1),
        lambda: shots_by_normal_curve(0.4, 0.4),
        lambda: what_these_settle(0),
    ],
)
def test_what_no_plan_can_hold_is_refused(asked: object) -> None:
    with pytest.raises(CantUse):
        asked()
