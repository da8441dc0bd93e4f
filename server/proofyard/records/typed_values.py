"""What a person typed or picked -> what a column holds, with every fault said at once.

The one place where a body of field names and typed values meets the columns' meanings.
"""

import datetime
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any, NamedTuple

from sqlmodel import SQLModel

from proofyard import quantities
from proofyard.records.columns import Meaning, meanings
from proofyard.records.ids import is_id
from proofyard.records.unseen_signs import unseen_in

TRUE_WORDS = {"1", "yes", "true", "on"}
FALSE_WORDS = {"0", "no", "false", "off"}
MOST_WHOLE = 1_000_000
_GREATEST = 1 << 63

# Kinds that stand on a scale and have no unit, so `quantities.KINDS` lacks them: kind -> the scale of a bare number.
HARDNESS_KINDS = MappingProxyType({"pick_hardness": "HRC", "hardness_value": ""})
# Fields whose text may say more than a number, and the field beside them that takes the rest.
BOUNDS = MappingProxyType({"depth": "depth_bound"})
DRAWS = MappingProxyType({"marked_weight": "marked_draw"})
_SAME_DRAW_M = 0.0005
_SCALE_NAMES = MappingProxyType({"HB": "HBW"})


@dataclass(frozen=True)
class Problem:
    """One thing that needs the person's hand: the field, and a sentence with what was found and what is expected."""

    field: str
    sentence: str


@dataclass
class Taken:
    """A body made ready for its row.

    values      column name -> what is stored (None empties it)
    typed       field name -> text as typed
    warnings    unusual, but kept as typed
    """

    values: dict[str, Any] = field(default_factory=dict)
    typed: dict[str, str | None] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    warnings: list[Problem] = field(default_factory=list)


class _NotTaken(Exception):
    """Carries a sentence up to the field that it belongs to."""


class _Read(NamedTuple):
    """A value, what is unusual about it, and what its text says of fields beside it: field name -> text."""

    value: Any
    warnings: tuple[str, ...] = ()
    beside: Mapping[str, str | None] = MappingProxyType({})


def take(table: type[SQLModel], body: Mapping[str, Any], now: Mapping[str, Any] | None = None) -> Taken:
    """Read a body for a table. `now` is the row as it stands, for kinds that depend on another field."""
    taken, known, now = Taken(), meanings(table), now or {}
    whole = {**{name: now.get(column) for name, (column, _) in known.items()}, **body} if now else body
    beside: dict[str, str | None] = {}
    for name, value in body.items():
        if name not in known:
            taken.problems.append(Problem(name, f"“{name}” is not a field of this record."))
            continue
        column, meaning = known[name]
        try:
            read = _read(name, meaning, value, body, whole)
        except _NotTaken as fault:
            taken.problems.append(Problem(name, str(fault)))
            continue
        if read.value is None and meaning.required:
            taken.problems.append(Problem(name, f"{meaning.label} is needed."))
            continue
        taken.values[column] = read.value
        taken.typed[name] = _as_typed(value)
        if read.warnings:
            taken.warnings += [Problem(name, sentence) for sentence in read.warnings]
        beside |= read.beside
    # After all others: an empty box beside must not wipe out what the text said.
    told = {problem.field for problem in taken.problems}
    for name, text in beside.items():
        if name in told:
            continue  # its own box holds something that can't be read: said above, and nothing is stored
        column, meaning = known[name]
        try:
            taken.values[column] = None if text is None else _read(name, meaning, text, body, whole).value
        except _NotTaken as fault:
            taken.problems.append(Problem(name, str(fault)))
            continue
        taken.typed[name] = text
    taken.problems += _scale_alone(known, body, now)
    return taken


def unusual(row: SQLModel) -> list[Problem]:
    """What stands in a record outside its plausible range, in the words that were said when it was typed."""
    known, words, now = meanings(type(row)), json.loads(row.typed), row.model_dump()
    found = []
    for name, (column, meaning) in known.items():
        if meaning.value == "quantity" and now[column] is not None and words.get(name):
            # Most values lie within; only those outside are read again for their sentence.
            kind = quantities.KINDS.get(kind_of(meaning, now) or "")
            if kind is None or not kind.plausible[0] <= now[column] <= kind.plausible[1]:
                found += take(type(row), {name: words[name]}, now).warnings
    return found


