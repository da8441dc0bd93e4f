"""Heads as the units of a comparison of measures: real heads, those that are alike in all that was measured taken as one."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.physics.hardness import HardnessRange
from proofyard.quantities import Uncertain, unit_for_reader
from proofyard.quantities.reason import Reason, because
from proofyard.records.instrument import HardnessReading
from proofyard.shots.hardness_found import hardness_hv, on_vickers
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


@dataclass(frozen=True)
class Kind:
    """Heads found alike so far: by the measures and the hardness of the first."""

    form: str
    measured: Mapping[str, float | None]
    hardness: HardnessRange | None
    shots: list[CountedShot]


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
    kinds: list[Kind] = []
    for head, mine in by_head.items():
        found = Kind(form_of(mine[0].shot.fact), _measured(mine, hardness), on_vickers(hardness.get(head, ())), list(mine))
        like = next((kind for kind in kinds if kind.form == found.form and _alike(kind, found)), None)
        if like is None:
            kinds.append(found)
        else:
            like.shots.extend(mine)
    return tuple(
        HeadUnit(str(n), kind.form, _names(kind.shots), tuple(kind.shots), _measured(kind.shots, hardness))
        for n, kind in enumerate(kinds, start=1)
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


def _alike(one: Kind, other: Kind) -> bool:
    """Whether two heads of one form are alike in their shape and hardness: what was measured of one was measured of both."""
    shapes = [(one.measured[key], other.measured[key]) for key, kind in KINDS.items() if kind.of_shape]
    pairs = [*shapes, (one.hardness, other.hardness)]
    if any((a is None) != (b is None) for a, b in pairs):
        return False
    near = all(1 / ALIKE <= a / b <= ALIKE for a, b in shapes if a is not None and b is not None)
    return near and (one.hardness is None or other.hardness is None or _may_be_as_hard(one.hardness, other.hardness))


def _may_be_as_hard(one: HardnessRange, other: HardnessRange) -> bool:
    """Whether the two ranges meet, or all but: softer than 40 HRC and 50 to 55 HRC are two kinds of head."""
    ends = ((one.low, other.high), (other.low, one.high))
    return all(low is None or high is None or low <= ALIKE * high for low, high in ends)
