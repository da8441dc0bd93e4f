"""The averaging limit on a worked example and on real shots that no rule of it accepts."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from proofyard.quantities.reason import CantTell, Reason
from proofyard.statistics.ballistic_limit import AveragingRule, BallisticLimit, averaging_limit

AsPrinted = Callable[[float, str], None]
FOOT_M = 0.3048
VELOCITIES = [656, 900, 950, 950, 950, 950, 984, 1000, 1022, 1145, 1164, 1305, 1313, 1450, 1450, 1450, 1457, 1500, 1625, 1750]
VELOCITY_THROUGH = [0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 0, 1, 1, 1, 1, 1, 1, 0, 1, 1]


@pytest.mark.parametrize(("pairs", "mean", "spread"), [(2, "1278.5", "355"), (3, "1241.5", "478"), (5, "1233.3", "516")])
def test_real_shots_that_lie_too_wide(pairs: int, mean: str, spread: str, as_printed: AsPrinted) -> None:
    """Twenty speeds of a public set (R package gonogo, wxdat set 7, "Velocity", MIT licence; arithmetic ours): the mixed
    shots span 355, so no rule of 60 to 150 ft/s has an answer."""
    found = averaging_limit(VELOCITIES, VELOCITY_THROUGH, projectiles=["x"] * 20, rules=[AveragingRule(pairs, 150 * FOOT_M)])
    assert isinstance(found, CantTell)
    rules = found.reason.parts["rules"]
    assert isinstance(rules, tuple) and isinstance(reason := rules[0], Reason)
    assert (reason.code, reason.parts["each_side"]) == ("rule_spread_too_wide", pairs)
    as_printed(float(reason.parts["spread_m_s"]), spread)
    wide = averaging_limit(VELOCITIES, VELOCITY_THROUGH, projectiles=["x"] * 20, rules=[AveragingRule(pairs, 1e6)])
    assert isinstance(wide, BallisticLimit)
    as_printed(wide.limit_m_s, mean)
