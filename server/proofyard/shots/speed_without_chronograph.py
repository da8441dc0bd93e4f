"""A speed from counted frames or from the sound of loose and hit: worked out, with what it rests on, or why not.

Give-or-takes that a person types are limits, taken as rectangles (GUM 4.3.7). The speed is the mean over the flight.
"""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.physics.air import speed_of_sound_m_s
from proofyard.physics.sound_onsets import find_loose_and_hit_in_levels
from proofyard.physics.sound_pairs import KnownFlight
from proofyard.physics.timing import speed_from_frames, speed_from_sound
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange, Reason, because
from proofyard.records.typed_values import Problem
from proofyard.statistics.repeated_readings import accuracy_uncertainty
from proofyard.wording.reasons.said import said, sentence

# A hand puts a mark to within so much of a noise's beginning: common practice, no source.
MARKED_BY_HAND_S = 0.001
LOUDEST, QUIETEST = 0, -1500  # levels, in tenths of a decibel below the loudest


@dataclass(frozen=True)
class Worked:
    """A speed and how it came about, step by step: what, and its figure. `between`: limits that no misjudging goes beyond."""

    speed: Uncertain
    between: tuple[float, float] | None
    steps: tuple[tuple[Reason, Reason], ...]


@dataclass(frozen=True)
class Heard:
    """Loose and hit in a recording, s from its start with u, every noise that was heard, and how many other pairs would do."""

    loose_s: float
    hit_s: float
    u_s: float
    heard_s: tuple[float, ...]
    others: int = 0


def by_frames(
    *, distance_m: float, distance_off_m: float, frames: int, rate_hz: float, rate_off_share: float, each_end: float
) -> Worked | Problem:
    """Speed from frames counted between loose and hit; a Problem names the field that stands in the way."""
    try:
        found = speed_from_frames(
            distance_m,
            frames,
            frame_rate_hz=rate_hz,
            frames_each_end=each_end,
            distance_u_m=accuracy_uncertainty(distance_off_m, "limit"),
            frame_rate_u_hz=accuracy_uncertainty(rate_off_share * rate_hz, "limit"),
        )
    except OutOfRange as error:
        if error.name == "frames":
            return Problem("frames", said(because("frames_too_few", frames=frames, each_end=each_end)))
        return _not_covered(error)
    steps = (
        (because("time_of_flight"), because("time_by_frames", frames=frames, rate_hz=rate_hz, seconds=frames / rate_hz)),
        (because("ends_misjudged"), because("speed_between", low_m_s=found.slowest_m_s, high_m_s=found.fastest_m_s)),
    )
    return Worked(found.speed_m_s, (found.slowest_m_s, found.fastest_m_s), steps)


def by_sound(
    *,
    distance_m: float,
    distance_off_m: float,
    loose_s: float,
    hit_s: float,
    times_off_s: float | None,
    temperature_k: float,
    temperature_off_k: float,
    to_bow_m: float,
    to_target_m: float | None,
) -> Worked | Problem:
    """Speed from the moments of loose and hit in a recording. `times_off_s`: standard uncertainty of the time between
    them where the search told it; a hand's otherwise. `to_target_m`: None for a phone that lies with the archer."""
    if hit_s <= loose_s:
        return Problem("hit", said(because("hit_before_the_release")))
    if to_bow_m > 0 and to_target_m is None:
        return Problem("to_target", said(because("microphone_to_target_missing")))
    u = times_off_s if times_off_s is not None else math.sqrt(2) * accuracy_uncertainty(MARKED_BY_HAND_S, "limit")
    try:
        found = speed_from_sound(
            distance_m,
            hit_s - loose_s,
            temperature_k=temperature_k,
            seconds_u=u,
            microphone_to_bow_m=to_bow_m,
            microphone_to_target_m=to_target_m,
            distance_u_m=accuracy_uncertainty(distance_off_m, "limit"),
            temperature_u_k=accuracy_uncertainty(temperature_off_k, "limit"),
        )
    except OutOfRange as error:
        return _not_covered(error)
    if isinstance(found, CantTell):
        return Problem("hit", sentence(found.reason))
    further = (distance_m if to_target_m is None else to_target_m) - to_bow_m
    c = speed_of_sound_m_s(temperature_k)
    steps = (
        (because("heard_between"), because("time_heard", seconds=Uncertain(hit_s - loose_s, u))),
        (because("sounds_own_travel"), because("time_of_sound", seconds=further / c, sound_m_s=c)),
        (because("time_of_flight"), because("time_known_to", seconds=Uncertain(hit_s - loose_s - further / c, u))),
    )
    return Worked(found, None, steps)


