"""Shares of several groups under each other: how many of how many, and in grey where the true share may lie.

One scale from none to all for every row, so that bars can be compared by eye. Groups that may be compared stand under
one heading, such as the shots of one energy band. A row without a shot says so and has no bar.
"""

from __future__ import annotations

from collections.abc import Sequence

from proofyard.charts.figure import WIDTH, Figure, Group, Mark, Rect, Text, hidden, level, upright
from proofyard.charts.group_rows import GroupRow, drawn_rows, headed
from proofyard.charts.scale import LinearScale

LEFT, RIGHT = 16.0, 318.0
BAR = 12.0
ROW_END = 12.0  # room under a bar
SHARES = LinearScale(0.0, 1.0, LEFT, RIGHT)
MARKS = ((0.0, "0\N{NO-BREAK SPACE}%"), (0.25, "25"), (0.5, "50"), (0.75, "75"), (1.0, "100\N{NO-BREAK SPACE}%"))


def share_forest(name: str, rows: Sequence[GroupRow], *, through_words: str = "through", level: str = "95\N{NO-BREAK SPACE}%") -> Figure:
    """The whole drawing. Rows come in the order in which they are to stand, those of one heading together."""

    def said(row: GroupRow) -> str:
        if not row.share.shots:
            return "none shot"
        interval = f"{level} interval {row.share.interval_words}\N{NO-BREAK SPACE}%"
        return f"{row.share.words} {through_words}, {interval if row.share.interval else 'too few shots to give a share'}"

    headings, shares, y = drawn_rows(rows, count=lambda row: row.share.words, said=said, marks=_bar)
    names = ("Group", through_words[:1].upper() + through_words[1:], f"{level} interval, %")
    columns, *table = headed(rows, [names, *((row.words, row.share.words, row.share.interval_words) for row in rows)])
    return Figure(
        title=f"{name}: share {through_words}",
        words=f"{'; '.join(one.words for one in shares)}. Grey: {level} intervals." if rows else f"{name}: no shots to show.",
        height=y + 42.0,
        marks=(_axes(y, headings, f"share {through_words}, of all such shots"), *shares) if rows else (),
        columns=columns,
        rows=tuple(table),
        key=f"Upright line: share of the shots {through_words}. Grey: its {level} interval.",
        x=SHARES,
    )


def _axes(bottom: float, headings: Sequence[Text], words: str) -> Group:
    return hidden(
        [
            *(upright(SHARES(at), 2.0, bottom, "chart__hair") for at, _ in MARKS),
            level(LEFT, RIGHT, bottom, "chart__axis"),
            *headings,
            *(Text(text, SHARES(at), bottom + 18.0, anchor="middle") for at, text in MARKS),
            Text(words, WIDTH, bottom + 36.0, anchor="end"),
        ]
    )


def _bar(row: GroupRow, base: float) -> tuple[list[Mark], float]:
    """One upright for the share, or two joined for "1 or 2 of 3", on the grey bar of its interval; and where the next row begins."""
    marks: list[Mark] = []
    y = base + 5.0
    if row.share.interval:
        left, right = map(SHARES, row.share.interval)
        marks.append(Rect(left, y, right - left, BAR, "chart__reach"))
    points = [SHARES(part) for part in row.share.parts]
    if len(points) > 1:
        marks.append(level(points[0], points[-1], y + BAR / 2, "chart__line"))
    return marks + [upright(x, y - 3, y + BAR + 3, "chart__cell") for x in points], y + BAR + ROW_END
