"""The one comparison of two groups of shots: by the energy curve, else within levels of like energy, else not at all.

Which of them is settled by the energies and numbers shot alone, never by how the shots ended. Each gives one ratio with an interval
that agrees with its verdict, so every page that names the pair says the same.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_count, as_level, as_width, because
from proofyard.statistics.heads_by_curve import EnergyRatio, TwoHeads, ratio_of_energies, smallest_p_by_curve, two_heads_by_curve
from proofyard.statistics.odds_within_levels import Level, Odds, odds_interval, odds_within_levels

# A curve takes so many shots of each head, and a highest energy so far above the lowest.
FEWEST_FOR_CURVE = 5
LEAST_SPAN = 1.15
# The profile's limit over the chi-square's: for energies set beforehand, and for energies chosen by the outcomes so far.
LIMIT_TIMES = 1.1
LIMIT_TIMES_CHOSEN = 2.0
# Energies nearer than this to the next are of one level, unless the level would reach further than a curve needs.
ONE_LEVEL = 1.05
# Five points of share: a gap of 0.2 over the slope in ln(energy), the slope held to what armour and arrows show.
POINTS_OVER_SLOPE = 0.2
LEAST_SLOPE, MOST_SLOPE, USUAL_SLOPE = 4.0, 16.0, 8.0
# Of the family's error: to the pair named beforehand, the rest to the others till that pair is shown (fallback).
TO_THE_NAMED = 0.8
# What a look costs: before the number set beforehand is reached, and where none was set.
BEFORE_THE_NUMBER = 0.003
NO_NUMBER_SET = 0.316
# An end of the interval that is 1 to so many digits is 1: nothing is shown then.
SAME_AS_ONE = 1e-9


@dataclass(frozen=True)
class Shots:
    """One group's decided shots. `combinations`: a name a shot, whose mean energy it stands at."""

    energies_j: tuple[float, ...]
    through: tuple[int, ...]
    combinations: tuple[str, ...] = ()


@dataclass(frozen=True)
class EnergyLevel:
    """Shots of both groups at about one energy, as places in their lists.

    gap     ln of the first's mean energy over the second's
    own     its standard uncertainty, without what both share; None where it isn't known
    alike   "alike"; "first_less" or "second_less" where the gap matters; "not_known" where the energies aren't known well enough
    """

    first: tuple[int, ...]
    second: tuple[int, ...]
    gap: float
    own: float | None
    alike: str


@dataclass(frozen=True)
class Ends:
    """Between what the ratio may lie. None: not bounded on that side."""

    low: float | None
    high: float | None
    level: float

    @property
    def turned(self) -> Ends:
        """Of the second group over the first."""
        return Ends(None if self.high is None else 1 / self.high, None if not self.low else 1 / self.low, self.level)

    @property
    def side(self) -> str:
        """Which group gets through more easily: "first", "second", "" where 1 is among what the ratio may be."""
        if self.low is not None and self.low > 1 + SAME_AS_ONE:
            return "first"
        return "second" if self.high is not None and self.high < 1 - SAME_AS_ONE else ""


@dataclass(frozen=True, eq=False)
class PairFound:
    """Two groups compared, before any level is asked for. Above 1 the first group gets through more easily, whatever the way.

    way         curve: the second's 50 % energy over the first's; levels: the first's odds over the second's, where energies are
                alike; a_fortiori: the same where the group with less energy may only be shown to get through more often; apart
    why         where there is no ratio: why
    less        of a_fortiori: which group had less energy
    smallest_p  what these numbers and energies could give at most
    """

    way: str
    curve: TwoHeads | None
    odds: Odds | None
    why: Reason | None
    less: str
    levels: tuple[EnergyLevel, ...]
    smallest_p: float
    limit_times: float
    own_relative: float

    @property
    def ratio(self) -> float | None:
        return self.curve.ratio if self.curve else self.odds.ratio if self.odds else None

    @property
    def p_value(self) -> float | None:
        if self.curve:
            return self.curve.p_value(limit_times=self.limit_times)
        if self.odds is None:
            return None
        if self.way == "levels":
            return self.odds.p_value
        return min(1.0, 2 * self.odds.tail(0.0, above=self.less == "first"))

    def ends(self, level: float) -> Ends | None:
        """The interval at a level; None where there is no ratio."""
        return _ends(self, level)

    def verdict(self, ends: Ends | None) -> str:
        """first, second: shown to get through more easily; not_shown; too_few; apart: nothing tells the groups from the energy."""
        if self.way == "apart":
            return "apart"
        side = ends.side if ends else ""
        if side:
            return side
        if self.way == "a_fortiori":
            return "apart"
        could = ends is not None and self.smallest_p < 1 - ends.level - SAME_AS_ONE
        return "not_shown" if ends and could and (ends.low, ends.high) != (None, None) else "too_few"


