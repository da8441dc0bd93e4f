"""The ruler itself: a check against print is worth no more than its tolerance."""

from __future__ import annotations

from collections.abc import Callable

import pytest


@pytest.mark.parametrize(
    ("value", "printed"), [(0.25444, "0.2544"), (92.62, "93"), (100.145, "100.14"), (2.24e-3, "2.2e-3"), (90.75, "90.75")]
)
def test_what_rounds_to_the_text_agrees(value: float, printed: str, as_printed: Callable[[float, str], None]) -> None:
    as_printed(value, printed)


@pytest.mark.parametrize(
    ("value", "printed"), [(0.25446, "0.2544"), (92.4, "93"), (2.26e-3, "2.2e-3"), (float("nan"), "1"), (3.31, "3.300")]
)
def test_what_rounds_to_another_text_does_not(value: float, printed: str, as_printed: Callable[[float, str], None]) -> None:
    with pytest.raises(AssertionError):
        as_printed(value, printed)
