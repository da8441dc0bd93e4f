"""How often the interval of the 50 % point holds the true point, by simulation: the table of the guide.

    python tests/bench/coverage_of_the_half.py [runs a cell] [file to write the table to, as CSV]

Each run draws n energies evenly in ln(energy) between 30 and 65 J, lets each shot through with the chance of a true
curve (half at 45 J, slope 4, 8 or 16 a unit of ln(energy)), and asks for the point. An interval without an end, and a
point that is not placed, count as holding it: they claim nothing that is wrong. So the share of those, how often the
bounded ones hold it, and how wide they are stand beside it; and the same for plain maximum likelihood.

Then the same with energies that go up and down by the outcomes (from 38 J, 8 % down after a shot that got through, 8 %
up after one that was stopped): there the method is weak, and the table says how much.
"""

from __future__ import annotations

import csv
import math
import sys
from dataclasses import dataclass, field
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from server.statistics.fifty_percent_point import Curve, EnergyPoint, fifty_percent_point, fit_curve
from server.statistics.penalised_logistic import fit_logistic
from server.statistics.refusals import CantTell

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
    bounded_held: int = 0
    widths: list[float] = field(default_factory=list)

    def add(self, found: EnergyPoint | CantTell | None) -> None:
        self.runs += 1
        if not isinstance(found, EnergyPoint):
            self.no_answer += 1
            self.held += 1
            return
        holds = (found.low_j or 0.0) <= TRUE_HALF_J <= (found.high_j or math.inf)
        self.held += holds
        if found.low_j is None or found.high_j is None:
            self.one_sided += 1
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
    return fifty_percent_point(Curve(tuple(energies), tuple(through), 0, fit, centre, scale))


def drawn_evenly(shots: int, slope: float, lots: np.random.Generator) -> tuple[list[float], list[int]]:
    energies = np.exp(lots.uniform(math.log(LOWEST_J), math.log(HIGHEST_J), shots))
    chances = 1 / (1 + (energies / TRUE_HALF_J) ** -slope)
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
        ours.add(curve if isinstance(curve, CantTell) else fifty_percent_point(curve))
        plain.add(plain_point(given, through))
    return ours, plain


HEADINGS = (
    "energies", "shots", "slope", "runs", "coverage", "unbounded", "not placed", "bounded coverage", "median width",
    "plain coverage", "plain unbounded", "plain no answer", "plain bounded coverage", "plain median width",
)  # fmt: skip


def rows(runs: int) -> list[tuple[object, ...]]:
    table: list[tuple[object, ...]] = []
    for way, shots, slope in product(WAYS, SIZES, SLOPES):
        ours, plain = cell(shots, slope, runs=runs, seed=100 * shots + slope, way=way)
        numbers = [
            ours.coverage, ours.unbounded, ours.no_answer / runs, ours.bounded_coverage, ours.median_width,
            plain.coverage, plain.unbounded, plain.no_answer / runs, plain.bounded_coverage, plain.median_width,
        ]  # fmt: skip
        table.append((way, shots, slope, runs, *(f"{number:.3f}" for number in numbers)))
        print(*table[-1], sep="\t", flush=True)
    return table


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    print(*HEADINGS, sep="\t")
    table = rows(runs)
    if len(sys.argv) > 2:
        with Path(sys.argv[2]).open("w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows([HEADINGS, *table])


if __name__ == "__main__":
    main()
