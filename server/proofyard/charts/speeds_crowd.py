"""Readings of speed in order, where there are more than can be seen: counted by ranges of places and of speed, each in one mark."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from proofyard.charts.binned import MOST_MARKS, Places, Ranges, said_of_all, sized
from proofyard.charts.figure import Circle, Group, Mark, line, many
from proofyard.charts.scale import LinearScale
from proofyard.quantities import from_si, to_si

SPEEDS = 16  # ranges over all speeds that there are: as high as a mark
Placed = tuple[int, float, bool]  # its place in the order, its speed in SI, and whether it is left out of means


@dataclass(frozen=True)
class Crowd:
    """How places and speeds are cut, the same on every strip."""

    places: Places
    speeds: Ranges
    unit: str
    said: str

    @classmethod
    def of(cls, speeds_m_s: Sequence[float], last: int, unit: str) -> Crowd | None:
        """None while every reading can be drawn by itself."""
        if len(speeds_m_s) <= MOST_MARKS:
            return None
        low, high = (from_si(end, unit) for end in (min(speeds_m_s), max(speeds_m_s)))
        places, speeds = Places.of(last), Ranges.of(LinearScale(low, high if high > low else low + 1.0, 0.0, 1.0), SPEEDS)
        what = f"a mark is all readings of {places.step} in order and {speeds.width()} {unit}, the larger the more"
        return cls(places, speeds, unit, said_of_all(len(speeds_m_s), what, of="reading"))

    def _counts(self, placed: Sequence[Placed]) -> Counter[tuple[int, int, bool]]:
        return Counter((self.places.at(order), self.speeds.at(from_si(speed, self.unit)), out) for order, speed, out in placed)

    def _x(self, at: int, order: LinearScale) -> float:
        return order.clamped((at + 0.5) * self.places.step + 0.5)

    def drawn(self, placed: Sequence[Placed], order: LinearScale, scale: LinearScale) -> list[Group]:
        """A mark for each range that holds a reading; those that count in no mean are open, and stand a little aside."""
        counts, made = self._counts(placed), []
        most = max(counts.values(), default=1)
        for (at, speed, out), count in sorted(counts.items()):
            y = scale.clamped(to_si(sum(self.speeds.ends(speed)) / 2, self.unit))
            look = "chart__dot chart__dot--open" if out else "chart__dot"
            dot = Circle(self._x(at, order) + (4.0 if out else 0.0), y, 1.5 + 3.5 * sized(count, most), look)
            words = f"{self.places.words(at)}, {self.speeds.words(speed)} {self.unit}: {many(count, 'reading')}"
            made.append(Group((dot,), words=words + (", left out" if out else "")))
        return made

    def run(self, kept: Sequence[tuple[int, float]], order: LinearScale, scale: LinearScale) -> list[Mark]:
        """The means of each range, joined."""
        by_range: dict[int, list[float]] = {}
        for place, speed in kept:
            by_range.setdefault(self.places.at(place), []).append(speed)
        return [*line([(self._x(at, order), scale.clamped(fmean(some))) for at, some in sorted(by_range.items())], "chart__run")]

    def rows(self, placed: Sequence[Placed]) -> list[tuple[str, int, str, bool]]:
        """Places, how many, speeds, and whether left out."""
        return [
            (self.places.words(at), count, self.speeds.words(speed), out)
            for (at, speed, out), count in sorted(self._counts(placed).items())
        ]
