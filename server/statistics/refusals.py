"""Two ways not to answer.

`CantUse` is an error: what came in can't be a count, a level, a reading (5 hits of 3 shots).
`CantTell` is a value: what came in is fine and the answer isn't in it (a share of 0 shots).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from operator import index


class CantUse(ValueError):
    """Something that no honest record could hold. Keeps its parts; the page makes the sentence."""

    def __init__(self, name: str, value: object, expected: str) -> None:
        super().__init__(name, value, expected)
        self.name = name
        self.value = value
        self.expected = expected

    def __str__(self) -> str:
        return f"{self.name} = {self.value!r}, expected {self.expected}"


@dataclass(frozen=True)
class CantTell:
    """Stands where a result would, with the reason in words that a page can print."""

    reason: str


def as_count(name: str, value: object) -> int:
    """A whole number, 0 or more. True is refused: a yes is not one shot. 2.0 is refused: counts aren't measured."""
    if isinstance(value, bool):
        raise CantUse(name, value, "a whole number, 0 or more")
    try:
        count = index(value)  # type: ignore[arg-type]
    except TypeError:
        raise CantUse(name, value, "a whole number, 0 or more") from None
    if count < 0:
        raise CantUse(name, value, "a whole number, 0 or more")
    return count


def as_level(level: float) -> float:
    """A confidence level from 0.5 up to, not including, 1. Below a half an interval need not hold its own estimate."""
    if not 0.5 <= level < 1:
        raise CantUse("level", level, "from 0.5 up to, not including, 1")
    return float(level)


def as_readings(name: str, values: Iterable[float]) -> tuple[float, ...]:
    """Finite numbers, in the order they were taken."""
    readings = tuple(float(value) for value in values)
    for value in readings:
        if not math.isfinite(value):
            raise CantUse(name, value, "finite numbers")
    return readings


def as_width(name: str, value: float) -> float:
    """A spread, a half-width, an uncertainty: finite, 0 or more."""
    if not (math.isfinite(value) and value >= 0):
        raise CantUse(name, value, "0 or more and finite")
    return float(value)
