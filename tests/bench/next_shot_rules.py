"""How near the 50 % point comes after 20 shots, by three rules of choosing them: the table of the guide to planning.

    python tests/bench/next_shot_rules.py [runs a cell] [--write]

Each run has a true curve (half at 38 or 52 J; slope 4, 8 or 16 a unit of ln(energy)) and a start: what the archers think
the half is, true (good) or a factor of 1.5 off (bad, towards the middle of what they can shoot with). At hand are 12
combinations from 24 to 83 J, each 12 % above the last; a shot's own energy scatters about its combination's by 3 %.

  fixed levels   five energies set beforehand, those at hand nearest to equal ratios from the start / 1.5 to the start
                 x 1.5, four shots at each, in random order
  up and down    from the start, one combination down after a shot that got through, one up after one that was stopped
  narrow         the first shot at the start, then whichever combination is expected to narrow the half most

The same estimate for all: the 50 % point of the penalised fit, kept within the energies at hand; where there is no fit,
the lowest energy shot if all got through, the highest if none, their middle (by logarithm) if the curve falls.
Error: root mean square of ln(estimate / truth). Coverage, of narrow (for others: coverage_of_fifty_percent): an interval without an end, or
a point not placed, counts as
holding the truth, since it claims nothing wrong; the share of those, and how often the bounded ones hold it, stand beside.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from itertools import product
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.quantities.reason import CantTell
from proofyard.statistics.fifty_percent_point import Curve, EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.next_shot import NarrowingShot, NextByOutcome, enough, next_by_outcome, next_to_narrow

SHOTS = 20
AT_HAND = tuple(24 * 1.12**k for k in range(12))
UNEVEN = (24.0, 26.0, 33.0, 35.0, 47.0, 50.0, 68.0, 83.0)
TRUTHS, SLOPES, STARTS = (38.0, 52.0), (4.0, 8.0, 16.0), {"good": 1.0, "bad": 1.5}
SCATTER = 0.03
RULES = ("fixed levels", "up and down", "narrow")
GUIDE = Path(__file__).resolve().parents[2] / "static" / "guide" / "planning.md"
HEADING = "## How near 20 shots come, by simulation\n"


@dataclass(frozen=True)
class Yard:
    """What is true, where the archers begin, and what they can shoot with."""

    fifty_percent_j: float
    slope: float
    start_j: float
    at_hand: tuple[float, ...] = AT_HAND

    def shoot(self, energy_j: float, lots: np.random.Generator) -> tuple[float, int]:
        own = energy_j * math.exp(SCATTER * lots.standard_normal())
        return own, int(lots.random() < 1 / (1 + (own / self.fifty_percent_j) ** -self.slope))

    def nearest(self, energy_j: float) -> float:
        return min(self.at_hand, key=lambda one: abs(math.log(one / energy_j)))


Shots = tuple[list[float], list[int]]


def by_fixed_levels(yard: Yard, lots: np.random.Generator, shots: int = SHOTS) -> Shots:
    outcome_levels = [yard.nearest(yard.start_j * 1.5 ** (k / 2 - 1)) for k in range(5)]
    order = lots.permutation(np.repeat(outcome_levels, math.ceil(shots / 5)))[:shots]
    found = [yard.shoot(float(energy), lots) for energy in order]
    return [energy for energy, _ in found], [hit for _, hit in found]


def by_up_and_down(yard: Yard, lots: np.random.Generator, shots: int = SHOTS) -> Shots:
    meant = yard.nearest(yard.start_j)
    energies: list[float] = []
    through: list[int] = []
    for shot in range(shots):
        if shot:
            found = next_by_outcome(meant, through[-1], at_hand_j=yard.at_hand)
            assert isinstance(found, NextByOutcome)
            meant = found.energy_j
        energy, hit = yard.shoot(meant, lots)
        energies.append(energy)
        through.append(hit)
    return energies, through


def narrowed(yard: Yard, lots: np.random.Generator) -> Iterator[Shots]:
    """The shots so far, after each of them."""
    energies: list[float] = []
    through: list[int] = []
    while True:
        meant = yard.nearest(yard.start_j)
        if energies:
            found = next_to_narrow(energies, through, at_hand_j=yard.at_hand)
            assert isinstance(found, NarrowingShot)
            meant = found.best.energy_j
        energy, hit = yard.shoot(meant, lots)
        energies.append(energy)
        through.append(hit)
        yield energies, through


def by_narrowing(yard: Yard, lots: np.random.Generator, shots: int = SHOTS) -> Shots:
    return next(so_far for so_far in narrowed(yard, lots) if len(so_far[0]) == shots)


WAYS: Mapping[str, Callable[..., Shots]] = dict(zip(RULES, (by_fixed_levels, by_up_and_down, by_narrowing), strict=True))


def estimate(curve: Curve | CantTell, energies: list[float], through: list[int], at_hand: tuple[float, ...]) -> float:
    if isinstance(curve, CantTell):
        if sum(through) in (0, len(through)):
            return min(energies) if through[0] else max(energies)
        return math.exp(math.fsum(map(math.log, energies)) / len(energies))
    return math.exp(min(max(curve.middle, math.log(min(at_hand))), math.log(max(at_hand))))


@dataclass
class Tally:
    runs: int = 0
    squares: float = 0.0
    held: int = 0
    open: int = 0

    def add(self, yard: Yard, shots: Shots, *, interval: bool) -> None:
        curve = fit_curve(*shots)
        self.runs += 1
        self.squares += math.log(estimate(curve, *shots, yard.at_hand) / yard.fifty_percent_j) ** 2
        if not interval:
            return
        point = curve if isinstance(curve, CantTell) else fifty_percent_point(curve)
        self.held += holds(point, yard.fifty_percent_j)
        self.open += isinstance(point, CantTell) or point.low_j is None or point.high_j is None

    @property
    def error(self) -> float:
        return math.sqrt(self.squares / self.runs)

    @property
    def coverage(self) -> float:
        return self.held / self.runs

    @property
    def unbounded(self) -> float:
        return self.open / self.runs

    @property
    def bounded_coverage(self) -> float:
        return (self.held - self.open) / (self.runs - self.open) if self.runs > self.open else math.nan


def holds(point: EnergyPoint | CantTell, fifty_percent_j: float) -> bool:
    return isinstance(point, CantTell) or (point.low_j or 0.0) <= fifty_percent_j <= (point.high_j or math.inf)


Cell = tuple[float, float, str]
CELLS: tuple[Cell, ...] = tuple(product(SLOPES, TRUTHS, STARTS))


def yard_of(cell: Cell, at_hand: tuple[float, ...] = AT_HAND) -> Yard:
    slope, half, start = cell
    off = STARTS[start]
    # A bad start lies towards the middle of what is at hand: the other way there would be no levels to shoot.
    return Yard(half, slope, half * off if half < 45 else half / off, at_hand)


def measure(
    runs: int, *, rules: tuple[str, ...] = RULES, at_hand: tuple[float, ...] = AT_HAND, say: bool = False
) -> dict[Cell, dict[str, Tally]]:
    found: dict[Cell, dict[str, Tally]] = {}
    for nth, cell in enumerate(CELLS):
        yard = yard_of(cell, at_hand)
        found[cell] = {}
        for rule in rules:
            tally, lots = Tally(), np.random.default_rng([nth, RULES.index(rule)])
            for _ in range(runs):
                tally.add(yard, WAYS[rule](yard, lots), interval=rule != "fixed levels")
            found[cell][rule] = tally
        if say:
            held = found[cell]["narrow"]
            print(
                *cell,
                *(f"{rule} {t.error:.3f}" for rule, t in found[cell].items()),
                f"held {held.coverage:.3f} open {held.unbounded:.2f}",
                sep="\t",
                flush=True,
            )
    return found


def overall(found: Mapping[Cell, Mapping[str, Tally]], rule: str) -> float:
    """Geometric mean of the cells' errors."""
    return math.exp(math.fsum(math.log(tallies[rule].error) for tallies in found.values()) / len(found))