def kind_of(meaning: Meaning, now: Mapping[str, Any]) -> str | None:
    """The kind of a quantity field; of one that depends on another field, by what that one says."""
    if not isinstance(meaning.kind, tuple):
        return meaning.kind
    other, kinds = meaning.kind
    return kinds.get(str(now.get(other) or ""))


def missing(table: type[SQLModel], given: Mapping[str, Any]) -> list[Problem]:
    """The needed fields that a new record's body does not name."""
    return [Problem(name, f"{label} is needed.") for name, label in _needed(table) if name not in given]


@cache
def _needed(table: type[SQLModel]) -> tuple[tuple[str, str], ...]:
    """The needed fields of a table with their labels. Once a table: every save asks."""
    return tuple((name, meaning.label) for name, (_, meaning) in meanings(table).items() if meaning.required)


def _as_typed(value: Any) -> str | None:
    if value is None or isinstance(value, str):
        return value
    if type(value) is int:  # a moment, as every shot has one
        return str(value)
    return json.dumps(value, ensure_ascii=False)


def _read(name: str, meaning: Meaning, value: Any, body: Mapping[str, Any], whole: Mapping[str, Any]) -> _Read:
    """One field. `whole` is the record as it would stand, by field name: the body over what stands already."""
    if value is None or (isinstance(value, str) and not value.strip()) or value == []:
        return _Read(None, beside={BOUNDS[name]: None} if name in BOUNDS else {})
    if meaning.value == "quantity":
        return _quantity(name, meaning, _text(value), body, whole)
    return _Read(_READERS[meaning.value](meaning, value))


def _quantity(name: str, meaning: Meaning, text: str, body: Mapping[str, Any], whole: Mapping[str, Any]) -> _Read:
    kind = kind_of(meaning, whole)
    if kind is None:
        raise _NotTaken(f"First choose what it is: {meaning.label.lower()} has no unit without that.")
    if kind in HARDNESS_KINDS:
        return _hardness(kind, text, whole)
    if name in BOUNDS:
        return _at_least(kind, text, BOUNDS[name], body)
    if name in DRAWS:
        return _weight_at_draw(text, DRAWS[name], body, whole)
    read = _ok(quantities.read(text, kind))
    return _Read(None) if read is None else _Read(read.value_si, read.warnings)


def _ok(read: Any) -> Any:
    """What was read, None where nothing was typed; a refusal goes up as its sentence."""
    if isinstance(read, quantities.Refused):
        raise _NotTaken(quantities.sentence(read))
    return None if isinstance(read, quantities.Empty) else read


def _at_least(kind: str, text: str, bound: str, body: Mapping[str, Any]) -> _Read:
    both = _ok(quantities.read_at_least(text, kind))
    if both is None:
        return _Read(None, beside={bound: None})
    said = "at_least" if both.bound == "≥" else body.get(bound) or "equal"
    return _Read(both.read.value_si, both.read.warnings, {bound: said})


def _weight_at_draw(text: str, draw: str, body: Mapping[str, Any], whole: Mapping[str, Any]) -> _Read:
    both = _ok(quantities.read_weight_at_draw(text))
    if both is None:
        return _Read(None)
    warnings = both.weight.warnings
    if both.draw is None:
        return _Read(both.weight.value_si, warnings)
    stands = whole.get(draw)
    if stands in (None, "", []):
        return _Read(both.weight.value_si, warnings + both.draw.warnings, {draw: both.draw.typed.strip()})
    if draw in body:  # else it stands in the book, in metres
        stood = None if isinstance(stands, (bool, list)) else quantities.read(_text(stands), "draw_length")
        if not isinstance(stood, quantities.Read):
            return _Read(both.weight.value_si, warnings)  # the draw's own box says what is wrong with it
        stands = stood.value_si
    if abs(stands - both.draw.value_si) > _SAME_DRAW_M:
        other = quantities.written(stands, both.draw.unit)
        raise _NotTaken(f"“{text.strip()[:40]}” and the draw beside it ({other}) differ. Make them agree, or clear one.")
    return _Read(both.weight.value_si, warnings)


