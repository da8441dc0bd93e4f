"""The same table in four forms, read back by Python's csv module and, for the workbook, by calamine, a reader that shares no code with
the library that wrote it."""

from __future__ import annotations

import csv
import io
import locale
import zipfile

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from proofyard.exchange import file_forms
from proofyard.exchange.csv_writing import BYTE_ORDER_MARK, FORMULA_STARTS, Column, Table, Value
from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.fetched import fetch
from proofyard.exchange.file_forms import FILE_FORMS, NotInThisForm, in_form, name_in_form
from python_calamine import CalamineWorkbook

from tests.conftest import House

COLUMNS = (
    Column("text", "What was typed", "", "typed"),
    Column("number_m", "How long", "m", "typed", number=True),
    Column("other", "The rest", "", "typed"),
)
words = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=30)
numbers = st.none() | st.floats(allow_nan=False, allow_infinity=False) | st.integers(-(2**31), 2**31)


def table(*rows: tuple[Value, ...]) -> Table:
    return Table("t.csv", "", COLUMNS, tuple(rows))


def written(made: Table, form: str) -> bytes:
    return b"".join(in_form(made, form))


def sheets(made: Table) -> list[list[list[object]]]:
    book = CalamineWorkbook.from_filelike(io.BytesIO(written(made, "workbook")))
    return [book.get_sheet_by_index(n).to_python(skip_empty_area=False) for n in range(2)]


def semicolons(made: Table) -> list[list[str]]:
    text = written(made, "semicolon").decode("utf-8")
    assert text.startswith(BYTE_ORDER_MARK)
    return list(csv.reader(io.StringIO(text.removeprefix(BYTE_ORDER_MARK), newline=""), delimiter=";", strict=True))


@given(st.lists(st.tuples(words, numbers, words), max_size=8))
def test_with_decimal_commas_every_cell_comes_back_and_none_runs(rows: list[tuple[str, float | None, str]]) -> None:
    heading, *read = semicolons(table(*rows))
    assert heading == ["text", "number_m", "other"]
    for (text, number, other), (first, middle, last) in zip(rows, read, strict=True):
        assert (None if middle == "" else float(middle.replace(",", "."))) == number, "every bit of a number comes back"
        assert "." not in middle
        for was, now in ((text, first), (other, last)):
            assert not now.startswith(FORMULA_STARTS)
            assert now.replace("'", "") == was.replace("'", "")


def test_a_decimal_comma_is_what_such_a_locale_writes() -> None:
    # POSIX, locale category LC_NUMERIC: the radix character of the locale stands in the number (IEEE Std 1003.1, 7.3.4).
    assert locale.localeconv()["decimal_point"] == "."
    assert semicolons(table(("a;b", -1.5, "c,d")))[1] == ["a;b", "-1,5", "c,d"]
    assert semicolons(table(("", 1e-07, "")))[1][1] == "1e-07", "no mark, no comma"


@given(st.lists(st.tuples(words, numbers, words), min_size=1, max_size=6))
@example([("=1+1", -1.5, "@SUM(A1)")])
@example([("_x0041_", 2**31, "https://example.org"), (" ", 0, "0123")])
def test_in_a_workbook_numbers_are_numbers_and_text_is_text(rows: list[tuple[str, float | None, str]]) -> None:
    (heading, *read), meanings = sheets(table(*rows))
    assert heading == ["text", "number_m", "other"]
    for n, (text, number, other) in enumerate(rows):
        first, middle, last = read[n] if n < len(read) else ["", "", ""]
        assert (first, last) == (text, other)
        # Written to 16 places, as the format's programs do: the sixteenth digit is nobody's measurement.
        assert middle == ("" if number is None else pytest.approx(number, rel=1e-14))
    assert meanings[1:] == [[one.name, one.meaning, one.unit, one.source] for one in COLUMNS]


def test_no_cell_of_a_workbook_is_a_formula_or_a_link() -> None:
    content = written(table(("=1+1", 1, "https://example.org"), ("+1", 2, "=HYPERLINK(1)")), "workbook")
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        sheet = parts.read("xl/worksheets/sheet1.xml").decode()
        assert "<f>" not in sheet and "<hyperlink" not in sheet
        assert not [name for name in parts.namelist() if "vba" in name.lower() or "external" in name.lower()]


def test_half_a_surrogate_and_a_word_too_long_for_a_cell_do_not_stop_a_workbook() -> None:
    (_, row), _ = sheets(table(("\ud800", 1, "x" * 40_000)))
    assert row[0] == "?" and len(str(row[2])) == 32_767


def test_too_many_rows_for_a_workbook_are_refused_and_not_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(file_forms, "MOST_ROWS", 2)
    with pytest.raises(NotInThisForm, match="3 rows, and a workbook holds 2"):
        in_form(table(*[("x", 1, "y")] * 3), "workbook")
    assert written(table(*[("x", 1, "y")] * 3), "semicolon").count(b"\r\n") == 4


def test_two_forms_of_a_file_can_lie_in_one_folder() -> None:
    assert len({name_in_form("shots.csv", form) for form in FILE_FORMS}) == len(FILE_FORMS)
    assert name_in_form("shots.csv", "workbook") == "shots.xlsx"


@pytest.mark.slow
def test_every_file_of_the_demo_reads_the_same_in_each_form(demo_house: House) -> None:
    fetched = fetch(demo_house.storage)
    for name, offered in FILES.items():
        made = offered.make(fetched)
        (heading, *rows), _ = sheets(made)
        assert heading == [one.name for one in made.columns], name
        assert rows == [[_told(value) for value in row] for row in made.rows], name
        assert written(made, "workbook") == written(made, "workbook"), "the same rows are the same bytes"
        assert len(semicolons(made)) == len(made.rows) + 1, name


def _told(value: Value) -> object:
    """As calamine gives it: nothing is empty text, every number a float."""
    if value is None:
        return ""
    return value if isinstance(value, str) else pytest.approx(float(value), rel=1e-14)
