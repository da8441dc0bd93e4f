"""The files of the Download page as tables of a package, with types, units and keys; yes and no become TRUE and FALSE."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from proofyard.exchange.csv_writing import Column, Table, Value
from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.fetched import TABLES as TABLES_READ
from proofyard.exchange.fetched import Fetched, fetched_in, with_rows_of
from proofyard.exchange.kit_fetched import IN_PIECES, pieces_of_file
from proofyard.exchange.package import settings_table as settings_table_file
from proofyard.exchange.package.fields import Field
from proofyard.exchange.package.rows import Filled, json_text
from proofyard.exchange.package.settings_table import settings_table
from proofyard.exchange.package.tables import RECORDER, Layout, record_layouts
from proofyard.records.nouns import TABLES
from proofyard.storage import Session
from proofyard.wording.blunt_cautions import CAUTIONS, IN_FILES

WORKED_OUT = "worked_out"
# They describe the other files, and are no table of shots or kit.
ABOUT = ("data_dictionary.csv", "glossary.csv")
BLUNT_CAUTION = " ".join(CAUTIONS)
_KEYS = {"shots.csv": ("shot_id",), "heads.csv": ("head_id",), "instruments.csv": ("instrument_id",), "readings.csv": ("reading_id",)}
# "" where the row itself says which noun it is of: readings of hardness stand among the others.
_NOUN_OF = {"reading_id": "", "fair_nearest_shot_id": "shot", "may_be_shot_id": "shot"}
_DAYS = frozenset({"session_day", "day"})


def file_names() -> list[str]:
    return [name for name in FILES if name not in ABOUT]


@dataclass(frozen=True)
class ToBeWorkedOut:
    """What the files are made of: all shots at once, rows of tables as each file asks for them. `only_trial`: then all is in `base`."""

    session: Session
    base: Fetched
    only_trial: str | None


def to_be_worked_out(session: Session, only_trial: str | None = None) -> ToBeWorkedOut:
    """What is worked out rests on every reading of the book, also where a viewer may see one trial alone."""
    return ToBeWorkedOut(session, fetched_in(session, tables=TABLES_READ if only_trial else (), only_trial=only_trial), only_trial)


def worked_out_tables(read: ToBeWorkedOut) -> Iterator[Filled]:
    """Today's files, one after the other; the rows of one are made while they are taken."""
    for name in file_names():
        file = FILES[name]
        yield _filled(name, file.words, file.columns, _rows(read, name))


def _rows(read: ToBeWorkedOut, name: str) -> Iterator[Sequence[Value]]:
    for piece in _pieces(read, name):
        yield from FILES[name].make(piece).rows


def _pieces(read: ToBeWorkedOut, name: str) -> Iterable[Fetched]:
    if read.only_trial is not None:
        return (read.base,)
    if name in IN_PIECES:
        return pieces_of_file(read.session, name, read.base)
    return (with_rows_of(read.session, read.base, FILES[name].tables),)


def tables_about(base: Fetched) -> list[Filled]:
    """The settings that these rest on, the dictionary of their columns, and the words."""
    made = (settings_table(base), _dictionary(), FILES["glossary.csv"].make(base))
    return [_filled(one.name, one.words, one.columns, one.rows) for one in made]


def _dictionary() -> Table:
    """Every column of every table of the package, its own among them."""
    offered = FILES["data_dictionary.csv"]
    rows = tuple(
        (one.path, field.name, f"{field.title}. {field.words}" if field.words else field.title, field.unit, field.source, _values(field))
        for one in (*record_layouts(), *worked_out_layouts())
        for field in one.fields
    )
    return Table(offered.name, offered.words, offered.columns, rows)


def _values(field: Field) -> str | None:
    if field.type == "boolean":
        return "TRUE; FALSE"
    return "; ".join(f"{stored} = {shown}" for stored, shown in field.categories.items()) or None


@cache
def worked_out_layouts() -> tuple[Layout, ...]:
    """The tables that are no records, in the order that they are written."""
    files = [(name, FILES[name].words, FILES[name].columns) for name in (*file_names(), *ABOUT)]
    files.insert(len(file_names()), (settings_table_file.NAME, settings_table_file.WORDS, settings_table_file.COLUMNS))
    return tuple(_layout(*one) for one in files)


def _layout(name: str, words: str, columns: Sequence[Column]) -> Layout:
    stem = name.removesuffix(".csv").replace("_", "-")
    fields = tuple(_field(column) for column in columns)
    about = name in (*ABOUT, settings_table_file.NAME)
    return Layout(
        name=stem if about else f"{stem}-worked-out",
        path=name if about else f"{WORKED_OUT}/{name}",
        title=words,
        fields=fields,
        primary_key=_KEYS.get(name, ()),
        foreign_keys=tuple(((one.name,), *_target(one.name, one.noun)) for one in fields if one.noun),
    )


def _target(name: str, noun: str | None) -> tuple[str, tuple[str, ...]]:
    assert noun is not None
    return noun, ("letter",) if noun == RECORDER else ("id",)


def _field(column: Column) -> Field:
    yes_no = column.values == "yes; no"
    is_id = column.name.endswith("_id")
    noun = _NOUN_OF.get(column.name, column.name.removesuffix("_id")) if is_id else None
    cautioned = column.name.startswith("blunt") or column.name == "back_face_m"
    meaning = column.meaning + (f". Values: {column.values}" if column.values and not yes_no else "")
    return Field(
        name=column.name,
        type="number" if column.number else "boolean" if yes_no else _type_of(column.name),
        title=column.name.replace("_", " ").capitalize(),
        source=column.source,
        words=f"{meaning}. {IN_FILES}" if cautioned else meaning,
        unit=column.unit,
        is_id=is_id,
        noun=RECORDER if column.name == "recorded_by_letter" else noun if noun in TABLES else None,
    )


def _type_of(name: str) -> str:
    if name.endswith("_utc"):
        return "datetime"
    if name.endswith("as_typed"):
        return "object"
    return "date" if name in _DAYS else "string"


def _filled(name: str, words: str, columns: Sequence[Column], rows: Iterable[Sequence[Value]]) -> Filled:
    layout = _layout(name, words, columns)
    blunt = any(one.name.startswith("blunt") for one in layout.fields)
    written = {place: write for place, one in enumerate(layout.fields) if (write := _WRITERS.get(one.type))}
    return Filled(layout, (_cells(row, written) for row in rows), BLUNT_CAUTION if blunt else "")


def _cells(row: Sequence[Value], written: Mapping[int, Callable[[Any], str]]) -> list[Value]:
    """Numbers and words stand as they are: a CSV has a number's shortest form that is read back the same, and nothing for None."""
    cells = list(row)
    for place, write in written.items():
        if (value := cells[place]) is not None:
            cells[place] = write(value)
    return cells


_WRITERS: Mapping[str, Callable[[Any], str]] = MappingProxyType(
    {
        "boolean": {"yes": "TRUE", "no": "FALSE"}.__getitem__,
        # The same however the fields were typed one after another.
        "object": lambda value: json_text(json.loads(value)),
    }
)
