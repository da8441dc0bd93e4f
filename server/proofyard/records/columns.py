"""Columns that know what they mean to a person: label, kind of value, choices.

One declaration serves the table, the check of what was typed, the form and the data dictionary.
The meaning stands in the column's `info["field"]`, SQLAlchemy's own place for such things.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any

from pydantic import ConfigDict
from sqlalchemy import REAL, Integer, Text
from sqlmodel import Field as Column
from sqlmodel import SQLModel

# What a column's name ends with says the SI unit; the form and the phones use the name without it.
SI_ENDINGS = ("_m_s", "_kg_m2", "_kg_m", "_kg", "_m", "_n", "_k", "_pa", "_rad", "_ratio", "_j", "_hrc", "_hz", "_si", "_id", "_json")
# These keep their ending: without it two fields of one table would have one name.
KEEP_ENDING = frozenset({"accuracy_ratio"})


@dataclass(frozen=True)
class Meaning:
    """What one column means to a person.

    value       words, lines, quantity, choice, several, link, whole, yes_no, day, moment
    kind        quantity only: a name in quantities.KINDS, or (other field, its value -> kind)
    choices     choice and several: stored word -> word shown, in order
    noun        link only: whose id it is
    shown_for   (other field, its values): asked only then, such as ring sizes for mail
    once        what two phones say of one moment: the first counts, and the later one is no second opinion
    """

    label: str
    value: str
    hint: str = ""
    required: bool = False
    kind: str | tuple[str, Mapping[str, str]] | None = None
    choices: Mapping[str, str] = field(default_factory=dict)
    noun: str | None = None
    shown_for: tuple[str, tuple[str, ...]] | None = None
    limit: int = 200
    once: bool = False


@cache
def field_name(column: str) -> str:
    """`mass_kg` -> `mass`: the name that forms, phones and the notebook use."""
    for ending in SI_ENDINGS if column not in KEEP_ENDING else ():
        if column.endswith(ending) and len(column) > len(ending):
            return column[: -len(ending)]
    return column


def _column(meaning: Meaning, sa_type: Any, **more: Any) -> Any:
    kwargs = {"info": {"field": meaning}}
    return Column(default=None, nullable=not meaning.required, sa_type=sa_type, sa_column_kwargs=kwargs, **more)


def words(label: str, *, hint: str = "", required: bool = False, limit: int = 200, shown_for: Any = None) -> Any:
    return _column(Meaning(label, "words", hint, required, limit=limit, shown_for=shown_for), Text)


def lines(label: str, *, hint: str = "", required: bool = False, limit: int = 2000) -> Any:
    return _column(Meaning(label, "lines", hint, required, limit=limit), Text)


def quantity(label: str, kind: Any, *, hint: str = "", required: bool = False, shown_for: Any = None) -> Any:
    return _column(Meaning(label, "quantity", hint, required, kind=kind, shown_for=shown_for), REAL)


def choice(label: str, choices: Mapping[str, str], *, hint: str = "", required: bool = False, shown_for: Any = None) -> Any:
    return _column(Meaning(label, "choice", hint, required, choices=choices, shown_for=shown_for), Text)


def several(label: str, choices: Mapping[str, str], *, hint: str = "", shown_for: Any = None) -> Any:
    """Several of a few, kept as a JSON list in the order of `choices`."""
    return _column(Meaning(label, "several", hint, choices=choices, shown_for=shown_for), Text)


def picked(stored: str | None) -> list[str]:
    """The stored words of a column of several, in order; what was typed anywhere else is text, whatever it looks like."""
    return [str(one) for one in json.loads(stored)] if stored else []


def link(label: str, noun: str, *, hint: str = "", required: bool = False, index: bool = True, shown_for: Any = None) -> Any:
    return _column(Meaning(label, "link", hint, required, noun=noun, shown_for=shown_for), Text, foreign_key=f"{noun}.id", index=index)


def record_ref(label: str, *, required: bool = False, index: bool = True, of: str | None = None) -> Any:
    """The id of another record: of any noun, or of one whose file can't be read first (`of`)."""
    more = {"foreign_key": f"{of}.id"} if of else {}
    return _column(Meaning(label, "link", required=required, noun=of), Text, index=index, **more)


def whole(label: str, *, hint: str = "", required: bool = False, shown_for: Any = None) -> Any:
    return _column(Meaning(label, "whole", hint, required, kind="count", shown_for=shown_for), Integer)


def yes_no(label: str, *, hint: str = "") -> Any:
    return _column(Meaning(label, "yes_no", hint), Integer)


def day(label: str, *, hint: str = "", required: bool = False) -> Any:
    """A calendar day, kept as ISO 8601 text."""
    return _column(Meaning(label, "day", hint, required), Text)


def moment(label: str, *, hint: str = "", once: bool = False) -> Any:
    """A moment, kept as UTC milliseconds."""
    return _column(Meaning(label, "moment", hint, once=once), Integer)


class Noun(SQLModel):
    """What every noun carries: its id, the revision it stands at, the one that crossed it out, words as typed."""

    # The check of what was typed is ours (typed_values); pydantic's is never run on a table, so it need not be built.
    model_config = ConfigDict(defer_build=True)  # type: ignore[assignment]

    id: str = Column(primary_key=True, sa_type=Text)
    rev: int = Column(sa_type=Integer)
    voided_rev: int | None = Column(default=None, sa_type=Integer)
    typed: str = Column(default="{}", sa_type=Text)


@cache
def meanings(table: type[SQLModel]) -> Mapping[str, tuple[str, Meaning]]:
    """Field name -> (column name, meaning), in the order that they were declared. Once a table: every save and page asks."""
    columns = table.__table__.columns
    return MappingProxyType({field_name(c.name): (c.name, c.info["field"]) for c in columns if "field" in c.info})
