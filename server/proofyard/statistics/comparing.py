"""Is one share larger than another? How much larger, how sure, and could these few shots have shown it at all?"""

from __future__ import annotations

import math
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_count, as_level, because
from proofyard.statistics.shares import Interval, wilson_interval


@dataclass(frozen=True)
class ShareDifference:
    """First share less the second, and where the true difference may lie."""

    low: float
    high: float
    level: float
    method: str
    hits: int
    shots: int
    other_hits: int
    other_shots: int

    @property
    def difference(self) -> float:
        return self.hits / self.shots - self.other_hits / self.other_shots


@dataclass(frozen=True)
class CouldShow:
    """What these two numbers of shots can show at most. needed_hits: how many of the first must get through, against
    none of the second, to show a difference; None when not even all would do."""

    smallest_p: float
    needed_hits: int | None
    shots: int
    other_shots: int
    level: float
    questions: int

    @property
    def can_tell(self) -> bool:
        return self.needed_hits is not None

    @property
    def reason(self) -> Reason:
        if self.needed_hits is None:
            return because("no_result_could_tell", shots=self.shots, other_shots=self.other_shots)
        if self.needed_hits == self.shots:
            return because("only_all_against_none_could_tell", shots=self.shots, other_shots=self.other_shots)
        return because("these_could_tell", shots=self.shots, other_shots=self.other_shots, needed_hits=self.needed_hits)


def difference_of_shares(hits: int, shots: int, *, other_hits: int, other_shots: int, level: float = 0.95) -> ShareDifference | CantTell:
    """How much larger one share is than another, with an interval built from the Wilson intervals of both.

    d = p1 - p2;  d - sqrt((p1-l1)^2 + (u2-p2)^2)  to  d + sqrt((u1-p1)^2 + (p2-l2)^2)

    Takes
        hits         whole number, 0 up to shots        of the first group
        shots        whole number, 0 or more
        other_hits   whole number, 0 up to other_shots  of the group it is compared with
        other_shots  whole number, 0 or more
        level        scalar, 0.5 up to 1                how often such an interval holds the true difference
    Gives
        ShareDifference with method "hybrid score"; CantTell when either group has no shots
    Refuses
        CantUse  counts that are negative, not whole, or more hits than shots; level outside its range
    Holds while
        all shots are independent, and the groups differ in nothing else that matters
    Weak when
        both shares are near 0 or 1 and shots are few: it holds its level on average (0.95), at worst about 0.87
    Source
        Newcombe, Statistics in Medicine 1998 17:873, method 10. Checked in tests/published/test_two_shares.py
    >>> found = difference_of_shares(9, 10, other_hits=3, other_shots=10)
    >>> round(found.low, 4), round(found.high, 4)
    (0.1705, 0.809)
    """
    first = wilson_interval(hits, shots, level=level)
    second = wilson_interval(other_hits, other_shots, level=level)
    if isinstance(first, CantTell) or isinstance(second, CantTell):
        return CantTell(because("one_has_no_shots"))
    gap = first.share - second.share
    low = gap - math.hypot(first.share - first.low, second.high - second.share)
    high = gap + math.hypot(first.high - first.share, second.share - second.low)
    return _difference(first, second, max(low, -1.0), min(high, 1.0))


def most_these_could_show(shots: int, other_shots: int, *, level: float = 0.95, questions: int = 1) -> CouldShow | CantTell:
    """Asked before the test: could any result of this many shots part the two groups?

    smallest p = p(all against none) = 1 / (n1 + n2 over n1); needed = fewest x with p(x of n1 against 0 of n2) < (1 - level)/questions

    Takes
        shots        whole number, 0 or more
        other_shots  whole number, 0 or more
        level        scalar, 0.5 up to 1      1 less this is how often you let chance alone look like a difference
        questions    whole number, 1 or more  how many are asked at once: each pays for the others
    Gives
        CouldShow; CantTell when either group has no shots
    Refuses
        CantUse  counts that are negative or not whole, no question, level outside its range
    Holds while
        the test is the mid-P of odds_within_levels, at one level
    Weak when
        taken for power: it says what could be shown, not how likely that is
    Source
        as odds_within_levels; all against none is its smallest p. Checked in tests/statistics/test_statistics_comparing.py
    >>> most_these_could_show(2, 3).needed_hits, most_these_could_show(5, 4).needed_hits
    (None, 4)
    """
    count, other_count = as_count("shots", shots), as_count("other_shots", other_shots)
    asked = as_count("questions", questions)
    if asked == 0:
        raise CantUse("questions", questions, "1 or more")
    limit = (1 - as_level(level)) / asked - 1e-12
    if count == 0 or other_count == 0:
        return CantTell(because("one_has_no_shots"))
    smallest = 1 / math.comb(count + other_count, count)
    if smallest >= limit:
        return CouldShow(smallest, None, count, other_count, level, asked)
    # p falls with every hit more, so the first that passes is found by halving.
    too_few, enough = 0, count
    while enough - too_few > 1:
        middle = (too_few + enough) // 2
        if _p_against_none(middle, count, other_count) < limit:
            enough = middle
        else:
            too_few = middle
    return CouldShow(smallest, enough, count, other_count, level, asked)


def _difference(first: Interval, second: Interval, low: float, high: float) -> ShareDifference:
    method = "hybrid score"
    return ShareDifference(low, high, first.level, method, first.hits, first.shots, second.hits, second.shots)


def _p_against_none(hits: int, shots: int, other_shots: int) -> float:
    """Twice the smaller tail is that of the seen sum, the furthest there is: half of its own chance, doubled."""
    return math.comb(shots, hits) / math.comb(shots + other_shots, hits)
