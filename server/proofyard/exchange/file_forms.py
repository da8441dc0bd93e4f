"""The forms in which a table can be taken along: two for programs and spreadsheets with a point, one for those with a decimal comma,
and a workbook, whose numbers are numbers wherever it is opened."""

from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.exchange.csv_writing import Table, csv_bytes
from proofyard.exchange.workbook import MOST_ROWS, workbook_bytes
from proofyard.storage import StorageTrouble

_CSV = "text/csv; charset=utf-8; header=present"
_WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True)
class FileForm:
    """name: on the button; hint: what it is for; added: to a file's name, so that two forms can lie in one folder."""

    name: str
    hint: str
    added: str = ""
    ending: str = ".csv"
    media_type: str = _CSV


FILE_FORMS = MappingProxyType(
    {
        "analysis": FileForm("For analysis", "CSV with the text as it was typed: for programs."),
        "spreadsheet": FileForm("For a spreadsheet", "CSV with a mark before text that a spreadsheet would run.", "_spreadsheet"),
        "semicolon": FileForm("With decimal commas", "The same with semicolons between columns and 1,5 for 1.5.", "_semicolons"),
        "workbook": FileForm(
            "Workbook", ".xlsx: numbers stay numbers; a second sheet says what each column means.", "", ".xlsx", _WORKBOOK
        ),
    }
)


class NotInThisForm(StorageTrouble):
    """The table can't be written so; the message says why."""


def in_form(table: Table, form: str) -> Iterator[bytes]:
    """The file in pieces. Refuses, before the first, a workbook of more rows than any program opens (NotInThisForm)."""
    if form != "workbook":
        return csv_bytes(table, form)
    if len(table.rows) > MOST_ROWS:
        raise NotInThisForm(f"{table.name} has {len(table.rows):,} rows, and a workbook holds {MOST_ROWS:,}. Take it as CSV.")
    return iter((workbook_bytes(table),))


def name_in_form(name: str, form: str) -> str:
    """shots.csv as the file of this form is called: shots.xlsx, shots_semicolons.csv."""
    asked = FILE_FORMS[form]
    return name.removesuffix(".csv") + asked.added + asked.ending
