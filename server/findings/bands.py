"""Bands of energy or of another axis: which a person typed, which the shots suggest, and which shots stand too near an edge."""

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from server.charts.outcome_words import band_text
from server.charts.scale import nice_ticks
from server.quantities import KINDS, Empty, Refused, Uncertain, read, sentence

MOST_EDGES = 12
EXAMPLE = "60, 80, 105"
# How many standard uncertainties from an edge a shot has to stand to be surely on its side: about 95 in 100.
SURE = 2.0
_STEPS_J = (10.0, 20.0, 25.0, 50.0)
_STARTS_J = 5.0
_LIKED_BANDS = 3


@dataclass(frozen=True, order=True)
class Band:
    """Energies from low_j up to, not including, high_j. Either may be infinite; `unit` where the axis is no energy."""

    low_j: float
    high_j: float
    unit: str = "J"

    @property
    def words(self) -> str:
        return band_text(self.low_j, self.high_j)

    @property
    def with_unit(self) -> str:
        """ "80 to 105 J", "under 60 J", "130 J and more"."""
        if math.isinf(self.high_j) and not math.isinf(self.low_j):
            return self.words.replace(" and more", f"\N{NO-BREAK SPACE}{self.unit} and more")
        return f"{self.words}\N{NO-BREAK SPACE}{self.unit}"

    @property
    def where(self) -> str:
        """How a sentence begins that speaks of this band."""
        if math.isinf(self.low_j) and math.isinf(self.high_j):
            return "at any energy" if self.unit == "J" else "anywhere"
        if math.isinf(self.low_j):
            return self.with_unit
        if math.isinf(self.high_j):
            return f"from {band_text(-math.inf, self.low_j).removeprefix('under ')}\N{NO-BREAK SPACE}{self.unit} up"
        return f"at {self.with_unit}"

    def holds(self, energy_j: float) -> bool:
        return self.low_j <= energy_j < self.high_j

    @property
    def value(self) -> str:
        """As it stands in an address: "80-105", "-60", "130-"."""
        return "-".join("" if math.isinf(edge) else edge_text(edge) for edge in (self.low_j, self.high_j))


def bands_of(edges: Sequence[float], energies: Iterable[float], *, unit: str = "J") -> tuple[Band, ...]:
    """The bands between the edges, and an open one at either end if any shot stands out there: none is lost."""
    energies = list(energies)
    bands = [Band(low, high, unit) for low, high in zip(edges, edges[1:], strict=False)]
    if any(energy < edges[0] for energy in energies):
        bands.insert(0, Band(-math.inf, edges[0], unit))
    if any(energy >= edges[-1] for energy in energies) or len(edges) == 1:
        bands.append(Band(edges[-1], math.inf, unit))
    if len(edges) == 1 and not any(energy < edges[0] for energy in energies):
        bands.insert(0, Band(-math.inf, edges[0], unit))
    return tuple(bands)


def near_an_edge(energy: Uncertain, edges: Sequence[float]) -> float | None:
    """The edge that this shot may really stand on the other side of; None if it stands clear of all."""
    u = energy.standard_uncertainty
    if not u:
        return None
    near = min(edges, key=lambda edge: abs(edge - energy.value), default=None)
    return near if near is not None and abs(near - energy.value) < SURE * u else None


def default_edges(energies: Sequence[Uncertain]) -> tuple[float, ...]:
    """A few round edges that hold all the shots and cut through as few of their uncertainties as can be.

    Bows shoot in clumps: an edge inside a clump would part shots that nothing parts. So of all round edges those win
    that leave the fewest shots in doubt, then those that make about three bands with shots in each.
    """
    if not energies:
        return (60.0, 80.0, 100.0, 120.0)
    values = sorted(energy.value for energy in energies)
    best = min(_candidates(values[0], values[-1]), key=lambda edges: _cost(edges, energies, values))
    return best


def _candidates(low: float, high: float) -> list[tuple[float, ...]]:
    found = []
    for step in _STEPS_J:
        first = math.floor(low / _STARTS_J) * _STARTS_J
        start = max(0.0, first - step + _STARTS_J)
        while start <= low:
            count = max(1, math.floor((high - start) / step) + 1)
            if count <= MOST_EDGES - 1:
                found.append(tuple(start + step * n for n in range(count + 1)))
            start += _STARTS_J
    if found:
        return found
    # Wider apart than any bow makes them (a typing slip, or a crossbow): as few bands as hold them.
    step = math.ceil((high - low) / _LIKED_BANDS / 50 + 1e-9) * 50.0
    start = math.floor(low / 50) * 50.0
    return [tuple(start + step * n for n in range(math.floor((high - start) / step) + 2))]


