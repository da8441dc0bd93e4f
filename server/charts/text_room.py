"""How much room a word takes, told before any browser has drawn it, so that words don't lie on each other.

The system's own type is used, so nobody knows its exact widths. The figures here are a little wider than the widest
common sans faces: a gap too much is better than two words in one.
"""

from __future__ import annotations

from dataclasses import dataclass

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
    """Width in the picture's units of a line of text."""
    ems = sum(0.34 if sign in _NARROW else 0.92 if sign in _WIDE else 0.6 for sign in text)
    return ems * size * (1.06 if bold else 1.0)


def text_box(text: str, x: float, baseline: float, *, size: float, anchor: str, bold: bool = False) -> Box:
    """The box that a line of text fills. Anchor is start, middle or end, as in a picture."""
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
