"""Two groups within levels of like energy: the odds ratio that all levels share, exact, its interval and verdict agreeing."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from proofyard.quantities.reason import CantTell, CantUse, as_count, as_level, because

Array = NDArray[np.float64]
Level = tuple[int, int, int, int]  # through, shots of the first group; through, shots of the second

# ln of an odds ratio: no yard could ever tell a larger one from all against none.
FURTHEST_LOG = 60.0


@dataclass(frozen=True, eq=False)
class Odds:
    """The first group's odds to get through over the second's, alike at every level.

    ratio        None where only one end is bounded: all of one against the least that the totals allow
    p_value      twice the smaller mid-P tail
    smallest_p   what these numbers of shots could give at most, whatever their outcomes
    """

    levels: tuple[Level, ...]
    ratio: float | None
    p_value: float
    smallest_p: float

    @property
    def shots(self) -> tuple[int, int]:
        return sum(level[1] for level in self.levels), sum(level[3] for level in self.levels)

    @property
    def hits(self) -> tuple[int, int]:
        return sum(level[0] for level in self.levels), sum(level[2] for level in self.levels)

    @cached_property
    def _sums(self) -> tuple[int, Array]:
        """The least sum that the totals allow, and the log of the number of ways to each sum from there on."""
        least, ways = 0, np.zeros(1)
        for level in self.levels:
            lowest, own = _ways(level)
            least, ways = least + lowest, _joined(ways, own)
        return least, ways

    def tail(self, log_ratio: float, *, above: bool) -> float:
        """P(more than was seen) + half P(as seen), or the same below, at an odds ratio given by its logarithm."""
        least, ways = self._sums
        chances = ways + log_ratio * np.arange(ways.size)
        chances = np.exp(chances - chances.max())
        at = self.hits[0] - least
        side = chances[at + 1 :].sum() if above else chances[:at].sum()
        return float((side + 0.5 * chances[at]) / chances.sum())


def odds_within_levels(levels: Sequence[Level]) -> Odds | CantTell:
    """How many times the odds of the other group the odds of one group to get through are, within levels of like energy.

    T = sum of the first group's through; P(T = t; psi) ~ c_t psi^t, c_t the ways to deal each level's through to the two groups;
    psi where E(T; psi) = T seen; p = 2 min over both sides of (P(further) + P(as seen)/2) at psi = 1

    Takes
        levels  (through, shots, other through, other shots) a level, whole numbers
    Gives
        Odds; CantTell when no level has shots of both, or none whose totals leave anything open
    Refuses
        CantUse  counts that are negative, not whole, or more through than shots
    Holds while
        shots are independent, energies are alike within each level, and how many were shot there was not decided by the outcomes
    Weak when
        the odds ratio itself differs from level to level: it is then a mean of them
    Source
        Gart, Biometrika 1970 57:471 (from memory); mid-P: Hirji, Tan and Elashoff, Statistics in Medicine 1991 10:1137 (from memory).
        Checked in tests/published/test_two_shares.py; its size by enumeration in tests/bench/pair_error_rates.py
    >>> found = odds_within_levels([(7, 10, 2, 10), (9, 10, 6, 10)])
    >>> round(found.ratio, 3), round(found.p_value, 5)
    (6.98, 0.00966)
    """
    kept = tuple(_level(one) for one in levels)
    kept = tuple(one for one in kept if one[1] and one[3])
    if not kept:
        return CantTell(because("no_energy_level_of_both_heads"))
    smallest = math.exp(-sum(_log_choose(one[1] + one[3], one[1]) for one in kept))
    found = Odds(kept, None, 1.0, min(1.0, smallest))
    least, ways = found._sums
    if ways.size == 1:
        shots, hits = sum(found.shots), sum(found.hits)
        if hits in (0, shots):
            return CantTell(because("every_head_alike_throughout", shots=shots, through=bool(hits)))
        return CantTell(because("each_level_alike_throughout"))
    p_value = min(1.0, 2 * min(found.tail(0.0, above=True), found.tail(0.0, above=False)))
    at = found.hits[0] - least
    ratio = math.exp(_root(lambda log: _mean(ways, log) - at)) if 0 < at < ways.size - 1 else None
    return Odds(kept, ratio, p_value, found.smallest_p)


def odds_interval(odds: Odds, *, level: float = 0.95) -> tuple[float | None, float | None]:
    """All odds ratios that the counts don't speak against.

    low: P(T > t) + P(T = t)/2 = (1 - level)/2 at psi = low;  high: its mirror

    Takes
        odds   Odds                  from odds_within_levels
        level  scalar, 0.5 up to 1
    Gives
        low and high, None where the counts don't bound that side. It leaves out 1 just when p_value < 1 - level
    Refuses
        CantUse  level outside its range
    Holds while
        the conditions of odds_within_levels hold
    Weak when
        counts are few: mid-P holds its level on average; by enumeration it misses 1 at most 4.6 % of the time
        at 95 % over several levels, 5.3 % at one (11 shots against 11)
    Source
        as odds_within_levels. Checked in tests/published/test_two_shares.py
    >>> low, high = odds_interval(odds_within_levels([(7, 10, 2, 10), (9, 10, 6, 10)]))
    >>> round(low, 4), round(high, 2)
    (1.5489, 40.55)
    >>> odds_interval(odds_within_levels([(6, 6, 1, 6)]))[1] is None
    True
    """
    limit = (1 - as_level(level)) / 2
    least, ways = odds._sums
    at = odds.hits[0] - least
    low = _root(lambda log: odds.tail(log, above=True) - limit) if at > 0 else None
    high = _root(lambda log: limit - odds.tail(log, above=False)) if at < ways.size - 1 else None
    bounded = [None if end is None or abs(end) >= FURTHEST_LOG else math.exp(end) for end in (low, high)]
    return bounded[0], bounded[1]


def _level(given: Level) -> Level:
    hits, shots, other_hits, other_shots = (as_count("levels", one) for one in given)
    for through, of in ((hits, shots), (other_hits, other_shots)):
        if through > of:
            raise CantUse("levels", through, f"no more than shots, {of}")
    return hits, shots, other_hits, other_shots


def _ways(level: Level) -> tuple[int, Array]:
    from scipy.special import gammaln

    hits, shots, other_hits, other_shots = level
    total = hits + other_hits
    lowest, highest = max(0, total - other_shots), min(shots, total)
    mine = np.arange(lowest, highest + 1)
    theirs = total - mine
    logs: Array = -(gammaln(mine + 1) + gammaln(shots - mine + 1) + gammaln(theirs + 1) + gammaln(other_shots - theirs + 1))
    return lowest, logs - logs.max()


def _joined(one: Array, other: Array) -> Array:
    """Logs of the ways to each sum over two sets of levels."""
    found = np.full(one.size + other.size - 1, -np.inf)
    for place, more in enumerate(other):
        found[place : place + one.size] = np.logaddexp(found[place : place + one.size], one + more)
    return found


def _mean(ways: Array, log_ratio: float) -> float:
    places = np.arange(ways.size)
    chances = ways + log_ratio * places
    chances = np.exp(chances - chances.max())
    return float(places @ chances / chances.sum())


def _root(rising: Callable[[float], float]) -> float:
    """Where something that rises with ln of the odds ratio crosses 0; an end of the range where it lies further out."""
    from scipy.optimize import brentq

    if rising(-FURTHEST_LOG) >= 0:
        return -FURTHEST_LOG
    if rising(FURTHEST_LOG) <= 0:
        return FURTHEST_LOG
    return float(brentq(rising, -FURTHEST_LOG, FURTHEST_LOG, xtol=1e-12, rtol=1e-14))


def _log_choose(many: int, some: int) -> float:
    return math.lgamma(many + 1) - math.lgamma(some + 1) - math.lgamma(many - some + 1)
