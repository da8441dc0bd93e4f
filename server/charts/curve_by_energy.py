"""The curve by itself: every shot at its energy, above the curve if it got through and below it if not.

The heavy curve and its grey band reach over the energies that were shot. Beyond them the curve is dashed: there it only
guesses. The bar at half height is where the 50 % point may lie.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.charts.curve_shape import CurveShape, DrawnCurve, draw_curve
from server.charts.scale import LinearScale
from server.charts.two_axes import BOTTOM, TOP, Frame, Tick, frame_of
from server.quantities import from_si, written

MARK = 9.0
LANE = 11.0
MOST_LANES = 4  # beyond this marks may touch: the curve is what the picture is about
TALL = 150.0  # from none to all
ROWS = 7
KEY = (
    "Filled squares got through, open ones didn’t. The curve is the chance to get through, dashed where nothing was shot; in grey where it "
    "may lie. The ring is where it passes a half, and the bar at that height where that may be (95 %)."
)


@dataclass(frozen=True)
class CurveMark:
    """A shot that the curve rests on, or None for through: it may have got through or not, and the curve leaves it out."""

    label: str
    href: str
    energy_j: float
    through: bool | None


@dataclass(frozen=True)
class DrawnMark:
    x: float
    y: float
    words: str
    href: str
    size: float = MARK


@dataclass(frozen=True)
class CurveByEnergy:
    """`curve` None where there is no point to draw one through: the shots stand there all the same."""

    frame: Frame
    curve: DrawnCurve | None
    through: tuple[DrawnMark, ...]
    stopped: tuple[DrawnMark, ...]
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    key: str = KEY

    @property
    def width(self) -> float:
        return self.frame.width

    @property
    def height(self) -> float:
        return self.frame.height


def draw_curve_by_energy(
    name: str, marks: Sequence[CurveMark], shape: CurveShape | None, *, unit: str, curve_words: str, range_j: tuple[float, float]
) -> CurveByEnergy:
    """`unit`: of energy, as this reader has it; `curve_words`: what the curve says or why there is none; `range_j`: the axis
    from where to where, one for all pictures that are compared."""
    known = [one for one in marks if one.through is not None]
    frame = frame_of(list(range_j), [0.0, 1.0], x_name="Energy", y_name="", x_unit=unit, y_unit="1")
    through, up = _laned([one for one in known if one.through], frame.x)
    stopped, down = _laned([one for one in known if not one.through], frame.x)
    all_at = TOP + 6 + LANE * up
    none_at = all_at + TALL
    bottom = none_at + 6 + LANE * down
    y = LinearScale(0.0, 1.0, none_at, all_at)
    levels = (Tick("all", all_at), Tick("half", y(0.5)), Tick("none", none_at))
    frame = replace(frame, y=y, y_ticks=levels, y_name="Chance to get through", bottom=bottom, height=bottom + 250.0 - BOTTOM)
    many = "1 shot" if len(known) == 1 else f"{len(known)} shots"
    hits = sum(bool(one.through) for one in known)
    return CurveByEnergy(
        frame=frame,
        curve=draw_curve(shape, frame.x, y) if shape else None,
        through=tuple(_mark(one, frame.x, all_at - 3 - MARK - LANE * lane, unit=unit) for one, lane in through),
        stopped=tuple(_mark(one, frame.x, none_at + 3 + LANE * lane, unit=unit) for one, lane in stopped),
        title=f"{name}: chance to get through, by energy",
        words=f"{name}, {many}, {hits} got through. {curve_words}",
        columns=(f"Energy, {unit}", "Chance, %", "May be, %"),
        rows=_rows(shape, unit) if shape else (),
    )


def _laned(marks: Sequence[CurveMark], x: LinearScale) -> tuple[list[tuple[CurveMark, int]], int]:
    """Each mark with a lane where it lies on no other, and how many lanes that took."""
    ends = [-math.inf] * MOST_LANES
    found = []
    for one in sorted(marks, key=lambda one: (one.energy_j, one.label)):
        at = x.clamped(one.energy_j)
        lane = next((n for n, end in enumerate(ends) if at - end >= MARK), None)
        if lane is None:
            lane = min(range(MOST_LANES), key=ends.__getitem__)
        ends[lane] = at
        found.append((one, lane))
    return found, 1 + max((lane for _, lane in found), default=-1)


def _mark(one: CurveMark, x: LinearScale, top: float, *, unit: str) -> DrawnMark:
    did = "got through" if one.through else "did not get through"
    said = f"{one.label}: {written(one.energy_j, unit, figures=3)}, {did}"
    return DrawnMark(round(x.clamped(one.energy_j) - MARK / 2, 1), round(top, 1), said, one.href)


def _rows(shape: CurveShape, unit: str) -> tuple[tuple[str, ...], ...]:
    """The curve at a few of its energies, none of them outside those that were shot."""
    inside = [
        n for n, energy in enumerate(shape.energies_j) if shape.shot_j[0] * (1 - 1e-9) <= energy <= shape.shot_j[1] * (1 + 1e-9)
    ]
    if not inside:
        return ()
    step = max(1, (len(inside) - 1) / (ROWS - 1))
    picked = dict.fromkeys(inside[min(len(inside) - 1, round(n * step))] for n in range(ROWS))
    return tuple(
        (
            f"{from_si(shape.energies_j[n], unit):.1f}",
            _percent(shape.chances[n]),
            f"{_percent(shape.lows[n])} to {_percent(shape.highs[n])}",
        )
        for n in picked
    )


def _percent(chance: float) -> str:
    """Whole percents; what is not quite none or all is not said to be."""
    if 0 < chance < 0.005:
        return "under 1"
    return "over 99" if 0.995 <= chance < 1 else f"{100 * chance:.0f}"
