"""A curve of chances with its band, whole where shots were loosed and dashed where the curve only guesses; and the chart of a
curve by itself: every shot at its energy, above the curve if it got through and below it if not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from proofyard.charts.axes import BOTTOM, TOP, frame_of
from proofyard.charts.binned import Ranges, said_of_all
from proofyard.charts.figure import Circle, Figure, Group, Mark, Rect, area, level, line, many, upright
from proofyard.charts.outcome_marks import lanes
from proofyard.charts.scale import LinearScale
from proofyard.quantities import from_si, written

MARK = 9.0
LANE = 11.0
MOST_LANES = 4  # beyond this marks may touch: the curve is what the drawing is about
MOST_ONE_BY_ONE = 100  # in two rows of 30 side by side; a page may have a drawing for each head and panel type
TALL = 150.0  # from none to all
BAR_MOST, BAR_LEAST = 44.0, 1.5  # of the range that holds most shots, and of one that holds a single shot
ROWS = 7
KEY = (
    "Filled squares got through, open ones didn’t. The curve is the chance to get through, dashed where nothing was "
    "shot; its 95 % interval is "
    "grey. The ring marks the 50 % energy, and the bar at that height its 95 % interval."
)
Spot = TypeVar("Spot")
Marks = tuple[Mark, ...]


@dataclass(frozen=True)
class CurveMark:
    """A shot that a curve rests on, or None for through: it may have got through or not, and the curve leaves it out."""

    label: str
    href: str
    energy_j: float
    through: bool | None


@dataclass(frozen=True)
class CurveShape:
    """Energies in order, and at each the chance to get through and where it may lie. shot_j: the least and the most energy
    that was shot. middle_j: where the curve passes a half; its ends are None where the shots don't bound that side. `words`: what it
    says."""

    energies_j: tuple[float, ...]
    chances: tuple[float, ...]
    lows: tuple[float, ...]
    highs: tuple[float, ...]
    shot_j: tuple[float, float]
    middle_j: float
    ends_j: tuple[float | None, float | None]
    words: str = ""

    def __post_init__(self) -> None:
        if not len(self.energies_j) == len(self.chances) == len(self.lows) == len(self.highs):
            raise ValueError("a curve has as many energies as chances, lows and highs")
        if list(self.energies_j) != sorted(self.energies_j):
            raise ValueError("a curve's energies go up")

    def side(self, energy_j: float) -> int:
        """Below, inside or above what was shot. The ends themselves are shots: the last bit of a float must not put them outside."""
        low, high = self.shot_j
        return -1 if energy_j < low * (1 - 1e-9) else int(energy_j > high * (1 + 1e-9))


def three_parts(spots: Sequence[Spot], side: Callable[[Spot], int]) -> tuple[list[Spot], list[Spot], list[Spot]]:
    """What lies inside (side 0), and what lies before and after it, each with the inside's nearest spot, so that lines meet.
    Without an inside nothing is before or after it."""
    inside = [one for one in spots if side(one) == 0]
    if not inside:
        return [], [], []
    return inside, [one for one in spots if side(one) < 0] + inside[:1], inside[-1:] + [one for one in spots if side(one) > 0]


def curve_marks(shape: CurveShape, x: LinearScale, y: LinearScale, *, beyond: bool = True) -> tuple[Marks, Marks]:
    """The grey band, to lie under an axis, and what stands over it. x takes joules and y chances; what lies outside x is not
    drawn. `beyond`: also where nothing was shot, and the point at a half with where it may lie."""
    steps = zip(shape.energies_j, shape.chances, shape.lows, shape.highs, strict=True)
    inside, before, after = three_parts([one for one in steps if x.low <= one[0] <= x.high], lambda one: shape.side(one[0]))
    band = area([(x(one[0]), y(one[3])) for one in inside], [(x(one[0]), y(one[2])) for one in inside], "chart__band")
    whole = line([(x(one[0]), y(one[1])) for one in inside], "chart__path")
    if not beyond:
        return band, whole
    dashed = [mark for part in (before, after) for mark in line([(x(one[0]), y(one[1])) for one in part], "chart__beyond")]
    return band, (*dashed, *whole, *_half(shape, x, y(0.5)))


def _half(shape: CurveShape, x: LinearScale, y: float) -> list[Mark]:
    """The point at a half and where it may lie, with a cap only at an end that stands in the drawing."""
    if not x.low <= shape.middle_j <= x.high:
        return []
    low, high = shape.ends_j
    caps = [upright(x(end), y - 6, y + 6, "chart__axis") for end in (low, high) if end is not None and x.low <= end <= x.high]
    reach = level(x.clamped(x.low if low is None else low), x.clamped(x.high if high is None else high), y, "chart__cell")
    return [*caps, reach, Circle(x(shape.middle_j), y, 5.0, "chart__ring")]


def draw_curve_by_energy(
    name: str, marks: Sequence[CurveMark], shape: CurveShape | None, *, unit: str, curve_words: str, range_j: tuple[float, float]
) -> Figure:
    """`unit`: of energy, as this reader has it; `curve_words`: what the curve says or why there is none; `range_j`: the axis
    from where to where, one for all drawings that are compared."""
    known = sorted((one for one in marks if one.through is not None), key=lambda one: (one.energy_j, one.label))
    frame = frame_of(list(range_j), [0.0, 1.0], x_name="Energy", y_name="", x_unit=unit, y_unit="1")
    sides = [[one for one in known if one.through is through] for through in (True, False)]
    shots = _bars(sides, frame.x, unit) if len(known) > MOST_ONE_BY_ONE else _one_by_one(sides, frame.x, unit)
    all_at = TOP + 6 + shots.above
    y = LinearScale(0.0, 1.0, all_at + TALL, all_at)
    bottom = y.start + 6 + shots.below
    levels = [("all", y.end), ("50\N{NO-BREAK SPACE}%", y(0.5)), ("none", y.start)]
    frame = replace(frame, y=y, y_ticks=levels, y_name="Chance to get through", bottom=bottom, height=bottom + 250.0 - BOTTOM)
    band, over = curve_marks(shape, frame.x, y) if shape else ((), ())
    drawn = shots.marks(all_at - 3, y.start + 3)
    return Figure(
        title=f"{name}: chance to get through, by energy",
        words=f"{name}, {many(len(known), 'shot')}, {len(sides[0])} got through. {curve_words}{shots.words}",
        height=frame.height,
        marks=(*band, frame.axes(), *over, *drawn) if drawn else (),
        columns=(f"Energy, {unit}", "Chance, %", "95\N{NO-BREAK SPACE}% interval, %"),
        rows=_rows(shape, unit),
        key=KEY + shots.words,
        x=frame.x,
        y=y,
    )


@dataclass(frozen=True)
class _Shots:
    """The shots of a drawing: the room that they take above the curve and below it, and, told where either ends, their marks."""

    above: float
    below: float
    marks: Callable[[float, float], list[Group]]
    words: str = ""


def _one_by_one(sides: Sequence[Sequence[CurveMark]], x: LinearScale, unit: str) -> _Shots:
    (up, _), (down, _) = (lanes([x.clamped(one.energy_j) for one in side], apart=MARK, most=MOST_LANES) for side in sides)

    def marks(above: float, below: float) -> list[Group]:
        return [
            *(_mark(one, x, above - MARK - LANE * lane, unit=unit) for one, lane in zip(sides[0], up, strict=True)),
            *(_mark(one, x, below + LANE * lane, unit=unit) for one, lane in zip(sides[1], down, strict=True)),
        ]

    return _Shots(LANE * (1 + max(up, default=-1)), LANE * (1 + max(down, default=-1)), marks)


def _bars(sides: Sequence[Sequence[CurveMark]], x: LinearScale, unit: str) -> _Shots:
    """A bar for all shots of a range of energy on one side, as tall as they are many."""
    ranges = Ranges.of(x)
    counts = [Counter(ranges.at(one.energy_j) for one in side) for side in sides]
    a_shot = BAR_MOST / max(count for side in counts for count in side.values())

    def bar(at: int, count: int, edge: float, *, through: bool) -> Group:
        left, right = (x.clamped(end) for end in ranges.ends(at))
        tall = max(BAR_LEAST, count * a_shot)
        did, look = _DID[through]
        shape = Rect(left + 0.5, edge - tall if through else edge, max(right - left - 1.0, 1.0), tall, look)
        return Group((shape,), words=f"{ranges.words(at)} {unit}: {many(count, 'shot')}, {did}")

    def marks(above: float, below: float) -> list[Group]:
        return [bar(at, count, above, through=True) for at, count in sorted(counts[0].items())] + [
            bar(at, count, below, through=False) for at, count in sorted(counts[1].items())
        ]

    told = said_of_all(sum(map(len, sides)), f"a bar is how many shots in {ranges.width()} {unit}")
    above, below = (BAR_MOST if some else 0.0 for some in counts)
    return _Shots(above, below, marks, f" {told}")


_DID = {True: ("got through", "chart__square"), False: ("did not get through", "chart__square chart__square--open")}


def _mark(one: CurveMark, x: LinearScale, top: float, *, unit: str) -> Group:
    did, look = _DID[bool(one.through)]
    said = f"{one.label}: {written(one.energy_j, unit, figures=3)}, {did}"
    return Group((Rect(x.clamped(one.energy_j) - MARK / 2, top, MARK, MARK, look),), words=said, href=one.href)


def _rows(shape: CurveShape | None, unit: str) -> tuple[tuple[str, ...], ...]:
    """The curve at a few of its energies, none of them outside those that were shot."""
    inside = [n for n, energy in enumerate(shape.energies_j) if shape.side(energy) == 0] if shape else []
    if not inside or shape is None:
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
