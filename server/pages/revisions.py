"""What was said of a record before, line by line, as the macro `revision` shows it."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.pages.moments import day
from server.pages.shapes import Change
from server.records.columns import Meaning, Noun, meanings
from server.records.notebook import Line

ACTIONS = {"make": "written down", "change": "corrected", "strike": "struck through", "unstrike": "taken back in"}


@dataclass(frozen=True)
class RevisionShown:
    """One revision in words."""

    heading: str
    changes: tuple[Change, ...]
    reason: str


def shown(line: Line, table: type[Noun], *, linked: Mapping[str, str]) -> RevisionShown:
    """One line of the notebook. `linked`: id -> name, for fields that name another record."""
    known = meanings(table)
    phone = f", phone {line.letter}" if line.letter else ""
    at = datetime.datetime.fromtimestamp(line.at / 1000)
    heading = f"Revision {line.rev}, {ACTIONS.get(line.action, line.action)} by {line.who}{phone}, {day(line.at)}, {at:%H:%M}"
    changes = []
    if line.rev == 1:
        return RevisionShown(heading, (), line.reason or "")  # what it first said stands above, or as "was" in the next
    for name, (before, after, typed_before, typed_after) in line.changes.items():
        if name in known:
            meaning = known[name][1]
            one = Change(meaning.label, _said(meaning, before, typed_before, linked), _said(meaning, after, typed_after, linked))
            if one.before or one.after:
                changes.append(one)
    return RevisionShown(heading, tuple(changes), line.reason or "")


def _said(meaning: Meaning, value: Any, typed: str | None, linked: Mapping[str, str]) -> str:
    if value is None or value == "":
        return ""
    if meaning.value == "choice":
        return meaning.choices.get(str(value), str(value))
    if meaning.value == "link":
        return linked.get(str(value), "another record")
    if meaning.value == "yes_no":
        return "yes" if value else "no"
    return str(typed) if typed else str(value)
