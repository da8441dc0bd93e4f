"""What the pool is asked: which figure, of which head against which armour by its measures, within which energies."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities import Empty, Refused, read_hardness, sentence
from proofyard.quantities.reason import because
from proofyard.records.arrow import FORMS
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.shots.loosed import LoosedShot
from proofyard.views.address import AsTyped, Choice, Query, Reading, Unusable, Written, more_than_nothing
from proofyard.views.axes import PLACES
from proofyard.wording.counts import THROUGHS
from proofyard.wording.reasons.said import said

FIGURES: Mapping[str, str] = MappingProxyType({"energy": "50 % energy", "share": "Share through"})


def _vickers(text: str) -> float | None | Unusable:
    """In HV, the one scale on which all groups' steel can stand: softer than 20 HRC there is no other."""
    found = read_hardness(text, scale="HV")
    if isinstance(found, Refused):
        return Unusable(sentence(found))
    if isinstance(found, Empty):
        return None
    return found.value if found.scale == "HV" else Unusable(said(because("pool_in_vickers", scale=found.scale)))


FIGURE = Choice(name="figure", label="Figure", control="choice", choices=FIGURES, default="energy")
HEAD = Choice(name="head", label="Head", is_no="a form of head that a group shot")
CONSTRUCTION = Choice(name="construction", label="Armour", is_no="a construction that a group shot at")
THICKNESS_FROM = more_than_nothing("thickness_from", "Thickness from", "thickness")
THICKNESS_TO = more_than_nothing("thickness_to", "Thickness to", "thickness")
WEIGHT_FROM = more_than_nothing("weight_from", "A square metre weighs from", "layer_weight")
WEIGHT_TO = more_than_nothing("weight_to", "A square metre weighs to", "layer_weight")
HARDNESS_FROM: Written[float | None] = Written(
    name="hardness_from",
    label="Hardness from",
    control="number",
    default=None,
    unit="HV",
    hint="Of the panels; those whose hardness is not known are left out then.",
    reader=_vickers,
)
HARDNESS_TO: Written[float | None] = Written(
    name="hardness_to", label="Hardness to", control="number", default=None, unit="HV", reader=_vickers
)
ENERGY_FROM = more_than_nothing(
    "energy_from", "Energy from", "energy", hint="For the share through, so that groups are asked at one energy."
)
ENERGY_TO = more_than_nothing("energy_to", "Energy to", "energy")
LIMITS = ((THICKNESS_FROM, THICKNESS_TO), (WEIGHT_FROM, WEIGHT_TO), (HARDNESS_FROM, HARDNESS_TO), (ENERGY_FROM, ENERGY_TO))
AT = Choice(name="at", label="Energy", control="choice", choices=PLACES, default="target")
THROUGH = Choice(
    name="through",
    label="Through means",
    control="choice",
    choices={key: words for key, words in THROUGHS.items() if key != "depth"},
    default="4",
)


@dataclass(frozen=True)
class Between:
    """Limits in SI, those of hardness in HV; either of them open."""

    low: float | None
    high: float | None

    @property
    def open(self) -> bool:
        return self.low is None and self.high is None

    def holds(self, value: float | None) -> bool:
        """Whether a value lies within; one that is not known only where nothing is asked."""
        if self.open or value is None:
            return self.open
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


@dataclass(frozen=True, kw_only=True)
class AskedPool(AsTyped):
    """What holds. head, construction: "" where no group shot anything."""

    figure: str
    head: str
    construction: str
    thickness: Between
    weight: Between
    hardness: Between
    energy: Between
    at: str
    through: str

    @property
    def view(self) -> Mapping[str, tuple[str, ...]]:
        """The same to each book's own view."""
        return {"at": (self.at,), "through": (self.through,)}


def asked_pool(query: Query, shots: Iterable[tuple[str, LoosedShot]]) -> AskedPool:
    """shots: of every group, each with its group. Where nothing is asked: the head and the armour that most groups shot, most often."""
    heads, constructions = _most_groups(((group, one.fact.form, one.fact.construction) for group, one in shots))
    reading = Reading(query)
    figure = reading.one(FIGURE)
    head = reading.one(HEAD.of({key: FORMS[key] for key in heads}, default=next(iter(heads), "")))
    construction = reading.one(CONSTRUCTION.of({key: CONSTRUCTIONS[key] for key in constructions}, default=next(iter(constructions), "")))
    limits = [Between(reading.one(low), reading.one(high)) for low, high in LIMITS]
    for between, (_, high) in zip(limits, LIMITS, strict=True):
        if between.low is not None and between.high is not None and between.low > between.high:
            reading.refuse(high, because("pool_limits_crossed"))
    thickness, weight, hardness, energy = limits
    return AskedPool(
        figure=figure,
        head=head,
        construction=construction,
        thickness=thickness,
        weight=weight,
        hardness=hardness,
        energy=energy,
        at=reading.one(AT),
        through=reading.one(THROUGH),
        **reading.as_typed(),
    )


def _most_groups(shots: Iterable[tuple[str, str | None, str | None]]) -> tuple[list[str], list[str]]:
    """Head forms, and constructions: those of most groups first, then of most shots."""
    heads, constructions = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
    for group, form, construction in shots:
        if form in FORMS:
            heads[(str(form), group)] += 1
        if construction in CONSTRUCTIONS:
            constructions[(str(construction), group)] += 1
    return _ordered(heads), _ordered(constructions)


def _ordered(found: Counter[tuple[str, str]]) -> list[str]:
    groups = Counter(key for key, _ in found)
    shots = Counter[str]()
    for (key, _), count in found.items():
        shots[key] += count
    return sorted(groups, key=lambda key: (-groups[key], -shots[key], key))
