"""Loose and strike in a sound recording: two short noises that begin at once, found where they begin.

A noise begins where the recording's energy, in a band where bows and butts are loud and wind and voices aren't, rises
out of what went before. The exact moment is then the one that best parts the quiet from the loud.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from server.physics.ranges import CantTell, OutOfRange, must_be_above_zero, must_lie_between
from server.quantities import Uncertain

Samples = npt.NDArray[np.float64]

SLOWEST_RECORDING_HZ, FASTEST_RECORDING_HZ = 8_000.0, 200_000.0
LONGEST_S = 120.0
SHORT_S = 0.001  # energy is taken over windows of this length
DEAD_S = 0.03  # a noise's own ringing isn't another noise
BEFORE_S, AFTER_S = 0.015, 0.006  # how far about the rise the exact moment is looked for
LOUDER = 8.0  # a noise stands this many times above what is usual in the recording, in energy
FASTER = 6.0  # and this many times above the hundredth of a second before it


@dataclass(frozen=True)
class Onset:
    """Where one noise begins, from the start of the recording, and how far it stands above the quiet, in decibels."""

    time_s: Uncertain
    loudness_db: float


@dataclass(frozen=True)
class LooseAndStrike:
    """The two noises taken for loose and strike, and all that were heard, for a finger to choose otherwise."""

    loose: Onset
    strike: Onset
    heard: tuple[Onset, ...]

    @property
    def between_s(self) -> Uncertain:
        """Time from loose to strike as heard; the sound's own travel is still in it."""
        first, second = self.loose.time_s, self.strike.time_s
        u = math.hypot(first.standard_uncertainty or 0.0, second.standard_uncertainty or 0.0)
        return Uncertain(second.value - first.value, u, math.inf)


def find_loose_and_strike(
    samples: Samples,
    sample_rate_hz: float,
    *,
    shortest_s: float = 0.05,
    longest_s: float = 5.0,
    low_hz: float = 600.0,
    high_hz: float = 8000.0,
) -> LooseAndStrike | CantTell:
    """When the arrow left and when it struck, in a recording.

    Of all noises the two loudest that lie shortest_s to longest_s apart; onsets as find_onsets

    Takes
        samples         array of numbers      one channel, any scale
        sample_rate_hz  scalar, 1/s, 8,000 to 200,000
        shortest_s      scalar, s, above 0    nothing sooner after the loose is taken for the strike
        longest_s       scalar, s, above 0    nor anything later
        low_hz          scalar, 1/s, above 0  where the band begins that is listened to
        high_hz         scalar, 1/s, above 0  where it ends; cut to 0.45 of the sample rate
    Gives
        LooseAndStrike; CantTell when fewer than two noises stand out, or no two lie that far apart
    Refuses
        OutOfRange  what find_onsets refuses, shortest_s not below longest_s
    Holds while
        nothing louder than loose and strike is in the recording. An echo, a dropped bow or a shout can be: look at the
        trace, and put it right by finger
    Source
        Our own rule; tested on made sounds with a known answer in tests/physics/test_physics_sound.py
    >>> quiet = np.random.default_rng(1).normal(0, 0.001, 48000)
    >>> for at in (9600, 33600):
    ...     quiet[at : at + 480] += np.random.default_rng(at).normal(0, 0.3, 480)
    >>> round(find_loose_and_strike(quiet, 48000.0).between_s.value, 3)
    0.5
    """
    must_be_above_zero("shortest_s", shortest_s)
    must_be_above_zero("longest_s", longest_s)
    if shortest_s >= longest_s:
        raise OutOfRange("shortest_s", shortest_s, f"below longest_s, {longest_s:g}")
    return _two_of(find_onsets(samples, sample_rate_hz, low_hz=low_hz, high_hz=high_hz), shortest_s, longest_s)


