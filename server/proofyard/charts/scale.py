"""Where a number stands on a drawing, and which round numbers to write beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class LinearScale:
    """Maps low..high onto start..end. end may be less than start: heights grow downwards in a drawing."""

    low: float
    high: float
    start: float
    end: float

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.low, self.high, self.start, self.end))):
            raise ValueError("a scale needs four finite numbers")
        if not self.low < self.high:
            raise ValueError(f"a scale needs low below high, not {self.low} and {self.high}")

    def __call__(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)

    def clamped(self, value: float) -> float:
        """As the scale itself, but a value outside stands at the nearer end. Infinity is allowed."""
        return self(min(max(value, self.low), self.high))

    def back(self, place: float) -> float:
        return self.low + (place - self.start) / (self.end - self.start) * (self.high - self.low)


def nice_step(span: float, about: int = 5) -> float:
    """1, 2 or 5 times a power of ten, so that `span` is cut into about so many parts."""
    if not (math.isfinite(span) and span > 0):
        raise ValueError(f"a step needs a span above 0, not {span}")
    rough = span / max(about, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    for factor in (1, 2, 5, 10):
        # The margin keeps 0.30000000000000004 from jumping to the next step.
        if rough <= factor * power * (1 + 1e-9):
            return factor * power
    return 10 * power


def decimals_for(step: float) -> int:
    """How many decimals the multiples of a step need: 0.5 needs one, 20 none."""
    return max(0, -math.floor(math.log10(step) + 1e-9))


def nice_ticks(low: float, high: float, about: int = 5) -> tuple[float, ...]:
    """The round numbers from low to high, ends included when they are round themselves."""
    if not low < high:
        raise ValueError(f"ticks need low below high, not {low} and {high}")
    finer = about
    while True:
        step = nice_step(high - low, finer)
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if first <= last:
            break
        finer += 1  # no multiple of so long a step lies between: from 1 to 400,002 there is no 500,000
    places = decimals_for(step)
    # Multiples of the step, not sums of it: three times 0.1 is not 0.1 + 0.1 + 0.1.
    return tuple(round(count * step, places) + 0.0 for count in range(first, last + 1))


def nice_length(most: float) -> float:
    """The longest of 1, 2, 5 times a power of ten that is no longer than `most`: for a scale bar."""
    if not (math.isfinite(most) and most > 0):
        raise ValueError(f"a length needs a limit above 0, not {most}")
    power = 10.0 ** math.floor(math.log10(most) + 1e-12)
    for factor in (10, 5, 2, 1):
        if factor * power <= most * (1 + 1e-9):
            return factor * power
    return power


def number_text(value: float, decimals: int = 0) -> str:
    """A number with so many decimals, a true minus sign, and never "-0"."""
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "\N{MINUS SIGN}")


def places_of(values: Sequence[float]) -> int:
    """How many decimals these need, four at most: 60 needs none, 2.5 one."""
    return next((places for places in range(4) if all(abs(value - round(value, places)) < 1e-9 for value in values)), 4)