@lru_cache(maxsize=2048)  # one page after another asks the same of the same pair; a pair is what it is, so it is told by identity
def _ends(pair: PairFound, level: float) -> Ends | None:
    if pair.curve:
        found: EnergyRatio = ratio_of_energies(pair.curve, level=level, limit_times=pair.limit_times, own_relative=pair.own_relative)
        return Ends(found.low, found.high, level)
    if pair.odds is None:
        return None
    low, high = odds_interval(pair.odds, level=level)
    if pair.way == "a_fortiori":
        return Ends(low, None, level) if pair.less == "first" else Ends(None, high, level)
    return Ends(low, high, level)


def compare_two(
    first: Shots, second: Shots, *, own: Mapping[str, float] | None = None, slope: float | None = None, chosen: bool = False
) -> PairFound:
    """Two groups of shots, compared in the one way that their energies and numbers allow.

    curve if each has 5 shots or more, the ranges of energy overlap and highest/lowest >= 1.15; else the common odds ratio within levels
    whose mean energies differ by |ln(E1/E2)| <= 0.2/slope; else, where one group had less energy, that direction alone

    Takes
        first   Shots                        decided, with energies
        second  Shots
        own     name -> scalar, 0 or more, or None  standard uncertainty of a combination's mean energy, relative, its own part only;
                                             None where it isn't known
        slope   scalar above 0, or None      of the curve of this panel type, held to 4 to 16; None: 8
        chosen  True or False                whether the energies were chosen by the outcomes so far
    Gives
        PairFound
    Refuses
        CantUse  energies not above 0, outcomes other than 0 and 1, not as many energies, outcomes and combinations
    Holds while
        shots are independent, and the groups differ in nothing else that matters
    Weak when
        few arrows shoot for a group: it then speaks of these arrows. With 8 shots each a ratio of 1.3 is shown in under 3 of 10 trials
    Source
        two_heads_by_curve and odds_within_levels; the choice by design, its sizes and powers: tests/bench/pair_error_rates.py.
        Checked in tests/published/test_pairs_worked_independently.py
    >>> needle = Shots((60.0,) * 4 + (80.0,) * 4 + (105.0,) * 4, (1, 0, 0, 0, 1, 1, 1, 0, 1, 1, 1, 1))
    >>> leaf = Shots((60.0,) * 4 + (80.0,) * 4 + (105.0,) * 4, (0, 0, 0, 0, 1, 0, 0, 0, 1, 1, 1, 0))
    >>> found = compare_two(needle, leaf, own={})
    >>> found.way, round(found.ratio, 4), found.verdict(found.ends(0.95))
    ('curve', 1.3393, 'not_shown')
    """
    for one in (first, second):
        _check(one)
    times = LIMIT_TIMES_CHOSEN if chosen else LIMIT_TIMES
    levels = energy_levels(first, second, margin=alike_margin(slope), own=own)
    if _curve_allowed(first, second):
        return _by_curve(first, second, levels=levels, times=times, own=own)
    if chosen:
        return _apart(because("energies_chosen_and_no_curve"), levels)
    return _by_levels(first, second, levels)


