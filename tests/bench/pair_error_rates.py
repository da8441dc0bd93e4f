"""How often the one comparison is wrong, and how often it shows what is there: by enumeration where that can be done, else by simulation.

    python tests/bench/pair_error_rates.py [runs a simulated row] [only rows whose part holds this] [drawn rows of this slope alone]

Each row stands beside what it must reach, simulated ones with the standard error of the simulation. Truths are logistic: the chance to
get through at E is 1/(1 + (E50/E)^slope), slope 4, 8 or 16 a unit of ln(energy). "False" is a difference shown where there is none.
Everything random is seeded.

With 12 shots a head at three energies every pair of outcomes is fitted once, and each rate is their sum: nothing is drawn. So an
error of a head's own in energy is summed as well: the interval of energies that are all off by a factor is off by that factor.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, partial
from itertools import product
from pathlib import Path
from unittest import mock

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.statistics import heads_by_curve, one_comparison
from proofyard.statistics.one_comparison import PairFound, Shots, alike_margin, compare_two, levels_of_family
from scipy.special import ndtr

Array = NDArray[np.float64]
SLOPES = (4, 8, 16)
FIXED_LEVELS = (60.0, 80.0, 105.0)
MIDDLE = 80.0
LEAST_POWER = {4: 18, 8: 49, 16: 79}  # of a pair at 1.4 in a family of 3, 20 a head, %
SIDES = ("first", "second")
THREE = 1 - 0.05 / 3
CLEAR = 0.02  # p so far above the level's that no interval need be asked
Draw = np.random.Generator
Cells = tuple[tuple[float, int, int], ...]


@dataclass(frozen=True)
class Row:
    """One line of the table: `found` in percent; `runs` is 0 where every outcome was counted; no `limit`: printed beside, not asked for."""

    name: str
    found: float
    limit: str
    runs: int

    @property
    def kept(self) -> bool:
        if not self.limit:
            return True
        bound = float(self.limit.split()[1])
        return self.found <= bound if self.limit.startswith("<=") else self.found >= bound

    @property
    def error(self) -> float:
        """Standard error of the simulation, in percent; 0 where nothing was drawn."""
        share = self.found / 100
        return 100 * math.sqrt(share * (1 - share) / self.runs) if self.runs else 0.0

    @property
    def words(self) -> str:
        how = f"± {self.error:.2f}, {self.runs} runs" if self.runs else "counted"
        wanted = f"wanted {self.limit} %\t{'kept' if self.kept else 'NOT KEPT'}" if self.limit else "printed beside\t"
        return f"{self.name}\t{self.found:.2f} %\t{wanted}\t{how}"


@contextmanager
def only_what_decides() -> Iterator[None]:
    """Without what only fills a sentence (whether slopes differ), and what depends on the energies alone asked once: twice as fast."""
    asked: dict[tuple[object, ...], float] = {}
    smallest = one_comparison.smallest_p_by_curve

    def once(energies: Sequence[float], *, second: Sequence[bool], limit_times: float) -> float:
        key = (tuple(energies), tuple(second), limit_times)
        if key not in asked:
            asked[key] = smallest(energies, second=second, limit_times=limit_times)
        return asked[key]

    with (
        mock.patch.object(one_comparison, "smallest_p_by_curve", once),
        mock.patch.object(heads_by_curve, "_slopes_differ", lambda *_: 1.0),
    ):
        yield


def shot_at(energies: Array, middle: float, slope: float, lots: Draw) -> Shots:
    through = lots.random(energies.size) < 1 / (1 + (energies / middle) ** -slope)
    return Shots(tuple(energies.tolist()), tuple(int(one) for one in through))


def fixed_levels(shots: int) -> Array:
    return np.array([FIXED_LEVELS[n * len(FIXED_LEVELS) // shots] for n in range(shots)])


def side_of(found: PairFound, level: float = 0.95) -> str:
    """The verdict at a level. Where p is far above what the level asks, no interval is searched for: both are one likelihood."""
    if found.p_value is None or (found.own_relative == 0 and found.p_value > 1 - level + CLEAR):
        return ""
    ends = found.ends(level)
    return ends.side if ends and found.verdict(ends) in SIDES else ""


def _of_counts(cells: Cells, hits: Sequence[int]) -> PairFound:
    sides = []
    for which, mine in ((1, hits[: len(cells)]), (2, hits[len(cells) :])):
        energies, through = [], []
        for cell, hit in zip(cells, mine, strict=True):
            energies += [cell[0]] * int(cell[which])
            through += [1] * hit + [0] * (int(cell[which]) - hit)
        sides.append(Shots(tuple(energies), tuple(through)))
    return compare_two(sides[0], sides[1], own={})


def every_outcome(cells: Cells) -> Iterator[tuple[tuple[int, ...], PairFound | None]]:
    """All counts of both heads, each with its comparison; None where it is the one before, turned over."""
    turned = all(n == m for _, n, m in cells)
    for one in product(*(range(n + 1) for n in [n for _, n, _ in cells] + [m for _, _, m in cells])):
        mine, theirs = one[: len(cells)], one[len(cells) :]
        yield one, None if turned and mine < theirs else _of_counts(cells, one)


def enumerated_sizes(cells: Cells, levels: Sequence[float]) -> tuple[float, ...]:
    """Worst share of false alarms over slope 1 to 48 and the middle's place, every outcome counted. cells: energy, shots of each head."""
    shown: dict[tuple[int, ...], list[bool]] = {}
    for one, found in every_outcome(cells):
        if found is not None:
            shown[one] = [bool(side_of(found, level)) for level in levels]
            shown.setdefault((*one[len(cells) :], *one[: len(cells)]), shown[one])
    counts = np.array(list(product(*(range(n + 1) for n in [n for _, n, _ in cells] + [m for _, _, m in cells]))))
    table = np.array([shown[tuple(one.tolist())] for one in counts])
    numbers = np.array([n for _, n, _ in cells] + [m for _, _, m in cells])
    ways = np.array([math.prod(math.comb(int(n), int(x)) for n, x in zip(numbers, one, strict=True)) for one in counts], dtype=float)
    logs = np.log([energy for energy, _, _ in cells] * 2)
    worst = np.zeros(len(levels))
    for slope, place in product((1, 2, 4, 8, 16, 24, 48), np.linspace(-0.6, 0.6, 25)):
        chance = 1 / (1 + np.exp(-slope * (logs - logs.mean() - place)))
        chances = ways * np.prod(chance**counts * (1 - chance) ** (numbers - counts), axis=1)
        worst = np.maximum(worst, chances @ table)
    return tuple(float(one) for one in worst)


