"""Columns of a file made from the meanings of a table's columns: one declaration serves form, check, file, dictionary."""

from collections.abc import Callable
from typing import Any

from proofyard.exchange.csv_writing import Column, Value, utc, yes_no
from proofyard.records.columns import Meaning, Noun, meanings, picked

# What a column's name ends with says its unit; the longest ending that fits.
_UNITS = {
    "_m_s": "m/s",
    "_kg_m2": "kg/m²",
    "_kg_m": "kg/m",
    "_kg": "kg",
    "_m": "m",
    "_n": "N",
    "_k": "K",
    "_pa": "Pa",
    "_rad": "rad",
    "_ratio": "1",
    "_j": "J",
    "_hrc": "HRC",
}

Ask = Callable[[Any], Value]


def si_unit(column: str) -> str:
    """The SI unit that a stored column is in; empty where it has none, or where another column says it."""
    return next((unit for ending, unit in _UNITS.items() if column.endswith(ending)), "")


def column_of(name: str, column: str, meaning: Meaning, *, source: str) -> Column:
    """The column of a file that shows one column of a table."""
    number = meaning.value in ("quantity", "whole")
    said = meaning.label + (f". {meaning.hint}" if meaning.hint and meaning.value != "quantity" else "")
    values = "; ".join(f"{stored} = {shown}" for stored, shown in meaning.choices.items())
    if meaning.value == "yes_no":
        values = "yes; no"
    elif meaning.value == "several":
        said += ". Several are joined by a semicolon"
    elif meaning.value == "moment":
        said += ", ISO 8601 in UTC"
    unit = "1" if meaning.value == "whole" else si_unit(column) if number else ""
    return Column(name, said, unit, source, number=number, values=values)


def record_columns(table: type[Noun], prefix: str, *, leave: tuple[str, ...] = ()) -> list[tuple[Column, Ask]]:
    """The columns of a table for a file, with what gives each its value from a row (or None for no row).

    leave  columns that the file shows in another way
    """
    made: list[tuple[Column, Ask]] = []
    for column, meaning in meanings(table).values():
        if column in leave:
            continue
        name = f"{prefix}_{column}" if meaning.value != "moment" else f"{prefix}_{column}_utc"
        made.append((column_of(name, column, meaning, source="typed"), _ask(column, meaning)))
    made.append((Column(f"{prefix}_id", f"Identifier of the {prefix.replace('_', ' ')}", "", "given"), lambda row: row.id if row else None))
    voided = Column(f"{prefix}_voided", f"The {prefix.replace('_', ' ')} is crossed out", "", "typed", values="yes; no")
    made.append((voided, lambda row: yes_no(row.voided_rev is not None) if row else None))
    typed = Column(f"{prefix}_as_typed", "Its quantities as they were typed, as JSON", "", "typed")
    made.append((typed, lambda row: as_typed(row) if row else None))
    return made


def as_typed(row: Any) -> str | None:
    return row.typed if row.typed not in ("", "{}") else None


def _ask(column: str, meaning: Meaning) -> Ask:
    def value(row: Any) -> Value:
        held = getattr(row, column) if row is not None else None
        if held is None:
            return None
        if meaning.value == "yes_no":
            return yes_no(held)
        if meaning.value == "moment":
            return utc(held)
        return ";".join(picked(held)) if meaning.value == "several" else held

    return value
