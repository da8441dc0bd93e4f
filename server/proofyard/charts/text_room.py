"""How much room a word takes, told before any browser has drawn it, so that words don't lie on each other.

The system's own type is used, so nobody knows its exact widths. The figures here are a little wider than the widest
common sans faces: a gap too much is better than two words in one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

BETWEEN = 5.0  # least gap from one word to the next
_NARROW = frozenset(" .,:;'|!()ijlt\N{NO-BREAK SPACE}")
_WIDE = frozenset("mwMW%@")


@dataclass(frozen=True)
class Box:
    left: float
    top: float
    right: float
    bottom: float

    def shared_area(self, other: Box) -> float:
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return wide * high if wide > 0 and high > 0 else 0.0

    def outside_area(self, room: Box) -> float:
        """How much of this box lies outside a room."""
        whole = (self.right - self.left) * (self.bottom - self.top)
        return max(0.0, whole - self.shared_area(room))


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width in the drawing's units of a line of text."""
    ems = sum(0.34 if sign in _NARROW else 0.92 if sign in _WIDE else 0.6 for sign in text)
    return ems * size * (1.06 if bold else 1.0)


def text_box(text: str, x: float, baseline: float, *, size: float, anchor: str, bold: bool = False) -> Box:
    """The box that a line of text fills. Anchor is start, middle or end, as in a drawing."""
    width = text_width(text, size, bold=bold)
    left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return Box(left, baseline - 0.8 * size, left + width, baseline + 0.22 * size)


def wrapped(text: str, room: float, *, size: float, bold: bool = False) -> tuple[str, ...]:
    """The words of a text on as many lines as it needs. A word longer than the room has a line of its own."""
    lines: list[str] = []
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold=bold) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)


def apart(
    wanted: Sequence[tuple[str, float]],
    *,
    size: float,
    bold: bool = False,
    room: tuple[float, float] = (-math.inf, math.inf),
    most_lines: int = 1,
    first: Sequence[int] = (),
) -> list[tuple[str, float, int]]:
    """Labels (text, middle) as (text, middle, line): on as few lines as keep them apart, moved inwards where one would stick
    out of the room. Line 0 is the nearest. One that fits nowhere is left out: the table has it. `first`: who goes first."""
    lines: list[list[tuple[float, float]]] = []
    kept: dict[int, tuple[float, int]] = {}
    for n in dict.fromkeys([*first, *range(len(wanted))]):
        width = text_width(wanted[n][0], size, bold=bold)
        left = max(room[0], min(wanted[n][1] - width / 2, room[1] - width))
        fits = (m for m, taken in enumerate(lines) if all(left + width + BETWEEN <= a or b + BETWEEN <= left for a, b in taken))
        line = next(fits, len(lines))
        if line == most_lines:
            continue
        if line == len(lines):
            lines.append([])
        lines[line].append((left, left + width))
        kept[n] = (left + width / 2, line)
    return [(wanted[n][0], *kept[n]) for n in sorted(kept)]
