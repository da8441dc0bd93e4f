"""A made recording of a loose and a hit whose moments are known: invented, but shaped as such noises are."""

from __future__ import annotations

import numpy as np


def made_sound(
    *,
    seed: int,
    rate: float = 48_000.0,
    loose_s: float = 0.8,
    hit_s: float = 1.23,
    loose: float = 0.5,
    hit: float = 0.15,
    hiss: float = 0.003,
    echo: float = 0.0,
    rumble: float = 0.05,
) -> np.ndarray:
    """Two seconds of hiss and low wind; a string's slap, and the thud and crack of a hit, both dying away.

    Each grows loud within some tenths of a millisecond: no bow and no butt does so at once.
    """
    rng, rises = np.random.default_rng(seed), np.random.default_rng([seed, 1])
    t = np.arange(round(2 * rate)) / rate
    sound = rng.normal(0, hiss, t.size)
    sound += rumble * np.sin(2 * np.pi * 55 * t + rng.uniform(0, 6)) * (1 + 0.5 * np.sin(2 * np.pi * 1.3 * t))

    def burst(at: float, size: float, ring_hz: float, dying_s: float) -> np.ndarray:
        since = t - at
        live = since >= 0
        rising = 1 - np.exp(-np.maximum(since, 0) / rises.uniform(0.00005, 0.0005))
        shape = np.where(live, rising * np.exp(-np.maximum(since, 0) / dying_s), 0.0)
        ring = np.sin(2 * np.pi * ring_hz * np.maximum(since, 0) + rng.uniform(0.5, 2.5))
        return size * shape * (0.6 * ring + 0.4 * rng.normal(0, 1, t.size)) * live

    sound += burst(loose_s, loose, 900.0, 0.02) + burst(hit_s, hit, 1400.0, 0.012)
    if echo:
        sound += burst(loose_s + 0.12, echo, 850.0, 0.015)
    return sound
