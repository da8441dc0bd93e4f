"""Chance to get through against energy: the curve of the shots, where a what-if moves it, and every shot that was shot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import LEFT, RIGHT, Frame, frame_of
from proofyard.charts.curves import CurveMark, three_parts
from proofyard.charts.figure import Figure, Group, Mark, Rect, Text, area, hidden, level, line, upright
from proofyard.quantities import from_si

LINES_UNDER = 18.0
Curve = tuple[Sequence[float], Sequence[float]]


@dataclass(frozen=True)
class Asked:
    """One what-if: by the rules from low to high, with the shots' uncertainty (an end None: open). `changed`: not the armour as it is."""

    letter: str
    words: str
    rules_low_j: float
    rules_high_j: float
    low_j: float | None
    high_j: float | None
    changed: bool


def draw_what_if(
    name: str,
    marks: Sequence[CurveMark],
    *,
    curve: Curve | None,
    asked: Sequence[Asked],
    shot_j: tuple[float, float] | None,
    unit: str,
    words: str,
) -> Figure:
    """`curve`: energies in order and the chance at each; `shot_j`: least and greatest energy shot; `unit` of the axis."""
    if not asked:
        raise ValueError("there is nothing to draw without an answer")
    ends = [end for one in asked for end in (one.rules_low_j, one.rules_high_j)]
    xs = [one.energy_j for one in marks] + ends
    # An uncertainty that runs far off is shown to run off; it must not press the rest together.
    xs += [end for one in asked for end in (one.low_j, one.high_j) if end is not None and 0.5 * min(ends) <= end <= 1.6 * max(ends)]
    frame = frame_of(xs, [0.0, 1.0], x_name="Energy", y_name="Percentage that goes through", x_unit=unit, y_unit="%")
    areas, curves = zip(*(_moved(one, curve, frame) for one in asked), strict=True)
    own = _own(curve, shot_j, frame)
    ranges = [_range(one, n, frame, named=len(asked) > 1) for n, one in enumerate(asked)]
    return Figure(
        title=f"{name}: share that gets through, by energy",
        words=words,
        height=frame.height,
        marks=(
            frame.axes(),
            *(mark for some in areas for mark in some),
            level(LEFT, RIGHT, frame.y(0.5), "chart__hair"),
            *own,
            *(mark for lines, bars in zip(curves, ranges, strict=True) for mark in (*lines, *bars)),
            *(_shot(one, frame, unit) for one in marks),
        ),
        columns=("", f"50\N{NO-BREAK SPACE}% energy, from, {unit}", f"to, {unit}", f"By the rules alone, from, {unit}", f"to, {unit}"),
        rows=tuple(_row(one, unit) for one in asked),
        key=_key(bool(own), any(curves)),
        x=frame.x,
        y=frame.y,
    )


def _key(own: bool, moved: bool) -> str:
    shots = (
        "The line is the curve of your shots, dashed where nothing was shot; each stroke is a shot, above if it got through, below "
        "if it was stopped. "
    )
    rests_on = "the uncertainty of the shots" if own else "all that is published"
    bars = "The thick bar is the 50\N{NO-BREAK SPACE}% energy by the rules, the thin one its range with"
    grey = " Grey: the curve after the change." if own and moved else ""
    return f"{shots if own else ''}{bars} {rests_on}; an end without a cap is open.{grey}"


def _shot(one: CurveMark, frame: Frame, unit: str) -> Group:
    said = f"{one.label}: {from_si(one.energy_j, unit):.0f}\N{NO-BREAK SPACE}{unit}, {'got through' if one.through else 'was held'}"
    x, y = frame.x(one.energy_j), frame.y(1.0 if one.through else 0.0)
    stroke = upright(x, y - 7, y + 7, "chart__stroke chart__stroke--thin")
    return Group((stroke, Rect(x - 5, y - 11, 10.0, 22.0, "chart__hold")), words=said, href=one.href)


def _inside(points: Sequence[tuple[float, float]], frame: Frame) -> list[tuple[float, float]]:
    """The part of a curve between the drawing's sides, cut at them; `points` rise in energy."""
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


def _own(curve: Curve | None, shot_j: tuple[float, float] | None, frame: Frame) -> list[Mark]:
    """The shots' own curve: whole where energies were shot, dashed beyond."""
    if curve is None or shot_j is None:
        return []
    low, high = shot_j
    parts = three_parts(list(zip(*curve, strict=True)), lambda point: -1 if point[0] < low else int(point[0] > high))
    whole, *beyond = (_inside(part, frame) for part in parts)
    return [*line(whole, "chart__trace"), *(mark for part in beyond for mark in line(part, "chart__beyond"))]


def _moved(one: Asked, curve: Curve | None, frame: Frame) -> tuple[tuple[Mark, ...], tuple[Mark, ...]]:
    """Grey between the shots' curve as both ends of the rules move it, and those two curves."""
    if curve is None or not one.changed:
        return (), ()
    energies, chances = curve
    middle = _fifty_percent_of(energies, chances)
    # Moved along the energies, so that steepness in proportion stays.
    both = [
        _inside([(energy * end / middle, chance) for energy, chance in zip(energies, chances, strict=True)], frame)
        for end in (one.rules_low_j, one.rules_high_j)
    ]
    lines = [mark for some in both for mark in line(some, f"chart__moved chart__moved--{one.letter.lower()}")]
    return area(both[0], both[1], "chart__band") if len(lines) == 2 else (), tuple(lines)


def _range(one: Asked, n: int, frame: Frame, *, named: bool) -> list[Mark]:
    """The bars on the line of the half: a thick one by the rules, a thin one with the shots' uncertainty, capped where it ends."""
    y = frame.y(0.5) + LINES_UNDER * (n if n == 0 else -1)
    low, high = (side if end is None else frame.x(end) for end, side in ((one.low_j, LEFT), (one.high_j, RIGHT)))
    left, right = (min(max(end, LEFT), RIGHT) for end in (low, high))
    bar, end = frame.x(one.rules_low_j), frame.x(one.rules_high_j)
    caps = [(left, one.low_j is None or low < LEFT), (right, one.high_j is None or high > RIGHT)]
    return [
        level(left, right, y, "chart__axis"),
        *(upright(at, y - 5, y + 5, "chart__axis") for at, is_open in caps if not is_open),
        level(bar, max(end, bar + 2.0), y, "chart__bar"),
        *([hidden([Text(one.letter, min(right + 5, RIGHT - 8), y - 6, "chart__count")])] if named else []),
    ]


def _fifty_percent_of(energies: Sequence[float], chances: Sequence[float]) -> float:
    for (e, p), (f, q) in zip(zip(energies, chances, strict=True), list(zip(energies, chances, strict=True))[1:], strict=False):
        if p <= 0.5 <= q:
            return e if q == p else e + (f - e) * (0.5 - p) / (q - p)
    return energies[-1] if chances[-1] < 0.5 else energies[0]


def _row(one: Asked, unit: str) -> tuple[str, ...]:
    ends = (one.low_j, one.high_j, one.rules_low_j, one.rules_high_j)
    return (f"{one.letter}: {one.words}", *("not bounded" if end is None else f"{from_si(end, unit):.0f}" for end in ends))
