"""What a person typed or picked -> what a column holds, with every fault said at once.

The one place where a body of field names and typed values meets the columns' meanings.
"""

import datetime
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlmodel import SQLModel

from server import quantities
from server.records.columns import Meaning, meanings
from server.records.ids import is_id

TRUE_WORDS = {"1", "yes", "true", "on"}
FALSE_WORDS = {"0", "no", "false", "off"}
MOST_WHOLE = 1_000_000


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


def take(table: type[SQLModel], body: Mapping[str, Any], now: Mapping[str, Any] | None = None) -> Taken:
    """Read a body for a table. `now` is the row as it stands, for kinds that depend on another field."""
    taken, known = Taken(), meanings(table)
    for name, value in body.items():
        if name not in known:
            taken.problems.append(Problem(name, f"“{name}” is not a field of this record."))
            continue
        column, meaning = known[name]
        try:
            stored, warnings = _read(meaning, value, body, now or {})
        except _NotTaken as fault:
            taken.problems.append(Problem(name, str(fault)))
            continue
        if stored is None and meaning.required:
            taken.problems.append(Problem(name, f"{meaning.label} is needed."))
            continue
        taken.values[column] = stored
        taken.typed[name] = _as_typed(value)
        taken.warnings += [Problem(name, sentence) for sentence in warnings]
    return taken


def missing(table: type[SQLModel], given: Mapping[str, Any]) -> list[Problem]:
    """The needed fields that a new record's body does not name."""
    return [
        Problem(name, f"{meaning.label} is needed.")
        for name, (_, meaning) in meanings(table).items()
        if meaning.required and name not in given
    ]


def _as_typed(value: Any) -> str | None:
    if value is None or isinstance(value, str):
        return value
    return json.dumps(value, ensure_ascii=False)


def _read(meaning: Meaning, value: Any, body: Mapping[str, Any], now: Mapping[str, Any]) -> tuple[Any, tuple[str, ...]]:
    if value is None or (isinstance(value, str) and not value.strip()) or value == []:
        return None, ()
    if meaning.value == "quantity":
        return _quantity(meaning, value, body, now)
    return _READERS[meaning.value](meaning, value), ()


def _quantity(
    meaning: Meaning, value: Any, body: Mapping[str, Any], now: Mapping[str, Any]
) -> tuple[float | None, tuple[str, ...]]:
    kind = meaning.kind
    if isinstance(kind, tuple):
        other, kinds = kind
        picked = body.get(other) or now.get(other)
        if picked not in kinds:
            raise _NotTaken(f"Say first what it is: {meaning.label.lower()} has no unit without that.")
        kind = kinds[picked]
    assert kind is not None
    read = quantities.read(_text(value), kind)
    if isinstance(read, quantities.Refused):
        raise _NotTaken(quantities.sentence(read))
    if not isinstance(read, quantities.Read):
        return None, ()
    return read.value_si, read.warnings


def _text(value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise _NotTaken("This field takes text.")
    return str(value)


def _words(meaning: Meaning, value: Any) -> str:
    text = _text(value).strip()
    if len(text) > meaning.limit:
        raise _NotTaken(f"{len(text)} characters are too many here. Use {meaning.limit} at most.")
    if any(ord(c) < 32 and c not in "\n\r\t" for c in text):
        raise _NotTaken("There is a sign in it that can’t be shown. Type it again in plain letters.")
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
        raise _NotTaken(f"{meaning.label}: pick one from the list.")
    return str(value)


def _whole(meaning: Meaning, value: Any) -> int:
    text = _text(value).strip()
    if not (text.isascii() and text.isdigit() and len(text) <= 7 and int(text) <= MOST_WHOLE):
        raise _NotTaken(f"“{text[:40]}” is not a whole number. Type digits, for example 12.")
    return int(text)


def _yes_no(_: Meaning, value: Any) -> int:
    text = str(value).strip().lower()
    if text in TRUE_WORDS:
        return 1
    if text in FALSE_WORDS:
        return 0
    raise _NotTaken("Say yes or no.")


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
    if isinstance(value, str) and value.strip().lstrip("-").isdigit():
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
