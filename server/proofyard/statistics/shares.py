"""A share and where the true share may lie: "2 of 3" and its interval.

Counts of shots are small here, so the extremes (0 of 3, 5 of 5) are the subject, not an edge case.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities.reason import CantTell, CantUse, as_count, as_level, because

DEFAULT_METHOD = "mid-p"


@dataclass(frozen=True)
class Interval:
    """Where the true share may lie, and all that it was worked out from."""

    low: float
    high: float
    level: float
    method: str
    hits: int
    shots: int

    @property
    def share(self) -> float:
        return self.hits / self.shots


@dataclass(frozen=True)
class BoundedInterval:
    """An interval for a count that is itself only known between two numbers: "1 or 2 of 3"."""

    low: float
    high: float
    level: float
    method: str
    hits_low: int
    hits_high: int
    shots: int


def mid_p_interval(hits: int, shots: int, *, level: float = 0.95) -> Interval | CantTell:
    """The shares under which what was seen is not too rare, the seen count itself taken at half its weight.

    low solves P(X > x; p) + P(X = x; p)/2 = (1 - level)/2, high the same from the other end

    Takes
        hits   whole number, 0 up to shots  shots that did what is counted
        shots  whole number, 0 or more      all shots that could have
        level  scalar, 0.5 up to 1          how often such an interval holds the true share, on average
    Gives
        Interval with method "mid-p"; CantTell when there are no shots
    Refuses
        CantUse  counts that are negative, not whole, or more hits than shots; level outside its range
    Holds while
        the shots are independent and each had the same chance: one head form, one narrow band, fair hits
    Weak when
        shots are few: it holds the true share with the stated level on average over shares, not at every one
        (never below 0.91 for 5 to 60 shots at 95 %, by enumeration). Exact never falls below the level, and is wider
    Source
        Lancaster, Biometrika 1949 36:370 for the weight of one half; Berry and Armitage, The Statistician 1995 44:417;
        Newcombe, Statistics in Medicine 1998 17:857, Table I, method 6.
        Checked in tests/published/test_intervals_of_proportions.py
    >>> found = mid_p_interval(5, 20)
    >>> round(found.low, 3), round(found.high, 3)
    (0.098, 0.47)
    """
    hits, shots = _counts(hits, shots)
    level = as_level(level)
    if shots == 0:
        return _no_shots()
    low = _mid_p_low(hits, shots, tail=(1 - level) / 2)
    high = 1 - _mid_p_low(shots - hits, shots, tail=(1 - level) / 2)
    return Interval(low, high, level, "mid-p", hits, shots)


def wilson_interval(hits: int, shots: int, *, level: float = 0.95) -> Interval | CantTell:
    """The shares from which what was seen is no more than z standard errors away.

    (p + z^2/2n +- z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n), with p = x/n

    Takes
        hits   whole number, 0 up to shots  shots that did what is counted
        shots  whole number, 0 or more      all shots that could have
        level  scalar, 0.5 up to 1          how often such an interval holds the true share, on average
    Gives
        Interval with method "wilson"; CantTell when there are no shots
    Refuses
        CantUse  counts that are negative, not whole, or more hits than shots; level outside its range
    Holds while
        the shots are independent and each had the same chance
    Weak when
        the true share is near 0 or 1 and shots are few: there it falls well below its level (0.83 at 95 %)
    Source
        Wilson, Journal of the American Statistical Association 1927 22:209; Newcombe, Statistics in Medicine 1998
        17:857, method 3. Checked in tests/published/test_intervals_of_proportions.py
    >>> found = wilson_interval(81, 263)
    >>> round(found.low, 4), round(found.high, 4)
    (0.2553, 0.3662)
    """
    hits, shots = _counts(hits, shots)
    level = as_level(level)
    if shots == 0:
        return _no_shots()
    from scipy.special import ndtri

    z = float(ndtri((1 + level) / 2))
    share = hits / shots
    middle = share + z * z / (2 * shots)
    reach = z * math.sqrt(share * (1 - share) / shots + z * z / (4 * shots * shots))
    whole = 1 + z * z / shots
    # At the ends the formula gives 0 and 1 exactly; floats miss by 1e-17, and "-0 %" would be printed.
    low = 0.0 if hits == 0 else (middle - reach) / whole
    high = 1.0 if hits == shots else (middle + reach) / whole
    return Interval(low, high, level, "wilson", hits, shots)


def exact_interval(hits: int, shots: int, *, level: float = 0.95) -> Interval | CantTell:
    """The shares under which neither so few nor so many hits would be rarer than half of 1 - level.

    low = B(a/2; x, n-x+1), high = B(1-a/2; x+1, n-x), B the beta quantile, a = 1 - level

    Takes
        hits   whole number, 0 up to shots  shots that did what is counted
        shots  whole number, 0 or more      all shots that could have
        level  scalar, 0.5 up to 1          at least so often such an interval holds the true share
    Gives
        Interval with method "exact"; CantTell when there are no shots
    Refuses
        CantUse  counts that are negative, not whole, or more hits than shots; level outside its range
    Holds while
        the shots are independent and each had the same chance
    Weak when
        shots are few: it is wider than the level asks for, so a true difference is seen later
    Source
        Clopper and Pearson, Biometrika 1934 26:404; Newcombe, Statistics in Medicine 1998 17:857, method 5.
        Checked in tests/published/test_intervals_of_proportions.py
    >>> found = exact_interval(7, 50)
    >>> round(found.low, 6), round(found.high, 6)
    (0.058192, 0.267396)
    """
    return _of_beta(hits, shots, level, method="exact", own=0.0, other=1.0)


def jeffreys_interval(hits: int, shots: int, *, level: float = 0.95) -> Interval | CantTell:
    """The middle of what you believe about the share after the shots, if before them you leaned no way.

    quantiles a/2 and 1-a/2 of Beta(x + 1/2, n - x + 1/2); low is 0 for no hit, high is 1 for nothing but hits

    Takes
        hits   whole number, 0 up to shots  shots that did what is counted
        shots  whole number, 0 or more      all shots that could have
        level  scalar, 0.5 up to 1          how much of the belief the interval holds
    Gives
        Interval with method "jeffreys"; CantTell when there are no shots
    Refuses
        CantUse  counts that are negative, not whole, or more hits than shots; level outside its range
    Holds while
        the shots are independent and each had the same chance
    Weak when
        the true share is very near 0 or 1: two narrow dips below the level
    Source
        Brown, Cai and DasGupta, Statistical Science 2001 16:101, section 3 (the ends at x = 0 and x = n too).
        Checked in tests/published/test_intervals_of_proportions.py
    >>> found = jeffreys_interval(2, 8)
    >>> round(found.low, 6), round(found.high, 6)
    (0.055967, 0.591624)
    """
    return _of_beta(hits, shots, level, method="jeffreys", own=0.5, other=0.5)


def _of_beta(hits: int, shots: int, level: float, *, method: str, own: float, other: float) -> Interval | CantTell:
    """The ends as quantiles of Beta(x + own, n - x + other), the high one from the other side."""
    hits, shots = _counts(hits, shots)
    level = as_level(level)
    if shots == 0:
        return _no_shots()
    from scipy.special import betaincinv

    tail = (1 - level) / 2
    low = 0.0 if hits == 0 else float(betaincinv(hits + own, shots - hits + other, tail))
    high = 1.0 if hits == shots else 1 - float(betaincinv(shots - hits + own, hits + other, tail))
    return Interval(low, high, level, method, hits, shots)


METHODS: MappingProxyType[str, Callable[..., Interval | CantTell]] = MappingProxyType(
    {"mid-p": mid_p_interval, "wilson": wilson_interval, "exact": exact_interval, "jeffreys": jeffreys_interval}
)


def share_interval(hits: int, shots: int, *, method: str = DEFAULT_METHOD, level: float = 0.95) -> Interval | CantTell:
    """Where the true share may lie, by the method that you name.

    the formula of the method: METHODS is the table

    Takes
        hits    whole number, 0 up to shots  shots that did what is counted
        shots   whole number, 0 or more      all shots that could have
        method  "mid-p", "wilson", "exact" or "jeffreys"
        level   scalar, 0.5 up to 1          how often such an interval holds the true share
    Gives
        Interval that names its method; CantTell when there are no shots
    Refuses
        CantUse  a method not in the table, counts that are negative, not whole, or more hits than shots, level
    Holds while
        the shots are independent and each had the same chance
    Weak when
        the method is: see each
    Source
        see each method. Checked in tests/published/test_intervals_of_proportions.py
    >>> share_interval(0, 0)
    CantTell(reason=Reason(code='no_shots', items=()))
    """
    if method not in METHODS:
        raise CantUse("method", method, "one of " + ", ".join(METHODS))
    return METHODS[method](hits, shots, level=level)


def bounded_share(
    through_low: int, through_high: int, *, shots: int, method: str = DEFAULT_METHOD, level: float = 0.95
) -> BoundedInterval | CantTell:
    """An interval for "1 or 2 of 3": wide enough whichever of the two it turns out to be.

    low end of the interval for the low count, high end of the interval for the high count

    Takes
        through_low   whole number, 0 up to through_high   hits if every open shot turns out not to be one
        through_high  whole number, through_low to shots   hits if every open shot turns out to be one
        shots         whole number, 0 or more              all shots, the open ones among them
        method        "mid-p", "wilson", "exact" or "jeffreys"
        level         scalar, 0.5 up to 1                  of each of the two intervals
    Gives
        BoundedInterval; the plain interval's ends when both counts are the same; CantTell when there are no shots
    Refuses
        CantUse  low count above the high one, either above shots, or what the method refuses
    Holds while
        the shots are independent and each had the same chance
    Weak when
        many shots are open: then it says little, as it should. It is a bound, not a 95 % interval of its own
    Source
        Worst and best case of what is missing: Manski, Partial Identification of Probability Distributions, 2003,
        section 1.2 (from memory). Checked against its two ends in tests/statistics/test_statistics_shares.py
    >>> found = bounded_share(1, 2, shots=3)
    >>> round(100 * found.low), round(100 * found.high)
    (2, 98)
    """
    low_count, high_count = as_count("through_low", through_low), as_count("through_high", through_high)
    if low_count > high_count:
        raise CantUse("through_low", through_low, f"no more than through_high, {high_count}")
    at_low = share_interval(low_count, shots, method=method, level=level)
    at_high = share_interval(high_count, shots, method=method, level=level)
    if isinstance(at_low, CantTell) or isinstance(at_high, CantTell):
        return _no_shots()
    return BoundedInterval(at_low.low, at_high.high, at_low.level, method, low_count, high_count, at_low.shots)


def _no_shots() -> CantTell:
    return CantTell(because("no_shots"))


def _counts(hits: object, shots: object) -> tuple[int, int]:
    hit_count, shot_count = as_count("hits", hits), as_count("shots", shots)
    if hit_count > shot_count:
        raise CantUse("hits", hits, f"no more than shots, {shot_count}")
    return hit_count, shot_count


def _mid_p_low(hits: int, shots: int, *, tail: float) -> float:
    """Lower mid-P limit. The upper one is its mirror, so one root-finder serves both ends."""
    if hits == 0:
        return 0.0
    if hits == shots:
        # P(X > n) is 0, so half of p^n is the whole tail: no root to look for.
        return math.exp(math.log(2 * tail) / shots)
    from scipy.special import betainc, betaincinv

    # P(X >= x) and P(X > x) are beta integrals, and their mean is the mid-P tail.
    # Each alone has a known root; the root of their mean lies between those two, so halving can't miss it.
    below = float(betaincinv(hits, shots - hits + 1, tail))
    above = float(betaincinv(hits + 1, shots - hits, tail))
    for _ in range(200):
        middle = 0.5 * (below + above)
        if middle <= below or middle >= above:
            break
        seen = 0.5 * (betainc(hits, shots - hits + 1, middle) + betainc(hits + 1, shots - hits, middle))
        if seen < tail:
            below = middle
        else:
            above = middle
    return 0.5 * (below + above)
