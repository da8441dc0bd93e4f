"""Is one share larger than another? How much larger, how sure, and could these few shots have shown it at all?"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from server.statistics.refusals import CantTell, CantUse, as_count, as_level
from server.statistics.shares import Interval, wilson_interval


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
class ExactTest:
    """How often chance alone would part two shares as far as these, whatever share they have in common."""

    p_value: float
    method: str
    hits: int
    shots: int
    other_hits: int
    other_shots: int


@dataclass(frozen=True)
class CouldShow:
    """What these two numbers of shots can show at most. needed_hits: how many of the first must get through, against
    none of the second, to be told apart; None when not even all would do."""

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
    def words(self) -> str:
        against = f"{self.shots} against {self.other_shots}"
        if self.needed_hits is None:
            return f"{against}: no result could tell"
        if self.needed_hits == self.shots:
            return f"{against}: only all against none could tell"
        return f"{against}: it takes at least {self.needed_hits} of {self.shots} against none to tell"


@dataclass(frozen=True)
class Judged:
    """One question with its p-value as it came out and as it stands among the others."""

    question: str
    p_value: float
    adjusted: float
    shown: bool


@dataclass(frozen=True)
class Verdicts:
    """The trial's own question first, judged alone; then the rest, each made to pay for how many they are."""

    declared: Judged | None
    rest: tuple[Judged, ...]
    level: float


def difference_of_shares(
    hits: int, shots: int, *, other_hits: int, other_shots: int, level: float = 0.95
) -> ShareDifference | CantTell:
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
        return CantTell("one of the two has no shots")
    gap = first.share - second.share
    low = gap - math.hypot(first.share - first.low, second.high - second.share)
    high = gap + math.hypot(first.high - first.share, second.share - second.low)
    return _difference(first, second, max(low, -1.0), min(high, 1.0))


def exact_test(hits: int, shots: int, *, other_hits: int, other_shots: int) -> ExactTest | CantTell:
    """How often two groups of these sizes would come out at least this far apart if both had one share.

    p = min(1, 2 min over both sides of the largest P(Fisher's p no larger than the one seen; p) over all shares p)

    Takes
        hits         whole number, 0 up to shots        of the first group
        shots        whole number, 0 or more
        other_hits   whole number, 0 up to other_shots  of the group it is compared with
        other_shots  whole number, 0 or more
    Gives
        ExactTest with method "boschloo", both sides; CantTell when either group has no shots
    Refuses
        CantUse  counts that are negative, not whole, or more hits than shots
    Holds while
        all shots are independent, and how many were shot at each was not decided by how they turned out
    Weak when
        shots are few: see most_these_could_show before you look. A large p never shows that two are alike
    Source
        Boschloo, Statistica Neerlandica 1970 24:1; scipy.stats.boschloo_exact.
        Checked in tests/published/test_two_shares.py; its size by enumeration in
        tests/statistics/test_statistics_comparing.py
    >>> round(exact_test(9, 10, other_hits=3, other_shots=10).p_value, 6)
    0.007956
    """
    table = [_pair("hits", hits, shots), _pair("other_hits", other_hits, other_shots)]
    (hit, shot), (other_hit, other_shot) = table
    if shot == 0 or other_shot == 0:
        return CantTell("one of the two has no shots")
    if hit + other_hit in (0, shot + other_shot):
        return ExactTest(1.0, "boschloo", hit, shot, other_hit, other_shot)
    from scipy.stats import boschloo_exact

    found = boschloo_exact([[hit, other_hit], [shot - hit, other_shot - other_hit]])
    return ExactTest(min(1.0, float(found.pvalue)), "boschloo", hit, shot, other_hit, other_shot)


def most_these_could_show(
    shots: int, other_shots: int, *, level: float = 0.95, questions: int = 1
) -> CouldShow | CantTell:
    """Said before the test: could any result of this many shots part the two groups?

    smallest p = p(all against none); needed = fewest x with p(x of n1 against 0 of n2) <= (1 - level)/questions

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
        the test is exact_test
    Weak when
        taken for power: it says what could be shown, not how likely that is
    Source
        as exact_test; all against none is its smallest p. Checked in tests/statistics/test_statistics_comparing.py
    >>> most_these_could_show(2, 3).words
    '2 against 3: no result could tell'
    >>> most_these_could_show(5, 4).words
    '5 against 4: it takes at least 4 of 5 against none to tell'
    """
    count, other_count = as_count("shots", shots), as_count("other_shots", other_shots)
    asked = as_count("questions", questions)
    if asked == 0:
        raise CantUse("questions", questions, "1 or more")
    limit = (1 - as_level(level)) / asked
    if count == 0 or other_count == 0:
        return CantTell("one of the two has no shots")
    smallest = _p_against_none(count, count, other_count)
    if smallest > limit:
        return CouldShow(smallest, None, count, other_count, level, asked)
    # p falls with every hit more, so the first that passes is found by halving.
    too_few, enough = 0, count
    while enough - too_few > 1:
        middle = (too_few + enough) // 2
        if _p_against_none(middle, count, other_count) <= limit:
            enough = middle
        else:
            too_few = middle
    return CouldShow(smallest, enough, count, other_count, level, asked)


