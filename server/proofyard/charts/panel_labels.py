"""Where to write beside each hit and spot to aim at so that words lie on no other word and on no hit, where that can be done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.charts.figure import TEXT, Text
from proofyard.charts.text_room import Box, text_box

GAP = 4.0
SPOT_TEXT = 11.0  # as in static/css/parts/panel.css
SPOT_RADIUS = 9.0  # of the ring about a spot to aim at, in units of the drawing


@dataclass(frozen=True)
class Marked:
    """A word that wants to stand beside a mark."""

    text: str
    mark: Box


def words_beside(marked: Sequence[Marked], room: Box, *, hard: Sequence[Box] = (), soft: Sequence[Box] = (), look: str = "") -> list[Text]:
    """One word a mark: right of it if that is clear, else left, below, above, and then the corners.

    Words keep off the `hard` boxes as off each other; off the `soft` ones (rivets, aim spots) where that costs nothing.
    Two rounds: in the first, the early ones can't know where the late ones will stand.
    """
    chosen: dict[int, tuple[Text, Box]] = {}
    for _ in range(2):
        for place, one in enumerate(marked):
            chosen[place] = _best(one, room, hard=_blocked(place, chosen, marked, hard=hard), soft=soft, look=look)
    return [text for _, (text, _) in sorted(chosen.items())]


def words_of_spots(spots: Sequence[tuple[str, float, float]], room: Box, *, taken: Sequence[Box]) -> list[tuple[Text, Box]]:
    """The name of each spot: in its ring, or where a hit lies on that, beside the ring."""
    rings = [Box(x - SPOT_RADIUS, y - SPOT_RADIUS, x + SPOT_RADIUS, y + SPOT_RADIUS) for _, x, y in spots]
    chosen: list[tuple[Text, Box]] = []
    for n, (name, x, y) in enumerate(spots):
        others = [*(box for _, box in chosen), *(ring for m, ring in enumerate(rings) if m != n)]
        tried = []
        for at_x, at_y, anchor in ((x, y + 4.5, "middle"), *_places(rings[n], SPOT_TEXT)):
            text = Text(name, at_x, at_y, "panel__spot", anchor)
            box = text_box(name, text.x, text.y, size=SPOT_TEXT, anchor=anchor)  # as drawn: a mark rounds its place
            tried.append((sum(box.shared_area(other) for other in (*taken, *others)) + 10 * box.outside_area(room), text, box))
        _, text, box = min(tried, key=lambda one: one[0])
        chosen.append((text, box))
    return chosen


def _blocked(place: int, chosen: Mapping[int, tuple[Text, Box]], marked: Sequence[Marked], *, hard: Sequence[Box]) -> list[Box]:
    words = [box for n, (_, box) in chosen.items() if n != place]
    marks = [one.mark for n, one in enumerate(marked) if n != place]
    return [*words, *marks, *hard]


def _best(one: Marked, room: Box, *, hard: Sequence[Box], soft: Sequence[Box], look: str) -> tuple[Text, Box]:
    """The cheapest place; of equal ones the first."""
    tried: list[tuple[float, Text, Box]] = []
    for x, y, anchor in _places(one.mark, TEXT):
        text = Text(one.text, x, y, look, anchor)
        box = text_box(one.text, text.x, text.y, size=TEXT, anchor=anchor, bold=True)
        cost = sum(box.shared_area(other) for other in hard) + 0.1 * sum(box.shared_area(other) for other in soft)
        # Out of the drawing is worse than on top of something: a word cut off can't be read at all.
        tried.append((cost + 10 * box.outside_area(room), text, box))
        if tried[-1][0] == 0:
            break
    _, text_found, box_found = min(tried, key=lambda one_tried: one_tried[0])
    return text_found, box_found


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
