"""What a form of corrections says: only those fields that the person changed.

A form sends all its boxes. One that was left as it was drawn is no opinion: were it sent on, it would contradict what
somebody else has changed since.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from proofyard.pages.frame.forms import FormField, shown_body, ticked
from proofyard.records.columns import Meaning, Noun, meanings, picked
from proofyard.records.notebook import Line


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
    if meaning.value == "several":
        return picked(value)
    if meaning.value == "quantity" and value is not None:
        return typed if typed is not None else repr(value)
    return "" if value is None else str(value)


def only_changed(table: type[Noun], body: Mapping[str, Any], shown: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of `body` that differ from what the form showed."""
    known = meanings(table)
    return {name: value for name, value in body.items() if _plain(known[name][1], value) != _plain(known[name][1], shown.get(name))}


def _plain(meaning: Meaning, value: Any) -> Any:
    if meaning.value == "several":
        return frozenset(value or ())
    if meaning.value == "yes_no":
        return ticked(value)
    # A browser sends a text's line ends as CR LF, whatever they were.
    return "" if value is None else str(value).replace("\r\n", "\n").strip()


def with_blank(fields: Iterable[FormField]) -> list[FormField]:
    """The same controls, but an answer that may be left out is picked from a list with an empty line: a key once
    pressed can't be pressed out again."""
    return [replace(one, control="select") if one.control == "choice" and not one.required else one for one in fields]