CURVES: dict[str, Cells] = {
    "2 levels x 3": ((70.0, 3, 3), (90.0, 3, 3)),
    "2 levels x 6": ((70.0, 6, 6), (90.0, 6, 6)),
    "3 levels x 2": tuple((energy, 2, 2) for energy in FIXED_LEVELS),
    "3 levels x 3": tuple((energy, 3, 3) for energy in FIXED_LEVELS),
    "unequal, 3 and 2": tuple((energy, 3, 2) for energy in FIXED_LEVELS),
    "unequal, 10 and 3": ((70.0, 10, 3), (90.0, 10, 3)),
    "shifted": ((60.0, 3, 1), (80.0, 2, 2), (105.0, 1, 3)),
    "one head at the ends": ((60.0, 3, 1), (80.0, 1, 4), (105.0, 3, 1)),
}
LEVELS: dict[str, Cells] = {
    "3 v 3": ((80.0, 3, 3),),
    "6 v 6": ((80.0, 6, 6),),
    "8 v 5": ((80.0, 8, 5),),
    "12 v 3": ((80.0, 12, 3),),
    "20 v 20": ((80.0, 20, 20),),
    "2 levels x 4, too few for a curve": ((75.0, 4, 2), (95.0, 4, 2)),
    "2 levels, 10 and 4": ((75.0, 10, 2), (95.0, 10, 2)),
}


