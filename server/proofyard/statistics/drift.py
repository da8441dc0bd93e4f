"""Did a reading creep while others of its sort were taken? One slope for several groups, each about its own mean."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, as_level, because

FEWEST_TO_SPARE = 3  # readings beyond what the means and the slope take up: fewer leave the slope anywhere


@dataclass(frozen=True)
class CommonSlope:
    """The slope that all groups share, and where it may lie. `from_x`, `to_x`: the first and last place that was read."""

    slope: float
    standard_error: float
    low: float
    high: float
    level: float
    readings: int
    groups: int
    from_x: float
    to_x: float

    @property
    def change(self) -> float:
        """From the first place to the last."""
        return self.slope * (self.to_x - self.from_x)

    @property
    def sure(self) -> bool:
        """Whether the interval leaves out a slope of nothing."""
        return self.low > 0 or self.high < 0


def common_slope(groups: Sequence[Sequence[tuple[float, float]]], *, level: float = 0.95) -> CommonSlope | CantTell:
    """The straight line that readings follow with their order, where each group has a height of its own.

    b = sum (x - mx)(y - my) / sum (x - mx)^2, each about its group's means;  s^2 = sum of squares left / (n - g - 1)

    Takes
        groups  lists of (x, y)         x the place in order, y the reading: of one bow, arrow and archer each
        level   scalar, 0.5 up to 1     how often such an interval holds the true slope
    Gives
        CommonSlope; CantTell where fewer than three readings are to spare, or none of a group was read at two places
    Refuses
        CantUse  a figure that isn't finite, a level outside its range
    Holds while
        the creep is steady, and the readings scatter alike about it
    Weak when
        the creep comes all at once: then a line only says that something changed
    Source
        Least squares with one slope for several groups: Snedecor and Cochran, Statistical Methods, analysis of
        covariance (from memory). One group: NIST Statistical Reference Datasets, Norris.
        Checked in tests/published/test_drift_and_agreement.py
    >>> found = common_slope([[(1, 10.0), (2, 11.0), (3, 12.1)], [(1, 20.0), (2, 21.1), (3, 21.9)]])
    >>> round(found.slope, 2), found.sure
    (1.0, True)
    """
    level = as_level(level)
    kept = [list(group) for group in groups if group]
    for x, y in (pair for group in kept for pair in group):
        if not (math.isfinite(x) and math.isfinite(y)):
            raise CantUse("groups", (x, y), "finite figures")
    count = sum(map(len, kept))
    spare = count - len(kept) - 1
    if spare < FEWEST_TO_SPARE:
        return CantTell(because("too_few_readings_for_a_creep", readings=count, groups=len(kept)))
    centred = [pair for group in kept for pair in _about_mean(group)]
    across = math.fsum(x * x for x, _ in centred)
    if across == 0:
        return CantTell(because("no_group_read_at_two_places"))
    slope = math.fsum(x * y for x, y in centred) / across
    left = math.fsum((y - slope * x) ** 2 for x, y in centred)
    error = math.sqrt(left / spare / across)
    from scipy.special import stdtrit

    reach = float(stdtrit(spare, (1 + level) / 2)) * error
    places = [x for group in kept if len(group) > 1 for x, _ in group]
    return CommonSlope(slope, error, slope - reach, slope + reach, level, count, len(kept), min(places), max(places))


def _about_mean(group: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    mx, my = (math.fsum(values) / len(group) for values in zip(*group, strict=True))
    return [(x - mx, y - my) for x, y in group]
