"""Each head's 50 % energy by one of its measures, and every shot by the angle that it hit at."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import LEFT, RIGHT, Frame, frame_of
from proofyard.charts.figure import Circle, Figure, Group, Rect, Text, many
from proofyard.quantities import written

MARK = 9.0


@dataclass(frozen=True)
class MeasureMark:
    """One head. energy_j: its 50 % energy by a slope common to all, None where there is none; `always`: all or none got through."""

    number: int
    name: str
    value_si: float
    energy_j: float | None
    hits: int
    shots: int
    always: bool


@dataclass(frozen=True)
class AngleMark:
    """One shot by its angle from square."""

    label: str
    href: str
    angle_rad: float
    energy_j: float
    through: bool


def draw_by_measure(name: str, marks: Sequence[MeasureMark], *, measure_unit: str, energy_unit: str) -> Figure:
    """Against 50 % energies where every head has one, else against the share through."""
    if not marks:
        raise ValueError("there is nothing to draw without a head")
    by_energy = all(one.energy_j is not None for one in marks)
    heights = [one.energy_j or 0.0 for one in marks] if by_energy else [one.hits / one.shots for one in marks]
    frame = frame_of(
        [one.value_si for one in marks],
        heights if by_energy else [0.0, 1.0],
        x_name=name,
        y_name="50\N{NO-BREAK SPACE}% energy" if by_energy else "Share through",
        x_unit="1" if measure_unit == "HV" else measure_unit,
        y_unit=energy_unit if by_energy else "%",
        y_from_zero=True,
    )
    drawn = tuple(_head(one, height, frame, measure_unit, energy_unit) for one, height in zip(marks, heights, strict=True))
    names = "; ".join(f"{one.number} {one.name}" for one in marks)
    guess = " Open marks: all or none of its shots got through, so its place is a guess of the curve."
    more = guess if any(one.always for one in marks) else ""
    if by_energy:
        more += (
            " Energies are by one slope for all heads, without intervals: each head’s own 50\N{NO-BREAK SPACE}% energy may differ a little."
        )
    return Figure(
        title=f"{name}, by head",
        words=". ".join(one.words for one in drawn) + ".",
        height=frame.height,
        marks=(frame.axes(), *drawn),
        key=f"Each mark is a head: {names}.{more}",
        x=frame.x,
        y=frame.y,
    )


def _head(one: MeasureMark, height: float, frame: Frame, measure_unit: str, energy_unit: str) -> Group:
    x, y = frame.x(one.value_si), frame.y(height)
    value = f"{one.value_si:.0f} HV" if measure_unit == "HV" else written(one.value_si, measure_unit, figures=3)
    energy = (
        f", half at about {written(one.energy_j, energy_unit, figures=2)} by one slope for all heads" if one.energy_j is not None else ""
    )
    said = f"{one.number}, {one.name}: {value}, {one.hits} of {many(one.shots, 'shot')} through{energy}"
    left = x > (LEFT + RIGHT) / 2
    label = Text(str(one.number), x - 9 if left else x + 9, y - 6, anchor="end" if left else "start")
    return Group((Circle(x, y, 5.0, "chart__ring" if one.always else "chart__dot"), label), words=said)


def draw_by_angle(marks: Sequence[AngleMark], *, unit: str) -> Figure:
    """Every shot by its angle from square and its energy: filled if it got through."""
    if not marks:
        raise ValueError("there is nothing to draw without a shot")
    frame = frame_of(
        [0.0, *(one.angle_rad for one in marks)],
        [one.energy_j for one in marks],
        x_name="Angle from square",
        y_name="Energy",
        x_unit="deg",
        y_unit=unit,
    )
    drawn = tuple(_shot(one, frame, unit) for one in marks)
    through = sum(one.through for one in marks)
    return Figure(
        title="Angle from square, shot by shot",
        words=f"{many(len(marks), 'shot')}, {through} through, by angle from square and energy.",
        height=frame.height,
        marks=(frame.axes(), *drawn),
        key="Filled squares got through, open ones didn’t. 0° is square on.",
        x=frame.x,
        y=frame.y,
    )


def _shot(one: AngleMark, frame: Frame, unit: str) -> Group:
    did, look = ("got through", "chart__square") if one.through else ("did not get through", "chart__square chart__square--open")
    said = f"{one.label}: {math.degrees(one.angle_rad):.0f}°, {written(one.energy_j, unit, figures=3)}, {did}"
    x, y = frame.x(one.angle_rad), frame.y(one.energy_j)
    return Group((Rect(x - MARK / 2, y - MARK / 2, MARK, MARK, look),), words=said, href=one.href)
