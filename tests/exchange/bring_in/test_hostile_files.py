"""Whatever a file holds, reading it gives sheets or a refusal in words, soon, and the process that serves pages lives on."""

from __future__ import annotations

import pytest
from proofyard.exchange.bring_in import reading
from proofyard.exchange.bring_in.reading import read_sheets
from proofyard.exchange.bring_in.sheet import NotRead

from tests.exchange.bring_in.hostile_files import HOSTILE, cell, table_ods, table_xlsx, xlsx

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused_in_words(name: str) -> None:
    make, told = HOSTILE[name]
    with pytest.raises(NotRead) as refused:
        read_sheets(make())
    assert told in str(refused.value)
    assert str(refused.value)[0].isupper() and str(refused.value).endswith(".")


def test_the_list_holds_sixty() -> None:
    assert len(HOSTILE) >= 60


@pytest.mark.parametrize("make", [table_xlsx, table_ods])
def test_an_honest_workbook_is_read(make: object) -> None:
    assert callable(make)
    rows = [["Arrow", "Mass (g)"], ["A1", "=1+1"], ["A2", "62.5"]]
    assert [sheet.rows for sheet in read_sheets(make(rows))] == [tuple(map(tuple, rows))]


def test_a_far_cell_that_was_not_seen_ends_the_reading_process_and_nothing_else(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "scan", lambda file: None)  # as if the look through had a hole
    with pytest.raises(NotRead) as refused:
        read_sheets(xlsx(f'<row r="1">{cell("A1")}</row><row r="1048576">{cell("XFD1048576")}</row>'))
    assert "more memory or time" in str(refused.value)


def test_what_was_never_a_workbook_is_called_damaged(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "scan", lambda file: None)
    with pytest.raises(NotRead) as refused:
        read_sheets(b"PK\x03\x04 and nothing else")
    assert "cut off or damaged" in str(refused.value)
