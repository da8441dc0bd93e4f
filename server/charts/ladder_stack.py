"""How far up the ladder each head's shots got, as one bar a head: a length a shot, from no mark on the left to head behind.

The heavy line across a bar is the rear face: what lies right of it stood behind for sure. A shot that may be either of
two rungs has a dashed piece of its own, left of that line unless both are behind. Glyph and number stand in a piece, or under it where it is
too narrow: never the shade alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.text_room import text_width, wrapped

WIDTH = 340.0
TEXT = 13.5
COUNT = 15.0
HEADING = 30.0
LINE = 17.0
BAR = 22.0
GLYPH = 16.0
GLYPH_ROOM = 26.0
LEAST = 4.0  # between labels under a bar
MOST_A_SHOT = 34.0  # one shot is no wall
FIRST_BEHIND = 4


@dataclass(frozen=True)
class LadderRow:
    """One head's shots: the rungs of each, low and high the same where it is sure."""

    words: str
    rungs: Sequence[tuple[int, int]]
    heading: str = ""
    glyph: str = ""
    href: str = ""

    def __post_init__(self) -> None:
        for low, high in self.rungs:
            if not 0 <= low <= high <= 5:
                raise ValueError(f"{self.words}: rungs go from 0 to 5, low one first")


@dataclass(frozen=True)
class RungGlyph:
    rung: int
    x: float
    y: float


@dataclass(frozen=True)
class Piece:
    """All of one head that got to one rung. `inside`: its label stands in it; else under it, with a line to it."""

    low: int
    high: int
    count: int
    x: float
    width: float
    inside: bool
    glyphs: tuple[RungGlyph, ...]
    text_x: float
    text_y: float
    leader: tuple[float, float, float, float] | None

    @property
    def dashed(self) -> bool:
        return self.low != self.high


@dataclass(frozen=True)
class DrawnText:
    text: str
    x: float
    y: float


@dataclass(frozen=True)
class DrawnLadder:
    words: str
    href: str
    glyph: str
    glyph_y: float
    lines: tuple[DrawnText, ...]
    count: DrawnText
    bar_y: float
    pieces: tuple[Piece, ...]
    face: float | None


@dataclass(frozen=True)
class LadderStack:
    width: float
    height: float
    bar: float
    glyph: float
    a_shot: float
    headings: tuple[DrawnText, ...]
    ladders: tuple[DrawnLadder, ...]
    key: str
    title: str
    words: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def ladder_stack(name: str, heads: Sequence[LadderRow], *, rung_words: Sequence[str]) -> LadderStack:
    """The whole picture. `rung_words` are the six rungs', 0 first; heads of one heading stand together."""
    if len(rung_words) != 6:
        raise ValueError("there are six rungs, so six words")
    most = max((len(head.rungs) for head in heads), default=0)
    a_shot = min(MOST_A_SHOT, (WIDTH - 2.0) / most) if most else MOST_A_SHOT
    headings: list[DrawnText] = []
    drawn: list[DrawnLadder] = []
    y, heading = 0.0, ""
    for head in heads:
        if head.heading != heading:
            heading = head.heading
            headings.append(DrawnText(heading, 0.0, round(y + 20.0, 1)))
            y += HEADING
        ladder, y = _drawn(head, y, a_shot=a_shot, rung_words=rung_words)
        drawn.append(ladder)
    headed = any(head.heading for head in heads)
    return LadderStack(
        width=WIDTH, height=round(max(y, 20.0), 1), bar=BAR, glyph=GLYPH, a_shot=a_shot, headings=tuple(headings), ladders=tuple(drawn), key=_key(drawn),
        title=f"{name}: how far up the ladder", words=_words(name, heads, rung_words),
        columns=(*(("Compared at",) if headed else ()), "Head", *rung_words, "One of several", "Shots"),
        rows=tuple(_row(head, rung_words, headed=headed) for head in heads),
    )  # fmt: skip


def _key(ladders: Sequence[DrawnLadder]) -> str:
    said = "Each shot is as long as any other. Right of the heavy line, the rear face, something stood behind."
    return said + (" Dashed: may be one of several rungs." if any(piece.dashed for ladder in ladders for piece in ladder.pieces) else "")


def counts_of(rungs: Sequence[tuple[int, int]]) -> tuple[tuple[tuple[int, int], int], ...]:
    """Rungs with how many got there, lowest first; "3 or 4" between 3 and 4."""
    return tuple(sorted(Counter(rungs).items(), key=lambda one: (sum(one[0]), one[0])))


def _behind_last(rungs: Sequence[tuple[int, int]]) -> tuple[tuple[tuple[int, int], int], ...]:
    """As counts_of, with all that stood behind for sure after all that may not have: the line parts them."""
    return tuple(sorted(counts_of(rungs), key=lambda one: one[0][0] >= FIRST_BEHIND))


