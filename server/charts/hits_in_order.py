"""The hits on one panel in the order they struck it, each on its rung: whether later arrows got further than earlier ones.

Rungs are rows, 0 at the bottom, and the rear face is a heavy line between 3 and 4. A panel of many hits has several
strips under each other, as lines of a page. Under each hit stands whether it was fair: an earlier hit may have helped it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

WIDTH = 340.0
LEFT, RIGHT = 40.0, 330.0
FEW, MANY = 12, 20  # hits on a strip
ROW = 17.0
MARK = 12.0
GLYPH = 16.0
FACE_GAP = 10.0
BETWEEN = 16.0
FAIR_GLYPHS = {"fair": "fair", "not_fair": "not-fair", "not_known": "not-known"}


@dataclass(frozen=True)
class HitInOrder:
    """A hit as read: both rungs None while nobody has read it, or where it has none because it clipped the edge.

    fair  fair, not_fair, not_known, or empty; `note` why
    """

    order: int
    label: str
    rung_low: int | None
    rung_high: int | None
    href: str = ""
    fair: str = ""
    note: str = ""
    clipped: bool = False

    def __post_init__(self) -> None:
        if self.order < 1:
            raise ValueError(f"{self.label}: the first hit is number 1, not {self.order}")
        if (self.rung_low is None) != (self.rung_high is None):
            raise ValueError(f"{self.label}: a hit that was read has both rungs")
        if self.rung_low is not None and self.rung_high is not None and not 0 <= self.rung_low <= self.rung_high <= 5:
            raise ValueError(f"{self.label}: rungs go from 0 to 5, low one first")


@dataclass(frozen=True)
class OrderSquare:
    x: float
    y: float
    rung: int | None


@dataclass(frozen=True)
class DrawnInOrder:
    """One square, one a rung when it may be either, then `join` is the line between them (x, top, bottom). No rung: `glyph`."""

    order: int
    x: float
    squares: tuple[OrderSquare, ...]
    join: tuple[float, float, float] | None
    glyph: str
    fair_glyph: str
    words: str
    href: str

    @property
    def dashed(self) -> bool:
        return len(self.squares) > 1


@dataclass(frozen=True)
class OrderNumber:
    text: str
    x: float


@dataclass(frozen=True)
class OrderStrip:
    """`rungs`: (rung, y of its glyph), 5 first; `bare_y`: that of the row of hits without a rung, None where none is."""

    rungs: tuple[tuple[int, float], ...]
    bare_y: float | None
    face_y: float
    top: float
    fair_y: float | None
    number_y: float
    numbers: tuple[OrderNumber, ...]
    hits: tuple[DrawnInOrder, ...]


@dataclass(frozen=True)
class HitsInOrder:
    width: float
    height: float
    mark: float
    glyph: float
    left: float
    right: float
    strips: tuple[OrderStrip, ...]
    key: str
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def hits_in_order(name: str, hits: Sequence[HitInOrder], *, rung_words: Sequence[str]) -> HitsInOrder:
    """The whole picture. Numbers may have gaps: a viewer of one trial sees that trial's hits only."""
    if len(rung_words) != 6:
        raise ValueError("there are six rungs, so six words")
    ordered = sorted(hits, key=lambda hit: hit.order)
    last = ordered[-1].order if ordered else 0
    a_strip = FEW if last <= FEW else MANY
    bare, fair = any(hit.rung_low is None for hit in ordered), any(hit.fair for hit in ordered)
    strips: list[OrderStrip] = []
    y = 4.0
    for first in range(1, last + 1, a_strip):
        mine = [hit for hit in ordered if first <= hit.order < first + a_strip]
        if not mine:
            continue
        strips.append(_strip(mine, first, top=y, a_strip=a_strip, bare=bare, fair=fair, rung_words=rung_words))
        y = strips[-1].number_y + BETWEEN
    return HitsInOrder(
        width=WIDTH, height=round(strips[-1].number_y + 8.0 if strips else 20.0, 1), mark=MARK, glyph=GLYPH, left=LEFT, right=RIGHT,
        strips=tuple(strips), key=_key(ordered), title=f"{name}: hits in order", words=_words(name, ordered, rung_words),
        columns=("Order", "Shot", "Rung", "Fair"),
        rows=tuple((str(hit.order), hit.label, _rung(hit, rung_words), _fair(hit)) for hit in ordered),
    )  # fmt: skip


