"""Speeds in the order they were shot, so that a drift through the day can be seen: a bow that tires, an archer who does.

Readings of one bow, arrow and archer are joined by a thin line, and their mean is a dashed one. A reading that counts
in no mean is an open mark with a cross, off the line; one that lies far from all others stands at the edge with its
figure, or it would press them flat. Every strip has the same height in metres a second, so that a slope is a slope.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from server.charts.panel_labels import Marked, anchors_beside
from server.charts.scale import LinearScale, decimals_for, nice_step, nice_ticks, number_text
from server.charts.text_room import Box, text_width, wrapped
from server.charts.two_axes import path
from server.quantities import from_si, to_si

WIDTH = 340.0
LEFT, RIGHT = 46.0, 328.0
TEXT = 13.5
LINE = 17.0
PLOT = 112.0
BETWEEN = 14.0
LEAST_SPAN_M_S = 2.0  # under this, what is drawn as a slope is the last figure of a chronograph
FEWEST_FOR_MEAN, FEWEST_FOR_HALVES = 3, 6


@dataclass(frozen=True)
class SpeedMark:
    """One reading. `order`: its place in the whole picture, 1 first; `left_out`: why it counts in no mean, or empty."""

    order: int
    label: str
    speed_m_s: float
    left_out: str = ""
    href: str = ""

    def __post_init__(self) -> None:
        if self.order < 1:
            raise ValueError(f"{self.label}: the first reading is number 1, not {self.order}")
        if not (math.isfinite(self.speed_m_s) and self.speed_m_s >= 0):
            raise ValueError(f"{self.label}: a speed is 0 or more, not {self.speed_m_s}")


@dataclass(frozen=True)
class SpeedLine:
    """Readings of one bow, arrow and archer: they may be compared with each other.

    words  what it is called within its strip; `name` the same in a word, to stand beside it
    """

    words: str
    marks: Sequence[SpeedMark]
    name: str = ""


@dataclass(frozen=True)
class SpeedStrip:
    """What stands on one pair of axes."""

    words: str
    lines: Sequence[SpeedLine]

    @property
    def marks(self) -> list[SpeedMark]:
        return sorted((mark for line in self.lines for mark in line.marks), key=lambda mark: mark.order)


@dataclass(frozen=True)
class DrawnSpeed:
    x: float
    y: float
    left_out: bool
    words: str
    href: str


@dataclass(frozen=True)
class DrawnRun:
    """`path` joins what counts, in order; `mean`: (left, right, y), None where fewer than three count."""

    path: str
    mean: tuple[float, float, float] | None


@dataclass(frozen=True)
class WordBeside:
    """A line's name beside its last reading, where a strip holds several; or the figure of one beyond the scale."""

    text: str
    x: float
    y: float
    anchor: str


@dataclass(frozen=True)
class SpeedTick:
    text: str
    at: float


@dataclass(frozen=True)
class DrawnSpeedStrip:
    heading: tuple[tuple[str, float], ...]
    top: float
    bottom: float
    ticks: tuple[SpeedTick, ...]
    runs: tuple[DrawnRun, ...]
    marks: tuple[DrawnSpeed, ...]
    names: tuple[WordBeside, ...]
    figures: tuple[WordBeside, ...]
    order_scale: LinearScale
    speed_scale: LinearScale


@dataclass(frozen=True)
class SpeedsInOrder:
    """`speed_scale` of a strip takes SI."""

    width: float
    height: float
    left: float
    right: float
    strips: tuple[DrawnSpeedStrip, ...]
    order_ticks: tuple[SpeedTick, ...]
    speed_words: str
    order_words: str
    key: str
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def speeds_in_order(
    name: str, strips: Sequence[SpeedStrip], *, unit: str = "m/s", order_words: str = "in the order shot", names_words: str = ""
) -> SpeedsInOrder:
    """The whole picture; strips without a reading are left away. `names_words`: what the words beside lines are."""
    shown = [strip for strip in strips if strip.marks]
    last = max((mark.order for strip in shown for mark in strip.marks), default=1)
    order = LinearScale(0.5, last + 0.5, LEFT, RIGHT)
    span = max([_span(strip) for strip in shown] + [LEAST_SPAN_M_S])
    drawn: list[DrawnSpeedStrip] = []
    y = 20.0
    for strip in shown:
        drawn.append(_strip(strip, y, order=order, span=span, unit=unit))
        y = drawn[-1].bottom + BETWEEN
    words = _Wording(unit)
    bottom = drawn[-1].bottom if drawn else 20.0
    return SpeedsInOrder(
        width=WIDTH, height=round(bottom + 42.0, 1), left=LEFT, right=RIGHT, strips=tuple(drawn),
        order_ticks=_order_ticks(last, order), speed_words=f"speed, {unit}", order_words=order_words, key=f"{_key(drawn)} {names_words}".strip(),
        title=f"{name}: speeds {order_words}", words=words.all(name, shown),
        columns=("Order", "Reading", "Of", f"Speed, {unit}", "Counts"),
        rows=tuple(words.row(mark, strip, line) for mark, strip, line in _rows(shown)),
    )  # fmt: skip


