"""Speeds from frames and from sound against flights that were timed in print.

P. E. Klopsteg, The Flight of an Arrow, part 3 (verified): two target arrows took 1.8 and 2.3 s over 100 yards, which is
166.67 and 130.43 ft/s. Nobody printed a frame count or a recording with its speed; here the printed times are put as
frames, and as what a phone beside the archer hears. ISO 2533:1975 has sound go at 340.294 m/s at 15 degrees (from memory).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from proofyard.physics.timing import speed_from_frames, speed_from_sound
from proofyard.quantities import Uncertain, from_si

AsPrinted = Callable[[float, str], None]
HUNDRED_YARDS_M = 91.44
TIMED = [(1.8, "166.67"), (2.3, "130.43")]


@pytest.mark.parametrize(("seconds", "feet"), TIMED)
def test_klopstegs_arrows_by_frames_at_240(seconds: float, feet: str, as_printed: AsPrinted) -> None:
    found = speed_from_frames(HUNDRED_YARDS_M, round(240 * seconds), frame_rate_hz=240.0)
    as_printed(from_si(found.speed_m_s.value, "ft/s"), feet)


@pytest.mark.parametrize(("seconds", "feet"), TIMED)
def test_klopstegs_arrows_as_the_archer_hears_them(seconds: float, feet: str) -> None:
    """The hit is heard 91.44 m/340.294 m/s late. Ours takes 331.3 m/s at 0 degrees: 1 in 10,000 of sound's share."""
    heard = seconds + HUNDRED_YARDS_M / 340.294
    found = speed_from_sound(HUNDRED_YARDS_M, heard, temperature_k=288.15, seconds_u=0.001)
    assert isinstance(found, Uncertain)
    assert from_si(found.value, "ft/s") == pytest.approx(float(feet), rel=1e-4)
