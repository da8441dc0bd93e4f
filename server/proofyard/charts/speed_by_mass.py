"""Speed against arrow mass, one mark an arrow, and the line that the bow's virtual mass makes of them.

Between the lightest and the heaviest arrow that were shot the line is drawn through; beyond them it is dashed, since
nothing was measured there. Of more arrows than can be seen a mark is all those of a range of mass and of speed, and the larger the more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.axes import BOTTOM, LEFT, RIGHT, TOP, Frame, frame_of
from proofyard.charts.binned import MOST_MARKS, Ranges, said_of_all, sized
from proofyard.charts.curves import three_parts
from proofyard.charts.figure import Circle, Figure, Group, Mark, Path, area, line, many, tenth, upright
from proofyard.charts.scale import LinearScale
from proofyard.quantities import Uncertain, from_si, to_si, written, written_with_uncertainty

FINER = 40  # ranges each way: arrows lie along a line, so few marks stand beside each other
LINE_KEY = " The line is what the virtual mass makes of them, dashed where nothing was shot; the grey band is its uncertainty."


@dataclass(frozen=True)
class ArrowMark:
    """One arrow that was shot. `readings`: how many speeds its mean rests on."""

    label: str
    href: str
    mass_kg: float
    speed: Uncertain
    readings: int


@dataclass(frozen=True)
class FitPoint:
    """One point of the line, with the uncertainty of it where that is known."""

    mass_kg: float
    speed_m_s: float
    u_m_s: float | None
    inside: bool


def draw_speed_by_mass(
    name: str,
    arrows: Sequence[ArrowMark],
    fit: Sequence[FitPoint],
    *,
    mass_unit: str,
    speed_unit: str,
    fit_words: str,
    asked: tuple[float, Uncertain, bool] | None = None,
) -> Figure:
    """`fit` in order of mass, or empty where there is no line; then `fit_words` say why. `asked`: mass, speed, inside."""
    if not arrows:
        raise ValueError("there is nothing to draw without an arrow")
    speeds = [one.speed for one in arrows] + ([asked[1]] if asked else [])
    masses = [one.mass_kg for one in arrows] + [one.mass_kg for one in fit] + ([asked[0]] if asked else [])
    ends = [end for one in speeds for end in _ends(one)] + [one.speed_m_s for one in fit]
    frame = frame_of(masses, ends, x_name="Arrow mass", y_name="Speed", x_unit=mass_unit, y_unit=speed_unit)
    shot = [one.mass_kg for one in fit if one.inside]
    parts = three_parts(fit, lambda one: 0 if one.inside else -1 if one.mass_kg < shot[0] else 1) if shot else ([], [], [])
    whole, *beyond = ([(frame.x(one.mass_kg), frame.y(one.speed_m_s)) for one in part] for part in parts)
    trace = line(whole, "chart__trace")
    cells = _Cells(arrows, frame, mass_unit, speed_unit) if len(arrows) > MOST_MARKS else None
    drawn = cells.drawn() if cells else [_arrow(one, frame, mass_unit, speed_unit) for one in arrows]
    told = cells.said if cells else f"{'; '.join(one.words for one in drawn)}."
    return Figure(
        title=f"{name}: speed against arrow mass",
        words=f"{told} {fit_words}",
        height=frame.height,
        marks=(
            *_reach(fit, frame),
            frame.axes(),
            *trace,
            *(mark for part in beyond for mark in line(part, "chart__beyond")),
            *drawn,
            *((_asked(asked, frame, mass_unit, speed_unit),) if asked else ()),
        ),
        columns=("Arrows", f"Arrow mass, {mass_unit}", f"Speed, {speed_unit}") if cells else (),
        rows=tuple(cells.rows()) if cells else (),
        key=(cells.said if cells else "A mark is an arrow’s mean speed, its bar one standard uncertainty.")
        + (LINE_KEY if trace else "")
        + (" The diamond is the arrow that you asked about." if asked else ""),
        x=frame.x,
        y=frame.y,
    )


class _Cells:
    """Arrows by their mass and their mean speed, counted range by range in the reader's units."""

    def __init__(self, arrows: Sequence[ArrowMark], frame: Frame, mass_unit: str, speed_unit: str) -> None:
        self.frame, self.units = frame, (mass_unit, speed_unit)
        self.masses, self.speeds = (
            Ranges.of(LinearScale(from_si(side.low, unit), from_si(side.high, unit), 0.0, 1.0), FINER)
            for side, unit in ((frame.x, mass_unit), (frame.y, speed_unit))
        )
        self.counts = Counter(
            (self.masses.at(from_si(one.mass_kg, mass_unit)), self.speeds.at(from_si(one.speed.value, speed_unit))) for one in arrows
        )
        each = f"{self.masses.width()} {mass_unit} and {self.speeds.width()} {speed_unit}"
        self.said = said_of_all(len(arrows), f"a mark is all arrows whose mean speed lies in {each}, the larger the more", of="arrow")

    def rows(self) -> list[tuple[str, ...]]:
        return [(str(count), self.masses.words(mass), self.speeds.words(speed)) for (mass, speed), count in sorted(self.counts.items())]

    def drawn(self) -> list[Group]:
        most, made = max(self.counts.values()), []
        for (mass, speed), count in sorted(self.counts.items()):
            x, y = (
                scale(to_si(sum(ranges.ends(at)) / 2, unit))
                for scale, ranges, at, unit in zip(
                    (self.frame.x, self.frame.y), (self.masses, self.speeds), (mass, speed), self.units, strict=True
                )
            )
            words = f"{self.masses.words(mass)} {self.units[0]}, {self.speeds.words(speed)} {self.units[1]}: {many(count, 'arrow')}"
            made.append(Group((Circle(x, y, 1.5 + 3.5 * sized(count, most), "chart__dot"),), words=words))
        return made


