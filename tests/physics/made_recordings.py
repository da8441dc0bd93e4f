"""Made recordings of a yard: echoes off walls, wind in the microphone, a knock before the loose, a far butt, much noise.

Invented, but shaped as such sounds are; loose, hit and speed are known. made_sound makes the plain ones.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from proofyard.physics.air import speed_of_sound_m_s

RATE = 48_000.0
KELVIN = 285.15
SCENES = ("plain", "echoes", "strong echoes", "wind", "knock", "far", "noisy")


@dataclass(frozen=True)
class Recording:
    """One channel at RATE; loose and hit in seconds from its start, way and speed that it was made from."""

    sound: np.ndarray
    loose_s: float
    hit_s: float
    distance_m: float
    speed_m_s: float

    @property
    def between_s(self) -> float:
        return self.hit_s - self.loose_s


def made_recording(scene: str, seed: int) -> Recording:
    """A phone with the archer; every scene draws its own way, speed, loudness and disturbances by the seed."""
    lots = np.random.default_rng([seed, SCENES.index(scene)])
    distance = lots.uniform(30, 45) if scene == "far" else lots.uniform(8, 25)
    speed = lots.uniform(42, 62)
    loose_s = lots.uniform(1.2, 1.6)
    hit_s = loose_s + distance / speed + distance / speed_of_sound_m_s(KELVIN)
    t = np.arange(round(3.6 * RATE)) / RATE
    hiss = lots.uniform(0.012, 0.03) if scene == "noisy" else lots.uniform(0.001, 0.005)
    sound = lots.normal(0, hiss, t.size) + 0.05 * np.sin(2 * np.pi * 55 * t + lots.uniform(0, 6))
    loose, hit = lots.uniform(0.3, 0.6), lots.uniform(0.03, 0.08) if scene == "far" else lots.uniform(0.08, 0.3)
    made = [
        (loose_s, loose, lots.uniform(700, 1100), lots.uniform(0.012, 0.022)),
        (hit_s, hit, lots.uniform(1000, 1800), lots.uniform(0.008, 0.015)),
    ]
    for one in made:
        sound += burst(t, *one, lots=lots)
    if "echoes" in scene:
        strength = (0.6, 1.15) if scene == "strong echoes" else (0.1, 0.5)
        for at, size, ring, dying in made:
            for _ in range(lots.integers(1, 4)):
                sound += burst(t, at + lots.uniform(0.012, 0.25), size * lots.uniform(*strength), ring * 0.95, dying, lots=lots)
    if scene == "wind":
        sound += wind(t, lots)
    if scene == "knock":
        sound += burst(t, loose_s - lots.uniform(0.08, 0.9), loose * lots.uniform(0.4, 1.2), lots.uniform(600, 2000), 0.01, lots=lots)
    return Recording(sound, loose_s, hit_s, distance, speed)


def burst(t: np.ndarray, at: float, size: float, ring_hz: float, dying_s: float, *, lots: np.random.Generator) -> np.ndarray:
    """A noise that rises within a millisecond and dies away: part ringing, part rattle."""
    since = np.maximum(t - at, 0)
    rising = 1 - np.exp(-since / lots.uniform(0.00005, 0.0005))
    ring = np.sin(2 * np.pi * ring_hz * since + lots.uniform(0.5, 2.5))
    return size * rising * np.exp(-since / dying_s) * (0.6 * ring + 0.4 * lots.normal(0, 1, t.size)) * (t >= at)


def wind(t: np.ndarray, lots: np.random.Generator) -> np.ndarray:
    """A rumble that comes in gusts, its spectrum falling with the square of frequency, and a few buffets on the microphone."""
    white = np.fft.rfft(lots.normal(0, 1, t.size))
    hertz = np.fft.rfftfreq(t.size, 1 / RATE)
    rumble = np.fft.irfft(white / (1 + (hertz / 120) ** 2), t.size)
    swell = np.fft.rfft(lots.normal(0, 1, t.size))
    swell[hertz > 3] = 0
    gusts = np.fft.irfft(swell, t.size)
    made = np.asarray(0.12 * rumble / rumble.std() * np.exp(0.8 * gusts / gusts.std()))
    for _ in range(lots.integers(2, 7)):
        at, wide = lots.uniform(0.2, 3.4), lots.uniform(0.004, 0.04)
        made += lots.uniform(0.01, 0.06) * np.exp(-(((t - at) / wide) ** 2)) * lots.normal(0, 1, t.size)
    return made
