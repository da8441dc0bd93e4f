"""Values of several groups under each other with their intervals, on one scale; the last may be that of all together.

An interval that the shots leave open ends in an arrow at the edge of the drawing. A group without a value says why and has no mark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import Ticks, numbers
from proofyard.charts.figure import TEXT, WIDTH, Circle, Figure, Group, Mark, Path, Text, hidden, level, path, text_lines, upright
from proofyard.charts.scale import LinearScale
from proofyard.charts.text_room import apart, text_width, wrapped
from proofyard.quantities import from_si

LEFT, RIGHT = 16.0, 318.0
LINE, ROW = 17.0, 28.0
CAP, ARROW, DOT = 4.0, 5.0, 5.0
KEY = "Dot: value. Line: its 95\N{NO-BREAK SPACE}% interval; an arrow is a side that the shots don’t bound. Diamond: all groups together."


@dataclass(frozen=True)
class ForestRow:
    """One group. `said`: its value with its interval in words, or why it has none; an end of None is not bounded.

    together  the estimate over all groups, drawn apart from them
    """

    words: str
    beside: str
    said: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    href: str = ""
    together: bool = False


def interval_forest(name: str, rows: Sequence[ForestRow], *, axis_words: str, unit: str) -> Figure:
    """`unit`: of this reader, which values in SI are turned into; "%" for shares from 0 to 1."""
    ends = [end for row in rows for end in (row.value, row.low, row.high) if end is not None]
    if not ends:
        return Figure(title=name, words=f"{name}: no group has a value to show.", height=0.0, marks=())
    scale, ticks = _scale(ends, unit)
    made: list[Group] = []
    y = 0.0
    for row in rows:
        group, y = _row(row, scale, y)
        made.append(group)
    return Figure(
        title=name,
        words="; ".join(f"{row.words}: {row.said}" for row in rows) + ".",
        height=y + 44.0,
        marks=(_axis(y, ticks, f"{axis_words}, {unit}"), *made),
        columns=("Group", "Shots", "Value and interval"),
        rows=tuple((row.words, row.beside, row.said) for row in rows),
        key=KEY,
        x=scale,
    )


def _scale(ends: Sequence[float], unit: str) -> tuple[LinearScale, Ticks]:
    factor = 100.0 if unit == "%" else from_si(1.0, unit)
    if unit == "%":
        low, high = 0.0, 100.0
    else:
        low, high = min(ends) * factor, max(ends) * factor
        air = max(0.08 * (high - low), 0.04 * high)
        low, high = max(0.0, low - air), high + air
    scale = LinearScale(low / factor, high / factor, LEFT, RIGHT)
    kept = apart([(text, scale(value / factor)) for text, value in numbers(low, high)], size=TEXT)
    return scale, [(text, at) for text, at, _ in kept]


def _axis(bottom: float, ticks: Ticks, words: str) -> Group:
    return hidden(
        [
            *(upright(at, 2.0, bottom, "chart__hair") for _, at in ticks),
            level(LEFT, RIGHT, bottom, "chart__axis"),
            *(Text(text, at, bottom + 18.0, anchor="middle") for text, at in ticks),
            Text(words, WIDTH, bottom + 38.0, anchor="end"),
        ]
    )


def _row(row: ForestRow, scale: LinearScale, top: float) -> tuple[Group, float]:
    lines = wrapped(row.words, WIDTH - text_width(row.beside, TEXT, bold=True) - 16.0, size=TEXT)
    name = text_lines(top + 16.0, lines, step=LINE, x=0.0)
    beside = Text(row.beside, WIDTH, name[0].y, "chart__count", "end")
    y = name[-1].y + 12.0
    marks: list[Mark] = []
    if row.value is not None:
        left, right = (scale.clamped(end) if end is not None else at for end, at in ((row.low, LEFT), (row.high, RIGHT)))
        marks = [level(left, right, y, "chart__axis"), *_end(left, y, row.low is None, -1), *_end(right, y, row.high is None, 1)]
        x = scale(row.value)
        marks.append(_diamond(x, y) if row.together else Circle(x, y, DOT, "chart__dot"))
    return Group((*name, beside, *marks), words=f"{row.words}: {row.said}", href=row.href), y + (ROW - 12.0)


def _diamond(x: float, y: float) -> Path:
    side = DOT + 1.0
    return Path(path([(x - side, y), (x, y - side), (x + side, y), (x, y + side), (x - side, y)]), "chart__line")


def _end(x: float, y: float, open_end: bool, way: int) -> list[Mark]:
    if not open_end:
        return [upright(x, y - CAP, y + CAP, "chart__axis")]
    return [Path(path([(x - way * ARROW, y - ARROW), (x, y), (x - way * ARROW, y + ARROW)]), "chart__axis")]
