"""More shots than can be seen one by one: ranges of energy, and how many shots each holds. Every shot is in one of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from proofyard.charts.figure import many
from proofyard.charts.scale import LinearScale, decimals_for, nice_step, number_text

MOST_MARKS = 300  # on a drawing as wide as a hand marks of 12 lie on each other by then (common practice, no source)
ABOUT = 24  # ranges: then one is as wide as a mark


@dataclass(frozen=True)
class Ranges:
    """An axis cut into ranges of one width; what lies beyond its ends is counted in the outermost."""

    step: float
    first: int
    last: int

    @classmethod
    def of(cls, scale: LinearScale, about: int = ABOUT) -> Ranges:
        step = nice_step(scale.high - scale.low, about)
        return cls(step, math.floor(scale.low / step + 1e-9), math.ceil(scale.high / step - 1e-9) - 1)

    def at(self, value: float) -> int:
        """Which range a value is in: from its lower end up to, and without, its upper one."""
        return min(max(math.floor(value / self.step + 1e-9), self.first), self.last)

    def ends(self, at: int) -> tuple[float, float]:
        return at * self.step, (at + 1) * self.step

    def words(self, at: int) -> str:
        """ "60 to 65"."""
        low, high = (number_text(end, decimals_for(self.step)) for end in self.ends(at))
        return f"{low} to {high}"

    def width(self) -> str:
        return number_text(self.step, decimals_for(self.step))


@dataclass(frozen=True)
class Places:
    """Places in an order, 1 first, cut into ranges of as many each: "1 to 50"."""

    step: int
    count: int

    @classmethod
    def of(cls, last: int, about: int = ABOUT) -> Places:
        step = max(1, math.ceil(nice_step(last, about)))
        return cls(step, -(-last // step))

    def at(self, order: int) -> int:
        return (order - 1) // self.step

    def words(self, at: int) -> str:
        return f"{at * self.step + 1} to {(at + 1) * self.step}" if self.step > 1 else str(at + 1)


def sized(count: int, most: int) -> float:
    """The side, or radius, of a mark whose area grows with how many it holds: 1 for the fullest."""
    return math.sqrt(count / most)


def said_of_all(count: int, what: str, *, of: str = "shot") -> str:
    """That no mark is one of them, and that none is left out."""
    return f"Too many to draw one by one: {what}, and each of the {many(count, of)} is in one."