def alike_margin(slope: float | None) -> float:
    """How far apart two mean energies may be measured and still count as alike: what moves the share by five points at a half.

    0.2 / slope, slope held to 4 to 16; 0.025 without a curve (slope 8)

    Takes
        slope  scalar above 0, or None  rise of the log-odds for a unit of ln(energy), of the curve of this panel type
    Gives
        scalar: ln of one mean energy over the other, either way
    Refuses
        CantUse  a slope not above 0
    Holds while
        no armour is steeper than 16
    Weak when
        the slope is known from few shots
    Source
        p(1-p) slope gap = 0.05 at p = 1/2; size by enumeration in tests/bench/pair_error_rates.py.
        Checked in tests/statistics/test_statistics_one_comparison.py
    >>> alike_margin(None), alike_margin(4), alike_margin(30)
    (0.025, 0.05, 0.0125)
    """
    if slope is None:
        return POINTS_OVER_SLOPE / USUAL_SLOPE
    if not (math.isfinite(slope) and slope > 0):
        raise CantUse("slope", slope, "above 0 and finite, or None")
    return POINTS_OVER_SLOPE / min(max(slope, LEAST_SLOPE), MOST_SLOPE)


def energy_levels(first: Shots, second: Shots, *, margin: float, own: Mapping[str, float] | None) -> tuple[EnergyLevel, ...]:
    """The levels at which both groups were shot, and whether their mean energies are alike there.

    one level: each energy within 1.05 of the next, in equal parts of ln E where highest/lowest > 1.15;
    gap = mean ln E1 - mean ln E2;  alike if |gap| <= margin and u(gap) <= margin, u of own parts: what both share cancels

    Takes
        first   Shots
        second  Shots
        margin  scalar, 0 or more
        own     name -> scalar, or None  relative, as in compare_two; None: nothing is known of it
    Gives
        EnergyLevel, one a level of both, lowest first. The measured gap is compared, never a widened one
    Refuses
        CantUse  a margin below 0, a combination without its uncertainty
    Holds while
        a combination's mean energy is wrong by the same factor for all its shots
    Weak when
        energies scatter so widely that levels run into each other
    Source
        the levels are a rule of this book, no source; u as in JCGM 100:2008 (GUM), F.1.2.3.
        Checked in tests/statistics/test_statistics_one_comparison.py
    >>> a, b = Shots((60.0, 61.0, 80.0), (0, 1, 1), ("x",) * 3), Shots((61.0, 82.0, 110.0), (0, 0, 1), ("y",) * 3)
    >>> [one.alike for one in energy_levels(a, b, margin=0.025, own={"x": 0.002, "y": 0.002})]
    ['alike', 'alike']
    """
    margin = as_width("margin", margin)
    marked = sorted([(e, 0, n) for n, e in enumerate(first.energies_j)] + [(e, 1, n) for n, e in enumerate(second.energies_j)])
    found = []
    for some in _clusters(marked):
        mine, theirs = (tuple(n for _, side, n in some if side == which) for which in (0, 1))
        if mine and theirs:
            found.append(_level_of(first, second, mine, theirs, margin=margin, own=own))
    return tuple(found)


def own_uncertainty(first: Sequence[str], second: Sequence[str], *, own: Mapping[str, float]) -> float:
    """Standard uncertainty of the ratio of two groups' mean energies, from what each combination's mean has wrong by itself.

    u^2 = sum over combinations (w1 - w2)^2 u_c^2, w the combination's part of the group's shots: one that both groups shot cancels

    Takes
        first   names, one a shot
        second  names, one a shot
        own     name -> scalar, 0 or more   relative
    Gives
        scalar, 0 or more, relative
    Refuses
        CantUse  a group without a shot, a combination without its uncertainty, an uncertainty below 0
    Holds while
        combinations are wrong independently of each other
    Weak when
        two combinations share an arrow's mass: that part is then shared too, and this counts it twice
    Source
        JCGM 100:2008 (GUM), 5.1.2. Checked in tests/statistics/test_statistics_one_comparison.py
    >>> round(own_uncertainty(["a", "a"], ["b"], own={"a": 0.03, "b": 0.04}), 12)
    0.05
    >>> own_uncertainty(["a", "b"], ["b", "a"], own={"a": 0.03, "b": 0.04})
    0.0
    """
    if not first or not second:
        raise CantUse("first", len(first), "at least one shot in each group")
    parts = []
    mine, theirs = Counter(first), Counter(second)
    for name in dict.fromkeys((*first, *second)):
        if name not in own:
            raise CantUse("own", name, "an uncertainty for every combination that was shot")
        weight = mine[name] / len(first) - theirs[name] / len(second)
        parts.append(weight * as_width(f"own of {name}", own[name]))
    return math.hypot(*parts)


