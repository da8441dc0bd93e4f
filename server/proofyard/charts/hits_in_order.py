"""The hits on one panel in the order they hit it, each on its outcome level: whether later arrows got further than earlier ones.

Outcome levels are rows, 0 at the bottom, and the rear face is a heavy line between 3 and 4. A panel of many hits has several
strips under each other, as lines of a page. Under each hit stands whether it was fair: an earlier hit may have helped it.
"""

from __future__ import annotations

from collections.abc import Sequence

from proofyard.charts.figure import Figure, Glyph, Group, Mark, Text, hidden, level, many
from proofyard.charts.outcome_marks import level_tile, squares
from proofyard.charts.outcome_words import FIRST_THROUGH, Hit, check_levels, check_words

LEFT, RIGHT = 40.0, 330.0
FEW, MANY = 12, 20  # hits on a strip
ROW = 17.0
MARK = 12.0
GLYPH = 16.0
FACE_GAP = 10.0
BETWEEN = 16.0
FAIR = {"fair": ("fair", "fair"), "not_fair": ("not-fair", "not fair"), "not_known": ("not-known", "fairness undecided")}


def hits_in_order(name: str, hits: Sequence[Hit], *, outcome_words: Sequence[str], order: str = "order on this panel") -> Figure:
    """The whole drawing. `order`: what the numbers are, in words. Numbers may have gaps."""
    check_words(outcome_words)
    for hit in hits:
        _check(hit)
    ordered = sorted(hits, key=lambda hit: hit.order)
    last = ordered[-1].order if ordered else 0
    a_strip = FEW if last <= FEW else MANY
    bare, fair = any(not hit.levels for hit in ordered), any(hit.fair for hit in ordered)
    marks: list[Mark] = []
    y = 4.0
    for first in range(1, last + 1, a_strip):
        mine = [hit for hit in ordered if first <= hit.order < first + a_strip]
        if mine:
            strip, y = _strip(mine, first, y, a_strip=a_strip, bare=bare, fair=fair, outcome_words=outcome_words)
            marks += strip
    told = (
        f"{many(len(ordered), 'hit')}{', in order' if len(ordered) > 1 else ''}. {'; '.join(_said(hit, outcome_words) for hit in ordered)}."
    )
    return Figure(
        title=f"{name}: hits in order",
        words=told if ordered else f"{name}: no hits yet.",
        height=y + 8.0 - BETWEEN,
        marks=tuple(marks),
        columns=("Order", "Shot", "Outcome level", "Fair"),
        rows=tuple((str(hit.order), hit.label, hit.outcome(outcome_words), _fair(hit)) for hit in ordered),
        key=_key(ordered, order),
    )


def _check(hit: Hit) -> None:
    if hit.order < 1:
        raise ValueError(f"{hit.label}: the first hit is number 1, not {hit.order}")
    if (hit.outcome_low is None) != (hit.outcome_high is None):
        raise ValueError(f"{hit.label}: a hit that was read has both outcome levels")
    if hit.outcome_low is not None and hit.outcome_high is not None:
        check_levels(hit.label, hit.outcome_low, hit.outcome_high)


def _key(hits: Sequence[Hit], order: str) -> str:
    said = (
        f"Number: {order}. Row: the outcome level; above the heavy line, the rear face, the arrow was through. "
        f"Dashed: undecided between two levels."
    )
    bare = {hit.outcome(()) for hit in hits if not hit.levels}
    said += f" Lowest row: {' or '.join(sorted(bare))}." if bare else ""
    return said + (" Under each: tick fair, cross not fair, ? undecided." if any(hit.fair for hit in hits) else "")


def _strip(
    hits: Sequence[Hit], first: int, top: float, *, a_strip: int, bare: bool, fair: bool, outcome_words: Sequence[str]
) -> tuple[list[Mark], float]:
    """One strip, and where the next begins."""
    face = top + 2 * ROW + FACE_GAP / 2
    middles = {n: top + (5 - n + 0.5) * ROW + (0.0 if n >= FIRST_THROUGH else FACE_GAP) for n in range(5, -1, -1)}
    lowest = middles[0] + ROW + 3.0  # of hits without an outcome level
    y = (lowest if bare else middles[0]) + ROW / 2
    number_y = y + (34.0 if fair else 18.0)
    step = (RIGHT - LEFT) / a_strip
    places = [LEFT + (hit.order - first + 0.5) * step for hit in hits]
    numbers = [
        Text(str(hit.order), x, number_y, anchor="middle")
        for hit, x in zip(hits, places, strict=True)
        if a_strip == FEW or hit.order == first or hit.order % 5 == 0
    ]
    under = hidden(
        [
            *(level_tile(n, 4.0, middle - GLYPH / 2, GLYPH) for n, middle in middles.items()),
            *((Text("none", 0.0, lowest + 5),) if bare else ()),
            level(LEFT - 8, RIGHT + 6, face, "chart__face"),
            Text("No.", 0.0, number_y),
            *numbers,
        ]
    )
    drawn: list[Mark] = []
    for hit, x in zip(hits, places, strict=True):
        marks = squares(x, {n: middles[n] - MARK / 2 for n in hit.levels}, MARK)
        if not hit.levels:
            marks = [Glyph(hit.glyph, x - MARK / 2 - 1, lowest - MARK / 2 - 1, MARK + 2, MARK + 2, "chart__ink")]
        if hit.fair in FAIR:
            marks.append(Glyph(FAIR[hit.fair][0], x - 5.5, y + 5.0, 11.0, 11.0, "chart__ink"))
        drawn.append(Group(tuple(marks), words=_said(hit, outcome_words), href=hit.href))
    return [under, *drawn], number_y + BETWEEN


def _fair(hit: Hit) -> str:
    words = FAIR[hit.fair][1] if hit.fair in FAIR else "not asked"
    return f"{words}: {hit.note}" if hit.note else words


def _said(hit: Hit, outcome_words: Sequence[str]) -> str:
    said = f"{hit.order} {hit.label}: {hit.outcome(outcome_words)}"
    return f"{said}, {_fair(hit)}" if hit.fair else said