def _ends(speed: Uncertain) -> tuple[float, float]:
    u = speed.standard_uncertainty or 0.0
    return speed.value - u, speed.value + u


def _bar(mass: float, speed: Uncertain, frame: Frame) -> list[Mark]:
    low, high = _ends(speed)
    return [upright(frame.x(mass), frame.y(high), frame.y(low), "chart__axis")] if low < high else []


def _arrow(one: ArrowMark, frame: Frame, mass_unit: str, speed_unit: str) -> Group:
    speed = written_with_uncertainty(one.speed, speed_unit, figures=3)
    said = f"{one.label}, {written(one.mass_kg, mass_unit)}: {speed}, {many(one.readings, 'reading')}"
    dot = Circle(frame.x(one.mass_kg), frame.y(one.speed.value), 4.5, "chart__dot")
    return Group((*_bar(one.mass_kg, one.speed, frame), dot), words=said, href=one.href)


def _asked(asked: tuple[float, Uncertain, bool], frame: Frame, mass_unit: str, speed_unit: str) -> Group:
    mass, speed, inside = asked
    where = "inside the masses that were shot" if inside else "outside the masses that were shot"
    said = f"Expected of {written(mass, mass_unit)}: {written_with_uncertainty(speed, speed_unit, figures=3)}, {where}"
    d = f"M{tenth(frame.x(mass) - 7):g} {tenth(frame.y(speed.value)):g}l7 -7l7 7l-7 7Z"
    return Group((*_bar(mass, speed, frame), Path(d, "chart__asked" + ("" if inside else " chart__asked--outside"))), words=said)


def _reach(fit: Sequence[FitPoint], frame: Frame) -> tuple[Path, ...]:
    """Where the line may lie, one standard uncertainty either way, kept inside the drawing."""
    sides: list[list[tuple[float, float]]] = [[], []]
    for one in fit:
        if one.u_m_s is not None:
            for side, sign in zip(sides, (1, -1), strict=True):
                y = frame.y(one.speed_m_s + sign * one.u_m_s)
                side.append((min(max(frame.x(one.mass_kg), LEFT), RIGHT), min(max(y, TOP), BOTTOM)))
    return area(sides[0], sides[1], "chart__band")
