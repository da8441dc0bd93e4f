"""The two ways to a speed without a chronograph: what each asks, and how it is worked out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from proofyard.records.typed_values import Problem
from proofyard.shots.speed_without_chronograph import Worked, by_frames, by_sound

INTO = "into"


SURE = "sure"


FILM = "film"


LONGEST_UNCERTAINTY_S = 10.0


EACH_END = {"0.5": "Half a frame", "1": "One frame", "2": "Two frames"}


@dataclass(frozen=True)
class Ask:
    """One box: the kind of quantity that it takes, what stands in it at first, whether it may stay empty."""

    name: str
    label: str
    kind: str
    first: str = ""
    hint: str = ""
    needed: bool = True
    once: bool = False  # of this shot only: emptied for the next


@dataclass(frozen=True)
class Tool:
    """One way to a speed."""

    key: str
    heading: str
    lead: str
    asks: tuple[Ask, ...]
    work: Callable[[Mapping[str, float | None], Mapping[str, str]], Worked | Problem]


def _frames(si: Mapping[str, Any], typed: Mapping[str, str]) -> Worked | Problem:
    return by_frames(
        distance_m=si["distance"],
        distance_off_m=si["distance_off"] or 0.0,
        frames=round(si["frames"]),
        rate_hz=si["rate"],
        rate_off_share=si["rate_off"] or 0.0,
        each_end=float(typed["each_end"]),
    )


def _sound(si: Mapping[str, Any], typed: Mapping[str, str]) -> Worked | Problem:
    return by_sound(
        distance_m=si["distance"],
        distance_off_m=si["distance_off"] or 0.0,
        loose_s=si["loose"],
        hit_s=si["hit"],
        times_off_s=_found_to(typed.get("times_off", "")),
        temperature_k=si["temperature"],
        temperature_off_k=si["temperature_off"] or 0.0,
        to_bow_m=si["to_bow"] or 0.0,
        to_target_m=si["to_target"],
    )


def _found_to(text: str) -> float | None:
    """How well the search in the recording knew the time between; None once a finger moved a mark."""
    try:
        value = float(text)
    except ValueError:
        return None
    return value if 0 < value < LONGEST_UNCERTAINTY_S else None


_OFF = "At most, either way."


FRAMES = Tool(
    "frames",
    "Speed from frames counted",
    "From a film of bow and target: how many frames lie between release and hit.",
    (
        Ask("distance", "How far the tip flew", "distance", hint="From the tip at the release to the panel."),
        Ask("distance_off", "Distance accurate to", "distance_accuracy", "5 cm", _OFF),
        Ask("rate", "Frames a second, as filmed", "frame_rate", hint="As filmed, not as played: slow motion is filmed at 120 or 240."),
        Ask(
            "rate_off",
            "Frame rate accurate to",
            "share",
            "0.5 %",
            "At most. A phone’s rate wanders (common practice, no source). A clock in the photo tells.",
        ),
        Ask("frames", "Frames from release to hit", "count", hint="The first frame in which the arrow moves is 0.", once=True),
    ),
    _frames,
)


SOUND = Tool(
    "sound",
    "Speed from sound",
    "From a recording of release and hit: the time between them, less what the sound itself takes.",
    (
        Ask("loose", "Release, in the recording", "recording_time", once=True),
        Ask("hit", "Hit, in the recording", "recording_time", once=True),
        Ask("distance", "How far the arrow flew", "distance", hint="From where it leaves the string to the panel."),
        Ask("distance_off", "Distance accurate to", "distance_accuracy", "5 cm", _OFF),
        Ask("temperature", "Air temperature", "temperature"),
        Ask("temperature_off", "Temperature accurate to", "temperature_accuracy", "2 °C", _OFF),
        Ask("to_bow", "From the phone to the bow", "distance_from_bow", "0", "0 where it lay with the archer."),
        Ask(
            "to_target", "From the phone to the panel", "distance_from_bow", hint="Leave empty where it lay with the archer.", needed=False
        ),
    ),
    _sound,
)


TOOLS: Mapping[str, Tool] = MappingProxyType({"frames": FRAMES, "sound": SOUND})
