"""Loose and hit found from how loud a made sound is, half a millisecond at a time: the answer is known."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from proofyard.physics.sound_onsets import find_loose_and_hit, find_loose_and_hit_in_levels
from proofyard.physics.sound_pairs import LooseAndHit
from proofyard.quantities.reason import CantTell, OutOfRange
from scipy.signal import butter, sosfilt

from tests.physics.made_sound import made_sound

STEP_S = 0.0005


def levels_of(sound: np.ndarray, rate: float = 48_000.0) -> np.ndarray:
    """As a phone makes them: a high pass, a low pass, the mean square of every half millisecond."""
    heard = sosfilt(butter(2, 600.0, "highpass", fs=rate, output="sos"), sound)
    heard = sosfilt(butter(2, 8000.0, "lowpass", fs=rate, output="sos"), heard)
    per = round(STEP_S * rate)
    levels: np.ndarray = (heard[: heard.size // per * per].reshape(-1, per) ** 2).mean(axis=1)
    return levels


@pytest.mark.parametrize("seed", range(8))
def test_loose_and_hit_are_found_within_a_millisecond_and_their_uncertainty(seed: int) -> None:
    hit = 0.8 + np.random.default_rng(seed).uniform(0.2, 0.9)
    found = find_loose_and_hit_in_levels(levels_of(made_sound(seed=seed, hit_s=hit)), STEP_S)
    assert isinstance(found, LooseAndHit)
    for onset, truth in ((found.loose, 0.8), (found.hit, hit)):
        assert abs(onset.time_s.value - truth) < 0.001
    between = found.between_s
    assert abs(between.value - (hit - 0.8)) < 4 * (between.standard_uncertainty or 0)


def test_over_many_made_sounds_the_uncertainty_is_neither_boast_nor_excuse() -> None:
    errors = []
    for seed in range(60):
        hit = 0.8 + np.random.default_rng(2000 + seed).uniform(0.2, 0.9)
        found = find_loose_and_hit_in_levels(levels_of(made_sound(seed=2000 + seed, hit_s=hit, hiss=0.004)), STEP_S)
        assert isinstance(found, LooseAndHit)
        errors.append((found.between_s.value - (hit - 0.8)) / (found.between_s.standard_uncertainty or 1))
    assert 0.2 < math.sqrt(np.mean(np.square(errors))) < 1.7
    assert max(map(abs, errors)) < 5


def test_it_agrees_with_the_search_in_the_sound_itself() -> None:
    for seed in range(5):
        sound = made_sound(seed=70 + seed)
        by_sound, by_level = find_loose_and_hit(sound, 48_000.0), find_loose_and_hit_in_levels(levels_of(sound), STEP_S)
        assert isinstance(by_sound, LooseAndHit) and isinstance(by_level, LooseAndHit)
        assert by_level.between_s.value == pytest.approx(by_sound.between_s.value, abs=0.001)


def test_levels_told_in_tenths_of_a_decibel_lose_nothing_that_matters() -> None:
    levels = levels_of(made_sound(seed=11))
    told = 10 ** (np.round(100 * np.log10(np.maximum(levels / levels.max(), 1e-12))) / 100)
    plain, rounded = (find_loose_and_hit_in_levels(one, STEP_S) for one in (levels, told))
    assert isinstance(plain, LooseAndHit) and isinstance(rounded, LooseAndHit)
    assert rounded.between_s.value == pytest.approx(plain.between_s.value, abs=2e-4)


def test_an_echo_is_passed_by_and_a_shorter_longest_time_takes_it() -> None:
    levels = levels_of(made_sound(seed=4, echo=0.45, hit=0.08))
    found = find_loose_and_hit_in_levels(levels, STEP_S)
    early = find_loose_and_hit_in_levels(levels, STEP_S, longest_s=0.2)
    assert isinstance(found, LooseAndHit) and found.hit.time_s.value == pytest.approx(1.23, abs=0.002)
    assert isinstance(early, LooseAndHit) and early.hit.time_s.value == pytest.approx(0.92, abs=0.002)


def test_quiet_alone_and_nothing_at_all_tell_no_shot() -> None:
    assert isinstance(find_loose_and_hit_in_levels(levels_of(made_sound(seed=1, loose=0.0, hit=0.0)), STEP_S), CantTell)
    assert isinstance(find_loose_and_hit_in_levels(np.zeros(4000), STEP_S), CantTell)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: find_loose_and_hit_in_levels(np.ones(4000), 0.01), "step_s"),
        (lambda: find_loose_and_hit_in_levels(np.ones(100), STEP_S), "seconds"),
        (lambda: find_loose_and_hit_in_levels(np.ones(300_000), STEP_S), "seconds"),
        (lambda: find_loose_and_hit_in_levels(np.ones((2, 4000)), STEP_S), "levels"),
        (lambda: find_loose_and_hit_in_levels(-np.ones(4000), STEP_S), "levels"),
        (lambda: find_loose_and_hit_in_levels(np.full(4000, np.nan), STEP_S), "levels"),
        (lambda: find_loose_and_hit_in_levels(np.ones(4000), STEP_S, shortest_s=9.0), "shortest_s"),
        (lambda: find_loose_and_hit_in_levels(np.ones(4000), STEP_S, longest_s=-1.0), "longest_s"),
    ],
)
def test_levels_that_cant_be_read_are_refused_and_named(call: Callable[..., object], name: str) -> None:
    with pytest.raises(OutOfRange) as caught:
        call()
    assert caught.value.name == name