def sizes() -> Iterator[Row]:
    for kind, designs in (("curve", CURVES), ("levels", LEVELS)):
        for name, cells in designs.items():
            found = enumerated_sizes(cells, (0.95, THREE))
            for size, level, limit in zip(found, (0.95, THREE), (5.0, 1.7), strict=True):
                yield Row(f"size, {kind}, {name}, {100 * level:.4g} %", 100 * size, f"<= {limit}", 0)


# 12 shots a head, four at each of three energies: every pair of outcomes.


@dataclass(frozen=True)
class EveryPair:
    """Each head's outcomes; of each pair p, ln of the ratio, and its ends at 95 % (0 and infinity where open, or nothing is compared)."""

    hits: NDArray[np.int64]
    p: Array
    log_ratio: Array
    low: Array
    high: Array

    def chances(self, slope: float, middle: float) -> Array:
        """How likely a head's outcomes are."""
        each, share = CELLS[0][1], 1 / (1 + (np.array(FIXED_LEVELS) / middle) ** -slope)
        ways = np.array([[math.comb(each, int(x)) for x in one] for one in self.hits], dtype=float)
        return np.asarray(np.prod(ways * share**self.hits * (1 - share) ** (each - self.hits), axis=1))

    def pairs(self, slope: float, ratio: float) -> Array:
        return np.outer(self.chances(slope, MIDDLE), self.chances(slope, MIDDLE * ratio))

    def shown(self, level: float) -> NDArray[np.bool_]:
        return self.p < 1 - level


CELLS: Cells = tuple((energy, 4, 4) for energy in FIXED_LEVELS)


@cache
def every_pair() -> EveryPair:
    hits = list(product(range(5), repeat=3))
    nth = {one: n for n, one in enumerate(hits)}
    p, log_ratio, low, high = np.ones((125, 125)), np.zeros((125, 125)), np.zeros((125, 125)), np.full((125, 125), math.inf)
    for one, found in every_outcome(CELLS):
        if found is None:
            continue
        i, j = nth[one[:3]], nth[one[3:]]
        ends = found.ends(0.95)
        if ends is None or found.p_value is None or found.curve is None:
            continue
        p[i, j] = p[j, i] = found.p_value if ends.low is not None or ends.high is not None else 1.0
        log_ratio[i, j], log_ratio[j, i] = found.curve.log_ratio, -found.curve.log_ratio
        low[i, j], high[j, i] = ends.low or 0.0, 1 / ends.low if ends.low else math.inf
        high[i, j], low[j, i] = ends.high or math.inf, 1 / ends.high if ends.high else 0.0
    return EveryPair(np.array(hits), p, log_ratio, low, high)


def any_of_three(first: Array, others: Array, shown: NDArray[np.bool_]) -> float:
    """How often any of three heads is shown to differ from the first, whose outcomes all three share."""
    each = shown @ others
    return float(first @ (1 - (1 - each) ** 3))


def any_with_named(table: EveryPair, first: Array, others: Array) -> float:
    """The same with the first of the three named beforehand."""
    # Once the named one is shown, any is: that the others then have more of the error to share changes nothing here.
    levels = levels_of_family(2, named=True)
    named, rest = table.shown(levels.named) @ others, table.shown(levels.other) @ others
    return float(first @ (named + (1 - named) * (1 - (1 - rest) ** 2)))


