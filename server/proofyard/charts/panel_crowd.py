"""Hits on a panel, where there are more than can be seen: counted by squares of the panel, each hit with a place in one.

A mark is a square whose area grows with how many hits it holds, cut into strips of their outcome levels, lowest first; a strip is as
wide as its share, and a dashed one is all that have no one level.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence

from proofyard.charts.binned import MOST_MARKS, Ranges, said_of_all, sized
from proofyard.charts.figure import Group, Mark, Rect, many
from proofyard.charts.outcome_words import Hit
from proofyard.charts.scale import LinearScale
from proofyard.quantities import from_si, to_si, unit_for_reader

ACROSS = 20  # ranges over a panel's width
LEAST, MOST = 4.0, 20.0  # a mark's side

OPEN = 9  # no one level: after all that are

Cell = tuple[int, int]


class PanelCrowd:
    """The hits, counted by squares in the reader's own unit."""

    def __init__(self, hits: Sequence[Hit], *, width_m: float, outcome_words: Sequence[str], reader: str) -> None:
        self.unit, self.outcome_words = unit_for_reader("length", reader), outcome_words
        self.placed = [(hit, hit.x_m, hit.y_m) for hit in hits if hit.x_m is not None and hit.y_m is not None]
        self.without = [hit for hit in hits if hit.x_m is None or hit.y_m is None]
        half = from_si(width_m, self.unit) / 2
        far = max([half, *(from_si(abs(end), self.unit) for _, x, y in self.placed for end in (x, y))])
        step = Ranges.of(LinearScale(-half, half, 0.0, 1.0), ACROSS).step
        # One width of ranges both ways, as far out as a hit was; a hit is never counted where it wasn't.
        self.ranges = Ranges(step, -int(far // step) - 1, int(far // step))
        self.cells: dict[Cell, list[Hit]] = {}
        for hit, x, y in self.placed:
            self.cells.setdefault((self._at(x), self._at(y)), []).append(hit)
        self.count = len(hits)

    @classmethod
    def of(cls, hits: Sequence[Hit], *, width_m: float, outcome_words: Sequence[str], reader: str) -> PanelCrowd | None:
        """None while every hit can be drawn by itself."""
        many_ = sum(hit.x_m is not None and hit.y_m is not None for hit in hits) > MOST_MARKS
        return cls(hits, width_m=width_m, outcome_words=outcome_words, reader=reader) if many_ else None

    def _at(self, place_m: float) -> int:
        return self.ranges.at(from_si(place_m, self.unit))

    def _outcomes(self, hits: Sequence[Hit]) -> list[tuple[tuple[int, ...], str, str, int]]:
        """Levels, glyph of one without, words and how many, lowest level first; those without one come last."""
        counts = Counter((hit.levels or (OPEN,), "" if hit.levels else hit.glyph, hit.outcome(self.outcome_words)) for hit in hits)
        return [(*key, counts[key]) for key in sorted(counts)]

    def where(self, cell: Cell) -> str:
        across, up = (self.ranges.words(at) for at in cell)
        return f"{across} {self.unit} right, {up} {self.unit} up"

    @property
    def said(self) -> str:
        width = f"{self.ranges.width()} {self.unit}"
        what = f"a mark is all hits in {width} each way, the larger the more, cut by outcome level, dashed where undecided or without one"
        without = f" {many(len(self.without), 'hit')} of {self.count} had no known place." if self.without else ""
        return said_of_all(len(self.placed), what, of="placed hit") + without

    def words(self) -> str:
        every = [hit for hit, _, _ in self.placed] + self.without
        outcomes = "; ".join(f"{words}: {count}" for _, _, words, count in self._outcomes(every))
        return f"{many(self.count, 'hit')}. {outcomes}. {self.said}"

    def rows(self) -> list[tuple[str, ...]]:
        """How many, where, and their outcome level; a line for each outcome in each square."""
        cells = [(self.where(cell), hits) for cell, hits in sorted(self.cells.items())] + [("place not known", self.without)]
        return [(str(count), where, words) for where, hits in cells for _, _, words, count in self._outcomes(hits)]

    def drawn(self, to_view: Callable[[float, float], tuple[float, float]]) -> list[Group]:
        """to_view: from metres to where the mark's middle is drawn."""
        most, made = max(len(hits) for hits in self.cells.values()), []
        room = 0.95 * (to_view(to_si(self.ranges.step, self.unit), 0.0)[0] - to_view(0.0, 0.0)[0])
        for cell, hits in sorted(self.cells.items()):
            middle = [to_si(sum(self.ranges.ends(at)) / 2, self.unit) for at in cell]
            x, y = to_view(middle[0], middle[1])
            side = max(LEAST, min(MOST, room) * sized(len(hits), most))
            left = x - side / 2
            strips: list[Mark] = []
            levels = sorted((hit.levels if len(hit.levels) == 1 else (OPEN,)) for hit in hits)
            for level, count in Counter(one for (one,) in levels).items():
                wide = side * count / len(hits)
                strip = Rect(left, y - side / 2, wide, side, "chart__shot chart__shot--open" if level == OPEN else "chart__strip")
                strips.append(strip if level == OPEN else Group((strip,), f"outcome--{level}"))
                left += wide
            strips.append(Rect(x - side / 2, y - side / 2, side, side, "chart__shot"))
            each = ", ".join(f"{words}: {count}" for _, _, words, count in self._outcomes(hits))
            made.append(Group(tuple(strips), words=f"{self.where(cell)}: {many(len(hits), 'hit')}, of which {each}"))
        return made