def find_loose_and_strike_in_levels(
    levels: Samples, step_s: float, *, shortest_s: float = 0.05, longest_s: float = 5.0
) -> LooseAndStrike | CantTell:
    """When the arrow left and when it struck, from how loud a recording is from step to step, without the sound itself.

    As find_loose_and_strike; onsets as find_onsets, with mean energies of steps in place of squared samples

    Takes
        levels      array of numbers, 0 or more         mean energy of each step, of the band from 600 Hz to 8 kHz
        step_s      scalar, s, 0.0001 to 0.001          length of a step
        shortest_s  scalar, s, above 0                  nothing sooner after the loose is taken for the strike
        longest_s   scalar, s, above 0                  nor anything later
    Gives
        LooseAndStrike; CantTell as find_loose_and_strike. A noise that begins within a step is put in its middle, and
        the step counts in the uncertainty as a rectangle
    Refuses
        OutOfRange  a step out of range, more than 120 s or less than a tenth, a level below 0 or not finite, more than
                    one channel, shortest_s not below longest_s
    Holds while
        as find_loose_and_strike; the band was filtered forwards only, since a filter that runs both ways lets a noise
        ring before it begins
    Source
        Our own rule, as find_loose_and_strike; step as a rectangle: JCGM 100:2008 (GUM), 4.3.7. Tested on made sounds
        with a known answer in tests/physics/test_physics_sound_levels.py
    >>> levels = np.full(2000, 1e-6)
    >>> levels[400:440] = levels[1400:1440] = 1e-2
    >>> round(find_loose_and_strike_in_levels(levels, 0.0005).between_s.value, 3)
    0.5
    """
    must_be_above_zero("shortest_s", shortest_s)
    must_be_above_zero("longest_s", longest_s)
    if shortest_s >= longest_s:
        raise OutOfRange("shortest_s", shortest_s, f"below longest_s, {longest_s:g}")
    must_lie_between("step_s", step_s, low=0.0001, high=0.001)
    energy = np.asarray(levels, dtype=np.float64)
    if energy.ndim != 1:
        raise OutOfRange("levels", float(energy.ndim), "one channel")
    must_lie_between("seconds", energy.size * step_s, low=0.1, high=LONGEST_S)
    if not bool((np.isfinite(energy) & (energy >= 0)).all()):
        raise OutOfRange("levels", math.nan, "finite numbers, 0 or more")
    usual = _usual(energy)
    onsets = []
    for n in _rises(energy, usual, 1, 1 / step_s) if usual else ():
        # The root of a mean energy stands for each step's samples; steps count once, which errs on the wide side.
        moment, width = _parting(np.sqrt(energy), n, 1 / step_s)
        peak = float(energy[n : n + max(1, round(DEAD_S / step_s))].max())
        u = math.hypot(width, step_s / math.sqrt(12))
        onsets.append(Onset(Uncertain(moment + step_s / 2, u, math.inf), 10 * math.log10(peak / usual)))
    return _two_of(tuple(onsets), shortest_s, longest_s)


def _two_of(heard: tuple[Onset, ...], shortest_s: float, longest_s: float) -> LooseAndStrike | CantTell:
    """The two loudest that lie far enough apart and near enough."""
    if len(heard) < 2:
        return CantTell("fewer than two noises stand out: mark loose and strike by finger")
    pairs = [
        (first, second)
        for n, first in enumerate(heard)
        for second in heard[n + 1 :]
        if shortest_s <= second.time_s.value - first.time_s.value <= longest_s
    ]
    if not pairs:
        return CantTell("no two noises lie as far apart as loose and strike do: mark them by finger")
    # Loudness in decibels adds up as the product of energies: both must be loud, one very loud one isn't enough.
    loose, strike = max(pairs, key=lambda pair: pair[0].loudness_db + pair[1].loudness_db)
    return LooseAndStrike(loose, strike, heard)


def find_onsets(
    samples: Samples, sample_rate_hz: float, *, low_hz: float = 600.0, high_hz: float = 8000.0
) -> tuple[Onset, ...]:
    """Every noise that begins at once in a recording, in order, with how surely its beginning is known.

    AIC(k) = k ln var(x_1..x_k) + (n - k) ln var(x_k+1..x_n), least where quiet and loud part; the moments about it
    weigh exp(-(AIC - least)/2)

    Takes
        samples         array of numbers      one channel, any scale
        sample_rate_hz  scalar, 1/s, 8,000 to 200,000
        low_hz          scalar, 1/s, above 0  where the band begins that is listened to
        high_hz         scalar, 1/s, above 0  where it ends; cut to 0.45 of the sample rate
    Gives
        tuple of Onset; empty when nothing stands out. The uncertainty is that of the weights and half a period of the
        band's upper end, never under a sample's step
    Refuses
        OutOfRange  sample rate out of range, recording longer than 120 s or shorter than a tenth, a sample that isn't
                    finite, a band that isn't one, more than one channel
    Holds while
        the noise rises within a few milliseconds. One that swells is found late
    Source
        The parting by AIC: N. Maeda, A method for reading and checking phase times in auto-processing system of
        seismic wave data, Zisin 38 (1985) 365-379 (from memory). Tested on made sounds with a known answer in
        tests/physics/test_physics_sound.py
    >>> quiet = np.random.default_rng(1).normal(0, 0.001, 48000)
    >>> quiet[12000:12480] += np.random.default_rng(2).normal(0, 0.3, 480)
    >>> [round(found.time_s.value, 3) for found in find_onsets(quiet, 48000.0)]
    [0.25]
    """
    sound = _checked(samples, sample_rate_hz)
    must_be_above_zero("low_hz", low_hz)
    must_be_above_zero("high_hz", high_hz)
    top = min(high_hz, 0.45 * sample_rate_hz)
    if low_hz >= top:
        raise OutOfRange("low_hz", low_hz, f"below {top:g}, where the band ends")
    heard = _in_band(sound, sample_rate_hz, low_hz, top)
    window = max(2, round(SHORT_S * sample_rate_hz))
    energy = _energy(heard, window)
    usual = _usual(energy)
    if usual == 0.0:
        return ()
    onsets = []
    for n in _rises(energy, usual, window, sample_rate_hz):
        start = n * window
        moment, width = _parting(heard, start, sample_rate_hz)
        peak = float(energy[n : n + max(1, round(DEAD_S / SHORT_S))].max())
        u = math.hypot(width, 1 / (2 * top) / math.sqrt(3), 1 / sample_rate_hz / math.sqrt(12))
        onsets.append(Onset(Uncertain(moment, u, math.inf), 10 * math.log10(peak / usual)))
    return tuple(onsets)