def families_counted() -> Iterator[Row]:
    table = every_pair()
    level = levels_of_family(3, named=False).other
    for slope, least in zip(SLOPES, (9, 28, 53), strict=True):
        alike = table.chances(slope, MIDDLE)
        none = any_of_three(alike, alike, table.shown(level))
        yield Row(f"family of 3, any false, 12 a head, slope {slope}", 100 * none, "<= 3.5", 0)
        yield Row(f"with a named pair, any false, 12 a head, slope {slope}", 100 * any_with_named(table, alike, alike), "<= 4.0", 0)
        power = float((table.pairs(slope, 1.4) * table.shown(level)).sum())
        yield Row(f"power at 1.4, 12 a head, slope {slope}", 100 * power, f">= {least}", 0)


def claims_counted() -> Iterator[Row]:
    """A difference of a tenth, truth exactly there: shown to be more, or to be less."""
    table = every_pair()
    for slope in SLOPES:
        chances = table.pairs(slope, 1.1)
        more, less = float((chances * (table.low > 1.1)).sum()), float((chances * (table.high < 1.1)).sum())
        yield Row(f"claim of a tenth, truth there, 12 a head, slope {slope}", 100 * max(more, less), "<= 2.5", 0)


def widened(log_ratio: Array, log_end: Array, u: float) -> Array:
    """An end further from the ratio by two heads' own uncertainties u: as compare_two has it when it is told of them (tested)."""
    gap = log_end - log_ratio
    return np.asarray(log_ratio + np.copysign(np.hypot(gap, 1.959963984540054 * math.hypot(u, u)), gap))


def own_uncertainties() -> Iterator[Row]:
    """Each head's energies are off by a factor of their own, which the interval is told of.

    Measured is g times the true ratio, ln g normal with sd u times root 2: summed over outcomes and over g.
    """
    table = every_pair()
    with np.errstate(divide="ignore"):
        low, high = np.log(table.low), np.log(table.high)
    for u, slope in product((0.03, 0.05), SLOPES):
        least, most = (widened(table.log_ratio, end, u) for end in (low, high))
        spread, held = math.hypot(u, u), {}
        for ratio in (1.0, 1.3):
            inside = ndtr((math.log(ratio) - least) / spread) - ndtr((math.log(ratio) - most) / spread)
            held[ratio] = 100 * float((table.pairs(slope, ratio) * inside).sum())
        yield Row(f"own u {100 * u:.0f} % a head, 12 a head, false, slope {slope}", 100 - held[1.0], "<= 5.0", 0)
        yield Row(f"own u {100 * u:.0f} % a head, 12 a head, holds 1.3, slope {slope}", held[1.3], ">= 93.5", 0)


def families_nearly_counted(shots: int = 20, slope: int = 16, *, least: float = 2e-5) -> Iterator[Row]:
    """A steep curve leaves few outcomes that ever happen: those are counted, and all that is left out is taken for a false alarm."""
    each = [int(n) for n in np.bincount([FIXED_LEVELS.index(energy) for energy in fixed_levels(shots).tolist()])]
    cells: Cells = tuple((energy, n, n) for energy, n in zip(FIXED_LEVELS, each, strict=True))
    share = 1 / (1 + (np.array(FIXED_LEVELS) / MIDDLE) ** -slope)
    chances = {
        one: math.prod(math.comb(n, x) * p**x * (1 - p) ** (n - x) for n, x, p in zip(each, one, share.tolist(), strict=True))
        for one in product(*(range(n + 1) for n in each))
    }
    kept = [one for one, chance in chances.items() if chance >= least]
    alike = np.array([chances[one] for one in kept])
    p_values = np.ones((len(kept), len(kept)))
    for i, one in enumerate(kept):
        for j, other in enumerate(kept[:i]):
            found = _of_counts(cells, (*one, *other))
            p_values[i, j] = p_values[j, i] = 1.0 if found.p_value is None else found.p_value
    table = EveryPair(np.array(kept), p_values, *(np.zeros_like(p_values) for _ in range(3)))
    out = 4 * (1 - float(alike.sum()))  # any of the four heads
    none = any_of_three(alike, alike, table.shown(levels_of_family(3, named=False).other))
    of = f"{shots} a head, slope {slope}, at most"
    yield Row(f"family of 3, any false, {of}", 100 * (none + out), "<= 3.5", 0)
    yield Row(f"with a named pair, any false, {of}", 100 * (any_with_named(table, alike, alike) + out), "<= 4.0", 0)


