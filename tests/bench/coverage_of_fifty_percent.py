"""How often the interval of the 50 % point holds the true point, by simulation: the table of the guide.

    python tests/bench/coverage_of_fifty_percent.py [runs a cell] [file to write the table to, as CSV; or "skewed": only those truths]

Each run draws n energies evenly in ln(energy) between 30 and 65 J, lets each shot through with the chance of a true
curve (half at 45 J, slope 4, 8 or 16 a unit of ln(energy)), and asks for the point. An interval without an end, and a
point that is not placed, count as holding it: they claim nothing that is wrong. So the share of those, how often the
bounded ones hold it, and how wide they are stand beside it; and the same for plain maximum likelihood.

Then the same with energies that go up and down by the outcomes (from 38 J, 8 % down after a shot that got through, 8 %
up after one that was stopped): there the limit is wider still, under 20 shots there is no estimate, and the table says what is left.

Ranges open on one side stand by themselves: they claim one end, and where the true point lies amid the energies shot they only
arise by luck. So they are tried with a true point off that middle as well. And truths that are not logistic: the complementary
log-log curve and its mirror, with the same half.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.quantities.reason import CantTell
from proofyard.statistics.fifty_percent_point import FLAT, FURTHEST, Curve, EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.penalised_logistic import fit_logistic, ratio_interval

TRUE_HALF_J = 45.0
LOWEST_J, HIGHEST_J = 30.0, 65.0
SIZES = (10, 20, 40)
SLOPES = (4, 8, 16)


@dataclass
class Tally:
    """What came of the runs of one cell by one method."""

    runs: int = 0
    held: int = 0
    no_answer: int = 0
    one_sided: int = 0
    one_sided_held: int = 0
    too_high: int = 0
    too_low: int = 0
    bounded_held: int = 0
    widths: list[float] = field(default_factory=list)

    def add(self, found: EnergyPoint | CantTell | None, true_j: float = TRUE_HALF_J) -> None:
        self.runs += 1
        if not isinstance(found, EnergyPoint):
            self.no_answer += 1
            self.held += 1
            return
        holds = (found.low_j or 0.0) <= true_j <= (found.high_j or math.inf)
        self.held += holds
        self.too_high += (found.low_j or 0.0) > true_j
        self.too_low += (found.high_j or math.inf) < true_j
        if found.low_j is None or found.high_j is None:
            self.one_sided += 1
            self.one_sided_held += holds
        else:
            self.bounded_held += holds
            self.widths.append(found.high_j / found.low_j)

    @property
    def coverage(self) -> float:
        return self.held / self.runs

    @property
    def unbounded(self) -> float:
        return (self.no_answer + self.one_sided) / self.runs

    @property
    def bounded_coverage(self) -> float:
        return self.bounded_held / len(self.widths) if self.widths else math.nan

    @property
    def one_sided_coverage(self) -> float:
        return self.one_sided_held / self.one_sided if self.one_sided else math.nan

    @property
    def median_width(self) -> float:
        """High end over low end, the middle one of the bounded intervals."""
        return float(np.median(self.widths)) if self.widths else math.nan


def plain_point(energies: list[float], through: list[int]) -> EnergyPoint | CantTell | None:
    """The same by plain maximum likelihood; None where it has no answer."""
    if sum(through) in (0, len(through)):
        return None
    logs = np.log(np.array(energies))
    centre, scale = float(logs.mean()), float(logs.std())
    fit = fit_logistic(np.column_stack([np.ones(logs.size), (logs - centre) / scale]), through, penalised=False)
    if isinstance(fit, CantTell) or fit.coefficients[1] <= 0:
        return None
    curve = Curve(tuple(energies), tuple(through), 0, fit, centre, scale)
    # The chi-square itself, as in most textbooks: the wider limit is ours.
    low, high = (
        None if place is None or not LOWEST_J / FURTHEST <= curve.energy(place) <= HIGHEST_J * FURTHEST else curve.energy(place)
        for place in ratio_interval(fit, 1, over=np.array([1.0, 0.0]), offset=np.zeros(2))
    )
    if low is None and high is None:
        return CantTell(FLAT)
    return EnergyPoint(math.exp(curve.middle), low, high, 0.5, 0.95, "plain", None, curve)


def drawn_evenly(shots: int, slope: float, lots: np.random.Generator, true_j: float = TRUE_HALF_J) -> tuple[list[float], list[int]]:
    energies = np.exp(lots.uniform(math.log(LOWEST_J), math.log(HIGHEST_J), shots))
    chances = 1 / (1 + (energies / true_j) ** -slope)
    return energies.tolist(), [int(one) for one in lots.random(shots) < chances]


def skewed(shots: int, slope: float, lots: np.random.Generator, *, mirror: bool) -> tuple[list[float], list[int]]:
    """A truth that is not logistic: 1 - 2^-(E/E50)^slope, the complementary log-log curve, or 2^-(E50/E)^slope, its mirror."""
    energies = np.exp(lots.uniform(math.log(LOWEST_J), math.log(HIGHEST_J), shots))
    chances = 2 ** -((TRUE_HALF_J / energies) ** slope) if mirror else 1 - 2 ** -((energies / TRUE_HALF_J) ** slope)
    return energies.tolist(), [int(one) for one in lots.random(shots) < chances]


def up_and_down(shots: int, slope: float, lots: np.random.Generator) -> tuple[list[float], list[int]]:
    energy, energies, through = 38.0, [], []
    for _ in range(shots):
        hit = bool(lots.random() < 1 / (1 + (energy / TRUE_HALF_J) ** -slope))
        energies.append(energy)
        through.append(int(hit))
        energy = min(HIGHEST_J, max(LOWEST_J, energy / 1.08 if hit else energy * 1.08))
    return energies, through


WAYS = {"even": drawn_evenly, "up and down": up_and_down}


def cell(shots: int, slope: float, *, runs: int, seed: int, way: str = "even") -> tuple[Tally, Tally]:
    """Ours and plain maximum likelihood over the same runs."""
    lots = np.random.default_rng(seed)
    ours, plain = Tally(), Tally()
    for _ in range(runs):
        given, through = WAYS[way](shots, slope, lots)
        curve = fit_curve(given, through)
        ours.add(curve if isinstance(curve, CantTell) else fifty_percent_point(curve, chosen=way == "up and down"))
        plain.add(plain_point(given, through))
    return ours, plain


HEADINGS = (
    "energies",
    "shots",
    "slope",
    "runs",
    "coverage",
    "unbounded",
    "not placed",
    "bounded coverage",
    "median width",
    "plain coverage",
    "plain unbounded",
    "plain no answer",
    "plain bounded coverage",
    "plain median width",
    "one-sided",
    "one-sided coverage",
    "plain one-sided coverage",
)
# The true point over the middle of the energies shot, each as often: from well below it to above the highest.
OFF = (0.7, 0.85, 1.15, 1.4, 1.75)
TRUTH_HEADINGS = (
    "truth",
    "shots",
    "slope",
    "runs",
    "coverage",
    "unbounded",
    "one-sided",
    "one-sided coverage",
    "bounded coverage",
    "too high",
    "too low",
)


def truth_cell(truth: str, shots: int, slope: float, *, runs: int, seed: int) -> Tally:
    """Ours alone, where the true point lies off the middle, or the truth is skewed."""
    lots, tally = np.random.default_rng(seed), Tally()
    for n in range(runs):
        true_j = TRUE_HALF_J
        if truth == "off the middle":
            true_j *= OFF[n % len(OFF)]
            given, through = drawn_evenly(shots, slope, lots, true_j)
        else:
            given, through = skewed(shots, slope, lots, mirror=truth == "its mirror")
        curve = fit_curve(given, through)
        tally.add(curve if isinstance(curve, CantTell) else fifty_percent_point(curve), true_j)
    return tally


TRUTHS = (
    *(("off the middle", shots, slope) for shots in (20, 40) for slope in SLOPES),
    ("complementary log-log", 40, 8),
    ("its mirror", 40, 8),
)


def truth_rows(runs: int, truths: Sequence[tuple[str, int, int]] = TRUTHS) -> list[tuple[object, ...]]:
    table: list[tuple[object, ...]] = []
    for truth, shots, slope in truths:
        found = truth_cell(truth, shots, slope, runs=runs, seed=7000 + 100 * shots + slope)
        numbers = (
            found.coverage,
            found.unbounded,
            found.one_sided / runs,
            found.one_sided_coverage,
            found.bounded_coverage,
            found.too_high / runs,
            found.too_low / runs,
        )
        table.append((truth, shots, slope, runs, *(f"{number:.3f}" for number in numbers)))
        print(*table[-1], sep="\t", flush=True)
    return table


def rows(runs: int) -> list[tuple[object, ...]]:
    table: list[tuple[object, ...]] = []
    for way, shots, slope in product(WAYS, SIZES, SLOPES):
        ours, plain = cell(shots, slope, runs=runs, seed=100 * shots + slope, way=way)
        numbers = [
            ours.coverage,
            ours.unbounded,
            ours.no_answer / runs,
            ours.bounded_coverage,
            ours.median_width,
            plain.coverage,
            plain.unbounded,
            plain.no_answer / runs,
            plain.bounded_coverage,
            plain.median_width,
            ours.one_sided / runs,
            ours.one_sided_coverage,
            plain.one_sided_coverage,
        ]
        table.append((way, shots, slope, runs, *(f"{number:.3f}" for number in numbers)))
        print(*table[-1], sep="\t", flush=True)
    return table


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    if sys.argv[2:] == ["skewed"]:
        print(*TRUTH_HEADINGS, sep="\t")
        truth_rows(runs, TRUTHS[-2:])
        return
    print(*HEADINGS, sep="\t")
    table = rows(runs)
    if len(sys.argv) > 2:
        with Path(sys.argv[2]).open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([HEADINGS, *table])


if __name__ == "__main__":
    main()
