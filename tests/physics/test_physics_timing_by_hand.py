"""Speeds from frames and from sound against sums by hand; timed flights in print are in tests/published/test_timing.py."""

from __future__ import annotations

from collections.abc import Callable

from proofyard.physics.timing import speed_from_frames, speed_from_sound
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell

AsPrinted = Callable[[float, str], None]


def test_12_frames_at_240_over_3_metres(as_printed: AsPrinted) -> None:
    """By hand: 3*240/12; 720/13 and 720/11; two rectangular half frames are 1/sqrt(6) = 0.40825 frame, 3.4 %."""
    found = speed_from_frames(3.0, 12, frame_rate_hz=240.0)
    as_printed(found.speed_m_s.value, "60.0")
    as_printed(found.slowest_m_s, "55.3846")
    as_printed(found.fastest_m_s, "65.4545")
    assert found.speed_m_s.standard_uncertainty is not None
    as_printed(found.speed_m_s.standard_uncertainty, "2.041241")


def test_18_frames_at_960_over_a_metre(as_printed: AsPrinted) -> None:
    """By hand: 960/18."""
    as_printed(speed_from_frames(1.0, 18, frame_rate_hz=960.0).speed_m_s.value, "53.333333")


def test_430_thousandths_over_20_metres_at_15_degrees(as_printed: AsPrinted) -> None:
    """By hand with c = 331.3 sqrt(288.15/273.15) = 340.27579; 46.51 m/s if the sound's own travel is forgotten.

    With c by the 20.045 sqrt(T) form, 340.2641, it is 53.8761; both stand, we follow 331.3 as air.py does.
    """
    found = speed_from_sound(20.0, 0.430, temperature_k=288.15, seconds_u=0.001)
    assert isinstance(found, Uncertain)
    as_printed(found.value, "53.875824")
    as_printed(20.0 / 0.430, "46.51")


def test_a_microphone_half_way_needs_no_sound_at_all(as_printed: AsPrinted) -> None:
    """By hand: as far from bow as from target, both sounds are late alike. 20/0.4 = 50."""
    found = speed_from_sound(20.0, 0.4, temperature_k=288.15, seconds_u=0.001, microphone_to_bow_m=10.0, microphone_to_target_m=10.0)
    assert not isinstance(found, CantTell)
    as_printed(found.value, "50.0000")