# What can't be counted out is drawn.


def sides_of(first: Shots, second: Shots, levels: tuple[float, ...]) -> tuple[str, ...]:
    """The verdict at each level, fitted once however often the same counts are drawn."""
    return _sides_of_counts(_in_order(first), _in_order(second), levels)


@cache
def _sides_of_counts(first: Shots, second: Shots, levels: tuple[float, ...]) -> tuple[str, ...]:
    found = compare_two(first, second, own={})
    return tuple(side_of(found, level) for level in levels)


def _in_order(shots: Shots) -> Shots:
    """By energy and outcome: like counts are then one and the same question."""
    energies, through = zip(*sorted(zip(shots.energies_j, shots.through, strict=True)), strict=True)
    return Shots(energies, through)


def families_drawn(runs: int, lots: Draw, *, shots: int = 20, slopes: Sequence[int] = SLOPES) -> Iterator[Row]:
    """Three heads against the first: any shown of those, and how often each is shown."""
    named = levels_of_family(2, named=True)
    levels = (levels_of_family(3, named=False).other, named.named, named.other)
    for slope in slopes:
        counts = {"none": 0, "named": 0, "power": 0}
        for _ in range(runs):
            first = shot_at(fixed_levels(shots), MIDDLE, slope, lots)
            alike = [sides_of(first, shot_at(fixed_levels(shots), MIDDLE, slope, lots), levels) for _ in range(3)]
            apart = sides_of(first, shot_at(fixed_levels(shots), MIDDLE * 1.4, slope, lots), levels)
            counts["none"] += any(plain for plain, _, _ in alike)
            counts["named"] += bool(alike[0][1]) or any(other for _, _, other in alike[1:])
            counts["power"] += bool(apart[0])
        of = f"{shots} a head, slope {slope}"
        if slope < 16:  # families_nearly_counted has the rest
            yield Row(f"family of 3, any false, {of}", 100 * counts["none"] / runs, "<= 3.5", runs)
            yield Row(f"with a named pair, any false, {of}", 100 * counts["named"] / runs, "<= 4.0", runs)
        yield Row(f"power at 1.4, {of}", 100 * counts["power"] / runs, f">= {LEAST_POWER[slope]}", runs)


def claims_drawn(runs: int, lots: Draw, *, shots: int = 40, slopes: Sequence[int] = SLOPES) -> Iterator[Row]:
    """A difference of a tenth, truth exactly there, by the interval itself."""
    for slope in slopes:
        more = less = 0
        for _ in range(runs):
            first, second = shot_at(fixed_levels(shots), MIDDLE, slope, lots), shot_at(fixed_levels(shots), MIDDLE * 1.1, slope, lots)
            ends = compare_two(first, second, own={}).ends(0.95)
            more += bool(ends and ends.low and ends.low > 1.1)
            less += bool(ends and ends.high and ends.high < 1.1)
        yield Row(f"claim of a tenth, truth there, {shots} a head, slope {slope}", 100 * max(more, less) / runs, "<= 2.5", runs)


def up_and_down(shots: int, slope: float, lots: Draw) -> Shots:
    energy, energies, through = MIDDLE, [], []
    for _ in range(shots):
        hit = bool(lots.random() < 1 / (1 + (energy / MIDDLE) ** -slope))
        energies.append(energy)
        through.append(int(hit))
        energy = min(120.0, max(55.0, energy / 1.08 if hit else energy * 1.08))
    return Shots(tuple(energies), tuple(through))


