"""What is said of a speed without a chronograph: by frames counted, by the sound of release and hit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import unit_for_reader, written, written_with_uncertainty
from proofyard.wording.counts import counted


def _speed_between(*, low_m_s: float, high_m_s: float, reader: str) -> str:
    unit = unit_for_reader("speed", reader)
    return f"{written(low_m_s, unit)} to {written(high_m_s, unit)}"


def _time_of_sound(*, seconds: float, sound_m_s: float, reader: str) -> str:
    return f"{written(seconds, 'ms')}, at {written(sound_m_s, unit_for_reader('speed', reader))}"


_LOOK = "Look at the marks: is one on a knock, an echo or another bow?"


def _far_from_its_own(*, speed_m_s: float, own_m_s: float, readings: int | None, reader: str) -> str:
    unit = unit_for_reader("speed", reader)
    it, own = written(speed_m_s, unit, figures=3), written(own_m_s, unit, figures=3)
    many = f" ({counted(readings, 'reading')})" if readings else ""
    return f"{it} is far from this combination’s own speed, {own}{many}. {_LOOK}"


def _far_from_arrows(*, speed_m_s: float, low_m_s: float, high_m_s: float, reader: str) -> str:
    unit = unit_for_reader("speed", reader)
    usual = f"{written(low_m_s, unit, figures=2)} to {written(high_m_s, unit, figures=2)}"
    it = written(speed_m_s, unit, figures=3)
    return f"{it} is far from the speeds of arrows, usually {usual} (common practice, no source). {_LOOK}"


def _other_pairs(*, others: int, way_known: bool) -> str:
    pairs = "Another pair of noises would do" if others == 1 else f"{others} other pairs of noises would do"
    more = "" if way_known else " Type how far the arrow flew: that tells more of them apart."
    return (
        f"{pairs} nearly as well, and the uncertainty reaches {'it' if others == 1 else 'them all'}. Put the marks on release "
        f"and hit, and it is good to 1 ms.{more}"
    )


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "time_of_flight": "Time of flight",
        "time_by_frames": lambda *, frames, rate_hz, seconds: f"{frames} frames at {rate_hz:g} a second: {written(seconds, 'ms')}",
        "ends_misjudged": "If both ends were misjudged as far as they can be",
        "speed_between": _speed_between,
        "heard_between": "Heard between release and hit",
        "time_heard": lambda *, seconds: written_with_uncertainty(seconds, "ms"),
        "sounds_own_travel": "The sound’s own travel, taken out",
        "time_of_sound": _time_of_sound,
        "time_known_to": lambda *, seconds: written(seconds.value, "ms", uncertainty_si=seconds.standard_uncertainty),
        # what stands in the way
        "frames_too_few": (
            "{frames} frames are too few for that: each end alone is unsure by {each_end:g}. Film faster, or over a longer way."
        ),
        "speed_not_worked_out": "It can’t be worked out: this has to be {expected}.",
        "hit_before_the_release": "The hit has to come after the release.",
        "microphone_to_target_missing": "Say how far it was from the target too, since it did not lie with the archer.",
        "air_not_covered": "This reckons with air from −20 to 50 °C.",
        "microphone_ways_too_short": "Bow and target can’t be further apart than the two ways to the microphone together.",
        "microphone_ways_too_far_apart": "The two ways to the microphone can’t differ by more than bow and target are apart.",
        "recording_not_covered": "This recording can’t be looked through: {expected}.",
        "recording_not_readable": "this recording can’t be looked through: it is too short, longer than a minute, or not what was expected",
        "noises_other_pairs": _other_pairs,
        # a speed to look at again before it is saved
        "speed_far_from_its_own": _far_from_its_own,
        "speed_far_from_arrows": _far_from_arrows,
    }
)
