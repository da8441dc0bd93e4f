"""What a share is worth when its shots are not strangers to each other: one arrow, one bow, one panel shot many times.

How alike they are can't be told from so few, so you say it, and see how much the interval widens.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, as_count, as_level, because
from proofyard.statistics.shares import _mid_p_low


@dataclass(frozen=True)
class ClusteredInterval:
    """Where the true share may lie if shots of one cluster are as alike as stated."""

    low: float
    high: float
    level: float
    method: str
    hits: int
    shots: int
    cluster_sizes: tuple[int, ...]
    intraclass_correlation: float
    design_effect: float

    @property
    def share(self) -> float:
        return self.hits / self.shots


def design_effect(cluster_sizes: Sequence[int], *, intraclass_correlation: float) -> float:
    """How many times as many shots it takes to say as much, if shots of one cluster are alike to a stated degree.

    deff = 1 + (sum m^2/sum m - 1) r

    Takes
        cluster_sizes           whole numbers   shots with each arrow (or bow, or at each panel)
        intraclass_correlation  scalar, 0 to 1  0: independent; 1: the first shot of a cluster tells all the others
    Gives
        scalar, 1 or more; 1 for no shots
    Refuses
        CantUse  counts negative or not whole, a correlation outside its range
    Holds while
        clusters are a fair sample of those you want to speak of, and each is as alike within as stated
    Weak when
        clusters are few: five shots with one arrow speak of that arrow, whatever you state here
    Source
        Kish, Survey Sampling, 1965, section 5.4 (from memory).
        Checked in tests/statistics/test_statistics_clustered_shares.py
    >>> design_effect([10, 10], intraclass_correlation=0.1)
    1.9
    """
    sizes = tuple(as_count("cluster_sizes", size) for size in cluster_sizes)
    if not (math.isfinite(intraclass_correlation) and 0 <= intraclass_correlation <= 1):
        raise CantUse("intraclass_correlation", intraclass_correlation, "from 0 to 1")
    shots = sum(sizes)
    return 1 + (sum(size * size for size in sizes) / shots - 1) * intraclass_correlation if shots else 1.0


def clustered_interval(
    hits: int, cluster_sizes: Sequence[int], *, intraclass_correlation: float, level: float = 0.95
) -> ClusteredInterval | CantTell:
    """The mid-P interval of a share, as wide as it is if shots of one cluster are alike to a stated degree.

    deff = 1 + (sum m^2/sum m - 1) r;  the mid-P interval of x/deff hits in n/deff shots

    Takes
        hits                    whole number, 0 up to all shots
        cluster_sizes           whole numbers   shots with each arrow (or bow, or at each panel)
        intraclass_correlation  scalar, 0 to 1  0: independent; 1: the first shot of a cluster tells all the others
        level                   scalar, 0.5 up to 1
    Gives
        ClusteredInterval; at 0 the plain mid-P interval. CantTell when there are no shots
    Refuses
        CantUse  more hits than shots, counts negative or not whole, a correlation or level outside its range
    Holds while
        clusters are a fair sample of those you want to speak of, and each is as alike within as stated
    Weak when
        clusters are few: five shots with one arrow speak of that arrow, whatever you state here
    Source
        Kish, Survey Sampling, 1965, section 5.4 (design effect; from memory); effective counts in an interval of
        tails as Korn and Graubard, Survey Methodology 1998 24:193.
        Checked in tests/statistics/test_statistics_clustered_shares.py
    >>> found = clustered_interval(5, [10, 10], intraclass_correlation=0.1)
    >>> round(found.design_effect, 2), round(found.low, 3), round(found.high, 3)
    (1.9, 0.06, 0.563)
    """
    sizes = tuple(as_count("cluster_sizes", size) for size in cluster_sizes)
    hit, shots = as_count("hits", hits), sum(sizes)
    level = as_level(level)
    if hit > shots:
        raise CantUse("hits", hits, f"no more than shots, {shots}")
    effect = design_effect(sizes, intraclass_correlation=intraclass_correlation)
    if shots == 0:
        return CantTell(because("no_shots"))
    worth, tail = shots / effect, (1 - level) / 2
    low, high = 0.0, 1.0
    # A last hit that stands for a part of one leaves no room for the formula's root: all or none keep their own.
    if hit > 0:
        low = _mid_p_low(hit / effect, worth, tail=tail)  # type: ignore[arg-type]
    if hit < shots:
        high = 1 - _mid_p_low((shots - hit) / effect, worth, tail=tail)  # type: ignore[arg-type]
    method = "mid-p of effective counts"
    return ClusteredInterval(low, high, level, method, hit, shots, sizes, float(intraclass_correlation), effect)
