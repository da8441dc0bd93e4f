"""A multiplied book is a book: as many of everything, each copy whole and apart from the others."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from proofyard import book_file
from proofyard.storage import Storage

from tests.bench.multiplied import multiply


def test_a_multiplied_book_holds_whole_copies_that_lead_nowhere_else(demo_book: Storage) -> None:
    path = Path(demo_book.path)
    with closing(book_file.look(path)) as before:
        shots, readings, panels = (before.execute(f"SELECT count(*) FROM {one}").fetchone()[0] for one in ("shot", "shot_reading", "panel"))
    assert multiply(path, 2 * shots + 1) == 3 * shots
    with closing(book_file.look(path)) as after:

        def said(question: str) -> list[tuple[object, ...]]:
            return list(after.execute(question).fetchall())

        assert said("PRAGMA foreign_key_check") == []
        assert said("SELECT count(*), count(DISTINCT id) FROM shot") == [(3 * shots, 3 * shots)]
        assert said("SELECT count(*) FROM shot_reading") == [(3 * readings,)]
        assert said("SELECT count(DISTINCT name) FROM panel") == [(3 * panels,)]
        # A set-up of a copy hangs a panel of the same copy: as many panels hang in each.
        hung = "SELECT count(DISTINCT panel.id) FROM panel JOIN panel_build ON panel_build.panel_id = panel.id "
        hung += "JOIN setup ON setup.panel_build_id = panel_build.id WHERE panel.name "
        alone, copied = (said(hung + which)[0][0] for which in ("NOT LIKE '%x1' AND panel.name NOT LIKE '%x2'", "LIKE '%x2'"))
        assert alone == copied
        # Numbers stay numbers, and nothing says any more that it was marked.
        assert said("SELECT DISTINCT typeof(loosed_at) FROM shot") == [("integer",)]
        assert said("SELECT count(*) FROM revision WHERE changes LIKE '%@copy@%' OR record_id LIKE '%@%'") == [(0,)]