def _not_covered(error: OutOfRange) -> Problem:
    """By the field that stands in the way, with what it is wanted to be."""
    why = _PLACES.get(error.name) or because("speed_not_worked_out", expected=error.expected)
    return Problem(_FIELDS.get(error.name, "distance"), said(why))


_FIELDS: Mapping[str, str] = MappingProxyType(
    {
        "distance_m": "distance",
        "frame_rate_hz": "rate",
        "frames_each_end": "each_end",
        "distance_u_m": "distance_off",
        "frame_rate_u_hz": "rate_off",
        "temperature_k": "temperature",
        "temperature_u_k": "temperature_off",
        "microphone_to_bow_m": "to_bow",
        "microphone_to_target_m": "to_target",
        "seconds_heard": "hit",
    }
)
_PLACES: Mapping[str, Reason] = MappingProxyType(
    {
        "temperature_k": because("air_not_covered"),
        "microphone_to_bow_m": because("microphone_ways_too_short"),
        "microphone_to_target_m": because("microphone_ways_too_far_apart"),
    }
)


def loose_and_hit(levels: Sequence[int], step_s: float, *, flight: KnownFlight | None = None) -> Heard | Reason:
    """Where an arrow left and struck in a recording told by its levels, tenths of a decibel below the loudest; or why not."""
    import numpy as np

    energies = 10.0 ** (np.asarray(levels, dtype=np.float64) / 100.0)
    try:
        found = find_loose_and_hit_in_levels(energies, step_s, flight=flight)
    except OutOfRange as error:
        return because("recording_not_covered", expected=error.expected)
    if isinstance(found, CantTell):
        return found.reason
    between = found.between_s
    return Heard(
        loose_s=found.loose.time_s.value,
        hit_s=found.hit.time_s.value,
        u_s=between.standard_uncertainty or 0.0,
        heard_s=tuple(one.time_s.value for one in found.heard),
        others=len(found.others),
    )


def inputs_text(typed: Mapping[str, str], si: Mapping[str, float | int | None]) -> str:
    """What a reading was worked out from, to be kept beside it; `si` by names that end with their unit (distance_m)."""
    return json.dumps(
        {"typed": {k: v for k, v in typed.items() if v}, "si": {k: v for k, v in si.items() if v is not None}}, ensure_ascii=False
    )


def inputs_typed(kept: str | None) -> dict[str, str]:
    """The fields of an earlier reading as they were typed; empty if it kept none."""
    try:
        held = json.loads(kept or "").get("typed", {})
    except (ValueError, AttributeError):
        return {}
    return {str(name): str(value) for name, value in held.items()} if isinstance(held, dict) else {}


def inputs_told(method: str | None, kept: str | None, *, value_m_s: float | None) -> Reason | None:
    """What a reading rests on; None where it kept nothing. Says so where its speed was typed over since."""
    typed = inputs_typed(kept)
    if method not in ("frames", "sound") or not typed:
        return None
    gave = typed_over(method, kept, value_m_s=value_m_s)
    frames, rate, distance, loose, hit = (typed.get(name, "?") for name in ("frames", "rate", "distance", "loose", "hit"))
    if method == "frames":
        return because("speed_by_frames", frames=frames, rate=rate, distance=distance, gave_m_s=gave)
    return because("speed_by_sound", distance=distance, loose=loose, hit=hit, gave_m_s=gave)


KEPT_TO_M_S = 0.0006  # a speed is kept to a thousandth


def typed_over(method: str | None, kept: str | None, *, value_m_s: float | None) -> float | None:
    """The speed that a reading's inputs give, where somebody has typed another over it; None where both agree, or it kept none."""
    gave = speed_of_inputs(method, kept)
    if gave is None or value_m_s is None or abs(gave - value_m_s) <= KEPT_TO_M_S:
        return None
    return gave


def speed_of_inputs(method: str | None, kept: str | None) -> float | None:
    """Worked out again from what a reading kept; None where that is not enough."""
    try:
        held = json.loads(kept or "")
        si, typed = held["si"], held["typed"]
        if method == "frames":
            found = by_frames(
                distance_m=si["distance_m"],
                distance_off_m=0.0,
                frames=round(si["frames"]),
                rate_hz=si["rate_hz"],
                rate_off_share=0.0,
                each_end=float(typed.get("each_end", "0.5")),
            )
        elif method == "sound":
            found = by_sound(
                distance_m=si["distance_m"],
                distance_off_m=0.0,
                loose_s=si["loose_s"],
                hit_s=si["hit_s"],
                times_off_s=None,
                temperature_k=si["temperature_k"],
                temperature_off_k=0.0,
                to_bow_m=si.get("to_bow_m", 0.0),
                to_target_m=si.get("to_target_m"),
            )
        else:
            return None
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
    return found.speed.value if isinstance(found, Worked) else None
