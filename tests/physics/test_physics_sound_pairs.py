"""Which of several noises are loose and hit: in cases that are plain by hand, and counted over made recordings."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from proofyard.physics.sound_pairs import KnownFlight, LooseAndHit, Onset, loose_and_hit_of
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange

from tests.bench.sound_search import measure

# 23 m at 54 m/s, 68 ms for the sound's way back: the hit comes 494 ms after the loose.
WAY = KnownFlight(23.0, 0.068)
OWN = KnownFlight(23.0, 0.068, Uncertain(54.0, 1.0))


def noises(*them: tuple[float, float]) -> tuple[Onset, ...]:
    return tuple(Onset(Uncertain(t, 0.0002, math.inf), db) for t, db in them)


def chosen(found: LooseAndHit | CantTell) -> tuple[float, float]:
    assert isinstance(found, LooseAndHit)
    return found.loose.time_s.value, found.hit.time_s.value


@pytest.mark.parametrize("echo_db", [20.0, 29.0, 32.0])
def test_of_two_alike_the_earlier_is_the_loose(echo_db: float) -> None:
    """An echo follows what it repeats, even where the wall makes it louder."""
    heard = noises((0.8, 30.0), (0.9, echo_db), (1.294, 22.0))
    assert chosen(loose_and_hit_of(heard, flight=WAY)) == (0.8, 1.294)
    assert chosen(loose_and_hit_of(heard, flight=OWN)) == (0.8, 1.294)


def test_an_echo_that_no_arrow_could_have_outrun_is_not_the_hit() -> None:
    """0.12 s after the loose is 442 m/s over 23 m, however loud it is."""
    heard = noises((0.8, 33.0), (0.92, 33.0), (1.294, 15.0))
    found = loose_and_hit_of(heard, flight=WAY)
    assert chosen(found) == (0.8, 1.294)
    assert isinstance(loose_and_hit_of(heard[:2], flight=WAY), CantTell)
    assert isinstance(loose_and_hit_of(noises((0.8, 30.0), (2.5, 30.0)), flight=WAY), CantTell)  # 14 m/s
    assert isinstance(loose_and_hit_of(noises((0.8, 30.0), (0.86, 30.0)), flight=WAY), CantTell)  # before the sound is back


def test_a_knock_before_the_loose_is_told_by_the_combinations_own_speed_or_by_the_uncertainty() -> None:
    heard = noises((0.5, 31.0), (0.8, 32.0), (1.294, 24.0))
    alone, with_way, with_own = (loose_and_hit_of(heard, flight=flight) for flight in (None, WAY, OWN))
    assert isinstance(alone, LooseAndHit) and isinstance(with_way, LooseAndHit) and isinstance(with_own, LooseAndHit)
    assert chosen(with_own) == (0.8, 1.294) and with_own.others == ()
    for found in (alone, with_way):
        assert abs(found.between_s.value - 0.494) <= 2 * (found.between_s.standard_uncertainty or 0)


def test_where_two_pairs_do_equally_well_twice_the_uncertainty_reaches_the_other() -> None:
    heard = noises((0.8, 30.0), (1.25, 22.0), (1.294, 22.0))
    found = loose_and_hit_of(heard, flight=WAY)
    assert isinstance(found, LooseAndHit) and len(found.others) >= 1
    assert 2 * (found.between_s.standard_uncertainty or 0) >= 0.044


def test_a_plain_pair_keeps_its_own_small_uncertainty() -> None:
    found = loose_and_hit_of(noises((0.8, 30.0), (1.294, 22.0)), flight=WAY)
    assert isinstance(found, LooseAndHit)
    assert found.between_s.standard_uncertainty == pytest.approx(0.0002 * math.sqrt(2))


@pytest.mark.parametrize(
    ("make", "name"),
    [
        (lambda: KnownFlight(0.0), "distance_m"),
        (lambda: KnownFlight(500.0), "distance_m"),
        (lambda: KnownFlight(20.0, 3.0), "sound_s"),
        (lambda: KnownFlight(20.0, 0.1, Uncertain(0.0, 1.0)), "speed_m_s"),
        (lambda: loose_and_hit_of((), shortest_s=0.0), "shortest_s"),
        (lambda: loose_and_hit_of((), longest_s=-1.0), "longest_s"),
    ],
)
def test_what_no_flight_is_is_refused(make: Callable[..., object], name: str) -> None:
    with pytest.raises(OutOfRange) as caught:
        make()
    assert caught.value.name == name


# Counted by tests/bench/sound_search.py on 24 recordings of each scene. Before: echoes 28 to 88 % off by more than 5 ms
# with a stated 0.05 to 0.25 ms, knocks 87 %, wind 55 to 90 %; twice the stated uncertainty held 10 to 72 % of those.
MOST_OFF = {"plain": 0.0, "far": 0.0, "noisy": 0.0, "echoes": 0.1, "strong echoes": 0.1, "knock": 0.15, "wind": 0.3}


@pytest.mark.slow
@pytest.mark.parametrize("recordings", [10, pytest.param(24, marks=pytest.mark.long)])
@pytest.mark.parametrize("scene", MOST_OFF)
def test_over_many_recordings_few_are_far_off_and_the_stated_uncertainty_holds(scene: str, recordings: int) -> None:
    found = measure(recordings, first_seed=500, scenes=[scene])
    for way in ("sound", "levels"):
        own, way_only, nothing = (found[scene, way, told] for told in ("own speed", "way", "nothing"))
        assert own.far_off <= MOST_OFF[scene], (way, own.far_off)
        for tally in (own, way_only, nothing):
            assert tally.not_found <= 4
            assert tally.held >= 0.87, (way, tally.held)  # of 24: 21, where 95 % would give 22.8
        if scene in ("plain", "far", "noisy"):
            assert own.with_uncertainty == way_only.with_uncertainty == nothing.with_uncertainty == 0
