"""What outcomes are set against, energy or energy over a measure of the head, in bands; and what rows are made of."""

import math
import re
from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from types import MappingProxyType

from proofyard.charts.outcome_words import band_text
from proofyard.charts.scale import nice_ticks
from proofyard.physics.contact import energy_per_area_j_m2, energy_per_edge_j_m
from proofyard.quantities import KINDS, Empty, Refused, Uncertain, from_si, read, sentence
from proofyard.quantities.reason import OutOfRange, Reason, because
from proofyard.shots.head_measures import Measure, measures_of, sectional_density, shape_of_fact
from proofyard.shots.loosed import LoosedShot
from proofyard.wording.reasons.said import said

PLACES: Mapping[str, str] = MappingProxyType({"chronograph": "At the chronograph", "target": "At the target"})


@dataclass(frozen=True)
class Axis:
    """`words` as in "by energy"; figures stand in `unit`. `over`: the head's measure that the energy is shared out over."""

    key: str
    label: str
    words: str
    unit: str
    over: Callable[[LoosedShot], Measure] | None = None
    share: Callable[[float, float], float] | None = None

    @property
    def note(self) -> Reason | None:
        """What to mind of figures on it."""
        return None if self.over is None else because("axis_note", axis=self.key)


def _measure(name: str) -> Callable[[LoosedShot], Measure]:
    def of(shot: LoosedShot) -> Measure:
        found: Measure = getattr(measures_of(shape_of_fact(shot.fact)), name)
        return found

    return of


def _density(shot: LoosedShot) -> Measure:
    return sectional_density(shape_of_fact(shot.fact), shot.impact.mass)


_AXES = (
    Axis("energy", "Energy", "energy", "J"),
    Axis("tip", "Energy per mm² of tip", "energy per mm² of tip at first contact", "J/mm²", _measure("tip_area"), energy_per_area_j_m2),
    Axis("edge", "Energy per mm of edge", "energy per mm of cutting edge", "J/mm", _measure("edge"), energy_per_edge_j_m),
    Axis(
        "front",
        "Energy per mm² of head",
        "energy per mm² of the head at its broadest",
        "J/mm²",
        _measure("frontal_area"),
        energy_per_area_j_m2,
    ),
)
AXES: Mapping[str, Axis] = MappingProxyType({one.key: one for one in _AXES})


def on_axis(shot: LoosedShot, axis: Axis, *, place: str) -> Uncertain | None:
    """Where a shot stands, in the axis' unit; None where its energy, or the measure, isn't known."""
    energy = shot.energy_at(place)
    if energy is None or axis.over is None or axis.share is None:
        return energy
    over = axis.over(shot).value
    if over is None:
        return None
    try:
        value = from_si(axis.share(energy.value, over.value), axis.unit)
    except OutOfRange:
        return None  # an energy of 0, which nothing shares out
    u, v = energy.standard_uncertainty, over.standard_uncertainty
    if u is None or v is None:
        return Uncertain(value, None, None, energy.n)
    return Uncertain(value, value * math.hypot(u / energy.value, v / over.value), None, energy.n)


def all_on_axis(shots: Sequence[LoosedShot], axis: Axis, *, place: str) -> list[Uncertain | None]:
    """Where every shot stands. Of an energy alone nothing has to be worked out."""
    if axis.over is None:
        return [shot.energy_at(place) for shot in shots]
    return [on_axis(shot, axis, place=place) for shot in shots]


def all_near_an_edge(energies: Sequence[Uncertain | None], edges: Sequence[float]) -> list[float | None]:
    """For every shot the edge that it may really stand on the other side of."""
    return [near_an_edge(energy, edges) if energy else None for energy in energies]


def all_why_off_axis(shots: Sequence[LoosedShot], axis: Axis, *, place: str) -> list[str | None]:
    """Why each has no place on the axis."""
    measured = [shot.measured for shot in shots]
    there = measured if place == "chronograph" else [shot.has_energy_at(place) for shot in shots]
    if axis.over is None and all(there):
        return [None] * len(shots)
    return [why_off_axis(shot, axis, place=place) for shot in shots]


def why_off_axis(shot: LoosedShot, axis: Axis, *, place: str) -> str | None:
    """Why a shot has no place on an axis, as a key of left_out.REASONS; None where it has one. Works out no figure."""
    if not shot.measured:
        return "not_measured"
    if not shot.has_energy_at(place):
        return "no_target"
    return "no_measure" if axis.over is not None and axis.over(shot).value is None else None


def default_place(shots: Sequence[LoosedShot]) -> str:
    """At the target, where that can be told for most of those that have an energy at all."""
    measured = [shot for shot in shots if shot.measured]
    told = [shot.has_energy_at("target") for shot in measured]
    return "target" if 2 * sum(told) > len(measured) else "chronograph"


