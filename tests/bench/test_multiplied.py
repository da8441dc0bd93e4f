"""A multiplied book is a book: as many of everything, each copy whole and apart from the others."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from proofyard import book_file
from proofyard.storage import Storage

from tests.bench.multiplied import multiply
from tests.notebook_for_tests import told_in


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
        assert said("SELECT count(*) FROM revision WHERE record_id LIKE '%@copy@%'") == [(0,)]
    told = told_in(path)
    assert not [one for one in told if "@copy@" in one.changes] and len({one.op_id for one in told if one.op_id}) < len(told) / 2


def test_its_operations_are_copied_where_that_is_asked_for(demo_book: Storage) -> None:
    path = Path(demo_book.path)
    before = told_in(path)
    copied = {one.record_id for one in before if one.noun in ("shot", "shot_reading", "trial")}
    multiply(path, 302, operations=True)
    after = told_in(path)
    assert after[: len(before)] == before and [one.seq for one in after] == list(range(1, len(after) + 1))
    op_ids = [one.op_id for one in after if one.op_id]
    assert len(op_ids) == len(set(op_ids)) > 1.7 * len([one for one in before if one.op_id])
    for one in after[len(before) :]:
        assert one.op_id is None or (one.record_id in (one.body or "") and f'"seq": {one.seq},' in (one.answer or ""))
    assert not copied & {one.record_id for one in after[len(before) :]}