def stopped_at(width: float, runs: int, *, most: int = 40) -> list[tuple[float, float, float]]:
    """Slope, coverage and mean number of shots when the trial stops as soon as high end / low end <= width."""
    table = []
    for slope in SLOPES:
        yard, held, shots = yard_of((slope, 52.0, "good")), 0, 0
        lots = np.random.default_rng(int(slope))
        for _ in range(runs):
            for energies, through in narrowed(yard, lots):
                n = len(energies)
                if n < 6:
                    continue
                curve = fit_curve(energies, through)
                point = curve if isinstance(curve, CantTell) else fifty_percent_point(curve)
                if enough(point, n, planned_shots=most, wanted_width=width).stop:
                    held, shots = held + holds(point, yard.fifty_percent_j), shots + n
                    break
        table.append((slope, held / runs, shots / runs))
    return table


def as_guide(
    even: Mapping[Cell, Mapping[str, Tally]],
    uneven: Mapping[Cell, Mapping[str, Tally]],
    stopped: list[tuple[float, float, float]],
    runs: int,
) -> str:
    """The tables as the guide prints them."""
    lines = [
        f"{runs:,} runs a row. Error: root mean square of ln(estimate / truth), so 0.07 is about 7 %.",
        "",
        (
            "| Slope | 50 % energy, J | Start | Fixed levels | Up and down | Smallest interval | Smallest interval holds | of it "
            "unbounded | bounded ones hold | Up and down: unbounded |"
        ),
        "|---|---|---|---|---|---|---|---|---|---|",
    ]
    for (slope, half, start), tallies in even.items():
        errors = " | ".join(f"{tallies[rule].error:.3f}" for rule in RULES)
        own = tallies["narrow"]
        lines.append(
            f"| {slope:g} | {half:g} | {start} | {errors} | {own.coverage:.3f} | {own.unbounded:.2f} | {own.bounded_coverage:.3f} | "
            f"{tallies['up and down'].unbounded:.2f} |"
        )
    means = [overall(even, rule) for rule in RULES]
    cover = math.fsum(t["narrow"].coverage for t in even.values()) / len(even)
    least = min(t["narrow"].coverage for t in even.values())
    lines += [
        "| all | | | " + " | ".join(f"{one:.3f}" for one in means) + f" | {cover:.3f} | | | |",
        "",
        f"The error of smallest interval is {means[2] / means[0]:.2f} of that of fixed levels and {means[2] / means[1]:.2f} of that "
        f"of up and down (geometric mean of the rows). "
        f"Its interval holds the truth in {cover:.3f} of the runs, at least {least:.3f} in each row.",
        "",
        f"With uneven energies at hand ({', '.join(f'{one:g}' for one in UNEVEN)} J): up and down {overall(uneven, 'up and down'):.3f}, "
        f"smallest interval {overall(uneven, 'narrow'):.3f}, a ratio of {overall(uneven, 'narrow') / overall(uneven, 'up and down'):.2f}.",
        "",
        "Stopped as soon as the high end is no more than 1.5 times the low end, at most 40 shots (50 % energy at 52 J, good start):",
        "",
        "| Slope | Holds | Shots, on average |",
        "|---|---|---|",
        *(f"| {slope:g} | {held:.3f} | {shots:.1f} |" for slope, held, shots in stopped),
    ]
    return "\n".join(lines)


def main() -> None:
    numbers = [one for one in sys.argv[1:] if one.isdigit()]
    runs = int(numbers[0]) if numbers else 1000
    even = measure(runs, say=True)
    uneven = measure(max(1, runs // 2), rules=("up and down", "narrow"), at_hand=UNEVEN)
    text = as_guide(even, uneven, stopped_at(1.5, max(1, runs // 4)), runs)
    print(text)
    if "--write" in sys.argv:
        page = GUIDE.read_text(encoding="utf-8")
        before, rest = page.split(HEADING)
        after = rest.partition("\n## ")[2]
        GUIDE.write_text(f"{before}{HEADING}\n{text}\n\n## {after}", encoding="utf-8")


if __name__ == "__main__":
    main()
