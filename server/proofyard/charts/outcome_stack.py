"""How far up the outcome each head's shots got, as one bar a head: a length a shot, from no mark on the left to head through.

The heavy line across a bar is the rear face: what lies right of it was through for sure. A shot that may be either of
two outcome levels has a dashed piece of its own, left of that line unless both are through. Glyph and number stand in a
piece, or under it where it is too narrow: never the shade alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from proofyard.charts.figure import COUNT, WIDTH, Figure, Glyph, Group, Mark, Rect, Text, hidden, line, many, upright
from proofyard.charts.group_rows import GroupRow, drawn_rows, headed
from proofyard.charts.outcome_marks import level_tile
from proofyard.charts.outcome_words import FIRST_THROUGH, check_words, counts_of, counts_text
from proofyard.charts.text_room import text_width

BAR = 22.0
GLYPH = 16.0
LEAST = 4.0  # between labels under a bar
MOST_A_SHOT = 34.0  # one shot is no wall


def outcome_stack(name: str, rows: Sequence[GroupRow], *, outcome_words: Sequence[str]) -> Figure:
    """The whole drawing. `outcome_words` are the six outcome levels', 0 first; heads of one heading stand together."""
    check_words(outcome_words)
    most = max((len(row.levels) for row in rows), default=0)
    a_shot = min(MOST_A_SHOT, (WIDTH - 2.0) / most) if most else MOST_A_SHOT

    def count(row: GroupRow) -> str:
        return many(len(row.levels), "shot") if row.levels else "none shot"

    def said(row: GroupRow) -> str:
        return count(row) + (f": {counts_text(row.levels, outcome_words)}" if row.levels else "")

    headings, stacks, y = drawn_rows(rows, count=count, said=said, marks=lambda row, base: _bar(row, base, a_shot))
    dashed = any(low != high for row in rows for low, high in row.levels)
    names = ("Head", *(f"{words} ({level})" for level, words in enumerate(outcome_words)), "Undecided", "Shots")
    columns, *table = headed(rows, [names, *(_cells(row, outcome_words) for row in rows)])
    return Figure(
        title=f"{name}: how far up the outcome",
        words=f"{'; '.join(one.words for one in stacks)}." if rows else f"{name}: no shots to show.",
        height=max(y, 20.0),
        marks=(hidden(headings), *stacks) if rows else (),
        columns=columns,
        rows=tuple(table),
        key="Each shot is drawn equally long. Right of the heavy line, the rear face, the arrow was through."
        + (" Dashed: undecided between outcome levels." if dashed else ""),
    )


def _bar(row: GroupRow, base: float, a_shot: float) -> tuple[list[Mark], float]:
    """The bar with the rear face across it, and where the next row begins."""
    y = base + 8.0
    if not row.levels:
        return [], y + 14.0
    pieces, under = _pieces(row.levels, y, a_shot)
    stopped = sum(low < FIRST_THROUGH for low, _ in row.levels)
    face = upright(1.0 + stopped * a_shot, y - 4, y + BAR + 4, "chart__face")
    return [*pieces, face], y + BAR + (28.0 if under else 0.0) + 14.0


def _pieces(outcome_levels: Sequence[tuple[int, int]], y: float, a_shot: float) -> tuple[list[Group], bool]:
    """All of one head that got to one outcome level, a piece each; and whether a label stands under the bar."""
    # All that were through for sure after all that may not have been: the line parts them.
    counts = sorted(counts_of(outcome_levels), key=lambda one: one[0][0] >= FIRST_THROUGH)
    widths = [count * a_shot for _, count in counts]
    starts = [1.0 + sum(widths[:n]) for n in range(len(widths))]
    labels = [GLYPH * (1 + (low != high)) + 3.0 + text_width(str(count), COUNT, bold=True) for (low, high), count in counts]
    middles = [start + width / 2 for start, width in zip(starts, widths, strict=True)]
    under = [n for n in range(len(counts)) if labels[n] + 5.0 > widths[n]]
    spread = dict(zip(under, _spread([middles[n] for n in under], [labels[n] for n in under]), strict=True))
    made = []
    for n, ((low, high), count) in enumerate(counts):
        dashed = " chart__shot--open" if low != high else ""
        marks: list[Mark] = [Rect(starts[n], y, widths[n], BAR, f"chart__shot outcome--{low}{dashed}")]
        if n in spread:
            marks += line([(middles[n], y + BAR), (spread[n], y + BAR + 7.0)], "chart__run")
        top = y + BAR + 8.0 if n in spread else y + (BAR - GLYPH) / 2
        on = "" if dashed or n in spread else f"chart__on outcome--{low} "
        made.append(Group((*marks, *_label((low, high), count, spread.get(n, middles[n]) - labels[n] / 2, top, on))))
    return made, bool(under)


def _label(levels: tuple[int, int], count: int, left: float, top: float, on: str) -> list[Mark]:
    """Glyph and number; `on`: their look where they stand on the piece itself."""
    shown = sorted(set(levels))
    glyphs: list[Mark] = [
        Glyph(f"outcome-{level}", left + n * GLYPH, top, GLYPH, GLYPH, on.strip())
        if on
        else level_tile(level, left + n * GLYPH, top, GLYPH)
        for n, level in enumerate(shown)
    ]
    return [*glyphs, Text(str(count), left + GLYPH * len(shown) + 3.0, top + 13.0, f"{on}chart__count")]


def _spread(middles: Sequence[float], widths: Sequence[float]) -> list[float]:
    """Where labels stand, each as near its piece as the others let it: pushed right, then back from the right edge."""
    placed: list[float] = []
    room = 0.0
    for middle, width in zip(middles, widths, strict=True):
        placed.append(max(middle, room + width / 2))
        room = placed[-1] + width / 2 + LEAST
    edge = WIDTH
    for n in reversed(range(len(placed))):
        placed[n] = min(placed[n], edge - widths[n] / 2)
        edge = placed[n] - widths[n] / 2 - LEAST
    return placed


def _cells(row: GroupRow, outcome_words: Sequence[str]) -> tuple[str, ...]:
    sure = Counter(low for low, high in row.levels if low == high)
    either = [levels for levels in row.levels if levels[0] != levels[1]]
    return (row.words, *(str(sure[level]) for level in range(6)), counts_text(either, outcome_words) or "0", str(len(row.levels)))
