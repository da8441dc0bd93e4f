"""How often an end of the range of a 50 % energy is wrong: wherever the true point lies, whether or not the truth is logistic.

    python tests/bench/fifty_percent_ends.py [runs a cell of the spread designs of 20 and 40] [only designs whose name holds this]

Truths: the half at 0.7 to 1.75 times 45 J (six places, from below the energies shot to above them), a slope of 4, 8 or 16 a unit of
ln(energy), and three shapes: logistic; 1 - 2^-(E/E50)^slope (complementary log-log) and its mirror 2^-(E50/E)^slope, which are skewed.
Designs: 10, 20 or 40 shots, in three clusters of energies or each at an energy of its own from 30 to 65 J (spread). Clusters and the
spread design of 10 are counted out over every outcome; the longer ones are drawn, seed fixed.

A range without an end on a side claims nothing there. Printed is the worst cell of each row; of ranges open on one side also how often
they hold, over all six places and where the true point lies amid the energies shot: there they only arise by luck.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from itertools import product
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.quantities.reason import CantTell
from proofyard.statistics.fifty_percent_point import EnergyPoint, fifty_percent_point, fit_curve

from tests.bench.pair_error_rates import Row

Array = NDArray[np.float64]
MIDDLE_J = 45.0
PLACES = (0.7, 0.85, 1.0, 1.15, 1.4, 1.75)
SLOPES = (4, 8, 16)
SIZES = (10, 20, 40)
CLUSTERS = (34.0, 44.0, 57.0)
LOGISTIC, SKEWED = ("logistic",), ("complementary log-log", "its mirror")
LIMITS = {LOGISTIC: ("<= 4.5", "<= 4.0"), SKEWED: ("<= 7.0", "<= 6.0")}
COUNTED_SPREAD = 10
SEED = 20261130


def share_through(energies: Array, *, half_j: float, slope: float, shape: str) -> Array:
    odds = (energies / half_j) ** slope
    if shape == "logistic":
        return np.asarray(odds / (1 + odds))
    return np.asarray(1 - 2**-odds if shape == "complementary log-log" else 2 ** -(1 / odds))


@cache
def range_of(energies: tuple[float, ...], through: tuple[int, ...]) -> tuple[float, float]:
    """The range as the product gives it: 0 and infinity where it has no end."""
    curve = fit_curve(energies, through)
    found = None if isinstance(curve, CantTell) else fifty_percent_point(curve)
    if not isinstance(found, EnergyPoint):
        return 0.0, math.inf
    return found.low_j or 0.0, math.inf if found.high_j is None else found.high_j


@dataclass(frozen=True)
class Told:
    """Of one cell: how often the low end lay too high, the high end too low; and ranges with one end alone, and those that held."""

    too_high: float
    too_low: float
    one_sided: float
    one_sided_held: float

    @property
    def wrong(self) -> float:
        return self.too_high + self.too_low


def told(chances: Array, low: Array, high: Array, true_j: float) -> Told:
    alone = (low > 0) != np.isfinite(high)
    held = (low <= true_j) & (true_j <= high)
    return Told(*(float(chances[one].sum()) for one in (low > true_j, high < true_j, alone, alone & held)))


@dataclass(frozen=True)
class Counted:
    """A design whose every outcome is asked: energies, how many shots at each, and the range of each outcome."""

    energies: Array
    each: NDArray[np.int64]
    hits: NDArray[np.int64]
    low: Array
    high: Array

    def cell(self, *, half_j: float, slope: float, shape: str) -> Told:
        share = share_through(self.energies, half_j=half_j, slope=slope, shape=shape)
        ways = np.array([[math.comb(int(n), int(x)) for n, x in zip(self.each, one, strict=True)] for one in self.hits], dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            chances = np.prod(ways * share**self.hits * (1 - share) ** (self.each - self.hits), axis=1)
        return told(chances, self.low, self.high, half_j)


def counted(energies: tuple[float, ...], each: tuple[int, ...]) -> Counted:
    hits = list(product(*(range(n + 1) for n in each)))
    shot = tuple(energy for energy, n in zip(energies, each, strict=True) for _ in range(n))
    ranges = [range_of(shot, tuple(int(k < x) for n, x in zip(each, one, strict=True) for k in range(n))) for one in hits]
    low, high = np.array(ranges).T
    return Counted(np.array(energies), np.array(each), np.array(hits), low, high)


def clusters(shots: int) -> Counted:
    return counted(CLUSTERS, tuple(shots // 3 + (n < shots % 3) for n in range(3)))


def spread_energies(shots: int) -> tuple[float, ...]:
    return tuple(np.exp(np.linspace(math.log(30), math.log(65), shots)).tolist())


def drawn_cell(shots: int, *, half_j: float, slope: float, shape: str, runs: int) -> Told:
    energies = spread_energies(shots)
    lots = np.random.default_rng([SEED, shots, round(100 * half_j), int(slope), len(shape)])
    through = lots.random((runs, shots)) < share_through(np.array(energies), half_j=half_j, slope=slope, shape=shape)
    low, high = np.array([range_of(energies, tuple(int(x) for x in one)) for one in through]).T
    return told(np.full(runs, 1 / runs), low, high, half_j)


Cell = Callable[[float, float, str], Told]


def designs(runs: int) -> Iterator[tuple[str, Callable[[], Cell], int]]:
    """Name, what gives its cells once it is asked, and how many runs are drawn (0: counted)."""
    for shots in SIZES:
        yield f"clusters, {shots} shots", partial(_of_counted, partial(clusters, shots)), 0
    yield (
        f"spread, {COUNTED_SPREAD} shots",
        partial(_of_counted, partial(counted, spread_energies(COUNTED_SPREAD), (1,) * COUNTED_SPREAD)),
        0,
    )
    for shots in SIZES[1:]:
        yield f"spread, {shots} shots", partial(_of_drawn, shots, runs), runs


def _of_counted(make: Callable[[], Counted]) -> Cell:
    found = make()
    return lambda half_j, slope, shape: found.cell(half_j=half_j, slope=slope, shape=shape)


def _of_drawn(shots: int, runs: int) -> Cell:
    return lambda half_j, slope, shape: drawn_cell(shots, half_j=half_j, slope=slope, shape=shape, runs=runs)


def rows(runs: int, *, only: str = "") -> Iterator[Row]:
    """The worst cell of each design and kind of truth; of ranges with one end how often they hold. `only`: designs whose name holds it."""
    for name, make, drawn in designs(runs):
        if only not in name:
            continue
        cell = make()
        for shapes in (LOGISTIC, SKEWED):
            found = {(place, slope, shape): cell(MIDDLE_J * place, slope, shape) for place, slope, shape in product(PLACES, SLOPES, shapes)}
            kind = "logistic" if shapes == LOGISTIC else "skewed"
            worst = max(one.wrong for one in found.values())
            single = max(max(one.too_high, one.too_low) for one in found.values())
            for what, share, limit in zip(("any end wrong", "a single end wrong"), (worst, single), LIMITS[shapes], strict=True):
                yield Row(f"{name}, {kind}: {what}, worst of {len(found)}", 100 * share, limit, drawn)
            if shapes == LOGISTIC:
                yield from _one_sided(name, found, drawn)


def _one_sided(name: str, found: dict[tuple[float, int, str], Told], drawn: int) -> Iterator[Row]:
    for what, limit, places in (("all six places", ">= 97.0", PLACES), ("amid the energies", "", (1.0,))):
        some = [one for (place, _, _), one in found.items() if place in places]
        there = sum(one.one_sided for one in some)
        if there > 0:
            held = sum(one.one_sided_held for one in some) / there
            yield Row(f"{name}: one end alone, holds, {what}", 100 * held, limit, max(1, round(drawn * there)) if drawn else 0)


def main() -> None:
    for row in rows(int(sys.argv[1]) if len(sys.argv) > 1 else 500, only=sys.argv[2] if len(sys.argv) > 2 else ""):
        print(row.words, flush=True)


if __name__ == "__main__":
    main()