@dataclass(frozen=True)
class Rows:
    """What a row of the table is made of: heads of one form, or heads of one band of a measure."""

    key: str
    label: str
    unit: str = ""
    shown_unit: str = ""
    of: Callable[[LoosedShot], Measure] | None = None


_ROWS = (
    Rows("form", "Head form"),
    Rows("tip_flat", "Tip flat", "mm", "mm", _measure("tip_flat")),
    Rows("frontal_area", "Frontal area", "mm²", "mm²", _measure("frontal_area")),
    Rows("edge_length", "Cutting edge", "mm", "mm", _measure("edge")),
    Rows("wedge", "Wedge angle", "deg", "°", _measure("wedge")),
    Rows("sectional_density", "Sectional density", "kg/m²", "kg/m²", _density),
)
ROWS: Mapping[str, Rows] = MappingProxyType({one.key: one for one in _ROWS})


def row_value(shot: LoosedShot, rows: Rows) -> float | None:
    """The measure that puts a shot into a row, in the unit that it is shown in; to 12 figures, as an edge is typed."""
    found = rows.of(shot).value if rows.of else None
    return None if found is None else float(f"{from_si(found.value, rows.unit):.12g}")


MOST_EDGES = 12
EXAMPLE = "60, 80, 105"
# How many standard uncertainties from an edge a shot has to stand to be surely on its side: about 95 in 100.
SURE = 2.0
_STEPS_J = (10.0, 20.0, 25.0, 50.0)
_STARTS_J = 5.0
_LIKED_BANDS = 3
MANY = 1_000  # energies: of more of them it pays to count by columns


@dataclass(frozen=True, order=True)
class Band:
    """Energies from low_j up to, not including, high_j. Either may be infinite; `unit` where the axis is no energy.

    shown  the unit that its reader is told energies in
    """

    low_j: float
    high_j: float
    unit: str = "J"
    shown: str = field(default="J", compare=False)

    @property
    def told_in(self) -> str:
        """The unit of its words."""
        return self.shown if self.unit == "J" else self.unit

    @property
    def words(self) -> str:
        return band_text(self._told(self.low_j), self._told(self.high_j))

    def _told(self, edge: float) -> float:
        """An edge in the reader's unit, to the whole unless the band is narrow: edges are chosen in joules, or typed."""
        if self.told_in == self.unit or math.isinf(edge):
            return edge
        told = from_si(edge, self.shown)
        return float(f"{told:.3g}") if self.high_j - self.low_j < 5 else float(round(told))

    @cached_property
    def with_unit(self) -> str:
        """ "80 to 105 J", "under 60 J", "130 J and more"."""
        if math.isinf(self.high_j) and not math.isinf(self.low_j):
            return self.words.replace(" and more", f"\N{NO-BREAK SPACE}{self.told_in} and more")
        return f"{self.words}\N{NO-BREAK SPACE}{self.told_in}"

    @property
    def where(self) -> str:
        """How a sentence begins that speaks of this band."""
        if math.isinf(self.low_j) and math.isinf(self.high_j):
            return "at any energy" if self.unit == "J" else "anywhere"
        if math.isinf(self.low_j):
            return self.with_unit
        if math.isinf(self.high_j):
            return f"from {band_text(-math.inf, self._told(self.low_j)).removeprefix('under ')}\N{NO-BREAK SPACE}{self.told_in} up"
        return f"at {self.with_unit}"

    def holds(self, energy_j: float) -> bool:
        return self.low_j <= energy_j < self.high_j

    @cached_property
    def value(self) -> str:
        """As it stands in an address: "80-105", "-60", "130-"."""
        return "-".join("" if math.isinf(edge) else edge_text(edge) for edge in (self.low_j, self.high_j))


def band_from(text: str, *, unit: str = "J") -> Band | None:
    """ "80-105", "-60", "130-" as they stand in an address."""
    low, dash, high = text[:40].partition("-")
    try:
        edges = (float(low) if low else -math.inf, float(high) if high else math.inf)
    except ValueError:
        return None
    return Band(*edges, unit) if dash and edges[0] < edges[1] else None


def bands_of(edges: Sequence[float], energies: Iterable[float], *, unit: str = "J", shown: str = "J") -> tuple[Band, ...]:
    """The bands between the edges, and an open one at either end if any shot stands out there: none is lost."""
    energies = list(energies)
    ends = list(zip(edges, edges[1:], strict=False))
    if any(energy < edges[0] for energy in energies) or len(edges) == 1:
        ends.insert(0, (-math.inf, edges[0]))
    if any(energy >= edges[-1] for energy in energies) or len(edges) == 1:
        ends.append((edges[-1], math.inf))
    return tuple(Band(low, high, unit, shown) for low, high in ends)


