"""What a what-if was asked, as it stands in the address: which armour, by which shots, and one or two changes to it.

A value that can't be used gets a sentence beside its field, and the change is left undone; the rest is kept.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from proofyard.physics.hardness import HardnessRange, StrengthRange, strength_of
from proofyard.physics.resistance_scaling import MOST_CLOTHS, MOST_PLATES
from proofyard.quantities import Hardness, Refused, plainly, read_hardness, sentence, with_unit
from proofyard.quantities.reason import CantTell, because
from proofyard.records.arrow import FORMS
from proofyard.records.panel import PLATED
from proofyard.views.address import (
    Amount,
    AsTyped,
    Choice,
    Free,
    Query,
    Reading,
    Setting,
    T,
    Unusable,
    Written,
    address,
    cut,
    more_than_nothing,
)
from proofyard.views.settings import Through
from proofyard.wording.counts import THROUGHS
from proofyard.wording.formula_names import STEELS
from proofyard.wording.reasons.said import said
from proofyard.wording.reasons.said import sentence as reason_sentence

ANY = ("plate", "lamellar", "scale", "brigandine", "coat_of_plates", "mail", "textile", "other", None)
SECOND = "b_"
_SPAN = re.compile(r"\s*(?:\bto\b|\N{EN DASH}|\N{EM DASH}|(?<=[\w ])-(?=[ \d]))\s*")


def how_many(name: str, label: str, most: int, *, hint: str) -> Amount:
    return Amount(
        name=name, label=label, kind="count", hint=hint, fits=lambda n: 1 <= n <= most, outside=f"From 1 to {most}: nobody tried more."
    )


PANEL = Free(
    name="panel",
    label="Armour",
    control="select",
    blank="Pick a panel",
    hint="Panels with shots are answered from them, the others by published rules.",
)
PANEL_TYPE = Free(
    name="panel_type",
    label="Panel with what lay behind it",
    control="select",
    blank="As it was shot most",
    hint="What lay behind stays as it was: no rule says what a garment or a backing changes.",
)
BASIS = Choice(
    name="basis",
    label="Start from",
    choices=MappingProxyType(
        {"panel": "This panel’s shots alone", "panel_type": "Shots at all panels of its type", "model": "No shots, published rules only"}
    ),
    blank="This panel if that is enough, otherwise its type",
    is_no="a choice",
)
HEAD = Choice(name="head", label="Head", choices=FORMS, blank="All heads", is_no="a form of head")
STEEL_NOW = Choice(
    name="steel_now",
    label="Its present steel",
    choices=STEELS,
    blank="—",
    hint="For the published factors for kinds of steel.",
    is_no="a kind of steel",
)
THROUGH = Choice(
    name="through",
    label="Through means",
    choices=MappingProxyType({key: words for key, words in THROUGHS.items() if key != "depth"}),
    blank="Point through (4) or more",
    is_no="a meaning of through",
)
ENERGY = more_than_nothing("energy", "Energy of a shot to ask about", "energy", hint="Shown with your own bows.")


@dataclass(frozen=True)
class Steel:
    """A steel asked about: the strength that goes with what was typed, and those words."""

    words: str
    strength: StrengthRange


@dataclass(frozen=True)
class Changes:
    """One what-if. `typed` as it was typed; the rest in SI, None where nothing is to change or it could not be used."""

    prefix: str
    typed: Mapping[str, str]
    thickness_m: float | None = None
    steel: Steel | None = None
    steel_quality: str = ""
    layers: int | None = None
    cloths: int | None = None
    wire_m: float | None = None
    angle_rad: float | None = None
    distance_m: float | None = None

    @property
    def any_of_armour(self) -> bool:
        """Whether the armour itself is to be otherwise."""
        return any((self.thickness_m, self.steel, self.steel_quality, self.layers, self.cloths, self.wire_m)) or self.angle_rad is not None

    @property
    def any_typed(self) -> bool:
        return any(self.typed.values())


@dataclass(frozen=True, kw_only=True)
class WhatIfAsked(AsTyped):
    """`panel`: a build's or a panel's id; `panel_type`: one of those that it was shot as, "" for the most shot."""

    panel: str
    panel_type: str
    basis: str
    head: str
    through: Through
    steel_now: str
    energy_j: float | None
    first: Changes
    second: Changes

    @property
    def whats(self) -> tuple[Changes, ...]:
        """The changes that something was typed for, the first always."""
        return (self.first, self.second) if self.second.any_typed else (self.first,)

    def address(self, **instead: str) -> str:
        """This page again."""
        return address("/what-if", self.pairs(**instead))


def what_if_asked(query: Query) -> WhatIfAsked:
    """Read an address."""
    reading = Reading(query)
    panel, basis, head = reading.one(PANEL), reading.one(BASIS), reading.one(HEAD)
    through = reading.one(THROUGH) or "4"
    return WhatIfAsked(
        panel=panel,
        panel_type=reading.one(PANEL_TYPE),
        basis=basis,
        head=head,
        through=Through("body_line") if through == "body_line" else Through("outcome_level", int(through)),
        steel_now=reading.one(STEEL_NOW),
        energy_j=reading.one(ENERGY),
        first=_changes("", reading),
        second=_changes(SECOND, reading),
        **reading.as_typed(),
    )


def fitting(what: Changes, construction: str | None) -> Changes:
    """Without the changes that say nothing of this armour; `unfitting` has their sentences."""
    off: dict[str, Any] = {one.held: None for one in CHANGES if construction not in one.made}
    return replace(what, **({**off, "steel_quality": ""} if "steel_quality" in off else off))


def unfitting(asked: WhatIfAsked, construction: str | None) -> dict[str, str]:
    """Fields that say nothing of this armour, with the sentence."""
    found = {}
    for what in (asked.first, asked.second):
        for one in CHANGES:
            if what.typed[one.name] and construction not in one.made:
                found[what.prefix + one.name] = said(because("asked_no_rule", what=one.words))
    return found


def read_hardness_range(text: str) -> tuple[str, StrengthRange] | str:
    """What was typed and the strength that goes with it, or the sentence of what is wrong. A single figure is refused."""
    parts = [part.strip() for part in _SPAN.split(text) if part.strip()]
    if len(parts) != 2:
        return said(because("asked_no_interval", typed=cut(text)))
    megapascals = re.compile(r"(\d{2,4}(?:[.,]\d+)?)\s*(MPa|N/mm2|N/mm²)?", re.IGNORECASE)
    both = [megapascals.fullmatch(part) for part in parts]
    if both[0] and both[1] and both[1][2]:
        low, high = (float(one[1].replace(",", ".")) for one in both if one)
        return _ordered(low, high, "MPa", StrengthRange(low * 1e6, high * 1e6))
    end = read_hardness(parts[1])
    start = read_hardness(parts[0], scale=end.scale if isinstance(end, Hardness) else None)
    for one in (end, start):
        if isinstance(one, Refused):
            return sentence(one)
    assert isinstance(start, Hardness) and isinstance(end, Hardness)
    if start.scale != end.scale:
        return said(because("asked_one_scale"))
    if start.scale not in ("HV", "HBW", "HRC"):
        return said(because("asked_no_table", scale=start.scale))
    if start.value > end.value:
        return said(because("asked_softer_first", low=end.value, high=start.value, scale=end.scale))
    strength = strength_of(HardnessRange(start.value, end.value, start.scale))
    if isinstance(strength, CantTell):
        return reason_sentence(strength.reason)
    return _ordered(start.value, end.value, start.scale, strength)


def _ordered(low: float, high: float, unit: str, strength: StrengthRange) -> tuple[str, StrengthRange] | str:
    if low >= high:
        return said(because("asked_one_figure"))
    return with_unit(f"{plainly(low)} to {plainly(high)}", unit), strength


def _steel(text: str) -> Steel | None | Unusable:
    found = read_hardness_range(text[:60])
    return Unusable(found) if isinstance(found, str) else Steel(*found)


THICKNESS = more_than_nothing("thickness", "Thickness of the plate", "thickness", hint="Of one plate.")
STEEL: Written[Steel | None] = Written(
    name="steel",
    default=None,
    label="Hardness of its steel, from and to",
    hint="Enter a range: a hardness is never one figure.",
    reader=_steel,
)
STEEL_QUALITY = Choice(
    name="steel_quality",
    label="Or its kind of steel",
    choices=STEELS,
    blank="Unchanged",
    hint="One of the two is enough. Enter its present kind of steel too.",
    is_no="a kind of steel",
)
LAYERS = how_many("layers", "Layers of the whole armour", MOST_PLATES, hint="2 means another like it behind, touching.")
CLOTHS = how_many("cloths", "Layers of cloth", MOST_CLOTHS, hint="In total.")
WIRE = more_than_nothing("wire", "Thickness of the rings’ wire", "small_length", hint="The rings grow in proportion.")
ANGLE = Amount(name="angle", label="Angle from square", kind="angle", hint="0° = square on.")
DISTANCE = more_than_nothing("distance", "Distance", "distance", hint="From the bow to the armour; it changes the energy of the arrows.")


@dataclass(frozen=True)
class ChangeField:
    """One thing that may be otherwise. `made`: constructions of which a rule exists; `held`: where its value stands in Changes."""

    setting: Setting[Any]
    made: tuple[str | None, ...]
    words: str
    held: str

    @property
    def name(self) -> str:
        return self.setting.name


CHANGES = (
    ChangeField(THICKNESS, PLATED, "the plate’s thickness", "thickness_m"),
    ChangeField(STEEL, PLATED, "the steel", "steel"),
    ChangeField(STEEL_QUALITY, PLATED, "the kind of steel", "steel_quality"),
    ChangeField(LAYERS, ANY, "the number of layers", "layers"),
    ChangeField(CLOTHS, ("textile",), "the layers of cloth", "cloths"),
    ChangeField(WIRE, ("mail",), "the rings’ wire", "wire_m"),
    ChangeField(ANGLE, PLATED, "the angle", "angle_rad"),
    ChangeField(DISTANCE, ANY, "the distance", "distance_m"),
)


def _changes(prefix: str, reading: Reading) -> Changes:
    """One set of changes; those of the second have a prefix to their names."""

    def asked(setting: Setting[T]) -> T:
        return reading.one(replace(setting, name=prefix + setting.name, label=setting.label + (", second" if prefix else "")))

    thickness, steel, quality = asked(THICKNESS), asked(STEEL), asked(STEEL_QUALITY)
    layers, cloths, wire, angle = asked(LAYERS), asked(CLOTHS), asked(WIRE), asked(ANGLE)
    return Changes(
        prefix=prefix,
        thickness_m=thickness,
        steel=steel,
        steel_quality=quality,
        layers=None if layers is None else round(layers),
        cloths=None if cloths is None else round(cloths),
        wire_m=wire,
        angle_rad=None if angle is None else abs(angle),
        distance_m=asked(DISTANCE),
        typed={one.name: reading.typed[prefix + one.name] for one in CHANGES},
    )
