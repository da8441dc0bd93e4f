"""Pairs and 50 % energies worked out by an independent computation (batched penalised fits and enumeration in numpy 2.4.6 and
scipy 1.17.1, code that shares nothing with the product), to its last printed digit; and scipy's own conditional odds ratio."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from proofyard.statistics.fifty_percent_point import Curve, EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.heads_by_curve import TwoHeads, ratio_of_energies, two_heads_by_curve
from proofyard.statistics.odds_within_levels import Level, Odds, odds_interval, odds_within_levels
from proofyard.statistics.one_comparison import Shots, alike_margin, compare_two, energy_levels, levels_of_family, own_uncertainty
from proofyard.statistics.penalised_logistic import ratio_interval
from scipy.stats.contingency import odds_ratio

AsPrinted = Callable[[float, str], None]

FIXED_LEVELS = [30.0, 35, 40, 45, 50, 55, 60, 65]
NEEDLE, LEAF = [0, 0, 1, 1, 1, 1, 1, 1], [0, 0, 0, 0, 0, 1, 1, 1]
THREE = 1 - 0.05 / 3
THREE_LEVELS = (60.0,) * 4 + (80.0,) * 4 + (105.0,) * 4
FIRST = Shots(THREE_LEVELS, (1, 0, 0, 0, 1, 1, 1, 0, 1, 1, 1, 1))
SECOND = Shots(THREE_LEVELS, (0, 0, 0, 0, 1, 0, 0, 0, 1, 1, 1, 0))


def pair() -> TwoHeads:
    found = two_heads_by_curve(FIXED_LEVELS * 2, NEEDLE + LEAF, second=[False] * 8 + [True] * 8)
    assert isinstance(found, TwoHeads)
    return found


def odds(*levels: Level) -> Odds:
    found = odds_within_levels(list(levels))
    assert isinstance(found, Odds)
    return found


def test_the_curve_of_two_heads_at_fixed_levels(as_printed: AsPrinted) -> None:
    found = pair()
    assert found.ratio is not None
    for value, printed in ((found.slope, "13.598"), (found.ratio, "1.3908"), (found.fall, "4.5962")):
        as_printed(value, printed)
    as_printed(found.p_value(limit_times=1.0), "0.03204")
    as_printed(found.p_value(limit_times=1.1), "0.04094")


@pytest.mark.parametrize(
    ("level", "times", "own", "low", "high"),
    [
        (0.95, 1.0, 0.0, "1.0363", "1.9778"),
        (0.95, 1.1, 0.0, "1.0175", "2.0535"),
        (0.95, 1.1, math.hypot(0.03, 0.03), "1.0065", "2.0716"),
        (THREE, 1.1, 0.0, "0.9239", "2.7525"),
    ],
)
def test_the_ends_of_their_ratio(level: float, times: float, own: float, low: str, high: str, as_printed: AsPrinted) -> None:
    one = ratio_of_energies(pair(), level=level, limit_times=times, own_relative=own)
    assert one.low is not None and one.high is not None
    as_printed(one.low, low)
    as_printed(one.high, high)


def test_three_levels_by_the_curve_and_within_levels_show_nothing_by_either(as_printed: AsPrinted) -> None:
    found = compare_two(FIRST, SECOND, own={})
    assert found.way == "curve" and found.ratio is not None and found.curve is not None
    as_printed(found.ratio, "1.3393")
    as_printed(found.curve.fall, "3.8134")
    ends = found.ends(0.95)
    assert ends is not None and ends.low is not None and ends.high is not None
    as_printed(ends.low, "0.9824")
    as_printed(ends.high, "2.2597")
    assert found.verdict(ends) == "not_shown"
    within = odds((1, 4, 0, 4), (3, 4, 1, 4), (4, 4, 3, 4))
    assert within.ratio is not None
    as_printed(within.ratio, "9.638")
    as_printed(within.p_value, "0.07143")
    low, high = odds_interval(within)
    assert low is not None and high is not None
    as_printed(low, "0.8491")
    as_printed(high, "349.7")


@pytest.mark.parametrize(
    ("levels", "level", "ratio", "p", "low", "high"),
    [
        ([(7, 10, 2, 10), (9, 10, 6, 10)], 0.95, "6.980", "0.00966", "1.5489", "40.55"),
        ([(7, 10, 2, 10), (9, 10, 6, 10)], THREE, "6.980", "0.00966", "1.1433", "64.35"),
        ([(10, 34, 1, 36)], 0.95, "14.11", None, "2.162", "327.4"),  # heads hurt, of two forms
        ([(5, 6, 1, 6)], 0.95, "16.60", "0.04113", "1.1018", "696.6"),
        ([(6, 6, 1, 6)], 0.95, None, "0.00758", "2.4008", None),
        ([(4, 6, 0, 4)], 0.95, None, "0.07143", "0.8075", None),
    ],
)
def test_odds_within_levels(
    levels: list[Level], level: float, ratio: str | None, p: str | None, low: str, high: str | None, as_printed: AsPrinted
) -> None:
    found = odds(*levels)
    if p is not None:
        as_printed(found.p_value, p)
    shown = found.p_value < 1 - level
    assert shown == (float(low) > 1)
    for value, printed in zip((found.ratio, *odds_interval(found, level=level)), (ratio, low, high), strict=True):
        if printed is None:
            assert value is None
        else:
            assert value is not None
            as_printed(value, printed)


def test_the_estimate_of_five_of_six_against_one_of_six_to_its_last_digit(as_printed: AsPrinted) -> None:
    """16.603: printed by an independent computation, as the conditional estimate of scipy 1.17.1; the installed scipy gives it too."""
    found = odds((5, 6, 1, 6))
    assert found.ratio is not None
    as_printed(found.ratio, "16.603")
    as_printed(float(odds_ratio([[5, 1], [1, 5]], kind="conditional").statistic), "16.603")


@pytest.mark.parametrize("table", [(5, 6, 1, 6), (7, 10, 2, 10), (3, 9, 8, 11), (1, 4, 3, 12), (20, 31, 14, 40)])
def test_the_ratio_of_one_level_is_scipys_conditional_estimate(table: Level) -> None:
    """scipy.stats.contingency.odds_ratio, kind "conditional"; its interval is the exact one, which ours lies within."""
    x, n, y, m = table
    theirs = odds_ratio([[x, n - x], [y, m - y]], kind="conditional")
    ours = odds(table)
    assert ours.ratio == pytest.approx(theirs.statistic, rel=1e-5)
    low, high = odds_interval(ours)
    exact = theirs.confidence_interval(0.95)
    assert low is not None and high is not None and exact.low < low < theirs.statistic < high < exact.high


def test_fifty_percent_energies_at_the_wider_limit(as_printed: AsPrinted) -> None:
    curve = fit_curve([22.0 + 4 * n for n in range(10)], [0] * 5 + [1] * 5)
    assert isinstance(curve, Curve)
    closed = fifty_percent_point(curve)
    assert isinstance(closed, EnergyPoint) and closed.low_j is not None and closed.high_j is not None
    for value, printed in zip((closed.energy_j, closed.low_j, closed.high_j), ("39.513", "27.277", "53.306"), strict=True):
        as_printed(value, printed)
    energies = [30.0 + 4 * n for n in range(10)]
    curve = fit_curve(energies, [int(energy in (58, 66)) for energy in energies])
    assert isinstance(curve, Curve)
    open_above = fifty_percent_point(curve)
    assert isinstance(open_above, EnergyPoint) and open_above.low_j is not None and open_above.high_j is None
    as_printed(open_above.energy_j, "61.05")
    as_printed(open_above.low_j, "45.3")
    assert open_above.one_sided_level == pytest.approx(0.975)


def test_at_the_chi_squares_own_limit_the_ends_are_the_other_programs_too(as_printed: AsPrinted) -> None:
    """The same two books without the wider limit: what is ours and what is the method's can be told apart."""
    spread = [30.0 + 4 * n for n in range(10)]
    ends = []
    for energies, through in (
        ([22.0 + 4 * n for n in range(10)], [0] * 5 + [1] * 5),
        (spread, [int(energy in (58, 66)) for energy in spread]),
    ):
        curve = fit_curve(energies, through)
        assert isinstance(curve, Curve)
        places = ratio_interval(curve.fit, 1, over=np.array([1.0, 0.0]), offset=np.zeros(2), limit_times=1.0)
        ends.append([None if place is None else curve.energy(place) for place in places])
    (low, high), (least, most) = ends
    assert low is not None and high is not None and least is not None
    for value, printed in ((low, "29.102"), (high, "50.351"), (least, "47.2")):
        as_printed(value, printed)
    assert most is None or most > 1000 * spread[-1]