def band_numbers(energies: Iterable[float | None], bands: Sequence[Band]) -> list[int | None]:
    """For every energy the number of the band that holds it; None where there is none."""
    return [None if energy is None else next((n for n, band in enumerate(bands) if band.holds(energy)), None) for energy in energies]


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
    that leave the fewest shots unsure of their band, then those that make about three bands with shots in each.
    """
    if not energies:
        return (60.0, 80.0, 100.0, 120.0)
    values = sorted(energy.value for energy in energies)
    unsure_of = _counted_by_columns(energies) if len(energies) > MANY else partial(_unsure_of, energies=energies)
    best = min(_candidates(values[0], values[-1]), key=lambda edges: _cost(edges, unsure_of(edges[1:-1]), values))
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


def _cost(edges: tuple[float, ...], unsure: int, values: Sequence[float]) -> tuple[float, ...]:
    bands = [Band(low, high) for low, high in zip(edges, edges[1:], strict=False)]
    # `values` go up: a band holds one if the first that isn't below it lies in it.
    firsts = [bisect_left(values, band.low_j) for band in bands]
    empty = sum(not (first < len(values) and band.holds(values[first])) for first, band in zip(firsts, bands, strict=True))
    unround = sum(edge % 10 != 0 for edge in edges) / len(edges)
    share_unsure = unsure / len(values)
    # One band a step off the liked number weighs like one shot in ten being unsure.
    return (share_unsure + 0.1 * abs(len(bands) - _LIKED_BANDS) + 0.1 * empty + 0.05 * unround, edges[0])


def _unsure_of(edges: tuple[float, ...], energies: Sequence[Uncertain]) -> int:
    """How many may really stand on the other side of an edge: `near_an_edge` counted, where the nearest is one of two."""
    last, found = len(edges), 0
    if not last:
        return 0
    for energy in energies:
        value, u = energy.value, energy.standard_uncertainty
        if u:
            above = bisect_left(edges, value)
            reach = SURE * u
            found += (above < last and edges[above] - value < reach) or (above > 0 and value - edges[above - 1] < reach)
    return found


def _counted_by_columns(energies: Sequence[Uncertain]) -> Callable[[tuple[float, ...]], int]:
    """The same of very many, for any edges: the same figures, compared in the same way."""
    import numpy as np  # late: a small book needs none here

    known = [energy for energy in energies if energy.standard_uncertainty]
    value = np.array([energy.value for energy in known])
    reach = SURE * np.array([energy.standard_uncertainty for energy in known])

    def unsure(edges: tuple[float, ...]) -> int:
        ends = np.array([-np.inf, *edges, np.inf])
        above = np.searchsorted(ends[1:-1], value)
        return int(np.count_nonzero((ends[above + 1] - value < reach) | (value - ends[above] < reach)))

    return unsure


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


def edges_told(edges: Sequence[float], shown: str) -> str:
    """The same for who only reads them, in their own unit, to the whole."""
    return edges_text(edges) if shown == "J" else ", ".join(f"{from_si(edge, shown):.0f}" for edge in edges)


def edge_text(edge: float) -> str:
    """Every figure that an edge has: the list behind a cell must hold the very shots that the cell counted."""
    return f"{edge:.12g}"


def read_edges(text: str, *, unit: str = "J") -> tuple[float, ...] | None | str:
    """Edges as typed: "60, 80, 105", "60; 80; 105", "60 J 80 J". None for nothing typed, a sentence if wrong."""
    if not text.strip():
        return None
    if len(text) > 200:
        return said(because("asked_limits_too_long", most=MOST_EDGES, example=EXAMPLE))
    parts = [part for part in re.split(r"\s*;\s*|\s*,\s+|\s+(?=[\d.+\-\u2212])", text.strip().rstrip(",;")) if part]
    edges = []
    for part in parts:
        if "," in part:
            # "60,80" is 60.8 to one reader and two edges to another.
            return said(because("asked_one_limit_or_two", typed=part[:40], example=EXAMPLE))
        found = _one_edge(part, unit)
        if isinstance(found, str):
            return found
        edges += found
    if len(edges) > MOST_EDGES:
        return said(because("asked_too_many_limits", limits=len(edges), most=MOST_EDGES, example=EXAMPLE))
    if not edges:
        return said(because("asked_no_limit", typed=text[:40], example=EXAMPLE))
    if len(set(edges)) < len(edges):
        return said(because("asked_limit_twice", example=EXAMPLE))
    return tuple(sorted(edges))


def _one_edge(part: str, unit: str) -> list[float] | str:
    """One edge, or the sentence that says what is wrong with it. An energy may have a unit; other axes take their own."""
    if unit == "J":
        found = read(part, KINDS["energy"])
        if isinstance(found, Refused):
            return sentence(found)
        return [] if isinstance(found, Empty) else [round(found.value_si, 3)]
    if not re.fullmatch(r"\d{1,9}(?:\.\d{1,9})?", part):
        return said(because("asked_limit_in_unit", typed=part[:40], unit=unit, example=EXAMPLE))
    return [float(part)]
