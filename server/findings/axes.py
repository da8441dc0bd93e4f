"""What a results page sets outcomes against, and what its rows are made of: energy, or energy over a measure of the head."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from server.findings.head_measures import Measure, measures_of, sectional_density, shape_of_fact
from server.findings.loosed import LoosedShot
from server.physics.contact import energy_per_area_j_m2, energy_per_edge_j_m
from server.physics.ranges import OutOfRange
from server.quantities import Uncertain, from_si

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
    note: str = ""


def _measure(name: str) -> Callable[[LoosedShot], Measure]:
    def of(shot: LoosedShot) -> Measure:
        found: Measure = getattr(measures_of(shape_of_fact(shot.fact)), name)
        return found

    return of


def _density(shot: LoosedShot) -> Measure:
    return sectional_density(shape_of_fact(shot.fact), shot.impact.mass)


_AXES = (
    Axis("energy", "Energy", "energy", "J"),
    Axis(
        "tip", "Energy for each mm² of tip", "energy for each mm² of tip at first contact", "J/mm²", _measure("tip_area"),
        energy_per_area_j_m2, "A tip’s area is known to a tenth at best, and a rounded one’s is that 0.1 mm in: this is a measure to compare heads by, at first contact only.",
    ),
    Axis(
        "edge", "Energy for each mm of edge", "energy for each mm of cutting edge", "J/mm", _measure("edge"), energy_per_edge_j_m,
        "All of the edge is reckoned to cut; once through, only what still touches does.",
    ),
    Axis(
        "front", "Energy for each mm² of head", "energy for each mm² of the head at its broadest", "J/mm²", _measure("frontal_area"),
        energy_per_area_j_m2, "The head’s frontal area, as if it had to make room for all of itself.",
    ),
)  # fmt: skip
AXES: Mapping[str, Axis] = MappingProxyType({one.key: one for one in _AXES})


def on_axis(shot: LoosedShot, axis: Axis, *, place: str) -> Uncertain | None:
    """Where a shot stands, in the axis' unit; None where its energy, or the measure, isn't known."""
    energy = shot.impact.energy_at(place)
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


def why_off_axis(shot: LoosedShot, axis: Axis, *, place: str) -> str | None:
    """Why a shot has no place on an axis, as a key of left_out.REASONS; None where it has one. Works out no figure."""
    if not shot.impact.measured:
        return "not_measured"
    if not shot.impact.has_energy_at(place):
        return "no_target"
    return "no_measure" if axis.over is not None and axis.over(shot).value is None else None


def default_place(shots: list[LoosedShot] | tuple[LoosedShot, ...]) -> str:
    """At the target, where that can be told for most of those that have an energy at all."""
    measured = [shot for shot in shots if shot.impact.measured]
    told = sum(shot.impact.has_energy_at("target") for shot in measured)
    return "target" if 2 * told > len(measured) else "chronograph"


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
