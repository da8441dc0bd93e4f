"""Before the first arrow: how many shots it takes for an answer of a wanted sharpness, and what the arrows at hand can
settle. Small numbers are counted out, result by result; nothing here rests on a normal curve unless it says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_level, as_one_or_more, because
from proofyard.statistics.shares import DEFAULT_METHOD, METHODS, Interval

Array = NDArray[np.float64]

# Up to here every result is counted out; two groups of 60 have 3,721 results, and the sum over them is still quick.
MOST_COUNTED = 60
MOST_FOR_WIDTH = 400


@dataclass(frozen=True)
class ShotsNeeded:
    """How many shots, in each group if there are two. reached: the width or the power that they give."""

    shots: int
    reached: float
    method: Reason


@dataclass(frozen=True)
class Settles:
    """What equal groups of so many shots can settle. width_half: how wide the interval of one share is expected where it
    is widest, at a half; none_below: what the share may still be when none of them got through; apart: the smallest
    share of the one that is told from none of the other with the power asked, None where even all would not do."""

    shots: int
    width_half: float
    none_below: float
    apart: float | None
    level: float
    power: float


def expected_width(share: float, shots: int, *, level: float = 0.95, method: str = DEFAULT_METHOD) -> float:
    """How wide the interval of a share will be, on average over all results that so many shots can have.

    sum over x = 0..n of P(x; n, p) (high(x) - low(x))

    Takes
        share   scalar, 0 to 1             what you think the share is
        shots   whole number, 1 or more
        level   scalar, 0.5 up to 1
        method  "mid-p", "wilson", "exact" or "jeffreys"
    Gives
        scalar, 0 to 1
    Refuses
        CantUse  share outside 0 to 1, no shots, level outside its range, a method not in the table
    Holds while
        the shots are independent and each has that chance
    Weak when
        the share you think of is wrong: ask at a half, where it is widest
    Source
        The sum itself; each interval's source is its own. Checked in tests/statistics/test_statistics_planning.py
    >>> round(expected_width(0.5, 10), 2)
    0.55
    """
    chance, count = _share("share", share), as_one_or_more("shots", shots)
    if method not in METHODS:
        raise CantUse("method", method, "one of " + ", ".join(METHODS))
    return float(_chances(count, np.array([chance]))[0] @ _widths(count, as_level(level), method))


def shots_for_width(share: float, width: float, *, level: float = 0.95, method: str = DEFAULT_METHOD) -> ShotsNeeded | CantTell:
    """The fewest shots whose interval is expected to be no wider than you want.

    least n with sum over x of P(x; n, p) (high(x) - low(x)) <= w

    Takes
        share   scalar, 0 to 1           what you think the share is; a half is the worst case
        width   scalar, above 0 below 1  high end less low end: 0.4 is "30 to 70 %"
        level   scalar, 0.5 up to 1
        method  "mid-p", "wilson", "exact" or "jeffreys"
    Gives
        ShotsNeeded with the expected width; CantTell above 400 shots, which no yard has
    Refuses
        CantUse  share or width outside its range, level, a method not in the table
    Holds while
        the shots are independent and each has that chance
    Weak when
        read as a promise: half the time the interval comes out somewhat wider
    Source
        as expected_width. Checked in tests/statistics/test_statistics_planning.py
    >>> shots_for_width(0.5, 0.4).shots
    22
    """
    if not 0 < width < 1:
        raise CantUse("width", width, "above 0 and below 1")
    level, chance = as_level(level), _share("share", share)

    def wide(shots: int) -> float:
        return expected_width(chance, shots, level=level, method=method)

    if wide(MOST_FOR_WIDTH) > width:
        return CantTell(because("too_many_for_a_width", most=MOST_FOR_WIDTH, width=width))
    shots = _first(1, MOST_FOR_WIDTH, lambda n: wide(n) <= width)
    return ShotsNeeded(shots, wide(shots), because("every_result_of_the_interval", method=method))


def shots_all_alike(share: float, *, level: float = 0.95) -> int:
    """How many shots in a row must be stopped, with none through, before the share that gets through is surely below this.

    n = ln(1 - level) / ln(1 - p), rounded up: then (1 - p)^n <= 1 - level

    Takes
        share  scalar, above 0 below 1  that you want to rule out
        level  scalar, 0.5 up to 1
    Gives
        whole number of shots
    Refuses
        CantUse  share or level outside its range
    Holds while
        the shots are independent and fair, all at the energy that the claim is about
    Weak when
        one gets through: then there is no such claim, and the count begins again only with another question
    Source
        Success run without failure: NIST/SEMATECH e-Handbook of Statistical Methods, section 8.3 (from memory).
        Checked in tests/published/test_planned_shots.py
    >>> shots_all_alike(0.05), shots_all_alike(0.10, level=0.90)
    (59, 22)
    """
    if not 0 < share < 1:
        raise CantUse("share", share, "above 0 and below 1")
    return math.ceil(math.log(1 - as_level(level)) / math.log1p(-share) - 1e-12)


def power_to_part(share: float, other_share: float, *, shots: int, other_shots: int, level: float = 0.95) -> float:
    """How often two groups of these sizes would show a difference at one energy, if their true shares were these.

    sum over x, y of P(x; n1, p1) P(y; n2, p2) [mid-P of odds_within_levels(x, y), both sides, < 1 - level]

    Takes
        share        scalar, 0 to 1                true share of the first group
        other_share  scalar, 0 to 1                of the other
        shots        whole number, 1 to 60
        other_shots  whole number, 1 to 60
        level        scalar, 0.5 up to 1
    Gives
        scalar, 0 to 1
    Refuses
        CantUse  shares outside 0 to 1, groups of none or of more than 60, level outside its range
    Holds while
        all shots are independent, and the numbers shot are set beforehand
    Weak when
        shots share one arrow, bow or panel that matters: the true power is then less
    Source
        the sum itself; the test as odds_within_levels. Checked in tests/published/test_planned_shots.py
    >>> round(power_to_part(0.9, 0.3, shots=10, other_shots=10), 2)
    0.82
    """
    p, q = _share("share", share), _share("other_share", other_share)
    n, m = as_one_or_more("shots", shots), as_one_or_more("other_shots", other_shots)
    if max(n, m) > MOST_COUNTED:
        raise CantUse("shots", max(n, m), f"no more than {MOST_COUNTED} in a group")
    parted = _mid_p(n, m) < (1 - as_level(level)) - 1e-9
    return float(_chances(n, np.array([p]))[0] @ parted @ _chances(m, np.array([q]))[0])


def shots_for_difference(share: float, other_share: float, *, power: float = 0.8, level: float = 0.95) -> ShotsNeeded | CantTell:
    """How many shots in each of two equal groups, to tell these two shares apart with the power you want.

    least n whose power, and that of n + 1 and n + 2, is >= the power wanted; above 60 Fleiss' formula

    Takes
        share        scalar, 0 to 1          of the first group, as you think it is
        other_share  scalar, 0 to 1          of the other
        power        scalar, 0.5 up to 1     how often such a trial should show the difference
        level        scalar, 0.5 up to 1
    Gives
        ShotsNeeded for each group, with the power reached; CantTell when both shares are one
    Refuses
        CantUse  shares outside 0 to 1, power or level outside its range
    Holds while
        all shots are independent, and the numbers shot are set beforehand
    Weak when
        the shares you think of lie further apart than the true ones: then it takes many more
    Source
        every result of the mid-P test counted up to 60, beyond that as shots_by_normal_curve.
        Checked in tests/published/test_planned_shots.py
    >>> shots_for_difference(0.9, 0.3).shots
    10
    """
    p, q = _share("share", share), _share("other_share", other_share)
    wanted = as_level(power)
    if p == q:
        return CantTell(because("shares_are_the_same"))
    start, most = 2, MOST_COUNTED - 2
    near = shots_by_normal_curve(p, q, power=wanted, level=level)
    if near > 1.3 * MOST_COUNTED:
        return ShotsNeeded(near, wanted, because("by_a_normal_curve"))
    kept: dict[int, float] = {}

    def reached(shots: int) -> float:
        if shots not in kept:
            kept[shots] = power_to_part(p, q, shots=shots, other_shots=shots, level=level)
        return kept[shots]

    # Exact power goes up in teeth, so the next two must do as well as the one that is named.
    for shots in range(max(start, near // 2), most + 1):
        if min(reached(shots), reached(shots + 1), reached(shots + 2)) >= wanted:
            while shots > start and min(reached(shots - 1), reached(shots), reached(shots + 1)) >= wanted:
                shots -= 1
            return ShotsNeeded(shots, reached(shots), because("every_result_of_the_mid_p_test"))
    return ShotsNeeded(max(near, MOST_COUNTED), wanted, because("by_a_normal_curve"))


def shots_by_normal_curve(share: float, other_share: float, *, power: float = 0.8, level: float = 0.95, corrected: bool = True) -> int:
    """The textbook's number for each of two equal groups: near enough for many shots, and to check by.

    n = (z_a sqrt(2 P Q) + z_b sqrt(p1 q1 + p2 q2))^2 / d^2;  corrected: (n/4) (1 + sqrt(1 + 4/(n |d|)))^2

    Takes
        share        scalar, 0 to 1
        other_share  scalar, 0 to 1, not the same
        power        scalar, 0.5 up to 1
        level        scalar, 0.5 up to 1
        corrected    True or False         for counts being whole
    Gives
        whole number of shots in each group
    Refuses
        CantUse  shares outside 0 to 1 or the same, power or level outside its range
    Holds while
        there are many shots in each group, and neither share is near 0 or 1
    Weak when
        shots are few: it may be a shot or two out either way
    Source
        Fleiss, Statistical Methods for Rates and Proportions, 1981, chapter 3.
        Checked in tests/published/test_planned_shots.py
    >>> shots_by_normal_curve(0.6, 0.7, corrected=False), shots_by_normal_curve(0.6, 0.7)
    (356, 376)
    """
    p, q = _share("share", share), _share("other_share", other_share)
    apart = abs(p - q)
    if apart == 0:
        raise CantUse("other_share", other_share, "another share than the first")
    from scipy.special import ndtri

    z_level, z_power = float(ndtri((1 + as_level(level)) / 2)), float(ndtri(as_level(power)))
    middle = (p + q) / 2
    reach = z_level * math.sqrt(2 * middle * (1 - middle)) + z_power * math.sqrt(p * (1 - p) + q * (1 - q))
    shots = (reach / apart) ** 2
    if corrected:
        shots = shots / 4 * (1 + math.sqrt(1 + 4 / (shots * apart))) ** 2
    return math.ceil(shots - 1e-9)


def what_these_settle(shots: int, *, level: float = 0.95, power: float = 0.8) -> Settles:
    """What so many shots, in each of two groups if you compare, can settle, as a plan states it.

    width = expected_width(1/2, n);  none below = high end of 0 of n;  apart = least p with power(p, 0; n, n) >= power

    Takes
        shots  whole number, 1 to 60    in one group
        level  scalar, 0.5 up to 1
        power  scalar, 0.5 up to 1
    Gives
        Settles
    Refuses
        CantUse  no shots, more than 60, level or power outside its range
    Holds while
        the shots are independent, fair, and shot at one energy or over the same energies
    Weak when
        the other group is not near none: shares in the middle are harder to part. See shots_for_difference
    Source
        as expected_width, mid_p_interval and power_to_part. Checked in tests/statistics/test_statistics_planning.py
    >>> found = what_these_settle(5)
    >>> round(found.width_half, 2), round(found.none_below, 2), round(found.apart, 2)
    (0.7, 0.45, 0.83)
    >>> what_these_settle(2).apart is None
    True
    """
    count, level, power = as_one_or_more("shots", shots), as_level(level), as_level(power)

    def reached(share: float) -> float:
        return power_to_part(share, 0.0, shots=count, other_shots=count, level=level)

    apart = None
    if reached(1.0) >= power:
        apart = _first(0, 200, lambda step: reached(step / 200) >= power) / 200
    none = METHODS[DEFAULT_METHOD](0, count, level=level)
    assert isinstance(none, Interval)
    return Settles(count, expected_width(0.5, count, level=level), none.high, apart, level, power)


def _first(low: int, high: int, holds: Callable[[int], bool]) -> int:
    """The first whole number from which on it holds, found by halving; it holds at `high`."""
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return high


@lru_cache(maxsize=512)
def _widths(shots: int, level: float, method: str) -> Array:
    found = [METHODS[method](hits, shots, level=level) for hits in range(shots + 1)]
    return np.array([one.high - one.low for one in found if isinstance(one, Interval)])


def _chances(shots: int, shares: Array) -> Array:
    """Of 0 to n hits, a row a share."""
    from scipy.special import gammaln, xlog1py, xlogy

    hits = np.arange(shots + 1)
    ways = gammaln(shots + 1) - gammaln(hits + 1) - gammaln(shots - hits + 1)
    chances: Array = np.exp(ways + xlogy(hits, shares[:, None]) + xlog1py(shots - hits, -shares[:, None]))
    return chances


@lru_cache(maxsize=128)
def _mid_p(shots: int, other_shots: int) -> Array:
    """The mid-P, both sides, of every result x of n1 (rows) against y of n2 (columns)."""
    from scipy.stats import hypergeom

    hits, others = np.arange(shots + 1)[:, None], np.arange(other_shots + 1)[None, :]
    given = shots + other_shots, hits + others, shots
    half = hypergeom.pmf(hits, *given) / 2
    found: Array = np.minimum(1.0, 2 * np.minimum(hypergeom.sf(hits, *given), hypergeom.cdf(hits - 1, *given)) + 2 * half)
    return found


def _share(name: str, value: float) -> float:
    if not 0 <= value <= 1:
        raise CantUse(name, value, "from 0 to 1")
    return float(value)
