"""How a figure is written on a page: in the reader's units, what was typed beside it, its doubt after it."""

import json
import re
from collections.abc import Mapping
from typing import Any

from server import quantities
from server.pages.rendering import Frame
from server.quantities import Uncertain
from server.records.columns import Meaning, Noun, meanings
from server.records.typed_values import HARDNESS_KINDS, kind_of

YES_NO = {1: "Yes", 0: "No"}


def reader_of(frame: Frame) -> str:
    """Which units this reader chose, by the name that quantities knows."""
    return "archery" if frame.units == "imperial" else "metric"


def doubtful(found: Uncertain | None, shown_as: str, reader: str, *, none: str = "not measured") -> str:
    """A worked-out figure with its standard uncertainty, or the words for its want."""
    if found is None:
        return none
    # Nobody knows how many figures such a one carries: three claim little.
    return quantities.written_with_uncertainty(found, quantities.unit_for_reader(shown_as, reader), figures=3)


def both_units(found: Uncertain | None, shown_as: str, *, none: str = "not measured") -> str:
    """The same figure for both readers: an energy in J and ft·lbf."""
    if found is None:
        return none
    return " = ".join(doubtful(found, shown_as, reader) for reader in quantities.READERS)


def spread_words(value_si: float, unit: str) -> str:
    """A spread or an uncertainty by itself: two figures, a closing zero among them ("0.20 m/s")."""
    return quantities.written(value_si, unit, uncertainty_si=value_si)


def as_marked(row: Noun, name: str, reader: str) -> str:
    """What was typed, with its unit: for what stands written on the thing itself, such as a bow's 110 lb."""
    typed = str(json.loads(row.typed).get(name) or "").split("@")[0].strip()
    if not typed:
        return fact(row, name, reader)
    kind = kind_of(meanings(type(row))[name][1], row.model_dump())
    bare = kind is not None and not re.search(r"[^\d.,\s]", typed)
    return quantities.with_unit(typed, quantities.KINDS[kind].unit) if kind and bare else typed


def _plain(text: str) -> str:
    return re.sub(r"\s", "", text).replace("−", "-")


def read_back(meaning: Meaning, typed: Mapping[str, Any], *, name: str, value: Any) -> str:
    """What a typed quantity was read as, where that is not what stands in the box already."""
    kind = kind_of(meaning, typed) if meaning.value == "quantity" else None
    text = str(typed.get(name) or "").strip()
    if kind is None or value is None or not text or kind in HARDNESS_KINDS:
        return ""
    known = quantities.KINDS[kind]
    number = (quantities.difference_from_si if known.difference else quantities.from_si)(value, known.unit)
    plain = quantities.plainly(number)
    words = quantities.with_unit(plain, known.unit)
    if _plain(text) in (_plain(plain), _plain(words)):
        return ""
    return f"Read as {'at least ' if text[0] in '≥>' else ''}{words}"


def fact(row: Noun, name: str, reader: str, *, linked: Mapping[str, str] | None = None) -> str:
    """One field of a record in words; empty where nothing was said. `linked`: id -> what that record is called."""
    column, meaning = meanings(type(row))[name]
    value = getattr(row, column)
    if value is None or value == "":
        return ""
    if meaning.value == "quantity":
        return _quantity(row, name, value, reader=reader)
    if meaning.value == "choice":
        return meaning.choices.get(value, value)
    if meaning.value == "several":
        return ", ".join(meaning.choices.get(one, one) for one in json.loads(value))
    if meaning.value == "yes_no":
        return YES_NO[value]
    if meaning.value == "link":
        return (linked or {}).get(value, "")
    return str(value)


def _quantity(row: Noun, name: str, value: float, *, reader: str) -> str:
    meaning, now = meanings(type(row))[name][1], row.model_dump()
    typed = str(json.loads(row.typed).get(name) or "").strip()
    kind = kind_of(meaning, now)
    if kind is None:
        return typed or quantities.plainly(value)  # it depended on another field, which was emptied since
    if kind in HARDNESS_KINDS:
        return quantities.with_unit(quantities.plainly(value), HARDNESS_KINDS[kind] or now.get("scale") or "")
    words = quantities.figure(value, kind, reader)
    bare = quantities.with_unit(typed, quantities.KINDS[kind].unit)
    bound = "≥ " if now.get(f"{name}_bound") == "at_least" else ""
    same = not typed or _plain(words) in (_plain(typed), _plain(bare))
    return f"{bound}{words}" + ("" if same else f", typed “{typed}”")


def unusual_value(value_si: float, kind: str) -> str:
    """What is unusual about a stored value, in the words of its reading; empty where nothing is."""
    known = quantities.KINDS[kind]
    if known.plausible[0] <= value_si <= known.plausible[1]:
        return ""
    read = quantities.read(quantities.plainly(quantities.from_si(value_si, known.unit)).replace("−", "-"), kind)
    return " ".join(read.warnings) if isinstance(read, quantities.Read) else ""


def counted(n: int, one: str, many: str = "") -> str:
    """ "1 reading", "3 readings"."""
    return f"{n} {one if n == 1 else many or one + 's'}"
