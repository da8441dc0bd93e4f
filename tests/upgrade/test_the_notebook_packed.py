"""Form 0026: a revision and its operation become one packed row, and the history stays the same, byte for byte."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest
from proofyard.book_file import library as sqlite3
from proofyard.opening import bring_up_to_date, form_of, make_empty
from proofyard.records.packed import long_id, pack, unpack, unpack_all_asked
from proofyard.storage import BookDamaged

from tests.notebook_for_tests import as_form_0025, rows_of, take_apart, told_in
from tests.upgrade import book_before as before

ROW = "11111111-1111-7111-8111-11111111111{}"


@pytest.fixture
def of_form_0025(tmp_path: Path) -> Path:
    path = before.make_book(tmp_path)
    make_empty(path, "0025")
    return path


def _run(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for one in statements:
            connection.execute(one)


def test_the_history_is_the_same_byte_for_byte(of_form_0025: Path) -> None:
    ops = rows_of(of_form_0025, "SELECT * FROM op")
    revisions = rows_of(of_form_0025, "SELECT * FROM revision ORDER BY seq")
    clashes = rows_of(of_form_0025, "SELECT * FROM clash ORDER BY id")
    assert len(revisions) > 1000, "it goes by five hundred at a time"
    bytes_before = of_form_0025.stat().st_size
    for one in ops:
        del one["body_sha256"]
    opened = bring_up_to_date(of_form_0025)
    assert opened.was == "0025" and opened.copy is not None and form_of(opened.copy) == "0025"
    ops_now, revisions_now = as_form_0025(of_form_0025)
    assert revisions_now == revisions
    assert sorted(ops_now, key=lambda one: one["op_id"]) == sorted(ops, key=lambda one: one["op_id"])
    of_ids = ("op_id", "stands_op_id", "settled_op_id")
    clashes_now = rows_of(of_form_0025, "SELECT * FROM clash ORDER BY id")
    assert clashes and [{**one, **{name: one[name] and long_id(one[name]) for name in of_ids}} for one in clashes_now] == clashes
    assert of_form_0025.stat().st_size < 0.7 * bytes_before


def test_an_operation_that_says_otherwise_than_its_revision_loses_nothing(of_form_0025: Path) -> None:
    """As in a book that another program than this one wrote to."""
    first = rows_of(of_form_0025, "SELECT op_id, seq FROM revision WHERE op_id IS NOT NULL ORDER BY seq LIMIT 1")[0]
    _run(of_form_0025, f"UPDATE op SET received = 77, noun = 'bow', body_sha256 = x'00ff' WHERE op_id = '{first['op_id']}'")
    bring_up_to_date(of_form_0025)
    row = next(one for one in rows_of(of_form_0025, "SELECT * FROM revision") if one["seq"] == first["seq"])
    row["op_id"], changes = long_id(row["op_id"]), unpack(row["changes"])
    said = unpack_all_asked(row["asked"], row, changes=changes)
    assert said[2] == '{"noun": "bow", "received": 77, "body_sha256": "00ff"}'


def test_operations_without_a_revision_are_kept_as_lines_of_no_revision(of_form_0025: Path) -> None:
    last = rows_of(of_form_0025, "SELECT max(seq) AS seq FROM revision")[0]["seq"]
    columns = "op_id, device_id, action, noun, record_id, base_rev, body, body_sha256, received, status, result"
    device = rows_of(of_form_0025, "SELECT id FROM device LIMIT 1")[0]["id"]
    for n, result in ((1, '{"seq": 900001}'), (2, '{"seq": 1}'), (3, "no JSON")):
        said = f"'{ROW.format(n)}', '{device}', 'put', 'bow', 'a bow', 0, '[]', x'', 5, 'applied', '{result}'"
        _run(of_form_0025, f"INSERT INTO op ({columns}) VALUES ({said})")
    bring_up_to_date(of_form_0025)
    kept = [one for one in told_in(of_form_0025) if one.record_id == "a bow"]
    assert [(one.op_id, one.seq, one.rev, one.action, one.changes, one.body) for one in kept] == [
        (ROW.format(1), 900_001, 0, "make", "{}", "[]"),
        (ROW.format(2), 900_002, -1, "make", "{}", "[]"),
        (ROW.format(3), 900_003, -2, "make", "{}", "[]"),
    ]
    assert last < 900_001 and [one.answer for one in kept][2].startswith("no JSON")


def test_an_operation_that_two_revisions_name_stays_with_the_first(of_form_0025: Path) -> None:
    one, other = rows_of(of_form_0025, "SELECT op_id, seq FROM revision WHERE op_id IS NOT NULL ORDER BY seq LIMIT 2")
    _run(of_form_0025, f"UPDATE revision SET op_id = '{one['op_id']}' WHERE seq = {other['seq']}")
    bring_up_to_date(of_form_0025)
    told = {line.seq: line.op_id for line in told_in(of_form_0025)}
    assert told[one["seq"]] == one["op_id"] and told[other["seq"]] is None
    assert other["op_id"] in told.values(), "the operation that nothing named any more"


@pytest.mark.parametrize("table", ["revision", "clash"])
def test_a_book_that_names_an_operation_that_is_not_there_is_leftas_form_0025(of_form_0025: Path, table: str) -> None:
    _run(of_form_0025, "PRAGMA foreign_keys=OFF", f"UPDATE {table} SET op_id = 'gone' WHERE rowid = (SELECT max(rowid) FROM {table})")
    kept = of_form_0025.read_bytes()
    with pytest.raises(BookDamaged, match="1 links in the book lead nowhere"):
        bring_up_to_date(of_form_0025)
    assert of_form_0025.read_bytes() == kept and form_of(of_form_0025) == "0025"


def test_a_row_that_is_damaged_after_it_was_packed_is_told_and_the_others_are_read(of_form_0025: Path) -> None:
    bring_up_to_date(of_form_0025)
    good = pack("{}")
    with closing(sqlite3.connect(of_form_0025)) as connection:
        connection.execute("UPDATE revision SET changes = ? WHERE seq = 1", (good[:-1],))
        connection.commit()
    with pytest.raises(ValueError, match="damaged"):
        told_in(of_form_0025)
    with closing(sqlite3.connect(of_form_0025)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert all(unpack(changes) for (changes,) in connection.execute("SELECT changes FROM revision WHERE seq > 1"))


def test_a_notebook_taken_apart_and_packed_again_is_the_same(of_form_0025: Path) -> None:
    """So that tests may make a book of an earlier form of one of today's."""
    make_empty(of_form_0025, "0026")
    packed = told_in(of_form_0025)
    take_apart(of_form_0025)
    assert form_of(of_form_0025) == "0025"
    make_empty(of_form_0025, "0026")
    assert told_in(of_form_0025) == packed
