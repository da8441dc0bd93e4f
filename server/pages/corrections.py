"""What a form of corrections says: only those fields that the person changed.

A form sends all its boxes. One that was left as it was drawn is no opinion: were it sent on, it would contradict what
somebody else has changed since.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from starlette.datastructures import FormData

from server.access.seats import Seat
from server.pages.forms import FormField, FormOperations, operation_id, shown_body
from server.pages.posted import base_rev
from server.records.columns import Meaning, Noun, meanings
from server.records.notebook import Line, revisions_of
from server.records.typed_values import Problem
from server.storage import Storage


def save_correction(seat: Seat, book: Storage, form: FormData, row: Noun, *, typed: Mapping[str, Any]) -> list[Problem]:
    """Save what a form changed in a record; gives what is wrong, or nothing. `typed`: all that it posted of the record."""
    table, noun, rev = type(row), str(row.__tablename__), base_rev(form)
    with book.read() as session:
        shown = shown_then(table, row, revisions_of(session, noun, row.id), base_rev=rev)
    changed = only_changed(table, typed, shown)
    if not changed:
        return []
    operations = FormOperations(seat, operation_id(form))
    operations.put(noun, row.id, changed, base_rev=rev, reason=str(form.get("reason", "")).strip() or None)
    return operations.try_to_save(book)


def shown_then(table: type[Noun], row: Noun | None, lines: Iterable[Line], *, base_rev: int) -> dict[str, Any]:
    """The record as a form showed it at `base_rev`: as it stands, with what came later taken back. lines: newest first."""
    if row is None or base_rev == 0:
        return {}
    known, shown = meanings(table), shown_body(row)
    for line in lines:
        if line.rev > base_rev:
            for name, (before, _, typed, _) in line.changes.items():
                if name in known:
                    shown[name] = _shown(known[name][1], before, typed)
    return shown


def _shown(meaning: Meaning, value: Any, typed: str | None) -> Any:
    if meaning.value == "yes_no":
        return "yes" if value else ""
    if meaning.value == "quantity" and value is not None:
        return typed if typed is not None else repr(value)
    return "" if value is None else str(value)


def only_changed(table: type[Noun], body: Mapping[str, Any], shown: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of `body` that differ from what the form showed."""
    known = meanings(table)
    return {name: value for name, value in body.items() if _plain(known[name][1], value) != _plain(known[name][1], shown.get(name))}


def _plain(meaning: Meaning, value: Any) -> Any:
    if meaning.value == "several":
        picked = json.loads(value) if isinstance(value, str) and value.startswith("[") else value or []
        return frozenset(picked)
    if meaning.value == "yes_no":
        return value == "yes"
    # A browser sends a text's line ends as CR LF, whatever they were.
    return "" if value is None else str(value).replace("\r\n", "\n").strip()


def with_blank(fields: Iterable[FormField]) -> list[FormField]:
    """The same controls, but an answer that may be left out is picked from a list with an empty line: a key once
    pressed can't be pressed out again."""
    return [replace(one, control="select") if one.control == "choice" and not one.required else one for one in fields]
