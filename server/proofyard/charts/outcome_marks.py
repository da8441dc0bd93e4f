"""What stands for an outcome on every chart: a square a level, its glyph, and the heavy line that is the rear face."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from proofyard.charts.figure import Glyph, Group, Mark, Rect, upright

LINE = 17.0
HEAD = 26.0  # a head's outline, twice as wide as high


def squares(x: float, tops: Mapping[int, float], size: float) -> list[Mark]:
    """A square a level of `tops` (level to upper side, lowest level first). Several are dashed, and joined by a line."""
    dashed = " chart__shot--open" if len(tops) > 1 else ""
    made: list[Mark] = []
    if dashed:
        low, *_, high = tops.values()
        made.append(upright(x, high + size, low, "chart__line"))
    return made + [Rect(x - size / 2, top, size, size, f"chart__shot outcome--{level}{dashed}") for level, top in tops.items()]


def level_tile(level: int, x: float, y: float, size: float) -> Group:
    glyph = Glyph(f"outcome-{level}", x + 1.5, y + 1.5, size - 3, size - 3, "chart__on")
    return Group((Rect(x, y, size, size, "chart__shot"), glyph), f"outcome--{level}")


def head_glyph(name: str, y: float) -> list[Glyph]:
    return [Glyph(name, 0.0, y, HEAD, HEAD / 2, "chart__ink")] if name else []


def lanes(places: Sequence[float], *, apart: float, most: int, taken: list[list[float]] | None = None) -> tuple[list[int], set[int]]:
    """For each place a lane in which it lies on no other, in the order given; and who found none, so lies where there is most
    room. `taken` keeps what stands in each lane."""
    held = taken if taken is not None else []
    held += [[] for _ in range(most - len(held))]
    found, crowded = [], set()
    for n, place in enumerate(places):
        room = [min((abs(place - other) for other in lane), default=math.inf) for lane in held]
        free = next((lane for lane, gap in enumerate(room) if gap >= apart), None)
        if free is None:
            crowded.add(n)
            free = max(range(most), key=room.__getitem__)
        held[free].append(place)
        found.append(free)
    return found, crowded
