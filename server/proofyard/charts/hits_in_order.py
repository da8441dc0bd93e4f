"""The hits on one panel in the order they hit it, each on its outcome level: whether later arrows got further than earlier ones.

Outcome levels are rows, 0 at the bottom, and the rear face is a heavy line between 3 and 4. A panel of many hits has several
strips under each other, as lines of a page. Under each hit stands whether it was fair: an earlier hit may have helped it. Of more hits
than can be seen a square is all those of a range of places with one outcome, and the larger the more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from proofyard.charts.binned import MOST_MARKS, Places, said_of_all, sized
from proofyard.charts.figure import Figure, Glyph, Group, Mark, Rect, Text, hidden, level, many
from proofyard.charts.outcome_marks import level_tile, squares
from proofyard.charts.outcome_words import FIRST_THROUGH, Hit, check_levels, check_words

LEFT, RIGHT = 40.0, 330.0
FEW, MANY = 12, 20  # hits on a strip
ROW = 17.0
MARK = 12.0
GLYPH = 16.0
FACE_GAP = 10.0
BETWEEN = 16.0
COLUMNS = 12  # of ranges, where there are too many hits: two squares stand beside each other in one
UNDER_EACH = " Under each: tick fair, cross not fair, ? undecided."
FAIR = {"fair": ("fair", "fair"), "not_fair": ("not-fair", "not fair"), "not_known": ("not-known", "fairness undecided")}


def hits_in_order(name: str, hits: Sequence[Hit], *, outcome_words: Sequence[str], order: str = "order on this panel") -> Figure:
    """The whole drawing. `order`: what the numbers are, in words. Numbers may have gaps."""
    check_words(outcome_words)
    for hit in hits:
        _check(hit)
    ordered = sorted(hits, key=lambda hit: hit.order)
    last = ordered[-1].order if ordered else 0
    if len(ordered) > MOST_MARKS:
        return _crowd(name, ordered, Places.of(last, COLUMNS), outcome_words=outcome_words, order=order)
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
    return said + (UNDER_EACH if any(hit.fair for hit in hits) else "")


def _rows(top: float) -> tuple[float, dict[int, float], float]:
    """Where the rear face is, the middle of each outcome level's row, and of the row of hits without one."""
    middles = {n: top + (5 - n + 0.5) * ROW + (0.0 if n >= FIRST_THROUGH else FACE_GAP) for n in range(5, -1, -1)}
    return top + 2 * ROW + FACE_GAP / 2, middles, middles[0] + ROW + 3.0


def _ruled(face: float, middles: Mapping[int, float], lowest: float | None, number_y: float) -> list[Mark]:
    """What stands at the rows' beginning, and the rear face. lowest: of the row of hits without an outcome level, if there is one."""
    return [
        *(level_tile(n, 4.0, middle - GLYPH / 2, GLYPH) for n, middle in middles.items()),
        *((Text("none", 0.0, lowest + 5),) if lowest is not None else ()),
        level(LEFT - 8, RIGHT + 6, face, "chart__face"),
        Text("No.", 0.0, number_y),
    ]


def _strip(
    hits: Sequence[Hit], first: int, top: float, *, a_strip: int, bare: bool, fair: bool, outcome_words: Sequence[str]
) -> tuple[list[Mark], float]:
    """One strip, and where the next begins."""
    face, middles, lowest = _rows(top)
    y = (lowest if bare else middles[0]) + ROW / 2
    number_y = y + (34.0 if fair else 18.0)
    step = (RIGHT - LEFT) / a_strip
    places = [LEFT + (hit.order - first + 0.5) * step for hit in hits]
    numbers = [
        Text(str(hit.order), x, number_y, anchor="middle")
        for hit, x in zip(hits, places, strict=True)
        if a_strip == FEW or hit.order == first or hit.order % 5 == 0
    ]
    under = hidden([*_ruled(face, middles, lowest if bare else None, number_y), *numbers])
    drawn: list[Mark] = []
    for hit, x in zip(hits, places, strict=True):
        marks = squares(x, {n: middles[n] - MARK / 2 for n in hit.levels}, MARK)
        if not hit.levels:
            marks = [Glyph(hit.glyph, x - MARK / 2 - 1, lowest - MARK / 2 - 1, MARK + 2, MARK + 2, "chart__ink")]
        if hit.fair in FAIR:
            marks.append(Glyph(FAIR[hit.fair][0], x - 5.5, y + 5.0, 11.0, 11.0, "chart__ink"))
        drawn.append(Group(tuple(marks), words=_said(hit, outcome_words), href=hit.href))
    return [under, *drawn], number_y + BETWEEN


