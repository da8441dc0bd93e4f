"""Speed without a chronograph: from frames of a film, or from the sound of release and hit.

Both give the average over the distance. flight.speed_at_start_m_s makes the speed at the bow of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from proofyard.physics.air import speed_of_sound_m_s
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, because, must_be_above_zero, must_lie_between, must_not_be_negative


@dataclass(frozen=True)
class FrameSpeed:
    """Average speed from counted frames; slowest and fastest if both ends were misjudged as far as they can be."""

    speed_m_s: Uncertain
    slowest_m_s: float
    fastest_m_s: float


def speed_from_frames(
    distance_m: float,
    frames: float,
    *,
    frame_rate_hz: float,
    frames_each_end: float = 0.5,
    distance_u_m: float = 0.0,
    frame_rate_u_hz: float = 0.0,
) -> FrameSpeed:
    """Average speed from the frames between release and hit.

    v = d f / N, u_N = a sqrt(2/3) for an error of up to a at each end

    Takes
        distance_m       scalar, m, above 0               that the tip flew between the two frames
        frames           scalar, no unit, above 2 a       counted from one to the other
        frame_rate_hz    scalar, 1/s, above 0             as filmed, not as played: slow motion is played at 30
        frames_each_end  scalar, no unit, 0 or more       a: how far each end may be misjudged, in frames
        distance_u_m     scalar, m, 0 or more             standard uncertainty of the distance
        frame_rate_u_hz  scalar, 1/s, 0 or more           standard uncertainty of the frame rate
    Gives
        FrameSpeed; slowest and fastest are d f/(N + 2 a) and d f/(N - 2 a)
    Refuses
        OutOfRange  not more frames than both errors together, anything else outside its range or not finite
    Holds while
        frames come evenly: phones film with a rate that wanders, and a slow-motion file may have been thinned
    Source
        The definition of speed; two rectangular errors by JCGM 100:2008 (GUM), 4.3.7.
        Checked in tests/published/test_timing.py
    >>> found = speed_from_frames(3.0, 12, frame_rate_hz=240.0)
    >>> found.speed_m_s.value, round(found.speed_m_s.standard_uncertainty, 2)
    (60.0, 2.04)
    >>> round(found.slowest_m_s, 2), round(found.fastest_m_s, 2)
    (55.38, 65.45)
    """
    must_be_above_zero("distance_m", distance_m)
    must_be_above_zero("frame_rate_hz", frame_rate_hz)
    for name, value in (("frames_each_end", frames_each_end), ("distance_u_m", distance_u_m), ("frame_rate_u_hz", frame_rate_u_hz)):
        must_not_be_negative(name, value)
    must_be_above_zero("frames", frames)
    must_lie_between("frames", frames, low=math.nextafter(2 * frames_each_end, math.inf), high=1e6)
    speed = distance_m * frame_rate_hz / frames
    shares = (math.sqrt(2 / 3) * frames_each_end / frames, distance_u_m / distance_m, frame_rate_u_hz / frame_rate_hz)
    return FrameSpeed(
        speed_m_s=Uncertain(speed, speed * math.hypot(*shares), math.inf),
        slowest_m_s=distance_m * frame_rate_hz / (frames + 2 * frames_each_end),
        fastest_m_s=distance_m * frame_rate_hz / (frames - 2 * frames_each_end),
    )


def speed_from_sound(
    distance_m: float,
    seconds_heard: float,
    *,
    temperature_k: float,
    seconds_u: float,
    microphone_to_bow_m: float = 0.0,
    microphone_to_target_m: float | None = None,
    distance_u_m: float = 0.0,
    temperature_u_k: float = 0.0,
) -> Uncertain | CantTell:
    """Average speed from the time between hearing the release and hearing the hit.

    v = d / (t - (b - a) / c), a and b from bow and target to the microphone

    Takes
        distance_m              scalar, m, above 0 to 400          flown, from where the arrow leaves the string
        seconds_heard           scalar, s, above 0                 from release to hit in the recording
        temperature_k           scalar, K, 253.15 to 323.15        of the air
        seconds_u               scalar, s, 0 or more               standard uncertainty of that time
        microphone_to_bow_m     scalar, m, 0 or more               0 where the phone is with the archer
        microphone_to_target_m  scalar, m, 0 or more, or None      None: the distance, as for a phone with the archer
        distance_u_m            scalar, m, 0 or more               standard uncertainty of the distance
        temperature_u_k         scalar, K, 0 or more               standard uncertainty of the temperature
    Gives
        Uncertain, m/s; CantTell when nothing is left once the sound's own travel is taken out, or less than two
        standard uncertainties of the time
    Refuses
        OutOfRange  anything outside its range or not finite, a microphone nearer to both than bow and target are apart
    Holds while
        the release that you hear is the arrow leaving, not the fingers, which comes some hundredths of a second earlier;
        the air is still: 5 m/s of wind changes the sound's share by 1.5 %
    Source
        d/v + b/c - a/c = t, with c of air.speed_of_sound_m_s; uncertainty by JCGM 100:2008 (GUM), 5.1.2.
        Checked in tests/published/test_timing.py
    >>> round(speed_from_sound(20.0, 0.430, temperature_k=288.15, seconds_u=0.001).value, 3)
    53.876
    """
    must_be_above_zero("distance_m", distance_m)
    must_lie_between("distance_m", distance_m, low=0.0, high=400.0)
    must_be_above_zero("seconds_heard", seconds_heard)
    to_target = distance_m if microphone_to_target_m is None else microphone_to_target_m
    for name, value in (
        ("seconds_u", seconds_u),
        ("microphone_to_bow_m", microphone_to_bow_m),
        ("microphone_to_target_m", to_target),
        ("distance_u_m", distance_u_m),
        ("temperature_u_k", temperature_u_k),
    ):
        must_not_be_negative(name, value)
    # The two ways to the microphone can't differ by more than bow and target are apart, nor add up to less.
    longest = 1.001 * distance_m
    must_lie_between("microphone_to_target_m", abs(to_target - microphone_to_bow_m), low=0.0, high=longest)
    must_lie_between("microphone_to_bow_m", microphone_to_bow_m + to_target, low=distance_m / 1.001, high=math.inf)
    c = speed_of_sound_m_s(temperature_k)
    further = to_target - microphone_to_bow_m
    flying = seconds_heard - further / c
    if flying <= 0:
        return CantTell(because("no_time_left_to_fly"))
    if flying <= 2 * seconds_u:
        return CantTell(because("flight_time_too_poor"))
    speed = distance_m / flying
    # With the phone by the archer the distance is in the sound's way too; elsewhere it isn't.
    by_distance = (1 / flying + (speed / flying / c if microphone_to_target_m is None else 0.0)) * distance_u_m
    by_heat = speed / flying * further / c * temperature_u_k / (2 * temperature_k)
    u = math.hypot(speed / flying * seconds_u, by_distance, by_heat)
    return Uncertain(speed, u, math.inf)
