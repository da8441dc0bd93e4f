"""A speed from counted frames or from the sound of loose and strike: worked out, with what it rests on, or why not.

Give-or-takes that a person types are limits, taken as rectangles (GUM 4.3.7). The speed is the mean over the flight.
"""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from server.physics.air import speed_of_sound_m_s
from server.physics.ranges import CantTell, OutOfRange
from server.physics.sound_onsets import find_loose_and_strike_in_levels
from server.physics.timing import speed_from_frames, speed_from_sound
from server.quantities import Uncertain, unit_for_reader, written
from server.records.typed_values import Problem
from server.statistics.repeated_readings import accuracy_uncertainty

# A finger puts a mark to within so much of a noise's beginning: common practice, no source.
BY_FINGER_S = 0.001
LOUDEST, QUIETEST = 0, -1500  # levels, in tenths of a decibel below the loudest


@dataclass(frozen=True)
class Worked:
    """A speed and how it came about: steps in words and figures. `between`: limits that no misjudging goes beyond."""

    speed: Uncertain
    between: tuple[float, float] | None
    steps: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Heard:
    """Loose and strike in a recording, s from its start with u, and every noise that was heard."""

    loose_s: float
    strike_s: float
    u_s: float
    heard_s: tuple[float, ...]


def by_frames(
    *, distance_m: float, distance_off_m: float, frames: int, rate_hz: float, rate_off_share: float, each_end: float, reader: str
) -> Worked | Problem:
    """Speed from frames counted between loose and strike; a Problem names the field that stands in the way."""
    try:
        found = speed_from_frames(
            distance_m, frames, frame_rate_hz=rate_hz, frames_each_end=each_end, distance_u_m=accuracy_uncertainty(distance_off_m, "limit"),
            frame_rate_u_hz=accuracy_uncertainty(rate_off_share * rate_hz, "limit"),
        )  # fmt: skip
    except OutOfRange as error:
        if error.name == "frames":
            return Problem("frames", f"{frames} frames are too few for that: each end alone may be {each_end:g} off. Film faster, or over a longer way.")
        return Problem(_FIELDS.get(error.name, "distance"), f"It can’t be worked out: this has to be {error.expected}.")
    unit = unit_for_reader("speed", reader)
    steps = (
        ("Time of flight", f"{frames} frames at {rate_hz:g} a second: {written(frames / rate_hz, 'ms')}"),
        ("If both ends were misjudged as far as they can be", f"{written(found.slowest_m_s, unit)} to {written(found.fastest_m_s, unit)}"),
    )
    return Worked(found.speed_m_s, (found.slowest_m_s, found.fastest_m_s), steps)


def by_sound(
    *, distance_m: float, distance_off_m: float, loose_s: float, strike_s: float, times_off_s: float | None, temperature_k: float,
    temperature_off_k: float, to_bow_m: float, to_target_m: float | None, reader: str,
) -> Worked | Problem:  # fmt: skip
    """Speed from the moments of loose and strike in a recording. `times_off_s`: standard uncertainty of the time between
    them where the search told it; a finger's otherwise. `to_target_m`: None for a phone that lies with the archer."""
    if strike_s <= loose_s:
        return Problem("strike", "The strike has to come after the loose.")
    if to_bow_m > 0 and to_target_m is None:
        return Problem("to_target", "Say how far it was from the target too, since it did not lie with the archer.")
    u = times_off_s if times_off_s is not None else math.sqrt(2) * accuracy_uncertainty(BY_FINGER_S, "limit")
    try:
        found = speed_from_sound(
            distance_m, strike_s - loose_s, temperature_k=temperature_k, seconds_u=u, microphone_to_bow_m=to_bow_m,
            microphone_to_target_m=to_target_m, distance_u_m=accuracy_uncertainty(distance_off_m, "limit"),
            temperature_u_k=accuracy_uncertainty(temperature_off_k, "limit"),
        )  # fmt: skip
    except OutOfRange as error:
        return Problem(_FIELDS.get(error.name, "distance"), _PLACES.get(error.name, f"It can’t be worked out: this has to be {error.expected}."))
    if isinstance(found, CantTell):
        return Problem("strike", f"{found.reason[:1].upper()}{found.reason[1:]}.".replace("'", "’"))
    further = (distance_m if to_target_m is None else to_target_m) - to_bow_m
    c = speed_of_sound_m_s(temperature_k)
    steps = (
        ("Heard between loose and strike", f"{written(strike_s - loose_s, 'ms', uncertainty_si=u)} ± {written(u, 'ms', figures=2)}"),
        ("The sound’s own travel, taken out", f"{written(further / c, 'ms')}, at {written(c, unit_for_reader('speed', reader))}"),
        ("Time of flight", written(strike_s - loose_s - further / c, "ms", uncertainty_si=u)),
    )
    return Worked(found, None, steps)


