"""A value with its uncertainty refuses what cannot be one."""

from dataclasses import FrozenInstanceError
from math import inf, nan
from typing import Any

import pytest
from proofyard.quantities import Uncertain


@pytest.mark.parametrize("value", [nan, inf, -inf])
def test_a_value_is_finite(value: Any) -> None:
    with pytest.raises(ValueError, match="the value"):
        Uncertain(value, 1.0)


@pytest.mark.parametrize("uncertainty", [nan, inf, -0.1])
def test_an_uncertainty_is_finite_and_not_below_nothing(uncertainty: Any) -> None:
    with pytest.raises(ValueError, match="standard uncertainty"):
        Uncertain(1.0, uncertainty)


@pytest.mark.parametrize("dof", [nan, 0.0, -3.0])
def test_degrees_of_freedom_are_above_nothing(dof: Any) -> None:
    with pytest.raises(ValueError, match="degrees of freedom"):
        Uncertain(1.0, 0.1, dof=dof)


def test_a_value_rests_on_one_reading_at_least() -> None:
    with pytest.raises(ValueError, match="readings"):
        Uncertain(1.0, 0.1, n=0)


def test_what_is_not_known_may_be_left_open() -> None:
    assert Uncertain(1.0, None) == Uncertain(1.0, None, None, None)


def test_an_uncertainty_known_exactly_has_endless_degrees_of_freedom() -> None:
    assert Uncertain(1.0, 0.0, dof=inf, n=1).dof == inf


def test_an_uncertain_value_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        Uncertain(1.0, 0.1).value = 2.0