@dataclass(frozen=True)
class FamilyLevels:
    """Levels of the intervals of a family of pairs. `alpha`: the whole family's error; `others`: how many share theirs."""

    named: float
    other: float
    alpha: float
    others: int


def levels_of_family(others: int, *, named: bool, named_shown: bool = False, looks: str = "set", level: float = 0.95) -> FamilyLevels:
    """At which level each pair of a family has its interval, so that all together raise a false alarm no oftener than 1 - level.

    others: 1 - alpha/m;  with a pair named beforehand: named 1 - 0.8 alpha, others 1 - 0.2 alpha/m, or 1 - alpha/m once it is shown;
    alpha = 1 - level, x 0.316 where no number of shots was set beforehand, 0.003 until a number set is reached

    Takes
        others       whole number, 0 or more   pairs beside the named one; all of them where none was named
        named        True or False             one pair was named before the first shot
        named_shown  True or False             its interval, at its own level, leaves out 1
        looks        "set" (a number was set beforehand and is reached), "before" (not reached yet), "not set"
        level        scalar, 0.5 up to 1
    Gives
        FamilyLevels
    Refuses
        CantUse  no pair at all, looks not in the table, level outside its range
    Holds while
        the pair was named, and the number set, before the first shot
    Weak when
        pairs share the reference: they are then shown a little less often than they need be
    Source
        Bonferroni; fallback: Wiens, Pharmaceutical Statistics 2003 2:211 (from memory); looks: Haybittle 1971, Peto 1976, Pocock,
        Biometrika 1977 64:191 (from memory). Rates in tests/bench/pair_error_rates.py
    >>> round(levels_of_family(3, named=False).other, 4)
    0.9833
    >>> found = levels_of_family(2, named=True)
    >>> round(found.named, 4), round(found.other, 4)
    (0.96, 0.995)
    """
    many = as_count("others", others)
    if many == 0 and not named:
        raise CantUse("others", others, "at least one pair")
    parts = {"set": 1 - as_level(level), "before": BEFORE_THE_NUMBER, "not set": NO_NUMBER_SET * (1 - as_level(level))}
    if looks not in parts:
        raise CantUse("looks", looks, "one of " + ", ".join(parts))
    alpha = parts[looks]
    if not named:
        return FamilyLevels(1 - alpha, 1 - alpha / many, alpha, many)
    if many == 0:
        return FamilyLevels(1 - alpha, 1 - alpha, alpha, 0)
    left = alpha if named_shown else (1 - TO_THE_NAMED) * alpha
    return FamilyLevels(1 - TO_THE_NAMED * alpha, 1 - left / many, alpha, many)


def _check(shots: Shots) -> None:
    if not len(shots.energies_j) == len(shots.through) or len(shots.combinations) not in (0, len(shots.through)):
        raise CantUse("through", len(shots.through), f"one for each of the {len(shots.energies_j)} energies and combinations")
    for energy in shots.energies_j:
        if not (math.isfinite(energy) and energy > 0):
            raise CantUse("energies_j", energy, "above 0 and finite")
    for outcome in shots.through:
        if outcome not in (0, 1):
            raise CantUse("through", outcome, "0 or 1")


def _curve_allowed(first: Shots, second: Shots) -> bool:
    if min(len(first.through), len(second.through)) < FEWEST_FOR_CURVE:
        return False
    lows, highs = zip(*((min(one.energies_j), max(one.energies_j)) for one in (first, second)), strict=True)
    return bool(max(lows) <= min(highs) and max(highs) >= LEAST_SPAN * min(lows))


def _by_curve(first: Shots, second: Shots, *, levels: tuple[EnergyLevel, ...], times: float, own: Mapping[str, float] | None) -> PairFound:
    energies = [*first.energies_j, *second.energies_j]
    is_second = [False] * len(first.through) + [True] * len(second.through)
    found = two_heads_by_curve(energies, [*first.through, *second.through], second=is_second)
    smallest = smallest_p_by_curve(energies, second=is_second, limit_times=times)
    wide = own_uncertainty(first.combinations, second.combinations, own=own) if own and first.combinations and second.combinations else 0.0
    curve, why = (None, found.reason) if isinstance(found, CantTell) else (found, None)
    return PairFound("curve", curve, None, why, "", levels, smallest, times, wide)


