"""Chance to get through against energy: the curve of the shots, where a what-if moves it, and every shot that was shot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.two_axes import LEFT, RIGHT, Frame, frame_of, path, place
from server.quantities import from_si

LINES_UNDER = 18.0


@dataclass(frozen=True)
class Mark:
    """One shot."""

    label: str
    href: str
    energy_j: float
    through: bool


@dataclass(frozen=True)
class Asked:
    """One what-if: by the rules from low to high, with the shots' doubt (an end None: open). `changed`: not the armour as it is."""

    letter: str
    words: str
    rules_low_j: float
    rules_high_j: float
    low_j: float | None
    high_j: float | None
    changed: bool


@dataclass(frozen=True)
class DrawnMark:
    x: float
    y: float
    words: str
    href: str
    through: bool


@dataclass(frozen=True)
class DrawnAsked:
    """`curves`: paths of both ends of the rules; `area` between them. The bars lie on the line of the half."""

    letter: str
    curves: tuple[str, ...]
    area: str
    bar: tuple[float, float]
    whole: tuple[float, float]
    open_low: bool
    open_high: bool
    y: float
    label_x: float


@dataclass(frozen=True)
class WhatIfCurve:
    """`line`: the shots' own curve where energies were shot, `beyond`: its parts outside, to be dashed."""

    frame: Frame
    marks: tuple[DrawnMark, ...]
    line: str
    beyond: tuple[str, ...]
    asked: tuple[DrawnAsked, ...]
    half_y: float
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def draw_what_if(
    name: str,
    marks: Sequence[Mark],
    *,
    curve: tuple[Sequence[float], Sequence[float]] | None,
    asked: Sequence[Asked],
    shot_j: tuple[float, float] | None,
    unit: str,
    words: str,
) -> WhatIfCurve:
    """`curve`: energies in order and the chance at each; `shot_j`: least and greatest energy shot; `unit` of the axis."""
    if not asked:
        raise ValueError("there is nothing to draw without an answer")
    ends = [end for one in asked for end in (one.rules_low_j, one.rules_high_j)]
    xs = [one.energy_j for one in marks] + ends
    # A doubt that runs far off is shown to run off; it must not press the rest together.
    xs += [end for one in asked for end in (one.low_j, one.high_j) if end is not None and 0.5 * min(ends) <= end <= 1.6 * max(ends)]
    frame = frame_of(xs, [0.0, 1.0], x_name="Energy", y_name="Share that gets through", x_unit=unit, y_unit="%")
    drawn = tuple(_asked(one, n, frame, curve) for n, one in enumerate(asked))
    line, beyond = _line(curve, shot_j, frame)
    return WhatIfCurve(
        frame=frame,
        marks=tuple(_mark(one, frame, unit) for one in marks),
        line=line,
        beyond=beyond,
        asked=drawn,
        half_y=place(frame.y(0.5)),
        title=f"{name}: share that gets through, by energy",
        words=words,
        columns=("", f"Half get through, from, {unit}", f"to, {unit}", f"With the shots’ doubt, from, {unit}", f"to, {unit}"),
        rows=tuple(_row(one, unit) for one in asked),
    )


def _mark(one: Mark, frame: Frame, unit: str) -> DrawnMark:
    did = "got through" if one.through else "was held"
    said = f"{one.label}: {from_si(one.energy_j, unit):.0f}\N{NO-BREAK SPACE}{unit}, {did}"
    return DrawnMark(place(frame.x(one.energy_j)), place(frame.y(1.0 if one.through else 0.0)), said, one.href, one.through)


def _inside(points: Sequence[tuple[float, float]], frame: Frame) -> list[tuple[float, float]]:
    """The part of a curve between the picture's sides, cut at them; `points` rise in energy."""
    spots = [(frame.x(energy), frame.y(chance)) for energy, chance in points]
    kept = []
    for n, (x, y) in enumerate(spots):
        for side in (LEFT, RIGHT):
            if n and spots[n - 1][0] < side < x:
                part = (side - spots[n - 1][0]) / (x - spots[n - 1][0])
                kept.append((side, spots[n - 1][1] + part * (y - spots[n - 1][1])))
        if LEFT <= x <= RIGHT:
            kept.append((x, y))
    return kept


def _line(
    curve: tuple[Sequence[float], Sequence[float]] | None, shot_j: tuple[float, float] | None, frame: Frame
) -> tuple[str, tuple[str, ...]]:
    if curve is None or shot_j is None:
        return "", ()
    points = list(zip(*curve, strict=True))
    inside = [point for point in points if shot_j[0] <= point[0] <= shot_j[1]]
    if not inside:
        return "", ()
    before = [point for point in points if point[0] < shot_j[0]] + inside[:1]
    after = inside[-1:] + [point for point in points if point[0] > shot_j[1]]
    spots = [_inside(some, frame) for some in (inside, before, after)]
    return path(spots[0]), tuple(path(some) for some in spots[1:] if len(some) > 1)


def _asked(one: Asked, n: int, frame: Frame, curve: tuple[Sequence[float], Sequence[float]] | None) -> DrawnAsked:
    y = place(frame.y(0.5) + LINES_UNDER * (n if n == 0 else -1))
    low, high = frame.x(one.rules_low_j), frame.x(one.rules_high_j)
    ends = [place(min(max(frame.x(end), LEFT), RIGHT)) if end is not None else side for end, side in ((one.low_j, LEFT), (one.high_j, RIGHT))]
    curves: tuple[str, ...] = ()
    area = ""
    if curve is not None and one.changed:
        moved = [_moved(curve, end, frame) for end in (one.rules_low_j, one.rules_high_j)]
        curves = tuple(path(some) for some in moved if len(some) > 1)
        if len(curves) == len(moved):
            area = path([*moved[0], *reversed(moved[1])]) + "Z"
    return DrawnAsked(
        letter=one.letter,
        curves=curves,
        area=area,
        bar=(place(low), place(max(high, low + 2.0))),
        whole=(ends[0], ends[1]),
        open_low=one.low_j is None or frame.x(one.low_j) < LEFT,
        open_high=one.high_j is None or frame.x(one.high_j) > RIGHT,
        y=y,
        label_x=place(min(ends[1] + 5, RIGHT - 8)),
    )


def _moved(curve: tuple[Sequence[float], Sequence[float]], half_j: float, frame: Frame) -> list[tuple[float, float]]:
    """The shots' curve moved along the energies so that it passes a half at `half_j`: steepness in proportion stays."""
    energies, chances = curve
    middle = _half_of(energies, chances)
    return _inside([(energy * half_j / middle, chance) for energy, chance in zip(energies, chances, strict=True)], frame)


def _half_of(energies: Sequence[float], chances: Sequence[float]) -> float:
    for (e, p), (f, q) in zip(zip(energies, chances, strict=True), list(zip(energies, chances, strict=True))[1:], strict=False):
        if p <= 0.5 <= q:
            return e if q == p else e + (f - e) * (0.5 - p) / (q - p)
    return energies[-1] if chances[-1] < 0.5 else energies[0]


def _row(one: Asked, unit: str) -> tuple[str, ...]:
    def text(end: float | None) -> str:
        return "not bounded" if end is None else f"{from_si(end, unit):.0f}"

    return (f"{one.letter}: {one.words}", text(one.rules_low_j), text(one.rules_high_j), text(one.low_j), text(one.high_j))
