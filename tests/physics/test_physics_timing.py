"""Frames and sound: laws, Monte Carlo, and what is refused."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.physics.air import speed_of_sound_m_s
from proofyard.physics.timing import speed_from_frames, speed_from_sound
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange


@given(st.floats(0.5, 50.0), st.integers(3, 500), st.floats(24.0, 2000.0))
def test_the_speed_lies_between_slowest_and_fastest_and_more_frames_are_surer(d: float, n: int, rate: float) -> None:
    found = speed_from_frames(d, n, frame_rate_hz=rate)
    assert found.slowest_m_s < found.speed_m_s.value < found.fastest_m_s
    twice = speed_from_frames(2 * d, 2 * n, frame_rate_hz=rate)
    assert twice.speed_m_s.value == pytest.approx(found.speed_m_s.value)
    assert (twice.speed_m_s.standard_uncertainty or 0) == pytest.approx((found.speed_m_s.standard_uncertainty or 0) / 2)


def test_uncertainty_of_a_frame_count_is_what_monte_carlo_finds() -> None:
    rng = np.random.default_rng(5)
    n = 40 + rng.uniform(-0.5, 0.5, 200_000) - rng.uniform(-0.5, 0.5, 200_000)
    drawn = rng.normal(5.0, 0.02, 200_000) * rng.normal(240.0, 0.5, 200_000) / n
    found = speed_from_frames(5.0, 40, frame_rate_hz=240.0, distance_u_m=0.02, frame_rate_u_hz=0.5)
    assert found.speed_m_s.standard_uncertainty == pytest.approx(drawn.std(), rel=0.01)


@given(st.floats(30.0, 80.0), st.floats(5.0, 60.0), st.floats(260.0, 315.0), st.floats(0.0, 1.0))
def test_a_flight_heard_from_anywhere_along_it_gives_its_speed_back(v: float, d: float, t: float, where: float) -> None:
    c = speed_of_sound_m_s(t)
    a, b = where * d, (1 - where) * d
    heard = d / v + (b - a) / c
    found = speed_from_sound(d, heard, temperature_k=t, seconds_u=0.0, microphone_to_bow_m=a, microphone_to_target_m=b)
    assert isinstance(found, Uncertain)
    assert found.value == pytest.approx(v, rel=1e-6)


def test_uncertainty_of_a_speed_by_sound_is_what_monte_carlo_finds() -> None:
    rng = np.random.default_rng(6)
    n = 200_000
    d, heard, kelvin = rng.normal(20.0, 0.1, n), rng.normal(0.430, 0.003, n), rng.normal(288.15, 6.0, n)
    drawn = d / (heard - d / (331.3 * np.sqrt(kelvin / 273.15)))
    found = speed_from_sound(20.0, 0.430, temperature_k=288.15, seconds_u=0.003, distance_u_m=0.1, temperature_u_k=6.0)
    assert isinstance(found, Uncertain)
    assert found.standard_uncertainty == pytest.approx(drawn.std(), rel=0.01)


@pytest.mark.parametrize("heard", [0.05, 20.0 / 340.276, 0.0605])
def test_a_hit_heard_before_sound_could_come_cant_be_told(heard: float) -> None:
    assert isinstance(speed_from_sound(20.0, heard, temperature_k=288.15, seconds_u=0.001), CantTell)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: speed_from_frames(3.0, 1, frame_rate_hz=240), "frames"),
        (lambda: speed_from_frames(3.0, 0, frame_rate_hz=240), "frames"),
        (lambda: speed_from_frames(0.0, 12, frame_rate_hz=240), "distance_m"),
        (lambda: speed_from_frames(3.0, 12, frame_rate_hz=math.nan), "frame_rate_hz"),
        (lambda: speed_from_frames(3.0, 12, frame_rate_hz=240, frames_each_end=-1), "frames_each_end"),
        (lambda: speed_from_sound(20.0, 0.43, temperature_k=15.0, seconds_u=0.001), "temperature_k"),
        (lambda: speed_from_sound(20.0, 0.43, temperature_k=288.15, seconds_u=-0.001), "seconds_u"),
        (lambda: speed_from_sound(20.0, -0.43, temperature_k=288.15, seconds_u=0.001), "seconds_heard"),
        (lambda: speed_from_sound(500.0, 0.43, temperature_k=288.15, seconds_u=0.001), "distance_m"),
        (lambda: speed_from_sound(20, 0.43, temperature_k=288.15, seconds_u=0, microphone_to_target_m=25.0), "microphone_to_target_m"),
        (
            lambda: speed_from_sound(20, 0.43, temperature_k=288.15, seconds_u=0, microphone_to_bow_m=5.0, microphone_to_target_m=6.0),
            "microphone_to_bow_m",
        ),
    ],
)
def test_timings_that_cant_be_are_refused_and_named(call: Callable[..., object], name: str) -> None:
    with pytest.raises(OutOfRange) as caught:
        call()
    assert caught.value.name == name
