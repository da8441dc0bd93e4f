"""Loose and strike found in made sounds whose answer is known, end to end to a speed, and where they can't be."""

from __future__ import annotations

import math

import numpy as np
import pytest

from server.physics.air import speed_of_sound_m_s
from server.physics.ranges import CantTell, OutOfRange
from server.physics.sound_onsets import LooseAndStrike, find_loose_and_strike, find_onsets
from server.physics.timing import speed_from_sound
from server.quantities import Uncertain
from tests.physics.made_sound import made_sound


@pytest.mark.parametrize("rate", [16_000.0, 44_100.0, 48_000.0])
@pytest.mark.parametrize("seed", range(6))
def test_loose_and_strike_of_a_made_sound_are_found_within_their_doubt(seed: int, rate: float) -> None:
    strike = 0.8 + np.random.default_rng(seed).uniform(0.2, 0.9)
    found = find_loose_and_strike(made_sound(seed=seed, rate=rate, strike_s=strike), rate)
    assert isinstance(found, LooseAndStrike)
    for onset, truth in ((found.loose, 0.8), (found.strike, strike)):
        u = onset.time_s.standard_uncertainty or 0
        assert 0 < u < 0.002
        assert abs(onset.time_s.value - truth) < 0.001
    between = found.between_s
    assert abs(between.value - (strike - 0.8)) < 4 * (between.standard_uncertainty or 0) + 1e-4


def test_over_many_made_sounds_the_doubt_is_neither_boast_nor_excuse() -> None:
    """Errors of 60 intervals beside their stated doubt: the root of the mean square near 1, no far outlier."""
    errors = []
    for seed in range(60):
        strike = 0.8 + np.random.default_rng(1000 + seed).uniform(0.2, 0.9)
        found = find_loose_and_strike(made_sound(seed=1000 + seed, strike_s=strike, hiss=0.004), 48_000.0)
        assert isinstance(found, LooseAndStrike)
        errors.append((found.between_s.value - (strike - 0.8)) / (found.between_s.standard_uncertainty or 1))
    assert 0.3 < math.sqrt(np.mean(np.square(errors))) < 1.7
    assert max(map(abs, errors)) < 6


@pytest.mark.parametrize("seed", range(5))
def test_from_a_made_sound_to_the_speed_it_was_made_from(seed: int) -> None:
    """54 m/s over 23 m, phone with the archer, 12 degrees: the strike comes 23/54 + 23/c after the loose."""
    kelvin = 285.15
    heard = 23 / 54 + 23 / speed_of_sound_m_s(kelvin)
    found = find_loose_and_strike(made_sound(seed=50 + seed, strike_s=0.8 + heard), 48_000.0)
    assert isinstance(found, LooseAndStrike)
    between = found.between_s
    speed = speed_from_sound(23.0, between.value, temperature_k=kelvin, seconds_u=between.standard_uncertainty or 0)
    assert isinstance(speed, Uncertain)
    assert speed.value == pytest.approx(54.0, rel=0.003)


def test_an_echo_of_the_loose_is_heard_too_and_left_for_the_finger() -> None:
    found = find_loose_and_strike(made_sound(seed=3, echo=0.04), 48_000.0)
    assert isinstance(found, LooseAndStrike)
    assert found.strike.time_s.value == pytest.approx(1.23, abs=0.001)
    assert any(abs(onset.time_s.value - 0.92) < 0.003 for onset in found.heard)


def test_the_time_looked_in_can_be_narrowed() -> None:
    """An echo louder than the strike would win; a shortest time past the echo puts it right."""
    sound = made_sound(seed=4, echo=0.45, strike=0.08)
    wrong = find_loose_and_strike(sound, 48_000.0)
    assert isinstance(wrong, LooseAndStrike) and wrong.strike.time_s.value == pytest.approx(0.92, abs=0.002)
    right = find_loose_and_strike(sound, 48_000.0, shortest_s=0.35)
    assert isinstance(right, LooseAndStrike) and right.strike.time_s.value == pytest.approx(1.23, abs=0.001)


def test_scale_and_a_shift_in_time_change_nothing_but_the_time() -> None:
    sound = made_sound(seed=9)
    found = find_loose_and_strike(sound, 48_000.0)
    loud = find_loose_and_strike(20_000 * sound, 48_000.0)
    assert isinstance(found, LooseAndStrike) and isinstance(loud, LooseAndStrike)
    assert loud.between_s.value == pytest.approx(found.between_s.value, abs=1e-9)
    late = find_loose_and_strike(np.concatenate([sound[:24_000], sound]), 48_000.0)
    assert isinstance(late, LooseAndStrike)
    assert late.loose.time_s.value == pytest.approx(found.loose.time_s.value + 0.5, abs=1e-4)


def test_wind_and_a_voice_alone_are_no_shot() -> None:
    quiet = made_sound(seed=1, loose=0.0, strike=0.0)
    assert find_onsets(quiet, 48_000.0) == ()
    assert isinstance(find_loose_and_strike(quiet, 48_000.0), CantTell)
    assert find_onsets(np.zeros(48_000), 48_000.0) == ()


def test_one_noise_is_not_two_and_two_too_close_are_not_a_flight() -> None:
    one = find_loose_and_strike(made_sound(seed=1, strike=0.0), 48_000.0)
    assert isinstance(one, CantTell) and "fewer than two" in one.reason
    close = find_loose_and_strike(made_sound(seed=2, strike_s=1.0), 48_000.0, shortest_s=0.4)
    assert isinstance(close, CantTell) and "far apart" in close.reason


def test_digital_silence_between_the_noises_is_no_trouble() -> None:
    sound = made_sound(seed=5, hiss=0.0, rumble=0.0)
    found = find_loose_and_strike(sound, 48_000.0)
    assert isinstance(found, LooseAndStrike)
    assert found.between_s.value == pytest.approx(0.43, abs=0.001)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda s: find_onsets(s, 4_000.0), "sample_rate_hz"),
        (lambda s: find_onsets(s[:1000], 48_000.0), "seconds"),
        (lambda s: find_onsets(np.zeros(8_000 * 130), 8_000.0), "seconds"),
        (lambda s: find_onsets(s.reshape(2, -1), 48_000.0), "samples"),
        (lambda s: find_onsets(np.where(np.arange(s.size) == 7, np.nan, s), 48_000.0), "samples"),
        (lambda s: find_onsets(s, 48_000.0, low_hz=9_000.0), "low_hz"),
        (lambda s: find_onsets(s, 48_000.0, high_hz=-1.0), "high_hz"),
        (lambda s: find_loose_and_strike(s, 48_000.0, shortest_s=6.0), "shortest_s"),
    ],
)
def test_recordings_that_cant_be_read_are_refused_and_named(call, name: str) -> None:
    with pytest.raises(OutOfRange) as caught:
        call(made_sound(seed=1))
    assert caught.value.name == name
