"""Which two of the noises in a recording are the release and the hit: the one place that weighs them.

A wall echoes the release, wind knocks on the microphone, something is put down before the shot. Each pair of noises is
weighed by how well it accounts for all the others and by the speed that it would mean; pairs that would do nearly as
well count in the uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, because, must_be_above_zero, must_lie_between

# Arrows of hand-drawn bows: nothing outside the first two is taken for a flight; the others say how speeds spread.
# Common practice, no source.
SLOWEST_M_S, FASTEST_M_S = 20.0, 120.0
USUAL_M_S, USUAL_SPREAD = 50.0, 0.25
# A combination's own speed is trusted no nearer than this, and one shot in fifty is taken to have another cause.
OWN_SPREAD, NOT_OWN = 0.04, 0.02

# How dear it is to call a noise something else, in natural logarithms of odds. Set on made recordings other than those
# that tests and tests/bench/sound_search.py count.
STRAY, STRAY_PER_DB, FAINTEST_DB = 0.5, 0.1, 9.0
ECHO, ECHO_DYING_S, ECHO_AT_MOST_DB, ECHO_WITHIN_S = 0.3, 0.15, 3.0, 0.35
MOST_NOISES = 60  # beyond, only the loudest are weighed
COUNTED_SHARE = 0.01  # the answer leaves room for every pair with this share of the weight


@dataclass(frozen=True)
class Onset:
    """Where one noise begins, from the start of the recording, and how far it stands above the quiet, in decibels."""

    time_s: Uncertain
    loudness_db: float


@dataclass(frozen=True)
class KnownFlight:
    """What is known of a flight before its sound is searched: the way, what the sound's own travel adds, the usual speed.

    `speed_m_s` is the combination's own with the uncertainty of one shot, None where it has none yet.
    """

    distance_m: float
    sound_s: float = 0.0
    speed_m_s: Uncertain | None = None

    def __post_init__(self) -> None:
        must_be_above_zero("distance_m", self.distance_m)
        must_lie_between("distance_m", self.distance_m, low=0.0, high=400.0)
        must_lie_between("sound_s", self.sound_s, low=-2.0, high=2.0)
        if self.speed_m_s is not None:
            must_be_above_zero("speed_m_s", self.speed_m_s.value)

    def speed_of(self, between_s: float) -> float:
        """Speed that this time between the two noises would mean; endless where no time is left to fly in."""
        flying = between_s - self.sound_s
        return self.distance_m / flying if flying > 0 else math.inf

    def odds_of(self, speed_m_s: float) -> float:
        """Natural logarithm of how usual a speed is; minus infinity for one that no arrow has."""
        if not SLOWEST_M_S <= speed_m_s <= FASTEST_M_S:
            return -math.inf
        any_arrow = _bell(math.log(speed_m_s / USUAL_M_S), USUAL_SPREAD)
        if self.speed_m_s is None:
            return math.log(any_arrow)
        own = max(OWN_SPREAD, (self.speed_m_s.standard_uncertainty or 0.0) / self.speed_m_s.value)
        return math.log((1 - NOT_OWN) * _bell(math.log(speed_m_s / self.speed_m_s.value), own) + NOT_OWN * any_arrow)


@dataclass(frozen=True)
class LooseAndHit:
    """The two noises taken for release and hit, and all that were heard, so that you can choose others.

    `others`: pairs that would do nearly as well, best first.
    """

    loose: Onset
    hit: Onset
    heard: tuple[Onset, ...]
    others: tuple[tuple[Onset, Onset], ...] = ()

    @property
    def between_s(self) -> Uncertain:
        """Time from release to hit as heard; the sound's own travel is still in it.

        Twice its standard uncertainty reaches every pair that would do nearly as well.
        """
        first, second = self.loose.time_s, self.hit.time_s
        value = second.value - first.value
        u = math.hypot(first.standard_uncertainty or 0.0, second.standard_uncertainty or 0.0)
        furthest = max((abs(b.time_s.value - a.time_s.value - value) for a, b in self.others), default=0.0)
        return Uncertain(value, u + furthest / 2, math.inf)


def loose_and_hit_of(
    heard: Sequence[Onset], *, shortest_s: float = 0.05, longest_s: float = 5.0, flight: KnownFlight | None = None
) -> LooseAndHit | CantTell:
    """The two of several noises that are most likely the release and the hit.

    ln odds = - sum of what it costs to call each other noise an echo or a stray + ln p(speed)

    Takes
        heard       noises in order of time, as sound_onsets finds them
        shortest_s  scalar, s, above 0    nothing sooner after the release is taken for the hit
        longest_s   scalar, s, above 0    nor anything later
        flight      KnownFlight or None   the way flown and, if known, the combination's own speed
    Gives
        LooseAndHit, with every other pair that holds a hundredth of the weight; CantTell when fewer than two noises
        stand out, or none lie as far apart as a flight lasts
    Refuses
        OutOfRange  shortest_s or longest_s not above 0
    Holds while
        release and hit are both among the noises. An echo follows what it repeats, within a third of a second and at
        most 3 dB louder; so of two alike the earlier is taken
    Source
        Our own rule: pairs weighed as by Bayes' theorem; tried on made recordings in tests/bench/sound_search.py, tested in
        tests/physics/test_physics_sound_pairs.py
    >>> noises = [Onset(Uncertain(t, 0.0002), db) for t, db in ((0.8, 30.0), (0.92, 31.0), (1.29, 22.0))]
    >>> found = loose_and_hit_of(noises, flight=KnownFlight(23.0, 0.068))
    >>> found.loose.time_s.value, found.hit.time_s.value, len(found.others)
    (0.8, 1.29, 1)
    """
    must_be_above_zero("shortest_s", shortest_s)
    must_be_above_zero("longest_s", longest_s)
    if len(heard) < 2:
        return CantTell(because("fewer_than_two_noises"))
    weighed = sorted(sorted(heard, key=lambda one: -one.loudness_db)[:MOST_NOISES], key=lambda one: one.time_s.value)
    odds = {
        (n, m): value
        for n in range(len(weighed))
        for m in range(n + 1, len(weighed))
        if math.isfinite(value := _odds(weighed, n, m, (shortest_s, longest_s), flight))
    }
    if not odds:
        if flight is None:
            return CantTell(because("no_two_noises_far_enough"))
        return CantTell(
            because("no_two_noises_fit_the_flight", slowest_m_s=SLOWEST_M_S, fastest_m_s=FASTEST_M_S, distance_m=flight.distance_m)
        )
    best = max(odds, key=lambda pair: (odds[pair], -pair[0], -pair[1]))
    weights = {pair: math.exp(value - odds[best]) for pair, value in odds.items()}
    whole = math.fsum(weights.values())
    order = sorted((pair for pair in weights if pair != best and weights[pair] >= COUNTED_SHARE * whole), key=lambda pair: -weights[pair])
    return LooseAndHit(weighed[best[0]], weighed[best[1]], tuple(heard), tuple((weighed[n], weighed[m]) for n, m in order))


def _odds(heard: Sequence[Onset], loose: int, hit: int, bounds: tuple[float, float], flight: KnownFlight | None) -> float:
    between = heard[hit].time_s.value - heard[loose].time_s.value
    if not bounds[0] <= between <= bounds[1]:
        return -math.inf
    speed = 0.0 if flight is None else flight.odds_of(flight.speed_of(between))
    if not math.isfinite(speed):
        return speed
    return speed - math.fsum(
        min(_as_stray(one), _as_echo(one, heard[loose]), _as_echo(one, heard[hit])) for n, one in enumerate(heard) if n not in (loose, hit)
    )


def _as_stray(noise: Onset) -> float:
    return STRAY + STRAY_PER_DB * max(0.0, noise.loudness_db - FAINTEST_DB)


def _as_echo(noise: Onset, source: Onset) -> float:
    late = noise.time_s.value - source.time_s.value
    if not 0 < late <= ECHO_WITHIN_S or noise.loudness_db > source.loudness_db + ECHO_AT_MOST_DB:
        return math.inf
    return ECHO + late / ECHO_DYING_S


def _bell(away: float, spread: float) -> float:
    return math.exp(-((away / spread) ** 2) / 2) / spread
