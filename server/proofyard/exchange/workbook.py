"""A table as a workbook (ECMA-376, Office Open XML): numbers as numbers, everything else as text that never runs."""

from datetime import datetime
from io import BytesIO
from typing import Any

from proofyard.exchange.csv_writing import Table, Value

MOST_ROWS = 1_048_575  # the format's 1,048,576 less the heading
MOST_LETTERS = 32_767  # of one cell, by the format
_MADE = datetime(1980, 1, 1)  # the zip format's first day: the same rows are the same bytes whenever they are asked for


def workbook_bytes(table: Table) -> bytes:
    """Two sheets: the rows, with their heading kept in sight, and what each column means. At most `MOST_ROWS` rows."""
    from xlsxwriter import Workbook  # loaded when somebody asks for one

    held = BytesIO()
    # Rows go out as they come, so that a big table is not held twice.
    book = Workbook(held, {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "nan_inf_to_errors": True})
    book.set_properties({"created": _MADE})
    heading = book.add_format({"bold": True})
    sheet = book.add_worksheet(_sheet_name(table.name))
    sheet.freeze_panes(1, 0)
    for at, column in enumerate(table.columns):
        sheet.set_column(at, at, min(max(len(column.name), 8), 30))
        sheet.write_string(0, at, column.name, heading)
    for line, row in enumerate(table.rows, start=1):
        for at, value in enumerate(row):
            _write(sheet, line, at, value, number=table.columns[at].number)
    _meanings(book, table, heading)
    book.close()
    return held.getvalue()


def _sheet_name(name: str) -> str:
    return name.removesuffix(".csv")[:31]  # the format's most


def _write(sheet: Any, line: int, at: int, value: Value, *, number: bool) -> None:
    if value is None:
        return
    if number:
        assert not isinstance(value, str), f"a column of numbers holds {value!r}"
        sheet.write_number(line, at, value)
    else:
        sheet.write_string(line, at, _cell_text(value))


def _cell_text(value: Value) -> str:
    """As CSV writes it; half a surrogate becomes a question mark there too."""
    return str(value).encode("utf-8", "replace").decode("utf-8")[:MOST_LETTERS]


def _meanings(book: Any, table: Table, heading: Any) -> None:
    sheet = book.add_worksheet("What each column means")
    sheet.freeze_panes(1, 0)
    for at, (title, width) in enumerate((("Column", 30), ("Meaning", 80), ("Unit", 12), ("Where it comes from", 18))):
        sheet.set_column(at, at, width)
        sheet.write_string(0, at, title, heading)
    for line, column in enumerate(table.columns, start=1):
        for at, text in enumerate((column.name, column.meaning, column.unit, column.source)):
            sheet.write_string(line, at, text)
