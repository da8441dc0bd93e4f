"""A plain frame of two axes in a reader's units: where values stand, and which round numbers are written beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.scale import LinearScale, decimals_for, nice_ticks, number_text
from server.charts.text_room import text_width
from server.quantities import from_si

WIDTH, HEIGHT = 340.0, 250.0
LEFT, RIGHT, TOP, BOTTOM = 46.0, 328.0, 24.0, 214.0
TICK_SIZE = 13.5


@dataclass(frozen=True)
class Tick:
    """A round number: its text, and where its line and its middle stand."""

    text: str
    at: float


@dataclass(frozen=True)
class Frame:
    """Scales take SI, and give places in the picture. `x_name` and `y_name` name the axes with their units."""

    x: LinearScale
    y: LinearScale
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    x_name: str
    y_name: str
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    bottom: float = BOTTOM


def frame_of(
    xs: Sequence[float], ys: Sequence[float], *, x_name: str, y_name: str, x_unit: str, y_unit: str, y_from_zero: bool = False
) -> Frame:
    """A frame that holds all these values (SI), its ends at round numbers of the reader's units."""
    x_low, x_high, x_at = _ends([from_si(x, x_unit) for x in xs])
    y_low, y_high, y_at = _ends([from_si(y, y_unit) for y in ys], from_zero=y_from_zero)
    # A reader's unit and SI differ by a factor only: a length, a mass, a force, a speed.
    x_factor, y_factor = from_si(1.0, x_unit), from_si(1.0, y_unit)
    x = LinearScale(x_low / x_factor, x_high / x_factor, LEFT, RIGHT)
    y = LinearScale(y_low / y_factor, y_high / y_factor, BOTTOM, TOP)
    return Frame(
        x=x, y=y, x_ticks=_ticks(x_at, x, factor=x_factor, apart=True), y_ticks=_ticks(y_at, y, factor=y_factor),
        x_name=f"{x_name}, {x_unit}", y_name=f"{y_name}, {y_unit}",
    )  # fmt: skip


def place(value: float) -> float:
    return round(value, 1)


def path(points: Sequence[tuple[float, float]]) -> str:
    """The points as the d of an SVG path."""
    return "M" + "L".join(f"{place(x):g} {place(y):g}" for x, y in points) if points else ""


def _ends(values: Sequence[float], *, from_zero: bool = False) -> tuple[float, float, tuple[float, ...]]:
    low, high = (0.0 if from_zero else min(values)), max(values)
    # Values that are all but one: a frame of a few percent about them, or its numbers would need ten places.
    least = max(0.04 * max(abs(low), abs(high)), 1e-6)
    if high - low < least:
        low, high = (low, low + least) if from_zero else ((low + high - least) / 2, (low + high + least) / 2)
    air = 0.06 * (high - low)
    first, last = (0.0 if from_zero else low - air), high + air
    return first, last, nice_ticks(first, last, 5)


def _ticks(values: Sequence[float], scale: LinearScale, *, factor: float, apart: bool = False) -> tuple[Tick, ...]:
    """Numbers beside an axis; along the bottom those that would touch their neighbour are left out."""
    places = decimals_for(values[1] - values[0]) if len(values) > 1 else 0
    made: list[Tick] = []
    room = -1e9
    for value in values:
        tick = Tick(number_text(value, places), place(scale(value / factor)))
        half = text_width(tick.text, TICK_SIZE) / 2
        if not apart or tick.at - half > room + 4:
            made.append(tick)
            room = tick.at + half
    return tuple(made)
