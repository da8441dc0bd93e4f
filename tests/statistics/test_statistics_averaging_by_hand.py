"""The averaging limit on six shots worked out by hand."""

from __future__ import annotations

from collections.abc import Callable

from proofyard.statistics.ballistic_limit import AveragingRule, BallisticLimit, averaging_limit

AsPrinted = Callable[[float, str], None]
FOOT_M = 0.3048


def test_six_shots_within_90_feet_a_second(as_printed: AsPrinted) -> None:
    """By hand, by the rule in use for tests of armour: mean 1885.0 ft/s, spread 60."""
    feet = [1850, 1875, 1880, 1890, 1905, 1910]
    speeds = [one * FOOT_M for one in feet]
    for widest in (90, 60):
        found = averaging_limit(speeds, [0, 0, 0, 1, 1, 1], projectiles=["x"] * 6, rules=[AveragingRule(3, widest * FOOT_M)])
        assert isinstance(found, BallisticLimit)
        as_printed(found.limit_m_s / FOOT_M, "1885.0")
        as_printed(found.spread_m_s / FOOT_M, "60.0")
        assert found.overlap_m_s < 0
