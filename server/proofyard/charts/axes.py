"""Axes: scales in a reader's units, the round numbers beside them, and labels that don't lie on each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.figure import TEXT, WIDTH, Group, Mark, Text, hidden, level, upright
from proofyard.charts.scale import LinearScale, decimals_for, nice_step, nice_ticks, number_text, places_of
from proofyard.charts.text_room import apart
from proofyard.quantities import from_si

HEIGHT = 250.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 328.0, 24.0, 214.0
Ticks = Sequence[tuple[str, float]]


@dataclass(frozen=True)
class Frame:
    """Scales take SI, and give places in the drawing. `x_name` and `y_name` name the axes with their units."""

    x: LinearScale
    y: LinearScale
    x_ticks: Ticks
    y_ticks: Ticks
    x_name: str
    y_name: str
    height: float = HEIGHT
    bottom: float = BOTTOM

    def axes(self) -> Group:
        return hidden(
            [
                *ruled(self.y_ticks, LEFT, RIGHT),
                level(LEFT, RIGHT, self.bottom, "chart__axis"),
                *(upright(at, self.bottom, self.bottom + 5, "chart__axis") for _, at in self.x_ticks),
                *(Text(text, at, self.bottom + 19, anchor="middle") for text, at in self.x_ticks),
                Text(self.y_name, 0.0, 13.0),
                Text(self.x_name, RIGHT, self.height - 4, anchor="end"),
            ]
        )


def frame_of(
    xs: Sequence[float], ys: Sequence[float], *, x_name: str, y_name: str, x_unit: str, y_unit: str, y_from_zero: bool = False
) -> Frame:
    """A frame that holds all these values (SI), its ends at round numbers of the reader's units."""
    x, x_ticks = _side(xs, x_unit, LEFT, RIGHT)
    y, y_ticks = _side(ys, y_unit, BOTTOM, TOP, from_zero=y_from_zero)
    kept = apart(x_ticks, size=TEXT)
    return Frame(x, y, [(text, at) for text, at, _ in kept], y_ticks, f"{x_name}, {x_unit}", f"{y_name}, {y_unit}")


def _side(values: Sequence[float], unit: str, start: float, end: float, *, from_zero: bool = False) -> tuple[LinearScale, Ticks]:
    # A reader's unit and SI differ by a factor only: a length, a mass, a force, a speed.
    factor = from_si(1.0, unit)
    low, high = (0.0 if from_zero else min(values) * factor), max(values) * factor
    # Values that are all but one: a frame of a few percent about them, or its numbers would need ten places.
    least = max(0.04 * max(abs(low), abs(high)), 1e-6)
    if high - low < least:
        low, high = (low, low + least) if from_zero else ((low + high - least) / 2, (low + high + least) / 2)
    air = 0.06 * (high - low)
    low, high = (0.0 if from_zero else low - air), high + air
    scale = LinearScale(low / factor, high / factor, start, end)
    return scale, [(text, scale(value / factor)) for text, value in numbers(low, high)]


def numbers(low: float, high: float, about: int = 5) -> list[tuple[str, float]]:
    """The round numbers from low to high, as they are written."""
    places = decimals_for(nice_step(high - low, about))
    return [(number_text(value, places), value) for value in nice_ticks(low, high, about)]


def ruled(ticks: Ticks, left: float, right: float, *, gap: float = 6.0) -> list[Mark]:
    """A thin line across for each number of an upright axis, and the number left of it."""
    hairs = [level(left, right, at, "chart__hair") for _, at in ticks]
    return [*hairs, *(Text(text, left - gap, at + 5, anchor="end") for text, at in ticks)]


@dataclass(frozen=True)
class EnergyAxis:
    """An axis of energy with the edges of its bands. `ticks` don't touch each other."""

    scale: LinearScale
    inner_edges: tuple[float, ...]
    ticks: Ticks

    def middle(self, low: float, high: float) -> float:
        return (self.scale.clamped(low) + self.scale.clamped(high)) / 2

    def labels(self, y: float) -> list[Text]:
        return [Text(text, at, y, anchor="middle") for text, at in self.ticks]

    def hairs(self, top: float, bottom: float) -> list[Mark]:
        return [upright(at, top, bottom, "chart__hair") for at in self.inner_edges]


def energy_axis(
    energies: Sequence[float],
    bands: Sequence[tuple[float, float]],
    *,
    start: float,
    end: float,
    asked: tuple[float, float] | None = None,
    unit: str = "J",
) -> EnergyAxis:
    """Band edges are the labels where there are bands; round numbers where there are none."""
    edges = sorted({edge for band in bands for edge in band if math.isfinite(edge)})
    low, high = asked if asked is not None else _range(energies, edges)
    scale = LinearScale(low, high, start, end)
    inside = [edge for edge in edges if low <= edge <= high]
    marked = inside if len(inside) >= 2 else sorted({*inside, *nice_ticks(low, high, 4)})
    places = places_of(marked)
    wanted = [(number_text(value, places), scale(value)) for value in marked]
    if wanted:
        wanted[-1] = (f"{wanted[-1][0]}\N{NO-BREAK SPACE}{unit}", wanted[-1][1])
    # The two ends first: an end without its number makes an axis a riddle.
    kept = apart(wanted, size=TEXT, room=(0.0, min(end + 16.0, WIDTH)), first=(len(wanted) - 1, 0) if wanted else ())
    return EnergyAxis(scale, tuple(scale(edge) for edge in inside if low < edge < high), [(text, at) for text, at, _ in kept])


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
