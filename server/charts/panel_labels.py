"""Where to write beside each hit so that words lie on no other word and on no other hit, where that can be done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.text_room import Box, text_box

GAP = 4.0


@dataclass(frozen=True)
class Anchor:
    """Where a word begins, is centred or ends; `clear` says that it lies on nothing."""

    x: float
    y: float
    anchor: str
    clear: bool


@dataclass(frozen=True)
class Marked:
    """A word that wants to stand beside a mark."""

    text: str
    mark: Box


def anchors_beside(marked: Sequence[Marked], room: Box, *, size: float, also: Sequence[Box] = ()) -> tuple[Anchor, ...]:
    """One anchor a mark: right of it if that is clear, else left, below, above, and then the corners.

    Two rounds: in the first, the early ones can't know where the late ones will stand.
    """
    chosen: list[tuple[Anchor, Box] | None] = [None] * len(marked)
    for _ in range(2):
        for place, one in enumerate(marked):
            others = [found[1] for n, found in enumerate(chosen) if found is not None and n != place]
            marks = [other.mark for n, other in enumerate(marked) if n != place]
            chosen[place] = _best(one, room, size=size, blocked=[*others, *marks, *also])
    return tuple(found[0] for found in chosen if found is not None)


def _best(one: Marked, room: Box, *, size: float, blocked: Sequence[Box]) -> tuple[Anchor, Box]:
    best: tuple[float, float, str, Box] | None = None
    least = float("inf")
    for x, y, anchor in _places(one.mark, size):
        box = text_box(one.text, x, y, size=size, anchor=anchor, bold=True)
        # Out of the picture is worse than on top of something: a word cut off can't be read at all.
        cost = sum(box.shared_area(other) for other in blocked) + 10 * box.outside_area(room)
        if cost < least:
            least, best = cost, (x, y, anchor, box)
        if cost == 0:
            break
    assert best is not None  # noqa: S101  there is always a first place
    return Anchor(round(best[0], 1), round(best[1], 1), best[2], least == 0), best[3]


def _places(mark: Box, size: float) -> tuple[tuple[float, float, str], ...]:
    middle_x, middle_y = (mark.left + mark.right) / 2, (mark.top + mark.bottom) / 2
    level = middle_y + 0.36 * size
    under, over = mark.bottom + size, mark.top - GAP
    return (
        (mark.right + GAP, level, "start"),
        (mark.left - GAP, level, "end"),
        (middle_x, under, "middle"),
        (middle_x, over, "middle"),
        (mark.right + GAP, under, "start"),
        (mark.left - GAP, under, "end"),
        (mark.right + GAP, over, "start"),
        (mark.left - GAP, over, "end"),
    )
