"""The two ways in which a formula doesn't answer, and the checks behind them.

`OutOfRange` is an error: the formula doesn't cover what came in. `CantTell` is a value: what came in is fine, and the
answer isn't in it (two arrows too alike to tell a virtual mass from).

An error keeps its parts; the page makes the sentence. `mass_kg = -0.01, expected above 0` is for the log,
"The arrow's mass must be above 0 g" is for the reader, and only the page knows which field and unit they typed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class CantTell:
    """Stands where a result would, with the reason in words that a page can print."""

    reason: str


class OutOfRange(ValueError):
    """A formula was asked about a number that it doesn't cover."""

    def __init__(self, name: str, value: float, expected: str) -> None:
        super().__init__(name, value, expected)
        self.name = name
        self.value = value
        self.expected = expected

    def __str__(self) -> str:
        return f"{self.name} = {self.value!r}, expected {self.expected}"


def must_be_above_zero(name: str, value: float) -> None:
    """Refuse 0, anything below it, infinity and NaN."""
    if not (math.isfinite(value) and value > 0):
        raise OutOfRange(name, value, "above 0 and finite")


def must_not_be_negative(name: str, value: float) -> None:
    """Refuse anything below 0, infinity and NaN. The comparison is written so that NaN fails it."""
    if not (math.isfinite(value) and value >= 0):
        raise OutOfRange(name, value, "0 or more and finite")


def must_be_finite_result(name: str, value: float) -> float:
    """Refuse an answer too large for a float: 1e200 kg at 1e200 m/s is finite going in and infinite coming out."""
    if not math.isfinite(value):
        raise OutOfRange(name, value, "inputs whose result a number can hold")
    return value


def must_lie_between(name: str, value: float, *, low: float, high: float) -> None:
    """Refuse anything outside low to high, both ends allowed, and NaN."""
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRange(name, value, f"{low:g} to {high:g}")