def holm(p_values: Mapping[str, float], *, level: float = 0.95) -> tuple[Judged, ...]:
    """Several questions at once: each p-value made to pay for how many were asked.

    sorted p(1) <= p(2) ...: adjusted p(i) = max over j <= i of min(1, (m - j + 1) p(j))

    Takes
        p_values  question -> scalar, 0 to 1
        level     scalar, 0.5 up to 1   all of them together raise a false alarm no oftener than 1 less this
    Gives
        Judged, one a question, in the order given
    Refuses
        CantUse  a p-value outside 0 to 1, level outside its range
    Holds while
        every question that was looked at is in, the dull ones too
    Weak when
        questions are many: a true difference is then hard to show
    Source
        Holm, Scandinavian Journal of Statistics 1979 6:65. Checked in tests/published/test_two_shares.py
    >>> [round(one.adjusted, 3) for one in holm({"a": 0.01, "b": 0.04, "c": 0.03})]
    [0.03, 0.06, 0.06]
    """
    limit = 1 - as_level(level)
    for question, p_value in p_values.items():
        if not 0 <= p_value <= 1:
            raise CantUse(question, p_value, "from 0 to 1")
    adjusted: dict[str, float] = {}
    highest = 0.0
    for place, question in enumerate(sorted(p_values, key=lambda one: p_values[one])):
        highest = max(highest, min(1.0, (len(p_values) - place) * p_values[question]))
        adjusted[question] = highest
    return tuple(Judged(one, p_values[one], adjusted[one], _shown(adjusted[one], limit)) for one in p_values)


def judge_in_order(p_values: Mapping[str, float], declared: str | None = None, *, level: float = 0.95) -> Verdicts:
    """The trial's declared question first and alone, Holm over all others.

    declared: p as it is;  rest: Holm's adjusted p among themselves

    Takes
        p_values  question -> scalar, 0 to 1
        declared  the question the trial was shot for, written down before; None when there was none
        level     scalar, 0.5 up to 1
    Gives
        Verdicts; declared is None when no question was declared: then all are adjusted
    Refuses
        CantUse  a declared question that isn't among them, a p-value outside 0 to 1, level outside its range
    Holds while
        the declared question really was written down before the first shot
    Weak when
        the rest are read as if they had been asked: together with the declared one they raise a false alarm up to
        twice as often as 1 less the level. They are what to ask next
    Source
        Holm, Scandinavian Journal of Statistics 1979 6:65; the order is common practice, no source.
        Checked in tests/statistics/test_statistics_comparing.py
    >>> found = judge_in_order({"needle or stout": 0.04, "day": 0.03, "archer": 0.2}, "needle or stout")
    >>> found.declared.adjusted, [round(one.adjusted, 2) for one in found.rest]
    (0.04, [0.06, 0.2])
    """
    limit = 1 - as_level(level)
    if declared is not None and declared not in p_values:
        raise CantUse("declared", declared, "one of the questions: " + ", ".join(p_values))
    rest = holm({name: value for name, value in p_values.items() if name != declared}, level=level)
    if declared is None:
        return Verdicts(None, rest, level)
    alone = holm({declared: p_values[declared]}, level=level)[0]
    return Verdicts(Judged(declared, alone.p_value, alone.adjusted, _shown(alone.adjusted, limit)), rest, level)


def _difference(first: Interval, second: Interval, low: float, high: float) -> ShareDifference:
    method = "hybrid score"
    return ShareDifference(low, high, first.level, method, first.hits, first.shots, second.hits, second.shots)


def _pair(name: str, hits: object, shots: object) -> tuple[int, int]:
    hit, shot = as_count(name, hits), as_count(name.replace("hits", "shots"), shots)
    if hit > shot:
        raise CantUse(name, hits, f"no more than shots, {shot}")
    return hit, shot


def _p_against_none(hits: int, shots: int, other_shots: int) -> float:
    found = exact_test(hits, shots, other_hits=0, other_shots=other_shots)
    return 1.0 if isinstance(found, CantTell) else found.p_value


def _shown(p_value: float, limit: float) -> bool:
    # 1 - 0.95 is a hair above 0.05 in floats; a p of exactly 0.05 counts as shown either way.
    return p_value <= limit + 1e-12
