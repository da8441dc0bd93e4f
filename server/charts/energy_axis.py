"""The energy axis under a chart: its range, the band edges in it, and labels that don't lie on each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.charts.outcome_words import places_of
from server.charts.scale import LinearScale, nice_step, nice_ticks, number_text
from server.charts.text_room import text_width

TICK_SIZE = 13.5
BETWEEN = 5.0  # least gap from one word to the next


@dataclass(frozen=True)
class Words:
    """A label that wants to stand with its middle at x."""

    text: str
    x: float


@dataclass(frozen=True)
class AxisLabel:
    """A label where it does stand; `line` counts up from the one nearest the chart's own line, 0."""

    text: str
    x: float
    y: float
    line: int = 0

    def on_line(self, first: float, step: float) -> AxisLabel:
        return replace(self, y=round(first + step * self.line, 1))


@dataclass(frozen=True)
class Axis:
    scale: LinearScale
    inner_edges: tuple[float, ...]
    ticks: tuple[AxisLabel, ...]

    def middle(self, low: float, high: float) -> float:
        return (self.scale.clamped(low) + self.scale.clamped(high)) / 2


def energy_axis(
    energies: Sequence[float],
    bands: Sequence[tuple[float, float]],
    *,
    start: float,
    end: float,
    asked: tuple[float, float] | None = None,
    unit: str = "J",
) -> Axis:
    """Band edges are the labels where there are bands; round numbers where there are none."""
    edges = sorted({edge for band in bands for edge in band if math.isfinite(edge)})
    low, high = asked if asked is not None else _range(energies, edges)
    scale = LinearScale(low, high, start, end)
    inside = [edge for edge in edges if low <= edge <= high]
    marked = inside if len(inside) >= 2 else sorted({*inside, *nice_ticks(low, high, 4)})
    inner = tuple(round(scale(edge), 1) for edge in inside if low < edge < high)
    return Axis(scale, inner, _tick_labels(marked, scale, unit))


def _range(energies: Sequence[float], edges: Sequence[float]) -> tuple[float, float]:
    """All edges and all shots, and a little air where a shot would stand outside the outermost edge."""
    if not energies and not edges:
        return 0.0, 100.0
    low, high = min((*edges, *energies)), max((*edges, *energies))
    step = nice_step(max(high - low, 0.01 * abs(high), 1e-3), 5)
    if not edges or low < edges[0]:
        low = max(0.0, math.floor(low / step) * step)
    if not edges or high > edges[-1]:
        high = math.ceil(high / step) * step
    return (low, high) if low < high else (max(0.0, low - step), high + step)


def _tick_labels(values: Sequence[float], scale: LinearScale, unit: str) -> tuple[AxisLabel, ...]:
    """The two ends first, then what still fits between: an end without its number makes an axis a riddle."""
    if not values:
        return ()
    places = places_of(values)
    texts = [number_text(value, places) for value in values]
    texts[-1] += f"\N{NO-BREAK SPACE}{unit}"
    room = (0.0, scale.end + 16.0)
    order = [len(values) - 1, 0, *range(1, len(values) - 1)]
    kept: dict[int, tuple[float, float]] = {}
    for place in order:
        span = _span(Words(texts[place], scale(values[place])), TICK_SIZE, bold=False, room=room)
        if all(_apart(span, other) for other in kept.values()):
            kept[place] = span
    return tuple(AxisLabel(texts[i], round(sum(kept[i]) / 2, 1), 0.0) for i in sorted(kept))


def laid_out(
    wanted: Sequence[Words], *, size: float, bold: bool, room: tuple[float, float], most_lines: int
) -> tuple[tuple[AxisLabel, ...], int]:
    """Labels on as few lines as keep them apart, and how many lines that took. One that fits nowhere is left out:
    the table has it."""
    lines: list[list[tuple[float, float]]] = []
    labels = []
    for words in wanted:
        span = _span(words, size, bold=bold, room=room)
        line = next((n for n, taken in enumerate(lines) if all(_apart(span, other) for other in taken)), len(lines))
        if line == most_lines:
            continue
        if line == len(lines):
            lines.append([])
        lines[line].append(span)
        labels.append(AxisLabel(words.text, round(sum(span) / 2, 1), 0.0, line))
    return tuple(labels), len(lines)


def _span(words: Words, size: float, *, bold: bool, room: tuple[float, float]) -> tuple[float, float]:
    """From where to where a label reaches, moved inwards where it would stick out of the picture."""
    width = text_width(words.text, size, bold=bold)
    left = max(room[0], min(words.x - width / 2, room[1] - width))
    return left, left + width


def _apart(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return one[1] + BETWEEN <= other[0] or other[1] + BETWEEN <= one[0]