def _key(hits: Sequence[HitInOrder]) -> str:
    said = "Number: order on this panel. Row: the rung; over the heavy line, the rear face, something stood behind. Dashed: may be either of two."
    bare = {_rung(hit, ()) for hit in hits if hit.rung_low is None}
    said += f" Lowest row: {' or '.join(sorted(bare))}." if bare else ""
    return said + (" Under each: tick fair, cross not fair, ? not known." if any(hit.fair for hit in hits) else "")


def _strip(
    hits: Sequence[HitInOrder], first: int, *, top: float, a_strip: int, bare: bool, fair: bool, rung_words: Sequence[str]
) -> OrderStrip:
    middles: dict[int | None, float] = {}
    y = top
    for rung in range(5, -1, -1):
        middles[rung] = y + ROW / 2
        y += ROW
        if rung == 4:
            face_y = round(y + FACE_GAP / 2, 1)
            y += FACE_GAP
    if bare:
        middles[None] = y + ROW / 2 + 3.0
        y += ROW + 3.0
    fair_y = round(y + 5.0, 1) if fair else None
    number_y = round(y + (20.0 if fair else 4.0) + 14.0, 1)
    step = (RIGHT - LEFT) / a_strip
    places = {hit.order: LEFT + (hit.order - first + 0.5) * step for hit in hits}
    return OrderStrip(
        rungs=tuple((rung, round(middles[rung] - GLYPH / 2, 1)) for rung in range(5, -1, -1)),
        bare_y=round(middles[None], 1) if bare else None, face_y=face_y, top=top, fair_y=fair_y, number_y=number_y,
        numbers=tuple(
            OrderNumber(str(order), round(x, 1)) for order, x in places.items() if a_strip == FEW or order == first or order % 5 == 0
        ),
        hits=tuple(_drawn(hit, places[hit.order], middles, rung_words=rung_words) for hit in hits),
    )  # fmt: skip


def _drawn(hit: HitInOrder, x: float, middles: dict[int | None, float], *, rung_words: Sequence[str]) -> DrawnInOrder:
    rungs: list[int | None] = [None]
    if hit.rung_low is not None and hit.rung_high is not None:
        rungs = list(range(hit.rung_low, hit.rung_high + 1))
    squares = tuple(OrderSquare(round(x - MARK / 2, 1), round(middles[rung] - MARK / 2, 1), rung) for rung in rungs)
    join = (round(x, 1), round(squares[-1].y + MARK, 1), squares[0].y) if len(squares) > 1 else None
    glyph = "" if hit.rung_low is not None else "partial" if hit.clipped else "unread"
    return DrawnInOrder(hit.order, round(x, 1), squares, join, glyph, FAIR_GLYPHS.get(hit.fair, ""), _said(hit, rung_words), hit.href)


def _rung(hit: HitInOrder, rung_words: Sequence[str]) -> str:
    if hit.rung_low is None or hit.rung_high is None:
        return "clipped the edge, no rung" if hit.clipped else "not read yet"
    low, high = rung_words[hit.rung_low].lower(), rung_words[hit.rung_high].lower()
    return low if hit.rung_low == hit.rung_high else f"{low} {'or' if hit.rung_high - hit.rung_low == 1 else 'to'} {high}"


def _fair(hit: HitInOrder) -> str:
    words = {"fair": "fair", "not_fair": "not fair", "not_known": "not known"}.get(hit.fair, "not asked")
    return f"{words}: {hit.note}" if hit.note else words


def _said(hit: HitInOrder, rung_words: Sequence[str]) -> str:
    said = f"{hit.order} {hit.label}: {_rung(hit, rung_words)}"
    return f"{said}, {_fair(hit)}" if hit.fair else said


def _words(name: str, hits: Sequence[HitInOrder], rung_words: Sequence[str]) -> str:
    if not hits:
        return f"{name}: no hits yet."
    many = "1 hit" if len(hits) == 1 else f"{len(hits)} hits, in order"
    return f"{many}. " + "; ".join(_said(hit, rung_words) for hit in hits) + "."