def _crowd(name: str, hits: Sequence[Hit], places: Places, *, outcome_words: Sequence[str], order: str) -> Figure:
    """Ranges of places across, outcome levels up: a square for each outcome in each, dashed and aside where it is undecided."""
    bare, asked = any(not hit.levels for hit in hits), [hit for hit in hits if hit.fair]
    face, middles, lowest = _rows(4.0)
    y = (lowest if bare else middles[0]) + ROW / 2
    number_y = y + (34.0 if asked else 18.0)
    step = (RIGHT - LEFT) / places.count
    cells = Counter((places.at(hit.order), hit.levels, hit.glyph if not hit.levels else "") for hit in hits)
    most = max(cells.values())
    under: list[Mark] = [*_ruled(face, middles, lowest if bare else None, number_y)]
    drawn: list[Mark] = []
    for at in range(places.count):
        x = LEFT + (at + 0.5) * step
        if at % 3 == 0:
            under.append(Text(places.words(at).split(" ")[0], x, number_y, anchor="middle"))
        mine = [hit for hit in asked if places.at(hit.order) == at]
        if mine:
            fair = sum(hit.fair == "fair" for hit in mine) / len(mine)
            under += [Rect(x - 9, y + 6.0, 18.0, 8.0, "chart__shot"), Rect(x - 9, y + 6.0, 18.0 * fair, 8.0, "chart__dot")]
    for (at, levels, glyph), count in sorted(cells.items()):
        here = [hit for hit in hits if (places.at(hit.order), hit.levels, hit.glyph if not hit.levels else "") == (at, levels, glyph)]
        x, size = LEFT + (at + (0.72 if len(levels) > 1 else 0.28)) * step, max(3.0, MARK * sized(count, most))
        marks: list[Mark] = squares(x, {n: middles[n] - size / 2 for n in levels[:1]}, size)
        if len(levels) > 1:
            between = (middles[levels[0]] + middles[levels[-1]]) / 2
            marks = [Rect(x - size / 2, between - size / 2, size, size, "chart__shot chart__shot--open")]
        if not levels:
            marks = [Glyph(glyph, x - size / 2, lowest - size / 2, size, size, "chart__ink")]
        words = f"hits {places.words(at)}, {here[0].outcome(outcome_words)}: {many(count, 'hit')}{_fair_counts(here)}"
        drawn.append(Group(tuple(marks), words=words))
    all_said = said_of_all(
        len(hits),
        f"a square is all of {places.step} hits with one outcome, the larger the more, and stands between two levels where undecided",
        of="hit",
    )
    table = Counter((places.at(hit.order), hit.outcome(outcome_words), FAIR.get(hit.fair, ("", "not asked"))[1]) for hit in hits)
    of_fair = " Under each range: how much of it was fair." if asked else ""
    return Figure(
        title=f"{name}: hits in order",
        words=f"{_outcomes_counted(hits, outcome_words)}. {all_said}",
        height=number_y + 8.0,
        marks=(hidden(under), *drawn),
        columns=("Hits", "Order", "Outcome level", "Fair"),
        rows=tuple((str(count), places.words(at), outcome, fair) for (at, outcome, fair), count in sorted(table.items())),
        key=f"{_key(hits, order).removesuffix(UNDER_EACH)} {all_said}{of_fair}",
    )


def _outcomes_counted(hits: Sequence[Hit], outcome_words: Sequence[str]) -> str:
    """ "1,200 hits: 0 No mark 12, 4 Point through 40"."""
    counts = Counter((hit.levels, hit.outcome(outcome_words)) for hit in hits)
    return f"{many(len(hits), 'hit')}: {'; '.join(f'{words}: {counts[levels, words]}' for levels, words in sorted(counts))}"


def _fair_counts(hits: Sequence[Hit]) -> str:
    counts = Counter(hit.fair for hit in hits if hit.fair in FAIR)
    said = ", ".join(f"{counts[fair]} {FAIR[fair][1]}" for fair in FAIR if counts[fair])
    return f", of which {said}" if said else ""


def _fair(hit: Hit) -> str:
    words = FAIR[hit.fair][1] if hit.fair in FAIR else "not asked"
    return f"{words}: {hit.note}" if hit.note else words


def _said(hit: Hit, outcome_words: Sequence[str]) -> str:
    said = f"{hit.order} {hit.label}: {hit.outcome(outcome_words)}"
    return f"{said}, {_fair(hit)}" if hit.fair else said
