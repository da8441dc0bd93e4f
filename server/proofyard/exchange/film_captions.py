"""Captions as WebVTT and SubRip, chapters as text and as FFMETADATA. Each is read back by a reference library in the tests."""

from __future__ import annotations

import re
from collections.abc import Sequence

from proofyard.exchange.film_cues import Cue

APART_S = 10.0  # players that take chapters as text leave out nearer ones (common practice, no source)
_ARROW = re.compile(r"-->")
_METADATA = re.compile(r"([=;#\\\n])")


def _clock(seconds: float, *, mark: str) -> str:
    thousandths = round(seconds * 1000)
    minutes, rest = divmod(thousandths, 60_000)
    return f"{minutes // 60:02d}:{minutes % 60:02d}:{rest // 1000:02d}{mark}{rest % 1000:03d}"


def _one_line(text: str) -> str:
    """A cue ends at an empty line, and an arrow would be taken for its times."""
    return _ARROW.sub("→", " ".join(text.split()))


def _escaped(text: str) -> str:
    return _one_line(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def webvtt(cues: Sequence[Cue], *, note: str) -> str:
    """WebVTT (W3C): times with a point, & < and > as entities."""
    blocks = [f"WEBVTT\n\nNOTE\n{_one_line(note)}"]
    for cue in cues:
        times = f"{_clock(cue.begins_s, mark='.')} --> {_clock(cue.ends_s, mark='.')}"
        blocks.append("\n".join(filter(None, (_one_line(cue.label), times, _escaped(cue.title), _escaped(cue.did)))))
    return "\n\n".join(blocks) + "\n"


def srt(cues: Sequence[Cue]) -> str:
    """SubRip: numbered from 1, times with a comma. It has no way to write < that all players know, so ‹ stands for it."""
    blocks = []
    for number, cue in enumerate(cues, 1):
        lines = [_one_line(text).replace("<", "‹").replace(">", "›") for text in (cue.title, cue.did) if text]
        times = f"{_clock(cue.begins_s, mark=',')} --> {_clock(cue.ends_s, mark=',')}"
        blocks.append("\n".join([str(number), times, *lines]))
    return "\n\n".join(blocks) + "\n"


def chapters_text(cues: Sequence[Cue], *, first: str) -> str:
    """A line a chapter, from 0:00, ten seconds apart at least: for the text under a film."""
    lines, last = [f"0:00 {_one_line(first)}"], 0.0
    for cue in cues:
        if cue.begins_s >= last + APART_S:
            lines.append(f"{_short(cue.begins_s)} {_one_line(cue.title)}")
            last = float(int(cue.begins_s))
    return "\n".join(lines) + "\n"


def _short(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def ffmetadata(cues: Sequence[Cue], *, title: str, plays_s: float | None) -> str:
    """FFMETADATA 1, as FFmpeg reads it: = ; # \\ and line ends get a backslash. A chapter lasts till the next."""
    lines = [";FFMETADATA1", f"title={_metadata(title)}"]
    for nth, cue in enumerate(cues):
        ends = cues[nth + 1].begins_s if nth + 1 < len(cues) else max(plays_s or 0.0, cue.ends_s)
        lines += ["[CHAPTER]", "TIMEBASE=1/1000", f"START={round(cue.begins_s * 1000)}", f"END={round(ends * 1000)}"]
        lines.append(f"title={_metadata(cue.title)}")
    return "\n".join(lines) + "\n"


def _metadata(text: str) -> str:
    return _METADATA.sub(r"\\\1", " ".join(text.split()))
