"""The averaging limit on a worked example and on real shots that no rule of it accepts."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from server.statistics.ballistic_limit import AveragingRule, BallisticLimit, averaging_limit
from server.statistics.refusals import CantTell

AsPrinted = Callable[[float, str], None]
FOOT_M = 0.3048
VELOCITIES = [
    656, 900, 950, 950, 950, 950, 984, 1000, 1022, 1145, 1164, 1305, 1313, 1450, 1450, 1450, 1457, 1500, 1625, 1750,
]  # fmt: skip
VELOCITY_THROUGH = [0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 1, 1, 1, 1, 1, 1, 0, 1, 1]


def test_six_shots_within_90_feet_a_second(as_printed: AsPrinted) -> None:
    """An example of ours by the rule of MIL-STD-662F (from memory): mean 1885.0 ft/s, spread 60."""
    feet = [1850, 1875, 1880, 1890, 1905, 1910]
    speeds = [one * FOOT_M for one in feet]
    for widest in (90, 60):
        found = averaging_limit(
            speeds, [0, 0, 0, 1, 1, 1], projectiles=["x"] * 6, rules=[AveragingRule(3, widest * FOOT_M)]
        )
        assert isinstance(found, BallisticLimit)
        as_printed(found.limit_m_s / FOOT_M, "1885.0")
        as_printed(found.spread_m_s / FOOT_M, "60.0")
        assert found.overlap_m_s < 0


@pytest.mark.parametrize(
    ("pairs", "mean", "spread"), [(2, "1278.5", "355"), (3, "1241.5", "478"), (5, "1233.3", "516")]
)
def test_real_shots_that_lie_too_wide(pairs: int, mean: str, spread: str, as_printed: AsPrinted) -> None:
    """Twenty speeds of a public set (R package gonogo, wxdat set 7, "Velocity", MIT licence; arithmetic ours): the mixed
    shots span 355, so no rule of 60 to 150 ft/s has an answer."""
    found = averaging_limit(
        VELOCITIES, VELOCITY_THROUGH, projectiles=["x"] * 20, rules=[AveragingRule(pairs, 150 * FOOT_M)]
    )
    assert isinstance(found, CantTell)
    assert f"{pairs} and {pairs}: they lie {spread} m/s apart" in found.reason
    wide = averaging_limit(VELOCITIES, VELOCITY_THROUGH, projectiles=["x"] * 20, rules=[AveragingRule(pairs, 1e6)])
    assert isinstance(wide, BallisticLimit)
    as_printed(wide.limit_m_s, mean)
