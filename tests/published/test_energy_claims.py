"""Claims about 50 % energies beside figures from elsewhere.

The worked intervals are an independent computation: another program, made for the plan of these statistics from the formulas alone
(numpy 2.4.6, scipy 1.17.1), its figures kept as it printed them. Beside them the normal distribution of scipy.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from proofyard.statistics.energy_claims import ends_for_type, more_shots_to_settle, verdict_above
from proofyard.statistics.fifty_percent_point import Curve, EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.one_comparison import Shots, compare_two, levels_of_family
from scipy.stats import norm

AsPrinted = Callable[[float, str], None]

FIXED_LEVELS = (30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 65.0)
NEEDLE, LEAF = (0, 0, 1, 1, 1, 1, 1, 1), (0, 0, 0, 0, 0, 1, 1, 1)
# The level, the ends of the leaf's energy over the needle's as the other program printed them, and what a claim "at least so many
# times" comes to by them.
RATIO = [
    (0.95, "1.0175", "2.0535", {1.0: "yes", 1.01: "yes", 1.1: "not_yet", 2.05: "not_yet", 2.06: "no"}),
    (1 - 0.05 / 3, "0.9239", "2.7525", {1.0: "not_yet", 0.92: "yes", 2.7: "not_yet", 2.8: "no"}),
]
# 22 to 58 J by 4, five held and then five through.
POINT = (tuple(22.0 + 4 * n for n in range(10)), (0,) * 5 + (1,) * 5)
# 30 to 66 J by 4, through at 58 and 66 only: one end.
ONE_SIDED = (tuple(30.0 + 4 * n for n in range(10)), (0, 0, 0, 0, 0, 0, 0, 1, 0, 1))


@pytest.mark.parametrize(("level", "low", "high", "claims"), RATIO)
def test_a_ratio_is_claimed_above_a_limit(level: float, low: str, high: str, claims: dict[float, str], as_printed: AsPrinted) -> None:
    ends = compare_two(Shots(FIXED_LEVELS, NEEDLE), Shots(FIXED_LEVELS, LEAF), own={}).ends(level)
    assert ends is not None and ends.low is not None and ends.high is not None
    as_printed(ends.low, low)
    as_printed(ends.high, high)
    assert {limit: verdict_above(ends.low, ends.high, limit=limit) for limit in claims} == claims


def test_the_guide_prints_what_the_formulas_give() -> None:
    text = (Path(__file__).resolve().parents[2] / "static" / "guide" / "claims.md").read_text(encoding="utf-8")
    found = compare_two(Shots(FIXED_LEVELS, NEEDLE), Shots(FIXED_LEVELS, LEAF), own={})
    levels = {looks: levels_of_family(1, named=False, looks=looks).other for looks in ("set", "not set", "before")}
    ends = {looks: found.ends(level) for looks, level in levels.items()}
    said = {looks: f"{one.low:.2f} to {one.high:.2f}" for looks, one in ends.items() if one and one.low and one.high}
    assert f"{found.ratio:.2f} times the energy, at 95 % {said['set']}." in text
    assert f"With no number set the interval is {said['not set']}, and holds 1" in text
    assert f"one of {100 * levels['not set']:.1f} % in place of 95 %" in text and f"one of {100 * levels['before']:.1f} % until" in text
    assert {verdict_above(one.low, one.high, limit=1.1) for one in ends.values() if one} == {"not_yet"}


def point(shots: tuple[tuple[float, ...], tuple[int, ...]]) -> EnergyPoint:
    curve = fit_curve(*shots)
    assert isinstance(curve, Curve)
    found = fifty_percent_point(curve)
    assert isinstance(found, EnergyPoint)
    return found


def test_fifty_percent_above_so_many_joules(as_printed: AsPrinted) -> None:
    found = point(POINT)
    assert found.low_j is not None and found.high_j is not None
    as_printed(found.low_j, "27.277")
    as_printed(found.high_j, "53.306")
    said = {limit: verdict_above(found.low_j, found.high_j, limit=limit) for limit in (27.0, 27.5, 53.0, 53.5)}
    assert said == {27.0: "yes", 27.5: "not_yet", 53.0: "not_yet", 53.5: "no"}


def test_one_end_alone_can_say_yes_and_never_no(as_printed: AsPrinted) -> None:
    found = point(ONE_SIDED)
    assert found.low_j is not None and found.high_j is None
    as_printed(found.low_j, "45.3")
    assert [verdict_above(found.low_j, None, limit=limit) for limit in (45.0, 46.0, 4500.0)] == ["yes", "not_yet", "not_yet"]


@pytest.mark.parametrize("level", [0.8, 0.95, 0.9833])
def test_the_spread_of_a_type_adds_as_variances_do(level: float) -> None:
    """Where the interval itself is z standard errors wide: two independent errors of the one quantity."""
    middle, error, spread, units = 1.4, 0.07, 0.1, (3, 5)
    z = norm.ppf((1 + level) / 2)
    low, high = (middle * math.exp(sign * z * error) for sign in (-1, 1))
    both = math.sqrt(error**2 + spread**2 * sum(1 / n for n in units))
    found = ends_for_type(low, high, estimate=middle, spread=spread, units=units, level=level)
    assert found == pytest.approx([middle * math.exp(sign * z * both) for sign in (-1, 1)], rel=1e-12)


@pytest.mark.parametrize("own", [0.0, 0.02])
@pytest.mark.parametrize(("estimate", "limit"), [(1.25, 1.0), (0.9, 1.1)])
def test_shots_to_settle_are_those_of_a_normal_estimate(estimate: float, limit: float, own: float) -> None:
    """ln q with standard error 0.16 over 24 shots: n = 24 (z 0.16)^2 / (gap^2 - z^2 u^2), which is when the limit leaves."""
    shots, error, level = 24, 0.16, 0.95
    z = norm.ppf((1 + level) / 2)

    def ends_at(asked: float) -> tuple[float, float]:
        wide = norm.ppf((1 + asked) / 2) * error
        return estimate * math.exp(-wide), estimate * math.exp(wide)

    needed = shots * (z * error) ** 2 / (math.log(estimate / limit) ** 2 - (z * own) ** 2)
    more = more_shots_to_settle(ends_at, estimate=estimate, limit=limit, level=level, shots=shots, own_relative=own)
    assert more == math.ceil(needed) - shots
