"""What a what-if was asked, as it stands in the address: which armour, by which shots, and one or two changes to it.

A value that can't be used gets a sentence beside its field, and the change is left undone; the rest is kept.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any
from urllib.parse import urlencode

from server.findings.through import Through
from server.findings.view_settings import THROUGHS, Query
from server.physics.hardness import HardnessRange, StrengthRange, strength_of
from server.physics.ranges import CantTell
from server.physics.resistance import QUALITIES
from server.physics.resistance_scaling import MOST_CLOTHS, MOST_PLATES
from server.quantities import Empty, Hardness, Refused, plainly, read, read_hardness, sentence, with_unit
from server.records.arrow import FORMS
from server.records.panel import PLATED

BASES = MappingProxyType(
    {
        "": "What the book has: this panel alone if that is enough, else all of its sort",
        "panel": "This panel’s shots alone",
        "sort": "Shots at all panels of its sort",
        "model": "No shots: printed rules alone",
    }
)
STEELS = MappingProxyType({key: one.words for key, one in QUALITIES.items()})
ANY = ("plate", "lamellar", "scale", "brigandine", "coat_of_plates", "mail", "textile", "other", None)
SECOND = "b_"
ENERGY = "energy"
_HARDNESS_EXAMPLE = "type from where to where, for example 170 to 190 HV, 45 to 50 HRC or 500 to 600 MPa"
_SPAN = re.compile(r"\s*(?:\bto\b|\N{EN DASH}|\N{EM DASH}|(?<=[\w ])-(?=[ \d]))\s*")


@dataclass(frozen=True)
class ChangeField:
    """One thing that may be otherwise. `kind`: of the quantity; `made`: constructions of which a rule exists."""

    name: str
    label: str
    kind: str
    hint: str
    made: tuple[str | None, ...]
    words: str


CHANGES = (
    ChangeField("thickness", "Thickness of the plate", "thickness", "Of one plate.", PLATED, "the plate’s thickness"),
    ChangeField("steel", "Hardness of its steel, from and to", "hardness", "From where to where: a hardness is never one figure.", PLATED, "the steel"),
    ChangeField("steel_sort", "Or its steel by sort", "steel_sort", "By the printed factors. Say its sort now, too.", PLATED, "the sort of steel"),
    ChangeField("layers", "Layers of the whole armour", "layers", "2: another like it behind, touching.", ANY, "the number of layers"),
    ChangeField("cloths", "Layers of cloth", "cloths", "All together.", ("textile",), "the layers of cloth"),
    ChangeField("wire", "Thickness of the rings’ wire", "small_length", "Rings larger in proportion.", ("mail",), "the rings’ wire"),
    ChangeField("angle", "Angle away from square on", "angle", "0 is square on.", PLATED, "the angle"),
    ChangeField("distance", "Distance", "distance", "From the bow to the armour: changes what the arrows bring.", ANY, "the distance"),
)  # fmt: skip
# Field -> where its value stands in Changes, where the two differ.
_HELD = MappingProxyType({"thickness": "thickness_m", "wire": "wire_m", "angle": "angle_rad", "distance": "distance_m"})
BY_NAME = MappingProxyType({one.name: one for one in CHANGES})


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
    steel_sort: str = ""
    layers: int | None = None
    cloths: int | None = None
    wire_m: float | None = None
    angle_rad: float | None = None
    distance_m: float | None = None

    @property
    def any_of_armour(self) -> bool:
        """Whether the armour itself is to be otherwise."""
        return any((self.thickness_m, self.steel, self.steel_sort, self.layers, self.cloths, self.wire_m)) or self.angle_rad is not None

    @property
    def any_typed(self) -> bool:
        return any(self.typed.values())


@dataclass(frozen=True)
class WhatIfAsked:
    """`panel`: a build's or a panel's id; `problems`: field -> sentence."""

    panel: str
    basis: str
    head: str
    through: Through
    steel_now: str
    energy_j: float | None
    first: Changes
    second: Changes
    typed: Mapping[str, str]
    problems: Mapping[str, str] = field(default_factory=dict)

    @property
    def whats(self) -> tuple[Changes, ...]:
        """The changes that something was typed for, the first always."""
        return (self.first, self.second) if self.second.any_typed else (self.first,)

    def address(self, **instead: str) -> str:
        """This page again."""
        pairs = {name: value for name, value in self.typed.items() if value} | instead
        return "/what-if" + (f"?{urlencode({k: v for k, v in pairs.items() if v})}" if pairs else "")


def what_if_asked(query: Query) -> WhatIfAsked:
    """Read an address."""
    names = ["panel", "basis", "head", "through", "steel_now", ENERGY]
    names += [prefix + one.name for prefix in ("", SECOND) for one in CHANGES]
    typed = {name: _last(query, name) for name in names}
    problems: dict[str, str] = {}
    for name, known, words in (
        ("basis", BASES, "a way to found the answer"), ("head", FORMS, "a form of head"), ("steel_now", STEELS, "a sort of steel"),
        ("through", THROUGHS, "a meaning of through"),
    ):  # fmt: skip
        if typed[name] and (typed[name] not in known or (name == "through" and typed[name] == "depth")):
            problems[name] = f"“{_cut(typed[name])}” is not {words} here. Pick one from the list."
            typed[name] = ""
    through = typed["through"] or "4"
    return WhatIfAsked(
        panel=typed["panel"],
        basis=typed["basis"],
        head=typed["head"],
        through=Through("body_line") if through == "body_line" else Through("rung", int(through)),
        steel_now=typed["steel_now"],
        energy_j=_quantity(ENERGY, "energy", typed, problems),
        first=_changes("", typed, problems),
        second=_changes(SECOND, typed, problems),
        typed=typed,
        problems=problems,
    )


def fitting(what: Changes, construction: str | None) -> Changes:
    """Without the changes that say nothing of this armour; `unfitting` has their sentences."""
    off: dict[str, Any] = {_HELD.get(one.name, one.name): None for one in CHANGES if construction not in one.made}
    return replace(what, **({**off, "steel_sort": ""} if "steel_sort" in off else off))


def unfitting(asked: WhatIfAsked, construction: str | None) -> dict[str, str]:
    """Fields that say nothing of this armour, with the sentence."""
    found = {}
    for what in (asked.first, asked.second):
        for one in CHANGES:
            if what.typed[one.name] and construction not in one.made:
                found[what.prefix + one.name] = f"Nobody has a rule for {one.words} of this sort of armour. Leave it empty."
    return found


def read_hardness_range(text: str) -> tuple[str, StrengthRange] | str:
    """What was typed and the strength that goes with it, or the sentence of what is wrong. A single figure is refused."""
    parts = [part.strip() for part in _SPAN.split(text) if part.strip()]
    if len(parts) != 2:
        return f"“{_cut(text)}” is not an interval: {_HARDNESS_EXAMPLE}."
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
        return f"Both ends on one scale: {_HARDNESS_EXAMPLE}."
    if start.scale not in ("HV", "HBW", "HRC"):
        return f"No table leads from {start.scale} to a strength: {_HARDNESS_EXAMPLE}."
    if start.value > end.value:
        return f"From the softer end to the harder: {plainly(end.value)} to {plainly(start.value)} {end.scale}?"
    strength = strength_of(HardnessRange(start.value, end.value, start.scale))
    if isinstance(strength, CantTell):
        return f"{strength.reason[:1].upper()}{strength.reason[1:]}."
    return _ordered(start.value, end.value, start.scale, strength)


def _ordered(low: float, high: float, unit: str, strength: StrengthRange) -> tuple[str, StrengthRange] | str:
    if low >= high:
        return f"A hardness is never one figure: {_HARDNESS_EXAMPLE}."
    return with_unit(f"{plainly(low)} to {plainly(high)}", unit), strength


def _changes(prefix: str, typed: Mapping[str, str], problems: dict[str, str]) -> Changes:
    def quantity(name: str) -> float | None:
        return _quantity(prefix + name, BY_NAME[name].kind, typed, problems)

    steel_sort = typed[prefix + "steel_sort"]
    if steel_sort and steel_sort not in STEELS:
        problems[prefix + "steel_sort"] = f"“{_cut(steel_sort)}” is not a sort of steel here. Pick one from the list."
        steel_sort = ""
    angle = quantity("angle")
    return Changes(
        prefix=prefix,
        typed={one.name: typed[prefix + one.name] for one in CHANGES},
        thickness_m=quantity("thickness"),
        steel=_steel(prefix + "steel", typed, problems),
        steel_sort=steel_sort,
        layers=_count(prefix + "layers", MOST_PLATES, typed, problems),
        cloths=_count(prefix + "cloths", MOST_CLOTHS, typed, problems),
        wire_m=quantity("wire"),
        angle_rad=None if angle is None else abs(angle),
        distance_m=quantity("distance"),
    )


def _steel(name: str, typed: Mapping[str, str], problems: dict[str, str]) -> Steel | None:
    if not typed[name]:
        return None
    found = read_hardness_range(typed[name][:60])
    if isinstance(found, str):
        problems[name] = found
        return None
    return Steel(*found)


def _quantity(name: str, kind: str, typed: Mapping[str, str], problems: dict[str, str]) -> float | None:
    found = read(typed[name], kind)
    if isinstance(found, Refused):
        problems[name] = sentence(found)
        return None
    if isinstance(found, Empty):
        return None
    if kind not in ("angle",) and found.value_si <= 0:
        problems[name] = "That has to be more than nothing."
        return None
    return found.value_si


def _count(name: str, most: int, typed: Mapping[str, str], problems: dict[str, str]) -> int | None:
    found = read(typed[name], "count")
    if isinstance(found, Refused):
        problems[name] = sentence(found)
    elif not isinstance(found, Empty):
        if 1 <= found.value_si <= most:
            return round(found.value_si)
        problems[name] = f"From 1 to {most}: nobody tried more."
    return None


def _last(query: Query, name: str) -> str:
    values: Sequence[str] = query.get(name, ())
    return values[-1].strip() if values else ""


def _cut(text: str) -> str:
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text[:40])
    return shown + ("…" if len(text) > 40 else "")
