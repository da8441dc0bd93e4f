"""A shot as a drawing to lay over a film: a lower third or a card, as SVG with a transparent ground, inside the title-safe box.

The frame is 1920 by 1080; the PNG of it may be drawn twice as large for 4K. All that is drawn keeps 5 % from each edge
(common practice of television, from memory), for screens that cut an edge off.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from xml.sax.saxutils import escape

from proofyard.exchange.drawing_files import FACES

WIDE, HIGH = 1920, 1080
SAFE_X, SAFE_Y = 96, 54
PAPER, INK, QUIET = "#faf7f0", "#1a1c1e", "#514d46"
PAD = 36
BESIDE = 260  # how far in the words of a lower third begin, behind the label
CARD = 1200

# text, width, size of letters, bold -> its lines: charts/text_room.py, which knows how wide letters are
Wrap = Callable[[str, float, int, bool], Sequence[str]]


@dataclass(frozen=True)
class CardWords:
    """What stands on a card: the shot's label, who shot what at what, what it did."""

    label: str
    title: str
    did: str


@dataclass(frozen=True)
class _Line:
    text: str
    size: int
    bold: bool = False
    colour: str = INK


def lower_third(words: CardWords, wrap: Wrap) -> str:
    """Two to four lines on a strip at the foot of the frame, the label before them."""
    room = WIDE - 2 * SAFE_X - 2 * PAD - BESIDE
    lines = [
        *_lines(wrap, words.title, _Line("", 40, bold=True), room, most=2),
        *_lines(wrap, words.did, _Line("", 36, colour=QUIET), room, most=2),
    ]
    high = 2 * PAD + sum(_step(line) for line in lines)
    top = HIGH - SAFE_Y - high
    label = _text(SAFE_X + PAD, top + high / 2 + 24, _lines(wrap, words.label, _Line("", 68, bold=True), BESIDE - 20, most=1)[0])
    return _drawing(words, _box(SAFE_X, top, WIDE - 2 * SAFE_X, high) + label + _stack(SAFE_X + PAD + BESIDE, top + PAD, lines))


def shot_card(words: CardWords, wrap: Wrap) -> str:
    """A card in the middle of the frame: the label large, what it was, what it did."""
    room = CARD - 2 * PAD
    lines = [
        *_lines(wrap, words.label, _Line("", 120, bold=True), room, most=1),
        *_lines(wrap, words.title, _Line("", 48), room, most=3),
        *_lines(wrap, words.did, _Line("", 54, bold=True), room, most=3),
    ]
    high = 2 * PAD + sum(_step(line) for line in lines)
    left, top = (WIDE - CARD) / 2, (HIGH - high) / 2
    return _drawing(words, _box(left, top, CARD, high) + _stack(left + PAD, top + PAD, lines))


def _drawing(words: CardWords, inside: str) -> str:
    said = escape(". ".join(filter(None, (words.label, words.title, words.did))))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" width="{WIDE}" height="{HIGH}" '
        f'font-family="{escape(FACES, {chr(34): "&quot;"})}"><title>{said}</title>{inside}</svg>\n'
    )


def _box(x: float, y: float, wide: float, high: float) -> str:
    return f'<rect x="{x:g}" y="{y:g}" width="{wide:g}" height="{high:g}" fill="{PAPER}" fill-opacity="0.94"/>'


def _stack(x: float, top: float, lines: list[_Line]) -> str:
    drawn, y = [], top
    for line in lines:
        drawn.append(_text(x, y + line.size, line))
        y += _step(line)
    return "".join(drawn)


def _step(line: _Line) -> float:
    return line.size * 1.25


def _text(x: float, y: float, line: _Line) -> str:
    weight = ' font-weight="700"' if line.bold else ""
    return f'<text x="{x:g}" y="{y:g}" font-size="{line.size}" fill="{line.colour}"{weight}>{escape(line.text)}</text>'


def _lines(wrap: Wrap, text: str, like: _Line, room: float, *, most: int) -> list[_Line]:
    """No more than `most`; what is left over ends in three points."""
    found = wrap(" ".join(text.split()), room, like.size, like.bold)
    if len(found) > most:
        found = [*found[: most - 1], found[most - 1][:-2].rstrip() + "…"]
    return [replace(like, text=one) for one in found]
