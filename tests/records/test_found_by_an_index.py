"""What a page of one day asks of long tables is found by an index, as SQLite says it: never by a look at all shots of the book."""

from __future__ import annotations

from typing import Any

from proofyard.records.written_down import clock_offsets
from proofyard.storage import Storage
from sqlalchemy import Engine, event


def test_what_a_days_clocks_lacked_is_found_by_its_own_shots(book: Storage) -> None:
    asked: list[tuple[str, Any]] = []

    def note(_connection: object, _cursor: object, statement: str, parameters: Any, *_: object) -> None:
        asked.append((statement, parameters))

    with book.read() as session:
        event.listen(Engine, "before_cursor_execute", note)
        try:
            assert clock_offsets(session, "none") == []
        finally:
            event.remove(Engine, "before_cursor_execute", note)
        ((statement, parameters),) = [one for one in asked if "clock_offset_ms" in one[0]]
        plan = [row[3] for row in session.connection().exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters)]
    (revisions,) = [step for step in plan if "revision" in step.split()[:2]]
    assert "record_id=?" in revisions, plan
