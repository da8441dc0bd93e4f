"""Why something is so, or can’t be told; and the errors of formulas that were asked about what they don’t cover."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from operator import index
from typing import TypeAlias

# A value and how well it is known.


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value in SI with its standard uncertainty (one standard deviation, same unit; None: not known).

    `dof` are the degrees of freedom behind the uncertainty; infinite for one that is known exactly, such as a
    rectangular half-width divided by the root of three (GUM G.4.3, from memory). `n` is how many readings it rests on.
    """

    value: float
    standard_uncertainty: float | None
    dof: float | None = None
    n: int | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.value):
            raise ValueError(f"the value has to be finite, not {self.value}")
        u = self.standard_uncertainty
        if u is not None and not (math.isfinite(u) and u >= 0):
            raise ValueError(f"the standard uncertainty has to be finite and 0 or more, not {u}")
        if self.dof is not None and (math.isnan(self.dof) or self.dof <= 0):
            raise ValueError(f"the degrees of freedom have to be above 0, not {self.dof}")
        if self.n is not None and self.n < 1:
            raise ValueError(f"the number of readings has to be 1 or more, not {self.n}")


# A reason is a code with its parts; `wording/reasons` makes the sentence. So it travels from the formula to the page, to a
# file, to the API without a word of prose: a copy edit touches one table, and a program reads the same reason as a person.
# Parts are in SI, counts or names; a unit stands in the part's name.

Part: TypeAlias = "str | int | float | bool | Uncertain | tuple[Part, ...] | Reason | None"
Json: TypeAlias = "str | int | float | bool | list[Json] | dict[str, Json] | None"


@dataclass(frozen=True)
class Reason:
    """Made by `because`. Two reasons with one code and the same parts are equal; it can stand in a set and be pickled."""

    code: str
    items: tuple[tuple[str, Part], ...] = ()

    @property
    def parts(self) -> dict[str, Part]:
        return dict(self.items)

    def as_json(self) -> dict[str, Json]:
        """What an API or a file carries: {"code": …, "parts": {…}}, reasons within it likewise."""
        return {"code": self.code, "parts": {name: _as_json(part) for name, part in self.items}}

    def __str__(self) -> str:
        """For the log, never for a page: `too_few_for_terms(needed=5, shots=3)`."""
        return f"{self.code}({', '.join(f'{name}={part!s}' for name, part in self.items)})" if self.items else self.code


def because(code: str, /, **parts: Part) -> Reason:
    """The reason of that code, its parts in the order of their names.

    `tests/contract/test_reasons.py` reads every call: the code is written out, has one sentence, and that sentence takes
    exactly these parts.

    >>> because("too_few_for_a_tail", shots=8, needed=26).parts
    {'needed': 26, 'shots': 8}
    """
    return Reason(code, tuple(sorted(parts.items())))


@dataclass(frozen=True)
class CantTell:
    """Stands where a result would: what came in is fine, and the answer isn't in it (a share of 0 shots)."""

    reason: Reason


def _as_json(part: Part) -> Json:
    if isinstance(part, Reason):
        return part.as_json()
    if isinstance(part, Uncertain):
        return {"value": part.value, "standard_uncertainty": part.standard_uncertainty}
    if isinstance(part, tuple):
        return [_as_json(one) for one in part]
    return part


# What can't be asked at all is an error, where "can't tell" is a value: there what came in is fine.
#
# An error keeps its parts; the page makes the sentence. `mass_kg = -0.01, expected above 0` is for the log,
# "The arrow's mass must be above 0 g" is for the reader, and only the page knows which field and unit they typed.


class _Refusal(ValueError):
    """What was given, by its name, and what was expected of it."""

    def __init__(self, name: str, value: object, expected: object) -> None:
        super().__init__(name, value, expected)
        self.name = name
        self.value = value

    def __str__(self) -> str:
        name, value, expected = self.args
        return f"{name} = {value!r}, expected {expected}"


class OutOfRange(_Refusal):
    """A formula was asked about a number that it doesn't cover."""

    def __init__(self, name: str, value: float, expected: Reason) -> None:
        super().__init__(name, value, expected)
        self.value: float = value
        self.expected = expected


def must_be_above_zero(name: str, value: float) -> None:
    """Refuse 0, anything below it, infinity and NaN."""
    if not (math.isfinite(value) and value > 0):
        raise OutOfRange(name, value, because("above_zero"))


def must_not_be_negative(name: str, value: float) -> None:
    """Refuse anything below 0, infinity and NaN. The comparison is written so that NaN fails it."""
    if not (math.isfinite(value) and value >= 0):
        raise OutOfRange(name, value, because("zero_or_more"))


def must_be_finite_result(name: str, value: float) -> float:
    """Refuse an answer too large for a float: 1e200 kg at 1e200 m/s is finite going in and infinite coming out."""
    if not math.isfinite(value):
        raise OutOfRange(name, value, because("a_result_too_large"))
    return value


def must_lie_between(name: str, value: float, *, low: float, high: float) -> None:
    """Refuse anything outside low to high, both ends allowed, and NaN."""
    if not (math.isfinite(value) and low <= value <= high):
        raise OutOfRange(name, value, because("between", low=low, high=high))


# The same for statistics: what came in can't be a count, a level, a reading (5 hits of 3 shots).


class CantUse(_Refusal):
    """Something that no honest record could hold. Pages don't let it come to that: its text is for the log."""

    def __init__(self, name: str, value: object, expected: str) -> None:
        super().__init__(name, value, expected)
        self.expected = expected


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


def as_one_or_more(name: str, value: object) -> int:
    """A whole number, 1 or more."""
    count = as_count(name, value)
    if count == 0:
        raise CantUse(name, value, "1 or more")
    return count


def as_level(level: float) -> float:
    """A confidence level from 0.5 up to, not including, 1. Below a half an interval need not hold its own estimate."""
    if not 0.5 <= level < 1:
        raise CantUse("level", level, "from 0.5 up to, not including, 1")
    return float(level)


def as_readings(name: str, values: Iterable[float]) -> tuple[float, ...]:
    """Finite numbers, in the order they were taken."""
    readings = tuple(map(float, values))
    for value in readings:
        if not math.isfinite(value):
            raise CantUse(name, value, "finite numbers")
    return readings


def as_width(name: str, value: float) -> float:
    """A spread, a half-width, an uncertainty: finite, 0 or more."""
    if not (math.isfinite(value) and value >= 0):
        raise CantUse(name, value, "0 or more and finite")
    return float(value)