def _drawn(head: LadderRow, top: float, *, a_shot: float, rung_words: Sequence[str]) -> tuple[DrawnLadder, float]:
    start = GLYPH_ROOM + 6.0 if head.glyph else 0.0
    many = "1 shot" if len(head.rungs) == 1 else f"{len(head.rungs)} shots" if head.rungs else "none shot"
    lines = wrapped(head.words, WIDTH - start - text_width(many, COUNT, bold=True) - 12.0, size=TEXT)
    name = tuple(DrawnText(text, start, round(top + 14.0 + n * LINE, 1)) for n, text in enumerate(lines))
    bar_y = round(top + 22.0 + (len(lines) - 1) * LINE, 1)
    pieces = _pieces(head.rungs, bar_y, a_shot=a_shot)
    stopped = sum(low < FIRST_BEHIND for low, _ in head.rungs)
    end = bar_y + (BAR if head.rungs else 0.0) + (28.0 if any(not piece.inside for piece in pieces) else 0.0)
    said = f"{_where(head)}: {_said(head, rung_words)}"
    drawn = DrawnLadder(
        said, head.href, head.glyph, round(top + 3.0, 1), name, DrawnText(many, WIDTH, name[0].y), bar_y, pieces,
        round(1.0 + stopped * a_shot, 1) if head.rungs else None,
    )  # fmt: skip
    return drawn, end + 14.0


def _pieces(rungs: Sequence[tuple[int, int]], bar_y: float, *, a_shot: float) -> tuple[Piece, ...]:
    counts = _behind_last(rungs)
    starts, at = [], 1.0
    for _, many in counts:
        starts.append(at)
        at += many * a_shot
    widths = [many * a_shot for _, many in counts]
    labels = [GLYPH * (1 + (low != high)) + 3.0 + text_width(str(many), COUNT, bold=True) for (low, high), many in counts]
    inside = [label + 5.0 <= width for label, width in zip(labels, widths, strict=True)]
    middles = [start + width / 2 for start, width in zip(starts, widths, strict=True)]
    under = [n for n, fits in enumerate(inside) if not fits]
    spread = dict(zip(under, _spread([middles[n] for n in under], [labels[n] for n in under]), strict=True))
    made = []
    for n, ((low, high), many) in enumerate(counts):
        middle = middles[n] if inside[n] else spread[n]
        y = bar_y + (BAR - GLYPH) / 2 if inside[n] else bar_y + BAR + 8.0
        left = middle - labels[n] / 2
        shown = (low,) if low == high else (low, high)
        glyphs = tuple(RungGlyph(rung, round(left + k * GLYPH, 1), round(y, 1)) for k, rung in enumerate(shown))
        leader = None if inside[n] else (round(middles[n], 1), bar_y + BAR, round(middle, 1), round(y - 1.0, 1))
        text_x = round(left + GLYPH * len(shown) + 3.0, 1)
        made.append(Piece(low, high, many, round(starts[n], 1), round(widths[n], 1), inside[n], glyphs, text_x, round(y + 13.0, 1), leader))
    return tuple(made)


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


def _where(head: LadderRow) -> str:
    return f"{head.heading}, {head.words}" if head.heading else head.words


def _rung(low: int, high: int, rung_words: Sequence[str]) -> str:
    words = rung_words[low].lower()
    return words if low == high else f"{words} {'or' if high - low == 1 else 'to'} {rung_words[high].lower()}"


def _said(head: LadderRow, rung_words: Sequence[str]) -> str:
    if not head.rungs:
        return "none shot"
    each = ", ".join(f"{many} {_rung(low, high, rung_words)}" for (low, high), many in counts_of(head.rungs))
    return f"{len(head.rungs)} shot{'' if len(head.rungs) == 1 else 's'}: {each}"


def _words(name: str, heads: Sequence[LadderRow], rung_words: Sequence[str]) -> str:
    if not heads:
        return f"{name}: no shots to show."
    return "; ".join(f"{_where(head)}: {_said(head, rung_words)}" for head in heads) + "."


def _row(head: LadderRow, rung_words: Sequence[str], *, headed: bool) -> tuple[str, ...]:
    sure = Counter(low for low, high in head.rungs if low == high)
    either = [(rungs, many) for rungs, many in counts_of(head.rungs) if rungs[0] != rungs[1]]
    said = ", ".join(f"{many} {_rung(*rungs, rung_words)}" for rungs, many in either)
    cells = tuple(str(sure[rung]) for rung in range(6))
    return (*((head.heading,) if headed else ()), head.words, *cells, said or "0", str(len(head.rungs)))