def test_a_level_that_two_shots_of_a_hand_calculation_share() -> None:
    """By hand: ln(60/61.5) = -0.02469, within 0.025; own uncertainties 0.01 and 0.02 join to 0.02236; 0.2/8 = 0.025."""
    (level,) = energy_levels(
        Shots((60.0,), (1,), ("a",)), Shots((61.5,), (0,), ("b",)), margin=alike_margin(None), own={"a": 0.01, "b": 0.02}
    )
    assert level.gap == pytest.approx(-0.02469, abs=5e-6)
    assert level.own == pytest.approx(own_uncertainty(["a"], ["b"], own={"a": 0.01, "b": 0.02})) == pytest.approx(0.02236, abs=5e-6)
    assert level.alike == "alike"


def test_the_levels_of_a_family_by_bonferroni_and_by_fallback() -> None:
    """Sums by hand: 0.05/3; 0.04 and 0.01/2, 0.05/2 once the named pair is shown; 0.05 x 0.316; 0.003."""
    assert levels_of_family(3, named=False).other == pytest.approx(1 - 0.05 / 3)
    fallback = levels_of_family(2, named=True)
    assert (fallback.named, fallback.other) == pytest.approx((0.96, 1 - 0.005))
    assert levels_of_family(2, named=True, named_shown=True).other == pytest.approx(0.975)
    assert levels_of_family(1, named=False, looks="not set").other == pytest.approx(1 - 0.0158)
    assert levels_of_family(1, named=False, looks="before").other == pytest.approx(0.997)
    assert levels_of_family(0, named=True).named == pytest.approx(0.95)
