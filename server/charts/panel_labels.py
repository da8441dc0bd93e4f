"""Where to write beside each hit so that words lie on no other word and on no other hit, where that can be done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

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


def anchors_beside(
    marked: Sequence[Marked], room: Box, *, size: float, hard: Sequence[Box] = (), soft: Sequence[Box] = ()
) -> tuple[Anchor, ...]:
    """One anchor a mark: right of it if that is clear, else left, below, above, and then the corners.

    Words keep off the `hard` boxes as off each other; off the `soft` ones (rivets, aim spots) where that costs nothing.
    Two rounds: in the first, the early ones can't know where the late ones will stand.
    """
    chosen: dict[int, tuple[Anchor, Box]] = {}
    for _ in range(2):
        for place, one in enumerate(marked):
            chosen[place] = _best(one, room, size=size, hard=_blocked(place, chosen, marked, hard=hard), soft=soft)
    anchors = []
    for place, (anchor, box) in sorted(chosen.items()):
        # Asked again at the end: a word that stood clear when it was placed may have been joined since.
        blocked = _blocked(place, chosen, marked, hard=hard)
        clear = box.outside_area(room) == 0 and not any(box.shared_area(other) for other in blocked)
        anchors.append(replace(anchor, clear=clear))
    return tuple(anchors)


def _blocked(
    place: int, chosen: Mapping[int, tuple[Anchor, Box]], marked: Sequence[Marked], *, hard: Sequence[Box]
) -> list[Box]:
    words = [box for n, (_, box) in chosen.items() if n != place]
    marks = [one.mark for n, one in enumerate(marked) if n != place]
    return [*words, *marks, *hard]


def _best(one: Marked, room: Box, *, size: float, hard: Sequence[Box], soft: Sequence[Box]) -> tuple[Anchor, Box]:
    """The cheapest place; of equal ones the first."""
    tried: list[tuple[float, int, Anchor, Box]] = []
    for x, y, anchor in _places(one.mark, size):
        x, y = round(x, 1), round(y, 1)
        box = text_box(one.text, x, y, size=size, anchor=anchor, bold=True)
        cost = sum(box.shared_area(other) for other in hard) + 0.1 * sum(box.shared_area(other) for other in soft)
        # Out of the picture is worse than on top of something: a word cut off can't be read at all.
        cost += 10 * box.outside_area(room)
        tried.append((cost, len(tried), Anchor(x, y, anchor, clear=True), box))
        if cost == 0:
            break
    _, _, anchor_found, box_found = min(tried, key=lambda one_tried: one_tried[:2])
    return anchor_found, box_found


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