def _key(strips: Sequence[DrawnSpeedStrip]) -> str:
    """How the picture is read; only what is in it."""
    said = ["Thin line: readings of one bow, arrow and archer, in order; a slope may be a drift."]
    said += ["Dashed: their mean."] if any(run.mean for strip in strips for run in strip.runs) else []
    said += ["Crossed: left out of it."] if any(mark.left_out for strip in strips for mark in strip.marks) else []
    said += ["With a figure: beyond this scale."] if any(strip.figures for strip in strips) else []
    return " ".join(said)


def _counting(strip: SpeedStrip) -> list[float]:
    """What the scale is made for: the readings that count, or all where none does."""
    return [mark.speed_m_s for mark in strip.marks if not mark.left_out] or [mark.speed_m_s for mark in strip.marks]


def _span(strip: SpeedStrip) -> float:
    speeds = _counting(strip)
    return max(speeds) - min(speeds)


def _strip(strip: SpeedStrip, top: float, *, order: LinearScale, span: float, unit: str) -> DrawnSpeedStrip:
    lines = wrapped(strip.words, WIDTH - LEFT, size=TEXT, bold=True) if strip.words else ()
    heading = tuple((text, round(top + 14.0 + n * LINE, 1)) for n, text in enumerate(lines))
    plot_top = round(top + len(lines) * LINE + 8.0, 1)
    bottom = plot_top + PLOT
    speeds = _counting(strip)
    middle = (min(speeds) + max(speeds)) / 2
    half = 0.58 * span  # a little air, or the outermost marks would lie on the frame
    scale = LinearScale(middle - half, middle + half, bottom, plot_top)
    low, high = from_si(scale.low, unit), from_si(scale.high, unit)
    values = nice_ticks(low, high, 4)
    places = decimals_for(nice_step(high - low, 4))
    marks = sorted((mark for line in strip.lines for mark in line.marks), key=lambda mark: mark.order)
    names, figures = _words_beside(strip.lines, marks, order, scale=scale, unit=unit)
    return DrawnSpeedStrip(
        heading=heading, top=plot_top, bottom=bottom,
        ticks=tuple(SpeedTick(number_text(value, places), round(scale(to_si(value, unit)), 1)) for value in values),
        runs=tuple(_run(line, order, scale) for line in strip.lines),
        marks=tuple(
            DrawnSpeed(round(order(mark.order), 1), _height(mark, scale), bool(mark.left_out), _Wording(unit).mark(mark, line), mark.href)
            for mark, line in sorted(((mark, line) for line in strip.lines for mark in line.marks), key=lambda one: one[0].order)
        ),
        names=names, figures=figures, order_scale=order, speed_scale=scale,
    )  # fmt: skip


def _run(line: SpeedLine, order: LinearScale, scale: LinearScale) -> DrawnRun:
    kept = sorted((mark for mark in line.marks if not mark.left_out), key=lambda mark: mark.order)
    if len(kept) < 2:
        return DrawnRun("", None)
    if len(kept) < FEWEST_FOR_MEAN:
        return DrawnRun(path([(order(mark.order), scale(mark.speed_m_s)) for mark in kept]), None)
    y = round(scale(fmean(mark.speed_m_s for mark in kept)), 1)
    ends = (round(order(kept[0].order), 1), round(order(kept[-1].order), 1), y)
    return DrawnRun(path([(order(mark.order), scale(mark.speed_m_s)) for mark in kept]), ends)


