"""Speeds in the order they were shot, so that a drift through the day can be seen: a bow that tires, an archer who does.

Readings of one bow, arrow and archer are joined by a thin line, and their mean is a dashed one. A reading that counts
in no mean is an open mark with a cross, off the line; one that lies far from all others stands at the edge with its
figure, or it would press them flat. Every strip has the same height in metres a second, so that a slope is a slope. Of more readings
than can be seen a mark is all those of a range of places and of speed (speeds_crowd.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from proofyard.charts.axes import LEFT, RIGHT, numbers, ruled
from proofyard.charts.figure import TEXT, WIDTH, Circle, Figure, Group, Mark, Path, Text, hidden, level, line, tenth, text_lines
from proofyard.charts.outcome_marks import LINE
from proofyard.charts.outcome_words import check_number
from proofyard.charts.panel_labels import Marked, words_beside
from proofyard.charts.scale import LinearScale, nice_ticks, number_text
from proofyard.charts.speeds_crowd import Crowd
from proofyard.charts.text_room import Box, apart, wrapped
from proofyard.quantities import from_si, to_si

PLOT = 112.0
BETWEEN = 14.0
LEAST_SPAN_M_S = 2.0  # under this, what is drawn as a slope is the last figure of a chronograph
MOST_LINES = 6  # of one strip, where its readings are drawn in ranges: more can't be told apart
FEWEST_FOR_MEAN, FEWEST_FOR_TWO_MEANS = 3, 6


@dataclass(frozen=True)
class SpeedMark:
    """One reading. `order`: its place in the whole drawing, 1 first; `left_out`: why it counts in no mean, or empty."""

    order: int
    label: str
    speed_m_s: float
    left_out: str = ""
    href: str = ""

    def __post_init__(self) -> None:
        if self.order < 1:
            raise ValueError(f"{self.label}: the first reading is number 1, not {self.order}")
        check_number(self.label, "a speed", self.speed_m_s)


@dataclass(frozen=True)
class SpeedLine:
    """Readings of one bow, arrow and archer: they may be compared with each other.

    words  what it is called within its strip; `name` the same in a word, to stand beside it
    """

    words: str
    marks: Sequence[SpeedMark]
    name: str = ""

    @property
    def kept(self) -> list[SpeedMark]:
        """What counts, in order."""
        return sorted((mark for mark in self.marks if not mark.left_out), key=lambda mark: mark.order)


@dataclass(frozen=True)
class SpeedStrip:
    """What stands on one pair of axes."""

    words: str
    lines: Sequence[SpeedLine]

    @property
    def marks(self) -> list[tuple[SpeedMark, SpeedLine]]:
        return sorted(((mark, line) for line in self.lines for mark in line.marks), key=lambda one: one[0].order)

    @property
    def counting(self) -> list[float]:
        """What the scale is made for: the readings that count, or all where none does."""
        speeds = [mark.speed_m_s for mark, _ in self.marks if not mark.left_out]
        return speeds or [mark.speed_m_s for mark, _ in self.marks]

    def scale(self, half_m_s: float, bottom: float) -> LinearScale:
        """Takes SI; `half_m_s` either way of the middle."""
        middle = (min(self.counting) + max(self.counting)) / 2
        return LinearScale(middle - half_m_s, middle + half_m_s, bottom, bottom - PLOT)


def speeds_in_order(
    name: str, strips: Sequence[SpeedStrip], *, unit: str = "m/s", order_words: str = "in the order shot", names_words: str = ""
) -> Figure:
    """The whole drawing; strips without a reading are left away. `names_words`: what the words beside lines are."""
    shown = [strip for strip in strips if strip.marks]
    last = max((mark.order for strip in shown for mark, _ in strip.marks), default=1)
    crowd = Crowd.of([mark.speed_m_s for strip in shown for mark, _ in strip.marks], last, unit)
    order = LinearScale(0.5, last + 0.5, LEFT, RIGHT)
    # A little air, or the outermost marks would lie on the frame.
    half = 0.58 * max([max(strip.counting) - min(strip.counting) for strip in shown] + [LEAST_SPAN_M_S])
    marks: list[Mark] = [hidden([Text(f"speed, {unit}", 0.0, 13.0)])]
    y = 20.0
    for strip in shown:
        drawn, bottom = _strip(strip, y, order=order, half=half, unit=unit, crowd=crowd)
        marks += drawn
        y = bottom + BETWEEN
    under = y - BETWEEN + 17.0
    whole = dict.fromkeys([1, *(round(n) for n in nice_ticks(1.0, last + 1.0, 6) if n == round(n) and n <= last)])
    ticks = [Text(text, at, under, anchor="middle") for text, at, _ in apart([(str(n), order(n)) for n in whole], size=TEXT)]
    told = [_line_words(line, strip, unit) for strip in shown for line in strip.lines if line.marks]
    rows = sorted(((mark, strip, line) for strip in shown for mark, line in strip.marks), key=lambda one: one[0].order)
    return Figure(
        title=f"{name}: speeds {order_words}",
        words=f"{'. '.join(told)}. {crowd.said if crowd else ''}".strip() if shown else f"{name}: no speeds to show.",
        height=under + 25.0,
        marks=(*marks, hidden([*ticks, Text(order_words, RIGHT, under + 19.0, anchor="end")])) if shown else (),
        columns=("Order", "Readings" if crowd else "Reading", "Of", f"Speed, {unit}", "Counts"),
        rows=tuple(_row(*one, unit) for one in rows)
        if crowd is None
        else tuple(row for strip in shown for row in _crowd_rows(strip, crowd)),
        key=f"{_crowd_key(shown, crowd) if crowd else _key(shown, half)} {names_words if not crowd else ''}".strip(),
        x=order,
    )


def _strip(strip: SpeedStrip, top: float, *, order: LinearScale, half: float, unit: str, crowd: Crowd | None) -> tuple[list[Mark], float]:
    """One pair of axes with its readings, and where it ends."""
    lines = wrapped(strip.words, WIDTH - LEFT, size=TEXT, bold=True) if strip.words else ()
    bottom = top + len(lines) * LINE + 8.0 + PLOT
    scale = strip.scale(half, bottom)
    ticks = [(text, scale(to_si(value, unit))) for text, value in numbers(from_si(scale.low, unit), from_si(scale.high, unit), 4)]
    under: list[Mark] = [
        *text_lines(top + 14.0, lines, step=LINE, x=LEFT, look="chart__count"),
        *ruled(ticks, LEFT, RIGHT),
        level(LEFT, RIGHT, bottom, "chart__axis"),
    ]
    if crowd:
        few = [of for of in strip.lines if of.kept] if len(strip.lines) <= MOST_LINES else []
        under += [mark for of in few for mark in crowd.run([(one.order, one.speed_m_s) for one in of.kept], order, scale)]
        return [hidden(under), *crowd.drawn([_placed(mark) for mark, _ in strip.marks], order, scale)], bottom
    under += [mark for one in strip.lines for mark in _run(one.kept, order, scale)]
    drawn = [_reading(mark, of, order(mark.order), _height(mark, scale), unit) for mark, of in strip.marks]
    return [hidden(under), hidden(_words_beside(strip, order, scale, unit=unit)), *drawn], bottom


def _placed(mark: SpeedMark) -> tuple[int, float, bool]:
    return mark.order, mark.speed_m_s, bool(mark.left_out)


def _crowd_rows(strip: SpeedStrip, crowd: Crowd) -> list[tuple[str, ...]]:
    """Of each line, range by range."""
    whose = [(", ".join(filter(None, (strip.words, of.words))), of) for of in strip.lines]
    return [
        (places, str(count), words, speeds, "no" if out else "yes")
        for words, of in whose
        for places, count, speeds, out in crowd.rows([_placed(mark) for mark in of.marks])
    ]


def _run(kept: Sequence[SpeedMark], order: LinearScale, scale: LinearScale) -> list[Mark]:
    """What counts joined in order, and its mean from three on."""
    spots = [(order(mark.order), scale(mark.speed_m_s)) for mark in kept]
    if len(kept) < FEWEST_FOR_MEAN:
        return [*line(spots, "chart__run")]
    mean = scale(fmean(mark.speed_m_s for mark in kept))
    return [*line(spots, "chart__run"), level(spots[0][0], spots[-1][0], mean, "chart__run chart__run--mean")]


def _reading(mark: SpeedMark, of: SpeedLine, x: float, y: float, unit: str) -> Group:
    """A mark; one that is left out is open, with a cross."""
    shapes: list[Mark] = [Circle(x, y, 4.5, "chart__dot chart__dot--open" if mark.left_out else "chart__dot")]
    if mark.left_out:
        shapes.append(Path(f"M{tenth(x - 6):g} {tenth(y - 6):g}l12 12m0 -12l-12 12", "chart__axis"))
    said = f"{mark.order}, {', '.join(filter(None, (mark.label, of.words)))}: {_speed(mark.speed_m_s, unit)} {unit}"
    return Group(tuple(shapes), words=said + (f", left out: {mark.left_out}" if mark.left_out else ""), href=mark.href)


def _words_beside(strip: SpeedStrip, order: LinearScale, scale: LinearScale, *, unit: str) -> list[Text]:
    """One name a line, and a figure by each mark beyond the scale; off every mark and each other where that can be done."""
    wanted = [(one.name or one.words, max(one.marks, key=lambda mark: mark.order)) for one in strip.lines if one.marks]
    wanted = wanted if len(strip.lines) > 1 else []
    wanted += [(_speed(mark.speed_m_s, unit), mark) for mark in _beyond(strip, scale)]
    boxes = {id(mark): _box(order(mark.order), _height(mark, scale)) for mark, _ in strip.marks}
    room = Box(LEFT, scale.end - 6.0, WIDTH, scale.start - 1.0)
    return words_beside([Marked(text, boxes[id(mark)]) for text, mark in wanted], room, hard=list(boxes.values()))


def _beyond(strip: SpeedStrip, scale: LinearScale) -> list[SpeedMark]:
    return [mark for mark, _ in strip.marks if not scale.low <= mark.speed_m_s <= scale.high]


def _height(mark: SpeedMark, scale: LinearScale) -> float:
    """At its speed; a mark beyond the scale stands whole at its edge."""
    if scale.low <= mark.speed_m_s <= scale.high:
        return scale(mark.speed_m_s)
    return min(max(scale.clamped(mark.speed_m_s), scale.end + 7.0), scale.start - 7.0)


def _box(x: float, y: float) -> Box:
    return Box(x - 5.0, y - 5.0, x + 5.0, y + 5.0)


def _key(strips: Sequence[SpeedStrip], half: float) -> str:
    """How the drawing is read; only what is in it."""
    said = ["Thin line: readings of one bow, arrow and archer, in order; a slope may be a drift."]
    said += ["Dashed: their mean."] if any(len(of.kept) >= FEWEST_FOR_MEAN for strip in strips for of in strip.lines) else []
    said += ["Crossed: left out of it."] if any(mark.left_out for strip in strips for mark, _ in strip.marks) else []
    said += ["With a figure: beyond this scale."] if any(_beyond(strip, strip.scale(half, PLOT)) for strip in strips) else []
    return " ".join(said)


def _crowd_key(strips: Sequence[SpeedStrip], crowd: Crowd) -> str:
    said = [crowd.said]
    if any(len(strip.lines) <= MOST_LINES for strip in strips):
        said.append("Thin line: the means of one bow, arrow and archer, range by range; a slope may be a drift.")
    if any(len(strip.lines) > MOST_LINES for strip in strips):
        said.append("Too many bows, arrows and archers to join each one’s readings by a line.")
    said += ["Open: left out of means."] if any(mark.left_out for strip in strips for mark, _ in strip.marks) else []
    return " ".join([*said, "What lies beyond the scale is counted at its edge."])


def _speed(speed_m_s: float, unit: str) -> str:
    return number_text(from_si(speed_m_s, unit), 1)


def _line_words(of: SpeedLine, strip: SpeedStrip, unit: str) -> str:
    kept = [mark.speed_m_s for mark in of.kept]
    who = ", ".join(filter(None, (strip.words, of.words))) or "All"
    if not kept:
        said = f"{who}: no reading that counts"
    elif len(kept) == 1:
        said = f"{who}: 1 reading, {_speed(kept[0], unit)} {unit}"
    else:
        ends = f"{_speed(min(kept), unit)} to {_speed(max(kept), unit)} {unit}"
        said = f"{who}: {len(kept)} readings, {ends}, mean {_speed(fmean(kept), unit)} {unit}"
    if len(kept) >= FEWEST_FOR_TWO_MEANS:
        half = len(kept) // 2
        first, last = (_speed(fmean(some), unit) for some in (kept[:half], kept[-half:]))
        said += f"; mean of the first {half} {first} {unit}, of the last {half} {last} {unit}"
    out = len(of.marks) - len(kept)
    return said + (f"; {out} left out" if out else "")


def _row(mark: SpeedMark, strip: SpeedStrip, of: SpeedLine, unit: str) -> tuple[str, ...]:
    whose = ", ".join(filter(None, (strip.words, of.words)))
    return (str(mark.order), mark.label, whose, _speed(mark.speed_m_s, unit), f"no: {mark.left_out}" if mark.left_out else "yes")
