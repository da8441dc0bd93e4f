"""Energy and momentum: their laws, and what they refuse."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.energy import (
    kinetic_energy_j,
    kinetic_energy_relative_uncertainty,
    kinetic_energy_uncertainty_j,
    momentum_kg_m_s,
    momentum_relative_uncertainty,
    momentum_uncertainty_kg_m_s,
)
from proofyard.quantities.reason import OutOfRange, because

masses = st.floats(1e-3, 1.0)
speeds = st.floats(0.1, 500.0)
factors = st.floats(0.01, 100.0)
shares = st.floats(0.0, 0.2)


@given(masses, speeds)
def test_twice_the_speed_is_four_times_the_energy(mass_kg: float, speed_m_s: float) -> None:
    assert kinetic_energy_j(mass_kg, 2 * speed_m_s) == pytest.approx(4 * kinetic_energy_j(mass_kg, speed_m_s))


@given(masses, speeds, factors)
def test_energy_goes_with_mass_and_with_speed_squared(mass_kg: float, speed_m_s: float, factor: float) -> None:
    energy = kinetic_energy_j(mass_kg, speed_m_s)
    assert kinetic_energy_j(factor * mass_kg, speed_m_s) == pytest.approx(factor * energy)
    assert kinetic_energy_j(mass_kg, factor * speed_m_s) == pytest.approx(factor**2 * energy)


@given(masses, speeds, factors)
def test_momentum_goes_with_mass_and_with_speed(mass_kg: float, speed_m_s: float, factor: float) -> None:
    momentum = momentum_kg_m_s(mass_kg, speed_m_s)
    assert momentum_kg_m_s(factor * mass_kg, speed_m_s) == pytest.approx(factor * momentum)
    assert momentum_kg_m_s(mass_kg, factor * speed_m_s) == pytest.approx(factor * momentum)


@given(masses, speeds)
def test_energy_is_momentum_squared_over_twice_the_mass(mass_kg: float, speed_m_s: float) -> None:
    assert kinetic_energy_j(mass_kg, speed_m_s) == pytest.approx(momentum_kg_m_s(mass_kg, speed_m_s) ** 2 / 2 / mass_kg)


@given(masses, speeds, shares, shares)
def test_both_ways_to_the_uncertainty_of_an_energy_agree(mass_kg: float, speed_m_s: float, of_m: float, of_v: float) -> None:
    uncertainty = kinetic_energy_uncertainty_j(mass_kg, speed_m_s, mass_u_kg=of_m * mass_kg, speed_u_m_s=of_v * speed_m_s)
    share = kinetic_energy_relative_uncertainty(of_m, of_v)
    assert uncertainty == pytest.approx(share * kinetic_energy_j(mass_kg, speed_m_s))


@given(masses, speeds, shares, shares)
def test_both_ways_to_the_uncertainty_of_a_momentum_agree(mass_kg: float, speed_m_s: float, of_m: float, of_v: float) -> None:
    uncertainty = momentum_uncertainty_kg_m_s(mass_kg, speed_m_s, mass_u_kg=of_m * mass_kg, speed_u_m_s=of_v * speed_m_s)
    assert uncertainty == pytest.approx(momentum_relative_uncertainty(of_m, of_v) * momentum_kg_m_s(mass_kg, speed_m_s))


@given(masses, speeds)
def test_the_uncertainty_is_the_slope_of_the_energy(mass_kg: float, speed_m_s: float) -> None:
    """The derivatives taken by hand, against a small step up and down."""
    step = 1e-5
    by_speed = (kinetic_energy_j(mass_kg, speed_m_s * (1 + step)) - kinetic_energy_j(mass_kg, speed_m_s * (1 - step))) / 2
    uncertainty = kinetic_energy_uncertainty_j(mass_kg, speed_m_s, mass_u_kg=0.0, speed_u_m_s=speed_m_s * step)
    assert uncertainty == pytest.approx(by_speed, rel=1e-6)
    by_mass = (kinetic_energy_j(mass_kg * (1 + step), speed_m_s) - kinetic_energy_j(mass_kg * (1 - step), speed_m_s)) / 2
    uncertainty = kinetic_energy_uncertainty_j(mass_kg, speed_m_s, mass_u_kg=mass_kg * step, speed_u_m_s=0.0)
    assert uncertainty == pytest.approx(by_mass, rel=1e-6)


@given(masses, speeds, shares, shares, st.floats(1.0, 3.0))
def test_more_uncertainty_going_in_is_never_less_coming_out(m: float, v: float, of_m: float, of_v: float, more: float) -> None:
    assert kinetic_energy_relative_uncertainty(of_m, more * of_v) >= kinetic_energy_relative_uncertainty(of_m, of_v)
    assert kinetic_energy_uncertainty_j(m, v, mass_u_kg=more * of_m * m, speed_u_m_s=of_v * v) >= kinetic_energy_uncertainty_j(
        m, v, mass_u_kg=of_m * m, speed_u_m_s=of_v * v
    )


def test_an_arrow_at_rest_has_neither_energy_nor_momentum() -> None:
    assert kinetic_energy_j(0.06, 0.0) == 0.0
    assert momentum_kg_m_s(0.06, 0.0) == 0.0


NOT_FINITE = (math.nan, math.inf, -math.inf)


@pytest.mark.parametrize("mass_kg", [0.0, -0.06, *NOT_FINITE])
def test_a_mass_that_no_arrow_has_is_refused_and_named(mass_kg: float) -> None:
    uncertainties = {"mass_u_kg": 0.0001, "speed_u_m_s": 0.35}
    for formula in (kinetic_energy_j, momentum_kg_m_s):
        with pytest.raises(OutOfRange) as caught:
            formula(mass_kg, 52.4)
        assert caught.value.name == "mass_kg"
        assert caught.value.expected == because("above_zero")
    for uncertainty_of in (kinetic_energy_uncertainty_j, momentum_uncertainty_kg_m_s):
        with pytest.raises(OutOfRange, match="mass_kg"):
            uncertainty_of(mass_kg, 52.4, **uncertainties)


@pytest.mark.parametrize("bad", [-1e-9, *NOT_FINITE])
@pytest.mark.parametrize("name", ["speed_m_s", "mass_u_kg", "speed_u_m_s"])
def test_a_speed_or_an_uncertainty_below_nothing_is_refused_and_named(name: str, bad: float) -> None:
    given_values = {"mass_kg": 0.06, "speed_m_s": 52.4, "mass_u_kg": 0.0001, "speed_u_m_s": 0.35, name: bad}
    for formula in (kinetic_energy_uncertainty_j, momentum_uncertainty_kg_m_s):
        with pytest.raises(OutOfRange) as caught:
            formula(**given_values)
        assert caught.value.name == name
    if name == "speed_m_s":
        for plain in (kinetic_energy_j, momentum_kg_m_s):
            with pytest.raises(OutOfRange, match="speed_m_s"):
                plain(0.06, bad)


@pytest.mark.parametrize("bad", [-1e-9, *NOT_FINITE])
def test_a_share_below_nothing_is_refused(bad: float) -> None:
    for formula in (kinetic_energy_relative_uncertainty, momentum_relative_uncertainty):
        with pytest.raises(OutOfRange, match="mass_relative_u"):
            formula(bad, 0.01)
        with pytest.raises(OutOfRange, match="speed_relative_u"):
            formula(0.01, bad)


def test_an_answer_too_large_for_a_number_is_refused_not_infinite() -> None:
    with pytest.raises(OutOfRange, match="kinetic_energy_j"):
        kinetic_energy_j(1.0, 1e200)
    with pytest.raises(OutOfRange, match="momentum_kg_m_s"):
        momentum_kg_m_s(1e200, 1e200)
    with pytest.raises(OutOfRange, match="kinetic_energy_relative_uncertainty"):
        kinetic_energy_relative_uncertainty(0.0, 1e308)


def test_the_refusal_says_what_was_found_and_what_is_expected() -> None:
    with pytest.raises(OutOfRange) as caught:
        kinetic_energy_j(-0.01, 52.4)
    assert str(caught.value) == "mass_kg = -0.01, expected above_zero"
