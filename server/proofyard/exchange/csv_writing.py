"""CSV as RFC 4180 has it: CRLF after every line, quotes where they are needed, UTF-8. In three forms.

    analysis     the text as it is, no byte order mark: for programs
    spreadsheet  a byte order mark, and an apostrophe before text that a spreadsheet would take for a formula,
                 also within a cell that another locale splits
    semicolon    the same, parted by semicolons, with decimal commas: for spreadsheets of those locales

Numbers are never guarded in any: -12 is a number, and only what stands in a column of text can be a formula.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from types import MappingProxyType
from typing import Any

BYTE_ORDER_MARK = "\ufeff"
# OWASP, CSV Injection: characters by which a cell of text becomes a formula.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")
# "a;=1+1" is one cell with commas, and two where semicolons part them.
_WITHIN = re.compile(r"([;,\t]\s*)([=+\-@])")
LINES_AT_ONCE = 200
ROWS_AT_ONCE = 1_000
_DAY_ZERO = date(1970, 1, 1).toordinal()

Value = str | int | float | None

# Where a column's content comes from.
SOURCES = MappingProxyType(
    {
        "read": "seen or read at the range or on the bench",
        "typed": "typed by a person about the kit, the day or the shot",
        "worked out": "worked out by Proofyard when the file was made",
        "given": "given by Proofyard: an identifier, a label, a time of writing down",
    }
)


@dataclass(frozen=True)
class Column:
    """One column and its line in the data dictionary. A text column may hold anything a person typed."""

    name: str
    meaning: str
    unit: str
    source: str
    number: bool = False
    values: str = ""


class RowsInPassing(Sequence[tuple[Value, ...]]):
    """Rows of things that are at hand, each made while it is taken: of a hundred thousand shots the cells need not stand there at once.

    of    what the rows are of, a row each
    make  some of them -> their rows
    """

    def __init__(self, of: Sequence[Any], make: Callable[[Sequence[Any]], Iterable[tuple[Value, ...]]]) -> None:
        self._of, self._make = of, make

    def __len__(self) -> int:
        return len(self._of)

    def __iter__(self) -> Iterator[tuple[Value, ...]]:
        for first in range(0, len(self._of), ROWS_AT_ONCE):
            yield from self._make(self._of[first : first + ROWS_AT_ONCE])

    def __getitem__(self, place: Any) -> Any:
        some = self._of[place] if isinstance(place, slice) else [self._of[place]]
        made = tuple(self._make(some))
        return made if isinstance(place, slice) else made[0]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    def __hash__(self) -> int:
        return hash(tuple(self))


@dataclass(frozen=True)
class Table:
    """One file: its columns and its rows. What they are made of was read to the end, so that writing it out holds up nobody."""

    name: str
    words: str
    columns: tuple[Column, ...]
    rows: Sequence[tuple[Value, ...]]


def utc(milliseconds: int | None) -> str | None:
    """A moment as ISO 8601 in UTC, to the millisecond.

    >>> utc(1791886530042)
    '2026-10-13T10:15:30.042Z'
    """
    return None if milliseconds is None else utc_text(milliseconds)


def utc_text(milliseconds: int) -> str:
    """The same of a moment that is known. A day's moments share its name: a package writes them by the ten thousand."""
    seconds, part = divmod(milliseconds, 1000)
    minutes, second = divmod(seconds, 60)
    hours, minute = divmod(minutes, 60)
    days, hour = divmod(hours, 24)
    return f"{_day(days)}T{hour:02d}:{minute:02d}:{second:02d}.{part:03d}Z"


@lru_cache(maxsize=1024)
def _day(since_1970: int) -> str:
    return date.fromordinal(_DAY_ZERO + since_1970).isoformat()


def yes_no(truth: bool | int | None) -> str | None:
    return None if truth is None else "yes" if truth else "no"


def csv_text(table: Table, form: str) -> Iterator[str]:
    """The file in pieces of some hundred lines."""
    safe, between = form != "analysis", ";" if form == "semicolon" else ","
    if safe:
        yield BYTE_ORDER_MARK
    yield _line([_quoted(column.name, between) for column in table.columns], between)
    lines = []
    for row in table.rows:
        cells = [_cell(value, column, safe=safe, between=between) for value, column in zip(row, table.columns, strict=True)]
        lines.append(_line(cells, between))
        if len(lines) >= LINES_AT_ONCE:
            yield "".join(lines)
            lines = []
    if lines:
        yield "".join(lines)


def csv_bytes(table: Table, form: str) -> Iterator[bytes]:
    """As `csv_text`, encoded. A half surrogate that some phone let through becomes a question mark."""
    for piece in csv_text(table, form):
        yield piece.encode("utf-8", "replace")


def _cell(value: Value, column: Column, *, safe: bool, between: str) -> str:
    if value is None:
        return ""
    if column.number:
        assert not isinstance(value, str), f"{column.name} is a column of numbers, not of {value!r}"
        return repr(value).replace(".", ",") if between == ";" else repr(value)
    text = str(value)
    return _quoted(_guarded(text) if safe else text, between)


def _guarded(text: str) -> str:
    """An apostrophe before what would be a formula: at the start, and after a mark at which another locale splits the cell."""
    text = _WITHIN.sub(r"\1'\2", text)
    return "'" + text if text.startswith(FORMULA_STARTS) else text


def _quoted(text: str, between: str) -> str:
    if any(character in text for character in f'{between}",\r\n'):
        return '"' + text.replace('"', '""') + '"'
    return text


def _line(cells: Sequence[str], between: str) -> str:
    return between.join(cells) + "\r\n"
