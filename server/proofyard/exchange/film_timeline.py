"""A film's files as an OpenTimelineIO timeline, with a marker a shot: the format's own JSON, which its reference library reads back."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Any

from proofyard.answers.film.clip_times import FilmRead
from proofyard.exchange.film_cues import Cue
from proofyard.quantities.timecode import FilmTime, FrameRate, read_film_time
from proofyard.records.film_words import before_file


def timeline(read: FilmRead, cues: Sequence[Cue], *, name: str) -> str:
    """One track, a clip a file, each marker on the clip of its file. Times are whole frames at the film's own rate."""
    clips = [_clip(read, number, cues) for number in range(1, len(read.files) + 1)]
    track: dict[str, Any] = {
        "OTIO_SCHEMA": "Track.1",
        "name": name,
        "kind": "Video",
        "children": clips,
        "source_range": None,
        "effects": [],
        "markers": [],
        "metadata": {},
        "enabled": True,
    }
    stack: dict[str, Any] = {
        "OTIO_SCHEMA": "Stack.1",
        "name": "tracks",
        "children": [track],
        "source_range": None,
        "effects": [],
        "markers": [],
        "metadata": {},
        "enabled": True,
    }
    whole = {"OTIO_SCHEMA": "Timeline.1", "name": name, "global_start_time": None, "tracks": stack, "metadata": {}}
    return json.dumps(whole, ensure_ascii=False, indent=2) + "\n"


def _clip(read: FilmRead, number: int, cues: Sequence[Cue]) -> dict[str, Any]:
    file, begun, first = read.files[number - 1], before_file(read.files, number), _first_frame(read)
    last = begun + file.plays_s if file.plays_s is not None else math.inf
    mine = [cue for cue in cues if begun <= cue.begins_s < last]
    # The last file may not say how long it plays: then it is as long as its shots need.
    plays = file.plays_s if file.plays_s is not None else max((cue.ends_s - begun for cue in mine), default=1.0)
    starts = first + round(begun / read.rate.frame_s) if first else 0
    return {
        "OTIO_SCHEMA": "Clip.2",
        "name": file.name,
        "source_range": _range(starts, round(plays / read.rate.frame_s), read.rate),
        "effects": [],
        "markers": [_marker(cue, starts + _frame(cue.begins_s - begun, read.rate), read.rate) for cue in mine],
        "metadata": {},
        "enabled": True,
        "media_references": {
            "DEFAULT_MEDIA": {
                "OTIO_SCHEMA": "ExternalReference.1",
                "name": file.name,
                "target_url": file.name,
                "available_range": _range(starts, round(plays / read.rate.frame_s), read.rate),
                "metadata": {},
            }
        },
        "active_media_reference_key": "DEFAULT_MEDIA",
    }


def _first_frame(read: FilmRead) -> int:
    """Where the camera's own timecode stood; 0 where nobody said."""
    found = read_film_time(read.film.first_timecode, read.rate) if read.film.first_timecode else None
    return found.frame or 0 if isinstance(found, FilmTime) else 0


def _frame(seconds: float, rate: FrameRate) -> int:
    return max(0, round(seconds / rate.frame_s))


def _marker(cue: Cue, frame: int, rate: FrameRate) -> dict[str, Any]:
    return {
        "OTIO_SCHEMA": "Marker.2",
        "name": cue.title,
        "color": "RED",
        "comment": cue.did,
        "marked_range": _range(frame, 1, rate),
        "metadata": {"proofyard": {"shot": cue.label, "shot_id": cue.shot_id, "within_s": round(cue.within_s, 4)}},
    }


def _range(start: int, frames: int, rate: FrameRate) -> dict[str, Any]:
    return {"OTIO_SCHEMA": "TimeRange.1", "start_time": _time(start, rate), "duration": _time(max(1, frames), rate)}


def _time(frames: int, rate: FrameRate) -> dict[str, Any]:
    return {"OTIO_SCHEMA": "RationalTime.1", "rate": rate.numerator / rate.denominator, "value": float(frames)}