def _hardness(kind: str, text: str, whole: Mapping[str, Any]) -> _Read:
    shown = HARDNESS_KINDS[kind]
    picked = shown or str(whole.get("scale") or "")
    read = _ok(quantities.read_hardness(text, scale=picked or None))
    if read is None:
        return _Read(None)
    scale = _SCALE_NAMES.get(read.scale, read.scale)
    if picked and scale != picked:
        if shown:
            raise _NotTaken(f"“{text.strip()[:40]}” is not what a pick is stamped with. Type its {shown}, for example 50.")
        raise _NotTaken(f"“{text.strip()[:40]}” says {scale}, and the scale picked is {picked}. Make them agree.")
    return _Read(read.value, read.warnings, {} if shown else {"scale": scale})


def _scale_alone(known: Mapping[str, Any], body: Mapping[str, Any], now: Mapping[str, Any]) -> list[Problem]:
    """A scale that is changed while its value stands must still fit it."""
    fits = "value" in known and known["value"][1].kind == "hardness_value" and body.get("scale") and "value" not in body
    if not fits or now.get("value") is None:
        return []
    read = quantities.read_hardness(f"{now['value']:g}", scale=str(body["scale"]))
    return [Problem("scale", quantities.sentence(read))] if isinstance(read, quantities.Refused) else []


def _text(value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise _NotTaken("This field takes text.")
    if isinstance(value, int) and abs(value) > _GREATEST:
        raise _NotTaken("This number has more digits than the book reads.")  # Python refuses to print one of 4301 digits
    return str(value)


def _words(meaning: Meaning, value: Any) -> str:
    text = _text(value).strip()
    if len(text) > meaning.limit:
        raise _NotTaken(f"{len(text)} characters are too many here. Use {meaning.limit} at most.")
    unseen = unseen_in(text)
    if unseen:
        raise _NotTaken(unseen)
    return text


def _choice(meaning: Meaning, value: Any) -> str:
    text = _text(value)
    if text not in meaning.choices:
        raise _NotTaken(f"“{text[:40]}” is not one of: {', '.join(meaning.choices.values())}.")
    return text


def _several(meaning: Meaning, value: Any) -> str:
    picked = value if isinstance(value, list) else [value]
    if len(picked) > len(meaning.choices):
        raise _NotTaken("More were picked than there are.")
    wanted = {_choice(meaning, one) for one in picked}
    return json.dumps([one for one in meaning.choices if one in wanted])


def _link(meaning: Meaning, value: Any) -> str:
    if not is_id(value):
        raise _NotTaken(f"{meaning.label}: choose one from the list.")
    return str(value)


def _whole(meaning: Meaning, value: Any) -> int:
    text = _text(value).strip()
    if not (text.isascii() and text.isdigit() and len(text) <= 7 and int(text) <= MOST_WHOLE):
        raise _NotTaken(f"“{text[:40]}” is not a whole number. Type digits, for example 12.")
    return int(text)


def _yes_no(_: Meaning, value: Any) -> int:
    text = (str(value) if isinstance(value, bool) else _text(value)).strip().lower()
    if text in TRUE_WORDS:
        return 1
    if text in FALSE_WORDS:
        return 0
    raise _NotTaken("Choose yes or no.")


def _day(_: Meaning, value: Any) -> str:
    text = _text(value).strip()
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        raise _NotTaken(f"“{text[:40]}” is not a day. Type year, month, day, for example 2026-10-24.") from None
    if not 1900 <= day.year <= 2200:
        raise _NotTaken(f"{day.year} is not a year that shots were logged in. Type it like 2026-10-24.")
    return day.isoformat()


def _moment(_: Meaning, value: Any) -> int:
    # Plain digits only: "①" and "²" are digits to Python's isdigit, and no number to its int.
    if isinstance(value, str) and re.fullmatch(r"\d{1,15}", value.strip(), re.ASCII):
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < 1 << 45:
        raise _NotTaken("A moment is a count of milliseconds since 1970, UTC.")
    return value


_READERS = {
    "words": _words,
    "lines": _words,
    "choice": _choice,
    "several": _several,
    "link": _link,
    "whole": _whole,
    "yes_no": _yes_no,
    "day": _day,
    "moment": _moment,
}