def chosen(runs: int, lots: Draw, shots: int, *, slopes: Sequence[int] = SLOPES) -> Iterator[Row]:
    for slope in slopes:
        false = 0
        # Nearly every run has energies of its own, and what they could give at most makes no side of an interval (tested).
        with mock.patch.object(one_comparison, "smallest_p_by_curve", lambda *_, **__: 0.0):
            for _ in range(runs):
                one, other = up_and_down(shots, slope, lots), up_and_down(shots, slope, lots)
                false += bool(side_of(compare_two(one, other, own={}, chosen=True)))
        yield Row(f"up-and-down, {shots} a head, slope {slope}", 100 * false / runs, "<= 4.0", runs)


def rounds(runs: int, lots: Draw, *, many: int = 10, slopes: Sequence[int] = SLOPES) -> Iterator[Row]:
    """Looked at after each round of a shot a head and level: ever shown, with the number of shots set beforehand or not."""

    levels = {look: levels_of_family(1, named=False, looks=look).other for look in ("before", "set", "not set")}
    for slope in slopes:
        ever = {"set": 0, "not set": 0}
        for _ in range(runs):
            sides = [shot_at(np.tile(FIXED_LEVELS, many), MIDDLE, slope, lots) for _ in range(2)]
            shown = {"set": False, "not set": False}
            for done in range(2, many + 1):
                one, other = (Shots(side.energies_j[: 3 * done], side.through[: 3 * done]) for side in sides)
                found = dict(zip(levels, sides_of(one, other, tuple(levels.values())), strict=True))
                shown["set"] |= bool(found["set" if done == many else "before"])
                shown["not set"] |= bool(found["not set"])
            for look in ever:
                ever[look] += shown[look]
        for look, times in ever.items():
            yield Row(f"{many} rounds, number {look}, slope {slope}", 100 * times / runs, "<= 5.0", runs)


def margins() -> Iterator[Row]:
    """Two heads alike but for a gap in energy as wide as still counts as alike: the exact test's worst share of false alarms."""
    for shots, limit in ((10, 5.0), (20, 6.0)):
        shown = np.array([[bool(side_of(_of_counts(((80.0, shots, shots),), (x, y)))) for y in range(shots + 1)] for x in range(shots + 1)])
        for slope in SLOPES:
            gap, worst = alike_margin(slope), 0.0
            for log_odds in np.linspace(-4, 4, 161):
                p, q = (1 / (1 + math.exp(-one)) for one in (log_odds, log_odds + slope * gap))
                one, other = ([math.comb(shots, x) * c**x * (1 - c) ** (shots - x) for x in range(shots + 1)] for c in (p, q))
                worst = max(worst, float(np.array(one) @ shown @ np.array(other)))
            yield Row(f"margin, {shots} v {shots}, slope {slope}", 100 * worst, f"<= {limit}", 0)


def rows(runs: int, only: str = "", slopes: Sequence[int] = SLOPES) -> Iterator[Row]:
    """All rows, simulated ones over so many runs and of these slopes."""
    parts: tuple[tuple[str, Callable[[], Iterator[Row]]], ...] = (
        ("margin", margins),
        ("size", sizes),
        ("family counted", families_counted),
        ("family nearly counted", families_nearly_counted),
        ("claim counted", claims_counted),
        ("own u counted", own_uncertainties),
        ("rounds", lambda: rounds(runs, np.random.default_rng(5), slopes=slopes)),
        *((f"up-and-down, {n} a head", partial(chosen, runs, np.random.default_rng([4, n]), n, slopes=slopes)) for n in (10, 20, 40)),
        ("family drawn", lambda: families_drawn(runs, np.random.default_rng(1), slopes=slopes)),
        ("claim drawn", lambda: claims_drawn(runs, np.random.default_rng(3), slopes=slopes)),
    )
    with only_what_decides():
        for name, part in parts:
            if only in name:
                yield from part()


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    slopes = (int(sys.argv[3]),) if len(sys.argv) > 3 else SLOPES
    for row in rows(runs, sys.argv[2] if len(sys.argv) > 2 else "", slopes):
        print(row.words, flush=True)


if __name__ == "__main__":
    main()