def _cost(edges: tuple[float, ...], energies: Sequence[Uncertain], values: Sequence[float]) -> tuple[float, ...]:
    inner = edges[1:-1]
    doubtful = sum(near_an_edge(energy, inner) is not None for energy in energies)
    bands = [Band(low, high) for low, high in zip(edges, edges[1:], strict=False)]
    empty = sum(not any(band.holds(value) for value in values) for band in bands)
    unround = sum(edge % 10 != 0 for edge in edges) / len(edges)
    share_in_doubt = doubtful / len(energies)
    # One band a step off the liked number weighs like one shot in ten standing in doubt.
    return (share_in_doubt + 0.1 * abs(len(bands) - _LIKED_BANDS) + 0.1 * empty + 0.05 * unround, edges[0])


def round_edges(values: Sequence[float]) -> tuple[float, ...]:
    """A few round edges that hold all the values, of whatever unit: steps alike, or 1, 2, 5, 10 where they span decades."""
    if not values:
        return (1.0, 10.0, 100.0)
    low, high = min(values), max(values)
    if low > 0 and high > 8 * low:
        steps = [m * 10.0**n for n in range(math.floor(math.log10(low)), math.floor(math.log10(high)) + 2) for m in (1.0, 2.0, 5.0)]
        first = max(n for n, step in enumerate(steps) if step <= low * (1 + 1e-12))
        last = min(n for n, step in enumerate(steps) if step > high)
        steps = steps[first : last + 1]
        # Too many to read: decades alone.
        return tuple(float(f"{step:.12g}") for step in (steps if len(steps) <= MOST_EDGES else steps[::3]))
    span = max(high - low, 0.05 * abs(high), 1e-6)
    ticks = nice_ticks(low - span / 2, high + span / 2, 2 * (_LIKED_BANDS + 1))
    inside = [n for n, tick in enumerate(ticks) if tick <= low]
    above = [n for n, tick in enumerate(ticks) if tick > high]
    return ticks[inside[-1] if inside else 0 : (above[0] if above else len(ticks) - 1) + 1]


def edges_text(edges: Sequence[float]) -> str:
    """As a person would type them, and as they stand in an address."""
    return ", ".join(edge_text(edge) for edge in edges)


def edge_text(edge: float) -> str:
    """Every figure that an edge has: the list behind a cell must hold the very shots that the cell counted."""
    return f"{edge:.12g}"


def read_edges(text: str, *, unit: str = "J") -> tuple[float, ...] | None | str:
    """Edges as typed: "60, 80, 105", "60; 80; 105", "60 J 80 J". None for nothing typed, a sentence if wrong."""
    if not text.strip():
        return None
    if len(text) > 200:
        return f"That is too long for edges of bands: {MOST_EDGES} numbers at most, for example {EXAMPLE}."
    parts = [part for part in re.split(r"\s*;\s*|\s*,\s+|\s+(?=[\d.+\-\u2212])", text.strip().rstrip(",;")) if part]
    edges = []
    for part in parts:
        if "," in part:
            # "60,80" is 60.8 to one reader and two edges to another.
            return f"“{part[:40]}” could be one number or two. Put a space between edges, for example {EXAMPLE}."
        found = _one_edge(part, unit)
        if isinstance(found, str):
            return found
        edges += found
    if len(edges) > MOST_EDGES:
        return f"{len(edges)} edges are too many to read: {MOST_EDGES} at most, for example {EXAMPLE}."
    if not edges:
        return f"There is no edge in “{text[:40]}”. Type energies, for example {EXAMPLE}."
    if len(set(edges)) < len(edges):
        return f"One edge stands there twice. Each once, for example {EXAMPLE}."
    return tuple(sorted(edges))


def _one_edge(part: str, unit: str) -> list[float] | str:
    """One edge, or the sentence that says what is wrong with it. An energy may have a unit; other axes take their own."""
    if unit == "J":
        found = read(part, KINDS["energy"])
        if isinstance(found, Refused):
            return sentence(found)
        return [] if isinstance(found, Empty) else [round(found.value_si, 3)]
    if not re.fullmatch(r"\d{1,9}(?:\.\d{1,9})?", part):
        return f"“{part[:40]}” is no edge here. Type numbers of {unit} alone, for example {EXAMPLE}."
    return [float(part)]