def _checked(samples: Samples, sample_rate_hz: float) -> Samples:
    must_lie_between("sample_rate_hz", sample_rate_hz, low=SLOWEST_RECORDING_HZ, high=FASTEST_RECORDING_HZ)
    sound = np.asarray(samples, dtype=np.float64)
    if sound.ndim != 1:
        raise OutOfRange("samples", float(sound.ndim), "one channel")
    must_lie_between("seconds", sound.size / sample_rate_hz, low=0.1, high=LONGEST_S)
    if not bool(np.isfinite(sound).all()):
        raise OutOfRange("samples", math.nan, "finite numbers")
    largest = float(np.abs(sound).max())
    return sound / largest if largest > 0 else sound


def _in_band(sound: Samples, rate: float, low_hz: float, high_hz: float) -> Samples:
    """Only forwards: a filter that runs both ways would let a noise ring before it begins."""
    from scipy.signal import butter, sosfilt

    return np.asarray(sosfilt(butter(2, (low_hz, high_hz), "bandpass", fs=rate, output="sos"), sound))


def _energy(heard: Samples, window: int) -> Samples:
    whole = heard[: heard.size // window * window].reshape(-1, window)
    return np.asarray((whole**2).mean(axis=1))


def _usual(energy: Samples) -> float:
    """How loud it mostly is; 0 only for a recording of nothing."""
    usual = float(np.median(energy))
    # Digital silence between the noises: compare with the loudest instead.
    return usual if usual > 0 else float(energy.max()) * 1e-6


def _rises(energy: Samples, usual: float, window: int, rate: float) -> list[int]:
    """Windows in which a noise begins: loud beside the usual and beside the moment before; its ringing is passed by."""
    before, dead = max(1, round(0.01 * rate / window)), max(1, round(DEAD_S * rate / window))
    found: list[int] = []
    for n in range(1, energy.size):
        if found and n - found[-1] < dead:
            continue
        just_before = max(float(energy[max(0, n - before) : n].mean()), usual / LOUDER)
        if energy[n] > LOUDER * usual and energy[n] > FASTER * just_before:
            found.append(n)
    return found


def _parting(heard: Samples, start: int, rate: float) -> tuple[float, float]:
    """The moment that parts quiet from loud, in seconds, and the standard deviation of the moments that would do."""
    first = max(0, start - round(BEFORE_S * rate))
    piece = heard[first : start + round(AFTER_S * rate)]
    n = piece.size
    # The least energy that counts: without it, exact silence has a logarithm without end.
    floor = 1e-12 * float((piece**2).max())
    squares = np.cumsum(piece**2)
    k = np.arange(4, n - 4)
    quiet = np.maximum(squares[k - 1] / k, floor)
    loud = np.maximum((squares[-1] - squares[k - 1]) / (n - k), floor)
    aic = k * np.log(quiet) + (n - k) * np.log(loud)
    weights = np.exp(-(aic - aic.min()) / 2)
    weights /= weights.sum()
    mean = float((weights * k).sum())
    width = math.sqrt(max(0.0, float((weights * (k - mean) ** 2).sum())))
    return (first + mean) / rate, width / rate
