"""Shares of several groups under each other: how many of how many, and in grey where the true share may lie.

One scale from none to all for every row, so that bars can be compared by eye. Groups that may be compared stand under
one heading, such as the shots of one energy band. A row without a shot says so and has no bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.outcome_words import BandShare, count_text
from server.charts.scale import LinearScale, number_text
from server.charts.text_room import text_width, wrapped

WIDTH = 340.0
LEFT, RIGHT = 16.0, 318.0
TEXT = 13.5
COUNT = 15.0
HEADING = 30.0  # a heading and the room over it
LINE = 17.0
BAR = 12.0
ROW_END = 12.0  # room under a bar
GLYPH = 26.0
MARKS = ((0.0, "0\N{NO-BREAK SPACE}%"), (0.25, "25"), (0.5, "50"), (0.75, "75"), (1.0, "100\N{NO-BREAK SPACE}%"))


@dataclass(frozen=True)
class ShareRow:
    """One group. `heading`: what it is compared under; `glyph`: outline of a head; interval None: can't be told."""

    words: str
    hits_low: int
    hits_high: int
    shots: int
    interval_low: float | None
    interval_high: float | None
    heading: str = ""
    glyph: str = ""
    href: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.hits_low <= self.hits_high <= self.shots:
            raise ValueError(f"{self.words}: counts go hits_low, hits_high, shots, none less than the one before")
        ends = (self.interval_low, self.interval_high)
        if None in ends and ends != (None, None):
            raise ValueError(f"{self.words}: an interval has two ends or none")

    @property
    def count(self) -> str:
        """ "4 of 6", "1 or 2 of 3", "none shot"."""
        return count_text(BandShare(0, 1, self.hits_low, self.hits_high, self.shots, None, None))

    @property
    def may_be(self) -> str:
        """ "26 to 94" in percent."""
        if self.interval_low is None or self.interval_high is None:
            return "can’t be told"
        return f"{number_text(100 * self.interval_low)} to {number_text(100 * self.interval_high)}"


@dataclass(frozen=True)
class DrawnLine:
    text: str
    x: float
    y: float


@dataclass(frozen=True)
class DrawnShare:
    """`lines`: the group's name; `reach`: x and width of the grey bar; `points`: one upright, or two for "1 or 2 of 3"."""

    words: str
    href: str
    glyph: str
    glyph_y: float
    lines: tuple[DrawnLine, ...]
    count: DrawnLine
    bar_y: float
    reach: tuple[float, float] | None
    points: tuple[float, ...]


@dataclass(frozen=True)
class ShareForest:
    width: float
    height: float
    bar: float
    headings: tuple[DrawnLine, ...]
    shares: tuple[DrawnShare, ...]
    hairs: tuple[float, ...]
    top: float
    bottom: float
    left: float
    right: float
    ticks: tuple[DrawnLine, ...]
    axis_words: str
    key: str
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def share_forest(name: str, groups: Sequence[ShareRow], *, through_words: str = "behind", level: str = "95\N{NO-BREAK SPACE}%") -> ShareForest:
    """The whole picture. Groups come in the order in which they are to stand, those of one heading together."""
    scale = LinearScale(0.0, 1.0, LEFT, RIGHT)
    headings: list[DrawnLine] = []
    shares: list[DrawnShare] = []
    y, heading = 0.0, ""
    for group in groups:
        if group.heading != heading:
            heading = group.heading
            headings.append(DrawnLine(heading, 0.0, round(y + 20.0, 1)))
            y += HEADING
        drawn, y = _drawn(group, y, scale=scale, through_words=through_words)
        shares.append(drawn)
    bottom = round(max(y, 20.0), 1)
    return ShareForest(
        width=WIDTH, height=bottom + 42.0, bar=BAR, headings=tuple(headings), shares=tuple(shares),
        hairs=tuple(round(scale(at), 1) for at, _ in MARKS), top=2.0, bottom=bottom, left=LEFT, right=RIGHT,
        ticks=tuple(DrawnLine(text, round(scale(at), 1), bottom + 18.0) for at, text in MARKS),
        axis_words=f"share {through_words}, of all such shots", title=f"{name}: share {through_words}",
        key=f"Upright: how many of the shots counted as {through_words}. Grey: where the true share may lie ({level}).",
        words=_words(name, groups, through_words=through_words, level=level),
        columns=_columns(groups, through_words),
        rows=tuple(_row(group, headed=any(one.heading for one in groups)) for group in groups),
    )  # fmt: skip


def _drawn(group: ShareRow, top: float, *, scale: LinearScale, through_words: str) -> tuple[DrawnShare, float]:
    start = GLYPH + 6.0 if group.glyph else 0.0
    count_room = text_width(group.count, COUNT, bold=True) + 12.0
    lines = wrapped(group.words, WIDTH - start - count_room, size=TEXT)
    name = tuple(DrawnLine(text, start, round(top + 14.0 + n * LINE, 1)) for n, text in enumerate(lines))
    bar_y = round(top + 19.0 + (len(lines) - 1) * LINE, 1)
    reach = None
    if group.interval_low is not None and group.interval_high is not None:
        left, right = scale(group.interval_low), scale(group.interval_high)
        reach = (round(left, 1), round(right - left, 1))
    hits = sorted({group.hits_low, group.hits_high}) if group.shots else []
    said = f"{_where(group)}: {_said(group, through_words)}"
    drawn = DrawnShare(
        said, group.href, group.glyph, round(top + 3.0, 1), name, DrawnLine(group.count, WIDTH, name[0].y), bar_y, reach,
        tuple(round(scale(hit / group.shots), 1) for hit in hits),
    )  # fmt: skip
    return drawn, bar_y + BAR + ROW_END


def _where(group: ShareRow) -> str:
    return f"{group.heading}, {group.words}" if group.heading else group.words


def _said(group: ShareRow, through_words: str) -> str:
    if not group.shots:
        return "none shot"
    may_be = f"may be {group.may_be}\N{NO-BREAK SPACE}%" if group.interval_low is not None else "where the share lies can’t be told"
    return f"{group.count} {through_words}, {may_be}"


def _words(name: str, groups: Sequence[ShareRow], *, through_words: str, level: str) -> str:
    if not groups:
        return f"{name}: no shots to show."
    said = "; ".join(f"{_where(group)}: {_said(group, through_words)}" for group in groups)
    return f"{said}. Grey shows where the true share may lie ({level})."


def _columns(groups: Sequence[ShareRow], through_words: str) -> tuple[str, ...]:
    counted = through_words[:1].upper() + through_words[1:]
    return (*(("Compared at",) if any(one.heading for one in groups) else ()), "Group", counted, "May be, %")


def _row(group: ShareRow, *, headed: bool) -> tuple[str, ...]:
    return (*((group.heading,) if headed else ()), group.words, group.count, group.may_be)
