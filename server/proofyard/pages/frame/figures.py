"""How a figure is written on a page: in the reader's units, what was typed beside it, its uncertainty after it."""

import json
import re
from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import Depends, Request

from proofyard import quantities
from proofyard.records.columns import Meaning, Noun, meanings, picked
from proofyard.records.typed_values import HARDNESS_KINDS, kind_of
from proofyard.wording.counts import counted as counted
from proofyard.wording.figures import as_typed_first
from proofyard.wording.figures import both_units as both_units  # pages write figures with these too
from proofyard.wording.figures import spread_words as spread_words
from proofyard.wording.figures import with_uncertainty as with_uncertainty

YES_NO = {1: "Yes", 0: "No"}


def _reader(request: Request) -> str:
    return "archery" if request.cookies.get("units") == "imperial" else "metric"


Reader = Annotated[str, Depends(_reader)]  # the same, as a route asks for it


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
        return ", ".join(meaning.choices.get(one, one) for one in picked(value))
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
    bound = "≥ " if now.get(f"{name}_bound") == "at_least" else ""
    return f"{bound}{as_typed_first(typed, value, kind, reader)}"
