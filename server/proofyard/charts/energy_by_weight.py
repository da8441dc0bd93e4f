"""The 50 % energy by what a square metre weighs: one mark a panel type, with both of its intervals.

An interval that the shots leave open ends in an arrow at the edge of the drawing instead of a cap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import BOTTOM, LEFT, RIGHT, TOP, Frame, frame_of
from proofyard.charts.figure import Circle, Figure, Group, Mark, Path, Text, level, path, upright
from proofyard.quantities import Uncertain

SURE = 1.96  # standard uncertainties to either side: 95 %, as the energies' intervals
CAP, ARROW = 4.0, 5.0


@dataclass(frozen=True)
class WeightMark:
    """One panel type. `said`: all that its mark says; an end of None is not bounded."""

    name: str
    href: str
    said: str
    weight: Uncertain
    energy_j: float
    low_j: float | None
    high_j: float | None


def draw_energy_by_weight(name: str, marks: Sequence[WeightMark], *, unit: str, weight_unit: str) -> Figure:
    """`unit` of energy, `weight_unit` of a mass for its area, as this reader has them. Marks are numbered in their order."""
    if not marks:
        raise ValueError("there is nothing to draw without a panel type")
    reach = [(one, SURE * (one.weight.standard_uncertainty or 0.0)) for one in marks]
    frame = frame_of(
        [0.0, *(end for one, u in reach for end in (one.weight.value - u, one.weight.value + u))],
        [end for one in marks for end in (one.energy_j, one.low_j, one.high_j) if end is not None],
        x_name="Weight of a square metre",
        y_name="50\N{NO-BREAK SPACE}% energy",
        x_unit=weight_unit,
        y_unit=unit,
        y_from_zero=True,
    )
    drawn = tuple(_mark(one, u, number, frame) for number, (one, u) in enumerate(reach, start=1))
    names = "; ".join(f"{number}: {one.name}" for number, one in enumerate(marks, start=1))
    return Figure(
        title=f"{name}: 50 % energy by weight",
        words=". ".join(one.said for one in marks) + ".",
        height=frame.height,
        marks=(frame.axes(), *drawn),
        key=f"{names}. Bars are 95 % intervals; an arrow is a side that the shots don’t bound yet.",
        x=frame.x,
        y=frame.y,
    )


def _mark(one: WeightMark, u: float, number: int, frame: Frame) -> Group:
    x, y = frame.x(one.weight.value), frame.y(one.energy_j)
    top = TOP if one.high_j is None else frame.y(one.high_j)
    bottom = BOTTOM if one.low_j is None else frame.y(one.low_j)
    ends = [*_end(x, top, open_end=one.high_j is None, way=1), *_end(x, bottom, open_end=one.low_j is None, way=-1)]
    across = [level(max(frame.x(one.weight.value - u), LEFT), min(frame.x(one.weight.value + u), RIGHT), y, "chart__axis")] if u else []
    # Beside the mark, on the side where the drawing has room.
    left = x > (LEFT + RIGHT) / 2
    label = Text(str(number), x - 9 if left else x + 9, y - 7, anchor="end" if left else "start")
    marks = (upright(x, top, bottom, "chart__axis"), *ends, *across, Circle(x, y, 5.0, "chart__dot"), label)
    return Group(marks, words=one.said, href=one.href)


def _end(x: float, y: float, *, open_end: bool, way: int) -> list[Mark]:
    """A cap, or an arrow that points on; `way`: 1 at the upper end, -1 at the lower."""
    if not open_end:
        return [level(x - CAP, x + CAP, y, "chart__axis")]
    return [Path(path([(x - ARROW, y + way * ARROW), (x, y), (x + ARROW, y + way * ARROW)]), "chart__axis")]
