"""Air: which way it goes with heat, height and damp, Monte Carlo, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.air import (
    air_density_kg_m3,
    air_density_with_uncertainty,
    air_viscosity_pa_s,
    pressure_at_height_pa,
    saturation_vapour_pressure_pa,
    speed_of_sound_m_s,
)
from proofyard.quantities.reason import OutOfRange

kelvins = st.floats(253.15, 318.15)
pressures = st.floats(60_000.0, 109_000.0)
humidities = st.floats(0.0, 1.0)


@given(kelvins, pressures, humidities)
def test_warm_damp_or_thin_air_is_lighter(t: float, p: float, h: float) -> None:
    here = air_density_kg_m3(t, p, relative_humidity=h)
    assert 0.5 < here < 1.6
    assert air_density_kg_m3(t + 5, p, relative_humidity=h) < here
    assert air_density_kg_m3(t, p + 1000, relative_humidity=h) > here
    if h <= 0.9:
        assert air_density_kg_m3(t, p, relative_humidity=h + 0.1) < here


@given(kelvins)
def test_warm_air_carries_sound_faster_holds_more_water_and_is_thicker(t: float) -> None:
    for formula in (speed_of_sound_m_s, saturation_vapour_pressure_pa, air_viscosity_pa_s):
        assert formula(t + 5) > formula(t)


@given(st.floats(-500.0, 3900.0))
def test_pressure_falls_with_height_by_about_1_2_per_cent_each_100_m(h: float) -> None:
    ratio = pressure_at_height_pa(h + 100) / pressure_at_height_pa(h)
    assert 0.986 < ratio < 0.990


def test_uncertainty_of_a_density_is_what_monte_carlo_finds() -> None:
    rng = np.random.default_rng(7)
    found = air_density_with_uncertainty(283.15, 99_000.0, relative_humidity=0.5, temperature_u_k=1.5, pressure_u_pa=400.0, humidity_u=0.08)
    draws = [
        air_density_kg_m3(t, p, relative_humidity=h)
        for t, p, h in zip(
            rng.normal(283.15, 1.5, 20_000), rng.normal(99_000, 400, 20_000), rng.normal(0.5, 0.08, 20_000).clip(0, 1), strict=True
        )
    ]
    assert found.standard_uncertainty == pytest.approx(np.std(draws), rel=0.02)


def test_a_humidity_of_nothing_with_an_uncertainty_is_stepped_to_one_side() -> None:
    sure = {"temperature_u_k": 0.0, "pressure_u_pa": 0.0}
    at_edge = air_density_with_uncertainty(293.15, 101325.0, relative_humidity=0.0, humidity_u=0.1, **sure)
    inside = air_density_with_uncertainty(293.15, 101325.0, relative_humidity=0.5, humidity_u=0.1, **sure)
    assert at_edge.standard_uncertainty == pytest.approx(inside.standard_uncertainty, rel=0.01)
    none = air_density_with_uncertainty(293.15, 101325.0, relative_humidity=0.5, humidity_u=0.0, **sure)
    assert none.standard_uncertainty == 0


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: air_density_kg_m3(15.0, 101325.0, relative_humidity=0.5), "temperature_k"),  # Celsius by mistake
        (lambda: air_density_kg_m3(288.15, 1013.25, relative_humidity=0.5), "pressure_pa"),  # hectopascals
        (lambda: air_density_kg_m3(288.15, 101325.0, relative_humidity=50), "relative_humidity"),  # per cent
        (lambda: air_density_kg_m3(math.nan, 101325.0, relative_humidity=0.5), "temperature_k"),
        (lambda: air_density_kg_m3(288.15, math.inf, relative_humidity=0.5), "pressure_pa"),
        (lambda: speed_of_sound_m_s(15.0), "temperature_k"),
        (lambda: air_viscosity_pa_s(400.0), "temperature_k"),
        (lambda: pressure_at_height_pa(9000.0), "height_m"),
        (
            lambda: air_density_with_uncertainty(
                288.15, 101325.0, relative_humidity=0.5, temperature_u_k=-1, pressure_u_pa=0, humidity_u=0
            ),
            "temperature_u_k",
        ),
    ],
)
def test_air_that_is_nobodys_is_refused_and_named(call: Callable[..., object], name: str) -> None:
    with pytest.raises(OutOfRange) as caught:
        call()
    assert caught.value.name == name
