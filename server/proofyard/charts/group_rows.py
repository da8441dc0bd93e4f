"""Rows of groups that are compared, those of one energy band under one heading: what a chart of shares and one of outcomes share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from proofyard.charts.figure import COUNT, TEXT, WIDTH, Group, Mark, Text, text_lines
from proofyard.charts.outcome_marks import HEAD, LINE, head_glyph
from proofyard.charts.outcome_words import Share, check_levels
from proofyard.charts.text_room import text_width, wrapped

HEADING = 30.0  # a heading, and the room over it


@dataclass(frozen=True)
class GroupRow:
    """One group's shots. `levels`: the outcome levels of each, low and high the same where it is sure; `heading`: what it is
    compared under; `glyph`: outline of a head."""

    words: str
    share: Share = Share(0, 0, 0, None, None)
    levels: Sequence[tuple[int, int]] = ()
    heading: str = ""
    glyph: str = ""
    href: str = ""

    def __post_init__(self) -> None:
        for low, high in self.levels:
            check_levels(self.words, low, high)

    @property
    def name(self) -> str:
        return ", ".join(filter(None, (self.heading, self.words)))


def drawn_rows(
    rows: Sequence[GroupRow],
    *,
    count: Callable[[GroupRow], str],
    said: Callable[[GroupRow], str],
    marks: Callable[[GroupRow, float], tuple[list[Mark], float]],
) -> tuple[list[Text], list[Group], float]:
    """Headings, rows, and where they end. `count` stands at a row's right, `said` is what it says, `marks` what it shows under
    its name, of which it is given the base, and where that ends."""
    headings: list[Text] = []
    made: list[Group] = []
    y, heading = 0.0, ""
    for row in rows:
        if row.heading != heading:
            heading = row.heading
            headings.append(Text(heading, 0.0, y + 20.0, "chart__count"))
            y += HEADING
        start = HEAD + 6.0 if row.glyph else 0.0
        lines = wrapped(row.words, WIDTH - start - text_width(count(row), COUNT, bold=True) - 12.0, size=TEXT)
        name = text_lines(y + 14.0, lines, step=LINE, x=start)
        shown, end = marks(row, name[-1].y)
        beside = Text(count(row), WIDTH, name[0].y, "chart__count", "end")
        made.append(Group((*head_glyph(row.glyph, y + 3.0), *name, beside, *shown), words=f"{row.name}: {said(row)}", href=row.href))
        y = end
    return headings, made, y


def headed(rows: Sequence[GroupRow], cells: Sequence[tuple[str, ...]], *, name: str = "Compared at") -> tuple[tuple[str, ...], ...]:
    """The columns' names, and a line a row; with the headings first where there are any."""
    if not any(row.heading for row in rows):
        return tuple(cells)
    return tuple((first, *some) for first, some in zip([name, *(row.heading for row in rows)], cells, strict=True))
