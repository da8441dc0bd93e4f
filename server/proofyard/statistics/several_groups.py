"""One figure over several groups (panels, days) that may really differ: a second opinion beside the pooled answer, never alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, as_level, as_readings, because

FEWEST_GROUPS = 3
WIDE_UP_TO = 4  # groups: half-widths of 14 to 45 % by simulation, wide by nature


@dataclass(frozen=True)
class OverGroups:
    """The middle over groups with its interval. between: standard deviation of the groups' true values about it.

    left_out   how many groups had an end that is not bounded: they are in no figure here
    """

    value: float
    low: float
    high: float
    between: float
    level: float
    groups: int
    left_out: int = 0

    @property
    def wide_by_nature(self) -> bool:
        return self.groups <= WIDE_UP_TO


def over_groups(values: Sequence[float], standard_errors: Sequence[float], *, level: float = 0.95) -> OverGroups | CantTell:
    """The mean of several groups' values, each with its own standard error, and how far the groups lie apart.

    w_i = 1/(s_i^2 + t^2), t^2 >= 0 where sum w (y - m)^2 = k - 1, m = sum w y / sum w;
    m +- t(k-1) sqrt(max(1, q) / sum w), q = sum w (y - m)^2 / (k - 1)

    Takes
        values           array of finite numbers      a logarithm of a ratio or of an energy for each group
        standard_errors  array, above 0, as many      of each
        level            scalar, 0.5 up to 1
    Gives
        OverGroups; CantTell with fewer than 3 groups
    Refuses
        CantUse  not as many errors as values, values not finite, errors not above 0, level outside its range
    Holds while
        groups were drawn alike, and no group was made for its outcome
    Weak when
        there are 3 or 4 groups: the interval is wide by nature
    Source
        Paule and Mandel, Journal of Research of the National Bureau of Standards 1982 87:377; Hartung and Knapp,
        Statistics in Medicine 2001 20:3875; max(1, q): Roever, Knapp and Friede, BMC Medical Research Methodology 2015
        15:99 (all from memory). Checked in tests/published/test_weight_life_and_measures.py
    >>> found = over_groups([0.10, 0.32, 0.05, 0.22], [0.08, 0.10, 0.06, 0.12])
    >>> round(found.between**2, 7), round(found.value, 5), round(found.low, 5), round(found.high, 5)
    (0.0072807, 0.15082, -0.04322, 0.34486)
    """
    level = as_level(level)
    found, errors = as_readings("values", values), as_readings("standard_errors", standard_errors)
    if len(found) != len(errors):
        raise CantUse("standard_errors", len(errors), f"one for each of the {len(found)} values")
    if any(error <= 0 for error in errors):
        raise CantUse("standard_errors", min(errors), "above 0")
    groups = len(found)
    if groups < FEWEST_GROUPS:
        return CantTell(because("too_few_groups", groups=groups, needed=FEWEST_GROUPS))
    from scipy.special import stdtrit

    between = _between(found, errors)
    middle, whole, apart = _weighed(found, errors, between)
    reach = float(stdtrit(groups - 1, (1 + level) / 2)) * math.sqrt(max(1.0, apart / (groups - 1)) / whole)
    return OverGroups(middle, middle - reach, middle + reach, math.sqrt(between), level, groups)


def over_groups_with_ends(
    ends: Sequence[tuple[float, float | None, float | None]], *, limit_factor: float | Sequence[float], level: float = 0.95
) -> OverGroups | CantTell:
    """The same of figures above 0 with intervals (50 % energies, ratios): in their logarithms, each error from its interval.

    s_i = (ln high_i - ln low_i) / (2 z sqrt(limit factor)), then over_groups of ln value

    Takes
        ends          array of (value, low, high), above 0   an end of None is not bounded: that group is left out
        limit_factor  scalar, 1 or more, or one for each   by which an interval's chi-square limit was raised above that of its level
        level         scalar, 0.5 up to 1   of the groups' intervals, and of this one
    Gives
        OverGroups in the values' own unit (between stays a share); CantTell when more than a third of the groups is left
        out, or fewer than 3 stay
    Refuses
        CantUse  ends not above 0, low not below high, a limit factor below 1, level outside its range
    Holds while
        as over_groups; an interval is about even about its value in the logarithm
    Weak when
        groups are left out: they are left out by their outcomes. Up to a third is a judgement, not simulated
    Source
        as over_groups. Checked in tests/published/test_weight_life_and_measures.py
    >>> found = over_groups_with_ends([(60, 50, 72), (75, 62, 90), (66, 55, 80), (70, 52, None)], limit_factor=1.2)
    >>> found.groups, found.left_out, round(found.value, 1)
    (3, 1, 66.7)
    """
    from scipy.special import ndtri

    level = as_level(level)
    factors = list(limit_factor) if isinstance(limit_factor, Sequence) else [limit_factor] * len(ends)
    if len(factors) != len(ends):
        raise CantUse("limit_factor", len(factors), f"one for each of the {len(ends)} groups")
    for factor in factors:
        if not (math.isfinite(factor) and factor >= 1):
            raise CantUse("limit_factor", factor, "1 or more and finite")
    closed = [
        (value, low, high, factor) for (value, low, high), factor in zip(ends, factors, strict=True) if low is not None and high is not None
    ]
    for value, low, high, _ in closed:
        if not 0 < low < high < math.inf or not value > 0:
            raise CantUse("ends", (value, low, high), "above 0 and finite, low below high")
    left_out = len(ends) - len(closed)
    if 3 * left_out > len(ends):
        return CantTell(because("too_many_groups_open", open_groups=left_out, groups=len(ends)))
    over = 2 * float(ndtri((1 + level) / 2))
    errors = [math.log(high / low) / (over * math.sqrt(factor)) for _, low, high, factor in closed]
    found = over_groups([math.log(value) for value, _, _, _ in closed], errors, level=level)
    if isinstance(found, CantTell):
        return found
    middle, lowest, highest = (math.exp(one) for one in (found.value, found.low, found.high))
    return OverGroups(middle, lowest, highest, found.between, level, found.groups, left_out)


def share_over_groups(counts: Sequence[tuple[int, int]], *, level: float = 0.95) -> OverGroups | CantTell:
    """The same of shares: each group's count in its log-odds, with half a shot added to either side so that none and all count too.

    y_i = ln((x_i + 1/2) / (n_i - x_i + 1/2)), s_i^2 = 1/(n_i p (1 - p)) with the common p = (sum x + 1/2) / (sum n + 1), then over_groups
    of y; the share is e^y / (1 + e^y). With each group's own share in its error, groups near none or all would weigh by their luck.

    Takes
        counts  array of (hits, shots)   of each group, shots 1 or more
        level   scalar, 0.5 up to 1
    Gives
        OverGroups: value, low and high as shares; between stays in log-odds. CantTell with fewer than 3 groups
    Refuses
        CantUse  hits not within 0 to shots, a group without a shot, level outside its range
    Holds while
        as over_groups; a group's shots are independent
    Weak when
        there are three or four groups: wide by nature. By simulation 95 % intervals held 94.5 to 100 % (3 to 8 groups of 10 or 20
        shots, shares of 10 and 30 %, log-odds 0.5 and 1 apart)
    Source
        Anscombe, Biometrika 1956 43:461 (0.5 added to either side), from memory; the common share in the errors is a choice by simulation
        (tests/bench/weight_and_life.py). Checked in tests/published/test_weight_life_and_measures.py
    >>> found = share_over_groups([(3, 20), (9, 20), (14, 20), (6, 12)])
    >>> found.groups, round(found.value, 2)
    (4, 0.44)
    """
    for hits, shots in counts:
        if not (shots >= 1 and 0 <= hits <= shots):
            raise CantUse("counts", (hits, shots), "hits within 0 to shots, and a shot at least")
    if len(counts) < FEWEST_GROUPS:
        return CantTell(because("too_few_groups", groups=len(counts), needed=FEWEST_GROUPS))
    common = (math.fsum(hits for hits, _ in counts) + 0.5) / (math.fsum(shots for _, shots in counts) + 1)
    odds = [math.log((hits + 0.5) / (shots - hits + 0.5)) for hits, shots in counts]
    found = over_groups(odds, [1 / math.sqrt(shots * common * (1 - common)) for _, shots in counts], level=level)
    if isinstance(found, CantTell):
        return found
    middle, low, high = (1 / (1 + math.exp(-one)) for one in (found.value, found.low, found.high))
    return OverGroups(middle, low, high, found.between, found.level, found.groups)


def _weighed(values: Sequence[float], errors: Sequence[float], between: float) -> tuple[float, float, float]:
    """The weighted mean, the sum of weights, and the weighted sum of squares about the mean."""
    weights = [1 / (error * error + between) for error in errors]
    whole = math.fsum(weights)
    middle = math.fsum(weight * value for weight, value in zip(weights, values, strict=True)) / whole
    apart = math.fsum(weight * (value - middle) ** 2 for weight, value in zip(weights, values, strict=True))
    return middle, whole, apart


def _between(values: Sequence[float], errors: Sequence[float]) -> float:
    """Variance between groups by Paule and Mandel: the sum of squares only falls with it, so halving can't miss the root."""
    wanted = len(values) - 1

    def too_far_apart(between: float) -> bool:
        return _weighed(values, errors, between)[2] > wanted

    if not too_far_apart(0.0):
        return 0.0
    low, high = 0.0, (max(values) - min(values)) ** 2
    while too_far_apart(high):
        high *= 2
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle <= low or middle >= high:
            break
        low, high = (middle, high) if too_far_apart(middle) else (low, middle)
    return 0.5 * (low + high)
