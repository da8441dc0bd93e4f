"""Loose and hit found in made sounds whose answer is known, end to end to a speed, and where they can't be."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from proofyard.physics.air import speed_of_sound_m_s
from proofyard.physics.sound_onsets import find_loose_and_hit, find_onsets
from proofyard.physics.sound_pairs import LooseAndHit
from proofyard.physics.timing import speed_from_sound
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange, because

from tests.physics.made_sound import made_sound


@pytest.mark.parametrize("rate", [16_000.0, 44_100.0, 48_000.0])
@pytest.mark.parametrize("seed", range(6))
def test_loose_and_hit_of_a_made_sound_are_found_within_their_uncertainty(seed: int, rate: float) -> None:
    hit = 0.8 + np.random.default_rng(seed).uniform(0.2, 0.9)
    found = find_loose_and_hit(made_sound(seed=seed, rate=rate, hit_s=hit), rate)
    assert isinstance(found, LooseAndHit)
    for onset, truth in ((found.loose, 0.8), (found.hit, hit)):
        u = onset.time_s.standard_uncertainty or 0
        assert 0 < u < 0.002
        assert abs(onset.time_s.value - truth) < 0.001
    between = found.between_s
    assert abs(between.value - (hit - 0.8)) < 4 * (between.standard_uncertainty or 0) + 1e-4


def test_over_many_made_sounds_the_uncertainty_is_neither_boast_nor_excuse() -> None:
    """Errors of 60 intervals beside their stated uncertainty: the root of the mean square near 1, no far outlier."""
    errors = []
    for seed in range(60):
        hit = 0.8 + np.random.default_rng(1000 + seed).uniform(0.2, 0.9)
        found = find_loose_and_hit(made_sound(seed=1000 + seed, hit_s=hit, hiss=0.004), 48_000.0)
        assert isinstance(found, LooseAndHit)
        errors.append((found.between_s.value - (hit - 0.8)) / (found.between_s.standard_uncertainty or 1))
    assert 0.3 < math.sqrt(np.mean(np.square(errors))) < 1.7
    assert max(map(abs, errors)) < 6


@pytest.mark.parametrize("seed", range(5))
def test_from_a_made_sound_to_the_speed_it_was_made_from(seed: int) -> None:
    """54 m/s over 23 m, phone with the archer, 12 degrees: the hit comes 23/54 + 23/c after the loose."""
    kelvin = 285.15
    heard = 23 / 54 + 23 / speed_of_sound_m_s(kelvin)
    found = find_loose_and_hit(made_sound(seed=50 + seed, hit_s=0.8 + heard), 48_000.0)
    assert isinstance(found, LooseAndHit)
    between = found.between_s
    speed = speed_from_sound(23.0, between.value, temperature_k=kelvin, seconds_u=between.standard_uncertainty or 0)
    assert isinstance(speed, Uncertain)
    assert speed.value == pytest.approx(54.0, rel=0.003)


def test_an_echo_of_the_shot_is_heard_too_and_left_to_the_hand() -> None:
    found = find_loose_and_hit(made_sound(seed=3, echo=0.04), 48_000.0)
    assert isinstance(found, LooseAndHit)
    assert found.hit.time_s.value == pytest.approx(1.23, abs=0.001)
    assert any(abs(onset.time_s.value - 0.92) < 0.003 for onset in found.heard)


def test_an_echo_louder_than_the_hit_is_not_taken_for_it() -> None:
    sound = made_sound(seed=4, echo=0.45, hit=0.08)
    found = find_loose_and_hit(sound, 48_000.0)
    assert isinstance(found, LooseAndHit) and found.hit.time_s.value == pytest.approx(1.23, abs=0.001)
    assert any(second.time_s.value == pytest.approx(0.92, abs=0.002) for _, second in found.others)
    assert 2 * (found.between_s.standard_uncertainty or 0) >= 0.31  # reaches the echo


def test_the_time_looked_in_can_be_narrowed() -> None:
    sound = made_sound(seed=4, echo=0.45, hit=0.08)
    early = find_loose_and_hit(sound, 48_000.0, longest_s=0.2)
    assert isinstance(early, LooseAndHit) and early.hit.time_s.value == pytest.approx(0.92, abs=0.002)
    late = find_loose_and_hit(sound, 48_000.0, shortest_s=0.35)
    assert isinstance(late, LooseAndHit) and late.hit.time_s.value == pytest.approx(1.23, abs=0.001)


def test_scale_and_a_shift_in_time_change_nothing_but_the_time() -> None:
    sound = made_sound(seed=9)
    found = find_loose_and_hit(sound, 48_000.0)
    loud = find_loose_and_hit(20_000 * sound, 48_000.0)
    assert isinstance(found, LooseAndHit) and isinstance(loud, LooseAndHit)
    assert loud.between_s.value == pytest.approx(found.between_s.value, abs=1e-9)
    late = find_loose_and_hit(np.concatenate([sound[:24_000], sound]), 48_000.0)
    assert isinstance(late, LooseAndHit)
    assert late.loose.time_s.value == pytest.approx(found.loose.time_s.value + 0.5, abs=1e-4)


def test_wind_and_a_voice_alone_are_no_shot() -> None:
    quiet = made_sound(seed=1, loose=0.0, hit=0.0)
    assert find_onsets(quiet, 48_000.0) == ()
    assert isinstance(find_loose_and_hit(quiet, 48_000.0), CantTell)
    assert find_onsets(np.zeros(48_000), 48_000.0) == ()


def test_one_noise_is_not_two_and_two_too_close_are_not_a_flight() -> None:
    one = find_loose_and_hit(made_sound(seed=1, hit=0.0), 48_000.0)
    assert one == CantTell(because("fewer_than_two_noises"))
    close = find_loose_and_hit(made_sound(seed=2, hit_s=1.0), 48_000.0, shortest_s=0.4)
    assert close == CantTell(because("no_two_noises_far_enough"))


def test_digital_silence_between_the_noises_is_no_trouble() -> None:
    sound = made_sound(seed=5, hiss=0.0, rumble=0.0)
    found = find_loose_and_hit(sound, 48_000.0)
    assert isinstance(found, LooseAndHit)
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
        (lambda s: find_loose_and_hit(s, 48_000.0, shortest_s=6.0), "shortest_s"),
    ],
)
def test_recordings_that_cant_be_read_are_refused_and_named(call: Callable[..., object], name: str) -> None:
    with pytest.raises(OutOfRange) as caught:
        call(made_sound(seed=1))
    assert caught.value.name == name
