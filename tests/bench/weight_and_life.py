"""How often five intervals hold the truth, by simulation: energy for weight, energy for extra weight, shots that a head lasts,
and the middle and the share over several groups.

    python tests/bench/weight_and_life.py [runs a cell] [file to write the table to, as CSV]

Energy for weight: 20 or 40 shots evenly in ln(energy) between 30 and 65 J, a true curve with its half at 45 J, a weight of 12
kg/m² read with a standard uncertainty of 1, 3 or 10 %. Intervals without a figure claim nothing and are left out; one that is
open on a side is asked for the side that it has. Extra weight: two such panel types, 45 and 62 J, 4 kg/m² apart, known to 8 %.
Life: every shot ends a head with the chance of 1 over the true life; 8 heads, each shot until it is ended or 10 times. Groups:
k values with standard errors of 4 to 15 % that really differ by 0, 5, 10 or 20 %.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.quantities.reason import CantTell
from proofyard.statistics.energy_for_weight import EnergyEnds, Weight, energy_for_extra_weight, energy_for_weight
from proofyard.statistics.fifty_percent_point import EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.head_life import shots_a_head_lasts
from proofyard.statistics.several_groups import over_groups, share_over_groups

Lots = np.random.Generator
KG_M2, TRUE_J, HEAVY_J, EXTRA_KG_M2, EXTRA_SHARE = 12.0, 45.0, 62.0, 4.0, 0.08
HEADS, MOST_A_HEAD = 8, 10


@dataclass(frozen=True)
class Cell:
    """One line of the table: what was asked, in how many runs it gave an interval, and in how many of those that held."""

    what: str
    of: str
    runs: int
    told: int
    held: int

    @property
    def holds(self) -> float:
        return self.held / self.told if self.told else math.nan


def point(true_j: float, slope: float, shots: int, lots: Lots) -> EnergyPoint | None:
    energies = np.exp(lots.uniform(math.log(true_j / 1.5), math.log(true_j * 1.45), shots))
    through = lots.random(shots) < 1 / (1 + (energies / true_j) ** -slope)
    curve = fit_curve(energies.tolist(), [int(one) for one in through])
    found = None if isinstance(curve, CantTell) else fifty_percent_point(curve)
    return found if isinstance(found, EnergyPoint) else None


def ends_of(found: EnergyPoint) -> EnergyEnds:
    return EnergyEnds(found.energy_j, found.low_j, found.high_j)


def weighed(kg_m2: float, share: float, lots: Lots) -> Weight:
    return Weight(kg_m2 * float(np.exp(lots.normal(0, share))), kg_m2 * share)


def for_weight(shots: int, slope: float, share: float) -> Callable[[Lots], bool | None]:
    """One run: whether the interval held, None where there was none."""

    def run(lots: Lots) -> bool | None:
        found = point(TRUE_J, slope, shots, lots)
        if found is None:
            return None
        told = energy_for_weight(ends_of(found), weighed(KG_M2, share, lots))
        return (told.low or 0.0) <= TRUE_J / KG_M2 <= (told.high or math.inf)

    return run


def for_extra(shots: int, slope: float) -> Callable[[Lots], bool | None]:
    def run(lots: Lots) -> bool | None:
        light, heavy = point(TRUE_J, slope, shots, lots), point(HEAVY_J, slope, shots, lots)
        if light is None or heavy is None:
            return None
        u = EXTRA_KG_M2 * EXTRA_SHARE
        extra = Weight(EXTRA_KG_M2 + float(lots.normal(0, u)), u)
        told = energy_for_extra_weight(ends_of(light), ends_of(heavy), extra=extra)
        return None if isinstance(told, CantTell) else told.low <= (HEAVY_J - TRUE_J) / EXTRA_KG_M2 <= told.high

    return run


def life(true_life: float, spread: float) -> Callable[[Lots], bool | None]:
    """`spread`: standard deviation in the logarithm of each head's own risk; 0: all heads alike."""

    def run(lots: Lots) -> bool | None:
        shots = ended = 0
        for _ in range(HEADS):
            chance = min(1.0, float(np.exp(lots.normal(0, spread))) / true_life) if spread else 1 / true_life
            lasted = int(lots.geometric(chance))
            shots += min(lasted, MOST_A_HEAD)
            ended += lasted <= MOST_A_HEAD
        told = shots_a_head_lasts(ended, shots)
        assert not isinstance(told, CantTell)
        return told.low <= true_life <= (told.high or math.inf)

    return run


def groups(count: int, between: float) -> Callable[[Lots], bool | None]:
    def run(lots: Lots) -> bool | None:
        errors = lots.uniform(0.04, 0.15, count)
        values = lots.normal(0.0, between, count) + lots.normal(0.0, errors)
        told = over_groups(values.tolist(), errors.tolist())
        return None if isinstance(told, CantTell) else told.low <= 0.0 <= told.high

    return run


def shares(count: int, shots: int, share: float, between: float) -> Callable[[Lots], bool | None]:
    """`between`: standard deviation of the groups' true log-odds."""

    def run(lots: Lots) -> bool | None:
        true = lots.normal(math.log(share / (1 - share)), between, count)
        hits = lots.binomial(shots, 1 / (1 + np.exp(-true)))
        told = share_over_groups([(int(one), shots) for one in hits])
        return None if isinstance(told, CantTell) else told.low <= share <= told.high

    return run


def cells() -> Iterator[tuple[str, str, Callable[[Lots], bool | None]]]:
    for shots in (20, 40):
        for slope in (4, 8, 16):
            for share in (0.01, 0.03, 0.10):
                yield "energy for weight", f"{shots} shots, slope {slope}, weight to {100 * share:g} %", for_weight(shots, slope, share)
    for shots in (20, 40):
        for slope in (8, 16):
            yield "energy for extra weight", f"{shots} shots each, slope {slope}", for_extra(shots, slope)
    for true_life in (2, 4, 10, 30):
        yield "shots that a head lasts", f"heads alike, {true_life} shots", life(true_life, 0.0)
    for count in (3, 4, 6, 8):
        for between in (0.0, 0.05, 0.10, 0.20):
            yield "over several groups", f"{count} groups, {100 * between:g} % apart", groups(count, between)
    for count in (3, 6, 8):
        for shots in (10, 20):
            for share in (0.1, 0.3):
                for between in (0.5, 1.0):
                    of = f"{count} groups of {shots} shots, {100 * share:g} % through, {between:g} apart in log-odds"
                    yield "shares over several groups", of, shares(count, shots, share, between)


def measured(what: str, of: str, run: Callable[[Lots], bool | None], *, runs: int, seed: int) -> Cell:
    lots = np.random.default_rng(seed)
    told = [answer for answer in (run(lots) for _ in range(runs)) if answer is not None]
    return Cell(what, of, runs, len(told), sum(told))


def measure(runs: int) -> list[Cell]:
    return [measured(what, of, run, runs=runs, seed=9000 + n) for n, (what, of, run) in enumerate(cells())]


HEADINGS = ("what", "of", "runs", "told", "holds")


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    table = [(one.what, one.of, one.runs, one.told, f"{one.holds:.3f}") for one in measure(runs)]
    for row in (HEADINGS, *table):
        print(*row, sep="\t", flush=True)
    if len(sys.argv) > 2:
        with Path(sys.argv[2]).open("w", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows([HEADINGS, *table])


if __name__ == "__main__":
    main()
