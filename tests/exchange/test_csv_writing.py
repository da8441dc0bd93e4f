"""CSV as RFC 4180 has it, read back by Python's csv module and by a parser written from the RFC alone."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from proofyard.exchange.csv_writing import BYTE_ORDER_MARK, FORMULA_STARTS, Column, Table, csv_bytes, csv_text, utc, utc_text

COLUMNS = (Column("text", "", "", "typed"), Column("number_m", "", "m", "typed", number=True), Column("other", "", "", "typed"))


def table(*rows: tuple[object, ...]) -> Table:
    return Table("t.csv", "", COLUMNS, tuple(rows))


def parsed(text: str) -> list[list[str]]:
    """RFC 4180, section 2, rules 1 to 7, and nothing more: CRLF ends a record; a field is bare or quoted; two quotes
    inside quotes are one. What breaks a rule raises."""
    records: list[list[str]] = []
    record: list[str] = []
    at = 0
    while at < len(text):
        if text[at] == '"':
            field, at = "", at + 1
            while True:
                end = text.index('"', at)
                field += text[at:end]
                if text[end + 1 : end + 2] != '"':
                    at = end + 1
                    break
                field, at = field + '"', end + 2
        else:
            end = at
            while end < len(text) and text[end] not in ",\r\n":
                assert text[end] != '"', "a quote in a bare field"
                end += 1
            field, at = text[at:end], end
        record.append(field)
        if text[at : at + 1] == ",":
            at += 1
            if at == len(text):
                record.append("")
            elif text[at : at + 2] == "\r\n":
                pass
            continue
        assert text[at : at + 2] == "\r\n", f"neither a comma nor CRLF after a field, at {at}"
        records.append(record)
        record, at = [], at + 2
    assert not record, "the last line ends with CRLF as well"
    return records


HOSTILE = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "\tx",
    "\rx",
    "\nx",
    'say "no"',
    "a,b",
    "line\r\nbreak",
    "lone\rreturn",
    "lone\nfeed",
    '"',
    '""',
    "",
    " ",
    "''",
    "ü, µ, ½, 弓",
    "\u202e",
    "=cmd|' /C calc'!A0",
    '","',
    "\\",
    "NULL",
    "1,234",
    "\N{NO-BREAK SPACE}",
]


@pytest.mark.parametrize("text", HOSTILE)
@pytest.mark.parametrize("form", ["analysis", "spreadsheet"])
def test_hostile_text_comes_back_as_it_was(text: str, form: str) -> None:
    written = "".join(csv_text(table((text, -1.5, "end")), form)).removeprefix(BYTE_ORDER_MARK)
    guarded = "'" + text if form == "spreadsheet" and text.startswith(FORMULA_STARTS) else text
    expected = [["text", "number_m", "other"], [guarded, "-1.5", "end"]]
    assert parsed(written) == expected
    assert list(csv.reader(io.StringIO(written, newline=""), strict=True)) == expected


anything = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@given(st.lists(st.tuples(anything, st.none() | st.floats(allow_nan=False, allow_infinity=False), anything), max_size=8))
def test_whatever_is_written_is_read_again(rows: list[tuple[str, float | None, str]]) -> None:
    written = "".join(csv_text(table(*rows), "analysis"))
    expected = [["text", "number_m", "other"], *([a, "" if n is None else repr(n), b] for a, n, b in rows)]
    assert parsed(written) == expected
    assert list(csv.reader(io.StringIO(written, newline=""), strict=True)) == expected
    for (_, number, _), read in zip(rows, parsed(written)[1:], strict=True):
        assert number is None or float(read[1]) == number, "every bit of a number comes back"


@given(anything)
def test_no_text_in_a_spreadsheet_begins_as_a_formula(text: str) -> None:
    written = "".join(csv_text(table((text, -0.5, text)), "spreadsheet"))
    first, number, last = parsed(written.removeprefix(BYTE_ORDER_MARK))[1]
    assert not first.startswith(FORMULA_STARTS) and not last.startswith(FORMULA_STARTS)
    assert number == "-0.5", "a negative number stays a number"


def test_only_the_spreadsheet_form_has_a_byte_order_mark() -> None:
    assert b"".join(csv_bytes(table(), "spreadsheet")).startswith(b"\xef\xbb\xbftext,")
    assert b"".join(csv_bytes(table(), "analysis")) == b"text,number_m,other\r\n"


def test_text_in_a_column_of_numbers_is_our_mistake_and_is_caught() -> None:
    with pytest.raises(AssertionError, match="number_m"):
        list(csv_text(table(("", "=1+1", "")), "spreadsheet"))


def test_a_long_file_comes_in_pieces() -> None:
    pieces = list(csv_text(table(*[("x", 1, "y")] * 1000), "analysis"))
    assert len(pieces) == 6
    assert "".join(pieces).count("\r\n") == 1001


def test_a_half_surrogate_does_not_stop_the_file() -> None:
    assert b"?" in b"".join(csv_bytes(table(("\ud800", 1, "")), "analysis"))


def test_a_moment_is_iso_8601_in_utc() -> None:
    # 2026-10-24T10:00:00Z is 1792836000 s after 1970, by `date -u -d 2026-10-24T10:00:00Z +%s`
    assert utc(1_792_836_000_125) == "2026-10-24T10:00:00.125Z"
    assert utc(None) is None


@pytest.mark.parametrize("text", ["a;=1+1", "a,=1+1", "a\t@SUM(1)", "1; -2", 'say "a";+1'])
@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_no_cell_begins_as_a_formula_in_a_locale_that_splits_it_elsewhere(text: str, mark: str) -> None:
    written = "".join(csv_text(table((text, 1, "")), "spreadsheet")).removeprefix(BYTE_ORDER_MARK)
    for cells in csv.reader(io.StringIO(written, newline=""), delimiter=mark):
        assert not [cell for cell in cells if cell.strip().startswith(FORMULA_STARTS)]


@given(st.integers(min_value=0, max_value=253402300799999))
@example(0)
@example(951782399999)  # the last of 28 February 2000, a leap year though it ends a century
@example(253402300799999)
def test_a_moment_is_written_as_the_standard_library_writes_it(moment: int) -> None:
    read = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=moment)
    assert utc(moment) == utc_text(moment) == read.isoformat(timespec="milliseconds").replace("+00:00", "Z")
