"""Figures that others printed, kept as they printed them: the text says how far we may differ."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal

import pytest


def agrees_with(value: float, printed: str) -> bool:
    """Whether a value rounds to the printed text: no further from it than half its last digit.

    "0.2544" allows 0.25435 to 0.25445, "93" allows 92.5 to 93.5, "2.2e-3" allows 2.15e-3 to 2.25e-3.
    """
    if not math.isfinite(value):
        return False
    figure = Decimal(printed)
    half = Decimal(1).scaleb(figure.as_tuple().exponent) / 2
    # A printer may round 100.145 either way, and a float lies a hair beside it.
    return abs(Decimal(value) - figure) <= half * (1 + Decimal("1e-6"))


@pytest.fixture
def as_printed() -> Callable[[float, str], None]:
    """as_printed(value, "0.2544") fails when the value doesn't round to that text."""

    def check(value: float, printed: str) -> None:
        assert agrees_with(value, printed), f"{value!r} does not round to the printed {printed}"

    return check