def _by_levels(first: Shots, second: Shots, levels: tuple[EnergyLevel, ...]) -> PairFound:
    for way, alike in (("levels", ("alike",)), ("a_fortiori", _side_with_less(levels))):
        kept = tuple(one for one in levels if one.alike in alike)
        if kept:
            less = "" if way == "levels" else alike[0].removesuffix("_less")
            return _by_odds(way, [_counts(first, second, one) for one in kept], levels, less=less)
    if not levels and first.through and second.through:
        for less, one, other in (("first", first, second), ("second", second, first)):
            if max(one.energies_j) < min(other.energies_j):
                all_of = (sum(first.through), len(first.through), sum(second.through), len(second.through))
                return _by_odds("a_fortiori", [all_of], levels, less=less)
    if any(one.alike == "not_known" for one in levels):
        widest = max((one.own for one in levels if one.own is not None), default=None)
        return _apart(because("energies_not_known_well_enough", own=widest), levels)
    return _apart(because("energies_do_not_meet"), levels)


def _side_with_less(levels: Sequence[EnergyLevel]) -> tuple[str, ...]:
    """The group that had less energy, at more shots where it goes both ways: by the numbers, not by the outcomes."""
    shots = {
        which: sum(min(len(one.first), len(one.second)) for one in levels if one.alike == which) for which in ("first_less", "second_less")
    }
    return (max(shots, key=lambda which: shots[which]),)


def _by_odds(way: str, counts: Sequence[Level], levels: tuple[EnergyLevel, ...], *, less: str) -> PairFound:
    found = odds_within_levels(counts)
    smallest = math.exp(-sum(math.log(math.comb(one[1] + one[3], one[1])) for one in counts))
    odds, why = (None, found.reason) if isinstance(found, CantTell) else (found, None)
    return PairFound(way, None, odds, why, less, levels, smallest, 1.0, 0.0)


def _apart(why: Reason, levels: tuple[EnergyLevel, ...]) -> PairFound:
    return PairFound("apart", None, None, why, "", levels, 1.0, 1.0, 0.0)


def _counts(first: Shots, second: Shots, level: EnergyLevel) -> Level:
    mine, theirs = ([one.through[n] for n in places] for one, places in ((first, level.first), (second, level.second)))
    return sum(mine), len(mine), sum(theirs), len(theirs)


Marked = tuple[float, int, int]  # energy, which group, place in its list


def _clusters(marked: Sequence[Marked]) -> list[list[Marked]]:
    """Sorted energies in levels: apart where the next is further than a level's scatter, and none wider than a curve needs."""
    found: list[list[Marked]] = []
    for one in marked:
        if found and one[0] <= ONE_LEVEL * found[-1][-1][0]:
            found[-1].append(one)
        else:
            found.append([one])
    return [part for some in found for part in _cut(some)]


def _cut(some: list[Marked]) -> list[list[Marked]]:
    """A level that reaches too far, in as few equal parts of ln(energy) as will do."""
    low, high = some[0][0], some[-1][0]
    parts = math.ceil(math.log(high / low) / math.log(LEAST_SPAN) - 1e-9)
    if parts <= 1:
        return [some]
    found: list[list[Marked]] = [[] for _ in range(parts)]
    for one in some:
        found[min(parts - 1, int(parts * math.log(one[0] / low) / math.log(high / low)))].append(one)
    return [part for part in found if part]


def _level_of(
    first: Shots, second: Shots, mine: tuple[int, ...], theirs: tuple[int, ...], *, margin: float, own: Mapping[str, float] | None
) -> EnergyLevel:
    means = [math.fsum(math.log(one.energies_j[n]) for n in places) / len(places) for one, places in ((first, mine), (second, theirs))]
    gap = means[0] - means[1]
    names = [[one.combinations[n] for n in places] if one.combinations else [] for one, places in ((first, mine), (second, theirs))]
    wide = None if own is None else own_uncertainty(names[0], names[1], own=own) if all(names) else 0.0
    if wide is None or (wide > margin and abs(gap) < wide):
        return EnergyLevel(mine, theirs, gap, wide, "not_known")
    if abs(gap) <= margin:
        return EnergyLevel(mine, theirs, gap, wide, "alike" if wide <= margin else "not_known")
    return EnergyLevel(mine, theirs, gap, wide, "first_less" if gap < 0 else "second_less")
