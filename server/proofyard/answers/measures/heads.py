"""Heads as the units of a comparison of measures: real heads, those that are alike in all that was measured taken as one."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities import Uncertain, unit_for_reader
from proofyard.quantities.reason import Reason, because
from proofyard.records.instrument import HardnessReading
from proofyard.shots.hardness_found import ranges_of_readings
from proofyard.shots.head_measures import Measure, measures_of, sectional_density, shape_of_fact
from proofyard.shots.loosed import LoosedShot
from proofyard.views.cells import CountedShot
from proofyard.views.settings import form_of, form_words

ALIKE = 1.05  # measures no further apart than this factor are those of one and the same kind of head: a rule of this book, no source


def _of_shape(name: str) -> Callable[[LoosedShot], float | None]:
    def of(shot: LoosedShot) -> float | None:
        found: Measure = getattr(measures_of(shape_of_fact(shot.fact)), name)
        return _value(found.value)

    return of


def _value(found: Uncertain | None) -> float | None:
    return found.value if found is not None and found.value > 0 else None


def _density(shot: LoosedShot) -> float | None:
    return _value(sectional_density(shape_of_fact(shot.fact), shot.impact.mass).value)


@dataclass(frozen=True)
class MeasureKind:
    """`label` as on the page; `shown_as`: which of a reader's units it is shown in; `of`: its value of one shot's head or arrow, in SI."""

    key: str
    label: str
    shown_as: str
    of: Callable[[LoosedShot], float | None]
    of_shape: bool = True


HARDNESS = "hardness"
KINDS: Mapping[str, MeasureKind] = MappingProxyType(
    {
        one.key: one
        for one in (
            MeasureKind("tip", "Tip area (tip pressure)", "area", _of_shape("tip_area")),
            MeasureKind("edge", "Cutting edge", "length", _of_shape("edge")),
            MeasureKind("front", "Frontal area", "area", _of_shape("frontal_area")),
            MeasureKind("section", "Sectional density", "areal_density", _density, of_shape=False),
            MeasureKind("mass", "Arrow mass", "mass", lambda shot: _value(shot.impact.mass), of_shape=False),
            MeasureKind("momentum", "Momentum", "momentum", lambda shot: _value(shot.impact.momentum_kg_m_s), of_shape=False),
        )
    }
)
LABELS: Mapping[str, str] = MappingProxyType({**{key: one.label for key, one in KINDS.items()}, HARDNESS: "Hardness of the head"})
VICKERS = "HV"  # a hardness has no other unit here


def unit_of(key: str, reader: str) -> str:
    """That this reader is shown a measure in."""
    return VICKERS if key == HARDNESS else unit_for_reader(KINDS[key].shown_as, reader)


@dataclass(frozen=True)
class HeadUnit:
    """One head, or several that are alike. `measures`: by key, in SI (a hardness in HV), None where it was not measured."""

    key: str
    form: str
    names: tuple[str, ...]
    shots: tuple[CountedShot, ...]
    measures: Mapping[str, float | None]

    @property
    def words(self) -> str:
        return f"{form_words(self.form)} {', '.join(self.names)}"

    @property
    def hits(self) -> int:
        return sum(one.through_low for one in self.shots)

    @property
    def shaft_and_head_m(self) -> tuple[float, float] | None:
        """The thickest shaft that it was shot on, and the head across its widest; None where one of them was not measured."""
        facts = [one.shot.fact for one in self.shots]
        shafts = [fact.shaft_diameter_m for fact in facts]
        heads = [max(fact.head_width_m, fact.head_thickness_m or 0.0) if fact.head_width_m else None for fact in facts]
        known = [(shaft, head) for shaft, head in zip(shafts, heads, strict=True) if shaft and head]
        return max(known, key=lambda pair: pair[0] / pair[1]) if known and len(known) == len(facts) else None


def shaft_drag(units: Sequence[HeadUnit]) -> Reason:
    """Which heads have a shaft behind them that is wider than they are, so that it drags in the hole; which not; which can't be told."""
    known = [(unit, found) for unit in units if (found := unit.shaft_and_head_m)]
    dragging = tuple(because("shaft_of_head", head=unit.words, shaft_m=shaft, head_m=head) for unit, (shaft, head) in known if shaft > head)
    return because("shaft_drag", dragging=dragging, known=len(known), unknown=len(units) - len(known))


def head_units(shots: Sequence[CountedShot], hardness: Mapping[str, Sequence[HardnessReading]]) -> tuple[HeadUnit, ...]:
    """`shots`: decided, each with an energy; `hardness`: head id -> readings. In the order first shot."""
    by_head: dict[str, list[CountedShot]] = {}
    for one in shots:
        by_head.setdefault(one.shot.fact.head_id or one.shot.fact.arrow_build_id, []).append(one)
    kinds: list[tuple[str, dict[str, float | None], list[CountedShot]]] = []
    for mine in by_head.values():
        form, measured = form_of(mine[0].shot.fact), _measured(mine, hardness)
        like = next((kind for kind in kinds if kind[0] == form and _alike(kind[1], measured)), None)
        if like is None:
            kinds.append((form, measured, list(mine)))
        else:
            like[2].extend(mine)
    return tuple(
        HeadUnit(str(n), form, _names(mine), tuple(mine), measured if len(mine) < 2 else _measured(mine, hardness))
        for n, (form, measured, mine) in enumerate(kinds, start=1)
    )


def _names(shots: Sequence[CountedShot]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.shot.fact.head_name or one.shot.fact.arrow_tag for one in shots))


def _measured(shots: Sequence[CountedShot], hardness: Mapping[str, Sequence[HardnessReading]]) -> dict[str, float | None]:
    """Each measure's mean over the shots that have it."""
    found: dict[str, float | None] = {}
    for key, kind in KINDS.items():
        known = [value for one in shots if (value := kind.of(one.shot)) is not None]
        found[key] = math.fsum(known) / len(known) if known else None
    ids = dict.fromkeys(one.shot.fact.head_id for one in shots if one.shot.fact.head_id)
    hard = [value for head in ids if (value := hardness_hv(hardness.get(head, ()))) is not None]
    return {**found, HARDNESS: math.fsum(hard) / len(hard) if hard else None}


def hardness_hv(rows: Sequence[HardnessReading]) -> float | None:
    """The middle of what testers found on the Vickers scale; None for picks with an open end or other scales: no middle is invented."""
    kept = [row for row in rows if row.voided_rev is None and not row.left_out_reason]
    middles = [
        (one.low + one.high) / 2 for one in ranges_of_readings(kept) if one.scale == "HV" and one.low is not None and one.high is not None
    ]
    return math.fsum(middles) / len(middles) if middles else None


def _alike(one: Mapping[str, float | None], other: Mapping[str, float | None]) -> bool:
    """Whether two heads of one form are alike in their shape and hardness: what was measured of one was measured of both."""
    keys = [key for key in LABELS if key == HARDNESS or KINDS[key].of_shape]
    for key in keys:
        a, b = one[key], other[key]
        if (a is None) != (b is None):
            return False
        if a is not None and b is not None and not 1 / ALIKE <= a / b <= ALIKE:
            return False
    return True
