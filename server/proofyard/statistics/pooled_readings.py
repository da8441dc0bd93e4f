"""Readings of several series taken together, when no series alone says enough.

The case: arrow 4 was never chronographed with this bow, arrows 1 to 3 of nearly its mass were. Their mean stands in
for it, and the price is that arrows differ: how far their own means lie apart is an uncertainty that no number of further
readings of arrows 1 to 3 will lessen, so it is added whole, not divided by the square root of anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, as_readings, because
from proofyard.statistics.repeated_readings import Component, combine


@dataclass(frozen=True)
class PooledReadings:
    """Several series as one, with what they had in common and how far they lay apart."""

    series: tuple[tuple[float, ...], ...]
    n: int
    mean: float
    within_spread: float | None
    between_spread: float | None
    standard_uncertainty: float | None
    dof: float
    components: tuple[Component, ...]


def pool_readings(series: Iterable[Iterable[float]]) -> PooledReadings | CantTell:
    """Mean of all readings of several series, with an uncertainty that fits any one of the series.

    mean = sum of all / N
    s_w^2 = sum over series of sum (x - series mean)^2 / (N - k),  s_b = spread of the k series means
    u^2 = s_w^2/N + s_b^2 (1 + sum (n_i/N)^2)

    Takes
        series  arrays of finite numbers, one unit  one array a series (a combination); empty ones are passed over
    Gives
        PooledReadings; with one series the plain mean and its type A uncertainty. Spread and uncertainty are None
        when one reading is all there is. CantTell when there is no reading
    Refuses
        CantUse  a reading that is not finite
    Holds while
        the series are a fair sample of the thing that you use the mean for: same bow, archer and fletching, nearly
        the same mass. It is the uncertainty of the mean speed of one such arrow, not of one shot
    Weak when
        series are two or three: how far they lie apart is then itself hardly known, and dof says so.
        s_b holds the scatter of each series mean too, so u errs on the wide side
    Source
        Within and between as in JCGM 100:2008 (GUM), H.5.2 and Table H.9; the 1 + sum (n_i/N)^2 is the variance of
        another series' mean about the pooled one.
        Checked in tests/published/test_uncertainties_of_the_gum.py
    >>> found = pool_readings([[50.0, 52.0], [53.0, 55.0]])
    >>> found.mean, round(found.between_spread, 4), round(found.standard_uncertainty, 4)
    (52.5, 2.1213, 2.6926)
    """
    kept = tuple(filter(None, (as_readings("series", one) for one in series)))
    n = sum(map(len, kept))
    if n == 0:
        return CantTell(because("no_readings"))
    mean = math.fsum(value for one in kept for value in one) / n
    means = [math.fsum(one) / len(one) for one in kept]
    within = _within_spread(kept, means, n)
    between = _between_spread(means)
    parts = []
    if within is not None:
        parts.append(Component(because("scatter_within_a_series"), within / math.sqrt(n), n - len(kept), "A"))
    if between is not None:
        weight = math.fsum((len(one) / n) ** 2 for one in kept)
        parts.append(Component(because("series_lie_apart"), between * math.sqrt(1 + weight), len(kept) - 1, "A"))
    if not parts:
        return PooledReadings(kept, n, mean, None, None, None, 0, ())
    total = combine(*parts)
    return PooledReadings(kept, n, mean, within, between, total.standard_uncertainty, total.dof, tuple(parts))


def _within_spread(series: tuple[tuple[float, ...], ...], means: list[float], n: int) -> float | None:
    dof = n - len(series)
    if dof == 0:
        return None
    squares = ((value - mean) ** 2 for one, mean in zip(series, means, strict=True) for value in one)
    return math.sqrt(math.fsum(squares) / dof)


def _between_spread(means: list[float]) -> float | None:
    if len(means) < 2:
        return None
    middle = math.fsum(means) / len(means)
    return math.sqrt(math.fsum((mean - middle) ** 2 for mean in means) / (len(means) - 1))
