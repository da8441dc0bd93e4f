"""Release and hit in a sound recording: two short noises that begin at once, found where they begin.

A noise begins where the recording's energy, in a band where bows and butts are loud and wind and voices aren't, rises
out of what went before. The exact moment is then the one that best parts the quiet from the loud.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from proofyard.physics.sound_pairs import KnownFlight, LooseAndHit, Onset, loose_and_hit_of
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange, because, must_be_above_zero, must_lie_between

Samples = npt.NDArray[np.float64]

SLOWEST_RECORDING_HZ, FASTEST_RECORDING_HZ = 8_000.0, 200_000.0
LONGEST_S = 120.0
SHORT_S = 0.001  # energy is taken over windows of this length
DEAD_S = 0.03  # a noise's own ringing isn't another noise
BEFORE_S, AFTER_S = 0.015, 0.006  # how far about the rise the exact moment is looked for
LOUDER = 8.0  # a noise stands this many times above what is usual in the recording, in energy
HIGHER = 2.0  # and above the loudest thousandth of it: gusts come and go by themselves
HEARD_HZ = 7_400.0  # the band that levels are of
INDEPENDENT = 0.3  # of the 2 B t values that a band of width B gives in a time t: a ringing noise gives fewer
RISING_S = 0.0001  # bows and butts take some tenths of a millisecond to grow loud (common practice, no source)
FASTER = 6.0  # and this many times above the hundredth of a second before it


def find_loose_and_hit(
    samples: Samples,
    sample_rate_hz: float,
    *,
    shortest_s: float = 0.05,
    longest_s: float = 5.0,
    low_hz: float = 600.0,
    high_hz: float = 8000.0,
    flight: KnownFlight | None = None,
) -> LooseAndHit | CantTell:
    """When the arrow left and when it hit, in a recording.

    Of all noises the two that sound_pairs.loose_and_hit_of weighs most; onsets as find_onsets

    Takes
        samples         array of numbers      one channel, any scale
        sample_rate_hz  scalar, 1/s, 8,000 to 200,000
        shortest_s      scalar, s, above 0    nothing sooner after the release is taken for the hit
        longest_s       scalar, s, above 0    nor anything later
        low_hz          scalar, 1/s, above 0  where the band begins that is listened to
        high_hz         scalar, 1/s, above 0  where it ends; cut to 0.45 of the sample rate
        flight          KnownFlight or None   the way flown: pairs that no arrow could have flown between are passed by
    Gives
        LooseAndHit; CantTell when fewer than two noises stand out, or no two lie that far apart
    Refuses
        OutOfRange  what find_onsets refuses, shortest_s not below longest_s
    Holds while
        as loose_and_hit_of. Without the flight many pairs will do: the uncertainty says so, and you can set the marks yourself
    Source
        Our own rule; tested on made sounds with a known answer in tests/physics/test_physics_sound.py
    >>> quiet = np.random.default_rng(1).normal(0, 0.001, 48000)
    >>> for at in (9600, 33600):
    ...     quiet[at : at + 480] += np.random.default_rng(at).normal(0, 0.3, 480)
    >>> round(find_loose_and_hit(quiet, 48000.0).between_s.value, 3)
    0.5
    """
    must_be_above_zero("shortest_s", shortest_s)
    must_be_above_zero("longest_s", longest_s)
    if shortest_s >= longest_s:
        raise OutOfRange("shortest_s", shortest_s, because("below", limit=longest_s))
    heard = find_onsets(samples, sample_rate_hz, low_hz=low_hz, high_hz=high_hz)
    return loose_and_hit_of(heard, shortest_s=shortest_s, longest_s=longest_s, flight=flight)


def find_loose_and_hit_in_levels(
    levels: Samples, step_s: float, *, shortest_s: float = 0.05, longest_s: float = 5.0, flight: KnownFlight | None = None
) -> LooseAndHit | CantTell:
    """When the arrow left and when it hit, from how loud a recording is from step to step, without the sound itself.

    As find_loose_and_hit; onsets as find_onsets, with mean energies of steps in place of squared samples

    Takes
        levels      array of numbers, 0 or more         mean energy of each step, of the band from 600 Hz to 8 kHz
        step_s      scalar, s, 0.0001 to 0.001          length of a step
        shortest_s  scalar, s, above 0                  nothing sooner after the release is taken for the hit
        longest_s   scalar, s, above 0                  nor anything later
        flight      KnownFlight or None                 as find_loose_and_hit
    Gives
        LooseAndHit; CantTell as find_loose_and_hit. A noise that begins within a step is put in its middle, and
        the step counts in the uncertainty as a rectangle
    Refuses
        OutOfRange  a step out of range, more than 120 s or less than a tenth, a level below 0 or not finite, more than
                    one channel, shortest_s not below longest_s
    Holds while
        as find_loose_and_hit; the band was filtered forwards only, since a filter that runs both ways lets a noise
        ring before it begins
    Source
        Our own rule, as find_loose_and_hit; step as a rectangle: JCGM 100:2008 (GUM), 4.3.7. Tested on made sounds
        with a known answer in tests/physics/test_physics_sound_levels.py
    >>> levels = np.full(2000, 1e-6)
    >>> levels[400:440] = levels[1400:1440] = 1e-2
    >>> round(find_loose_and_hit_in_levels(levels, 0.0005).between_s.value, 3)
    0.5
    """
    must_be_above_zero("shortest_s", shortest_s)
    must_be_above_zero("longest_s", longest_s)
    if shortest_s >= longest_s:
        raise OutOfRange("shortest_s", shortest_s, because("below", limit=longest_s))
    must_lie_between("step_s", step_s, low=0.0001, high=0.001)
    energy = np.asarray(levels, dtype=np.float64)
    if energy.ndim != 1:
        raise OutOfRange("levels", float(energy.ndim), because("one_channel"))
    must_lie_between("seconds", energy.size * step_s, low=0.1, high=LONGEST_S)
    if not bool((np.isfinite(energy) & (energy >= 0)).all()):
        raise OutOfRange("levels", math.nan, because("zero_or_more"))
    usual = _usual(energy)
    onsets = []
    # Two steps together rise less by chance than one.
    pairs = _energy(np.sqrt(energy), 2)
    for n in (2 * pair for pair in _rises(pairs, usual, 2, 1 / step_s)) if usual else ():
        # The root of a mean energy stands for each step's samples.
        moment, width = _parting(np.sqrt(energy), n, 1 / step_s, band_hz=HEARD_HZ)
        peak = float(energy[n : n + max(1, round(DEAD_S / step_s))].max())
        u = math.hypot(width, step_s / math.sqrt(12), RISING_S)
        onsets.append(Onset(Uncertain(moment + step_s / 2, u, math.inf), 10 * math.log10(peak / usual)))
    return loose_and_hit_of(onsets, shortest_s=shortest_s, longest_s=longest_s, flight=flight)


def find_onsets(samples: Samples, sample_rate_hz: float, *, low_hz: float = 600.0, high_hz: float = 8000.0) -> tuple[Onset, ...]:
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
        raise OutOfRange("low_hz", low_hz, because("below", limit=top))
    heard = _in_band(sound, sample_rate_hz, low_hz, top)
    window = max(2, round(SHORT_S * sample_rate_hz))
    energy = _energy(heard, window)
    usual = _usual(energy)
    if usual == 0.0:
        return ()
    onsets = []
    for n in _rises(energy, usual, window, sample_rate_hz):
        start = n * window
        moment, width = _parting(heard, start, sample_rate_hz, band_hz=top - low_hz)
        peak = float(energy[n : n + max(1, round(DEAD_S / SHORT_S))].max())
        u = math.hypot(width, 1 / (2 * top) / math.sqrt(3), 1 / sample_rate_hz / math.sqrt(12), RISING_S)
        onsets.append(Onset(Uncertain(moment, u, math.inf), 10 * math.log10(peak / usual)))
    return tuple(onsets)


def _checked(samples: Samples, sample_rate_hz: float) -> Samples:
    must_lie_between("sample_rate_hz", sample_rate_hz, low=SLOWEST_RECORDING_HZ, high=FASTEST_RECORDING_HZ)
    sound = np.asarray(samples, dtype=np.float64)
    if sound.ndim != 1:
        raise OutOfRange("samples", float(sound.ndim), because("one_channel"))
    must_lie_between("seconds", sound.size / sample_rate_hz, low=0.1, high=LONGEST_S)
    if not bool(np.isfinite(sound).all()):
        raise OutOfRange("samples", math.nan, because("finite"))
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
        just_before = energy[max(0, n - before) : n]
        if energy[n] > max(LOUDER * usual, FASTER * float(just_before.mean()), HIGHER * float(just_before.max())):
            found.append(n)
    return found


def _parting(heard: Samples, start: int, rate: float, *, band_hz: float) -> tuple[float, float]:
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
    # Neighbouring samples of a band say nearly the same: counted each by itself they promise too much.
    aic = (k * np.log(quiet) + (n - k) * np.log(loud)) * (INDEPENDENT * 2 * band_hz / rate)
    weights = np.exp(-(aic - aic.min()) / 2)
    weights /= weights.sum()
    mean = float((weights * k).sum())
    width = math.sqrt(max(0.0, float((weights * (k - mean) ** 2).sum())))
    return (first + mean) / rate, width / rate