_FIELDS: Mapping[str, str] = MappingProxyType(
    {
        "distance_m": "distance", "frame_rate_hz": "rate", "frames_each_end": "each_end", "distance_u_m": "distance_off",
        "frame_rate_u_hz": "rate_off", "temperature_k": "temperature", "temperature_u_k": "temperature_off",
        "microphone_to_bow_m": "to_bow", "microphone_to_target_m": "to_target", "seconds_heard": "strike",
    }
)  # fmt: skip
_PLACES: Mapping[str, str] = MappingProxyType(
    {
        "temperature_k": "This reckons with air from −20 to 50 °C.",
        "microphone_to_bow_m": "Bow and target can’t be further apart than the two ways to the microphone together.",
        "microphone_to_target_m": "The two ways to the microphone can’t differ by more than bow and target are apart.",
    }
)


def loose_and_strike(levels: Sequence[int], step_s: float, *, shortest_s: float = 0.05) -> Heard | str:
    """Where an arrow left and struck in a recording told by its levels, tenths of a decibel below the loudest; or why not."""
    import numpy as np

    energies = 10.0 ** (np.asarray(levels, dtype=np.float64) / 100.0)
    try:
        found = find_loose_and_strike_in_levels(energies, step_s, shortest_s=shortest_s)
    except OutOfRange as error:
        return f"This recording can’t be looked through: {error.expected}."
    if isinstance(found, CantTell):
        return found.reason
    between = found.between_s
    return Heard(
        loose_s=found.loose.time_s.value, strike_s=found.strike.time_s.value, u_s=between.standard_uncertainty or 0.0,
        heard_s=tuple(one.time_s.value for one in found.heard),
    )  # fmt: skip


def inputs_text(typed: Mapping[str, str], si: Mapping[str, float | int | None]) -> str:
    """What a reading was worked out from, to be kept beside it; `si` by names that end with their unit (distance_m)."""
    return json.dumps({"typed": {k: v for k, v in typed.items() if v}, "si": {k: v for k, v in si.items() if v is not None}}, ensure_ascii=False)


def inputs_typed(kept: str | None) -> dict[str, str]:
    """The fields of an earlier reading as they were typed; empty if it kept none."""
    try:
        held = json.loads(kept or "").get("typed", {})
    except (ValueError, AttributeError):
        return {}
    return {str(name): str(value) for name, value in held.items()} if isinstance(held, dict) else {}


def inputs_words(method: str | None, kept: str | None, *, value_m_s: float | None, reader: str = "metric") -> str:
    """What a reading rests on, in a line for a list; empty where it kept nothing. Says so where its speed was typed over since."""
    typed = inputs_typed(kept)
    if method == "frames" and typed:
        said = f"frames counted: {typed.get('frames', '?')} at {typed.get('rate', '?')} over {typed.get('distance', '?')}"
    elif method == "sound" and typed:
        said = f"by sound over {typed.get('distance', '?')}, loose {typed.get('loose', '?')}, strike {typed.get('strike', '?')}"
    else:
        return ""
    gave = typed_over(method, kept, value_m_s=value_m_s)
    return said + (f"; typed over since: those give {written(gave, unit_for_reader('speed', reader))}" if gave is not None else "")


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
                distance_m=si["distance_m"], distance_off_m=0.0, frames=round(si["frames"]), rate_hz=si["rate_hz"], rate_off_share=0.0,
                each_end=float(typed.get("each_end", "0.5")), reader="metric",
            )  # fmt: skip
        elif method == "sound":
            found = by_sound(
                distance_m=si["distance_m"], distance_off_m=0.0, loose_s=si["loose_s"], strike_s=si["strike_s"], times_off_s=None,
                temperature_k=si["temperature_k"], temperature_off_k=0.0, to_bow_m=si.get("to_bow_m", 0.0), to_target_m=si.get("to_target_m"),
                reader="metric",
            )  # fmt: skip
        else:
            return None
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
    return found.speed.value if isinstance(found, Worked) else None