def _words_beside(
    lines: Sequence[SpeedLine], marks: Sequence[SpeedMark], order: LinearScale, *, scale: LinearScale, unit: str
) -> tuple[tuple[WordBeside, ...], tuple[WordBeside, ...]]:
    """One name a line, and a figure by each mark beyond the scale; off every mark and each other where that can be done."""
    named = [(line.name or line.words, max(line.marks, key=lambda mark: mark.order)) for line in lines if line.marks] if len(lines) > 1 else []
    beyond = [(_Wording(unit).speed(mark.speed_m_s), mark) for mark in marks if not scale.low <= mark.speed_m_s <= scale.high]
    room = Box(LEFT, scale.end - 6.0, WIDTH, scale.start - 1.0)
    wanted = [Marked(text, _box(mark, order, scale)) for text, mark in (*named, *beyond)]
    found = anchors_beside(wanted, room, size=TEXT, hard=[_box(mark, order, scale) for mark in marks])
    words = tuple(WordBeside(one.text, at.x, at.y, at.anchor) for one, at in zip(wanted, found, strict=True))
    return words[: len(named)], words[len(named) :]


def _height(mark: SpeedMark, scale: LinearScale) -> float:
    """At its speed; a mark beyond the scale stands whole at its edge."""
    if scale.low <= mark.speed_m_s <= scale.high:
        return round(scale(mark.speed_m_s), 1)
    return round(min(max(scale.clamped(mark.speed_m_s), scale.end + 7.0), scale.start - 7.0), 1)


def _box(mark: SpeedMark, order: LinearScale, scale: LinearScale) -> Box:
    x, y = order(mark.order), _height(mark, scale)
    return Box(x - 5.0, y - 5.0, x + 5.0, y + 5.0)


def _order_ticks(last: int, order: LinearScale) -> tuple[SpeedTick, ...]:
    """Whole numbers, 1 always among them, far enough apart to be read."""
    wanted = [1, *(round(value) for value in nice_ticks(1.0, last + 1.0, 6) if value == round(value) and 1 < value <= last)]
    made: list[SpeedTick] = []
    room = -1e9
    for value in dict.fromkeys(wanted):
        half = text_width(str(value), TEXT) / 2
        if order(value) - half > room:
            made.append(SpeedTick(str(value), round(order(value), 1)))
            room = order(value) + half + 6.0
    return tuple(made)


def _rows(strips: Sequence[SpeedStrip]) -> list[tuple[SpeedMark, SpeedStrip, SpeedLine]]:
    found = [(mark, strip, line) for strip in strips for line in strip.lines for mark in line.marks]
    return sorted(found, key=lambda one: one[0].order)


@dataclass(frozen=True)
class _Wording:
    unit: str

    def speed(self, speed_m_s: float) -> str:
        return number_text(from_si(speed_m_s, self.unit), 1)

    def mark(self, mark: SpeedMark, line: SpeedLine) -> str:
        of = f", {line.words}" if line.words else ""
        out = f", left out: {mark.left_out}" if mark.left_out else ""
        return f"{mark.order}, {mark.label}{of}: {self.speed(mark.speed_m_s)} {self.unit}{out}"

    def line(self, line: SpeedLine, strip: SpeedStrip) -> str:
        kept = [mark.speed_m_s for mark in sorted(line.marks, key=lambda mark: mark.order) if not mark.left_out]
        who = ", ".join(words for words in (strip.words, line.words) if words) or "All"
        if not kept:
            said = f"{who}: no reading that counts"
        elif len(kept) == 1:
            said = f"{who}: 1 reading, {self.speed(kept[0])} {self.unit}"
        else:
            said = f"{who}: {len(kept)} readings, {self.speed(min(kept))} to {self.speed(max(kept))} {self.unit}, mean {self.speed(fmean(kept))} {self.unit}"
        if len(kept) >= FEWEST_FOR_HALVES:
            half = len(kept) // 2
            said += f"; mean of the first {half} {self.speed(fmean(kept[:half]))} {self.unit}, of the last {half} {self.speed(fmean(kept[-half:]))} {self.unit}"
        out = len(line.marks) - len(kept)
        return said + (f"; {out} left out" if out else "")

    def all(self, name: str, strips: Sequence[SpeedStrip]) -> str:
        if not strips:
            return f"{name}: no speeds to show."
        return ". ".join(self.line(line, strip) for strip in strips for line in strip.lines if line.marks) + "."

    def row(self, mark: SpeedMark, strip: SpeedStrip, line: SpeedLine) -> tuple[str, ...]:
        of = ", ".join(words for words in (strip.words, line.words) if words)
        return (str(mark.order), mark.label, of, self.speed(mark.speed_m_s), f"no: {mark.left_out}" if mark.left_out else "yes")
