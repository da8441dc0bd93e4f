"""Statements written for SQLite and said in PostgreSQL's words: the same rows, in the same order.

The outside of these tests is SQLite itself: both are asked the same, and nothing here says what the answer is.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from proofyard.records.cache_fits import CacheFit
from proofyard.records.plan_facts import day_of
from proofyard.storage import Storage
from sqlalchemy import Integer, LargeBinary, Text, TypeDecorator, cast, func, insert, literal, select
from sqlmodel import SQLModel

from tests.conftest import opened
from tests.postgres.there.conftest import given_back, on_a_database
from tests.postgres_for_tests import Server

Patch = pytest.MonkeyPatch

# id, and two texts of which the second may be none: signs that other collations sort and fold otherwise.
ROWS = [
    ("a", "É", None),
    ("b", "é", "x"),
    ("c", "Zulu", "12 mm"),
    ("d", "alpha", "A4"),
    ("e", "Alpha", "007"),
    ("f", "_b", "-3"),
    ("g", "10", ""),
]


@pytest.fixture
def file(tmp_path: Path) -> Iterator[Storage]:
    folder = tmp_path / "file"
    folder.mkdir()
    made = opened(folder)
    yield made
    made.close()


def put(book: Storage) -> None:
    with book.write() as session:
        session.execute(insert(SQLModel.metadata.tables["arrow"]).values(id="x", rev=1, typed="{}", tag="1"))
        for key, text, other in ROWS:  # crossed out: alpha and Alpha are one name
            session.execute(
                insert(SQLModel.metadata.tables["archer"]).values(id=key, rev=1, typed="{}", call_name=text, hand=other, voided_rev=1)
            )


ARCHER, ARROW = (SQLModel.metadata.tables[name].c for name in ("archer", "arrow"))
WITH_ARROWS = SQLModel.metadata.tables["archer"].outerjoin(SQLModel.metadata.tables["arrow"], ARROW.id == ARCHER.hand)
QUESTIONS: dict[str, Any] = {
    "in the order of bytes": select(ARCHER.id).order_by(ARCHER.call_name),
    "nothing comes first": select(ARCHER.id).order_by(ARCHER.hand, ARCHER.id),
    "nothing comes last, turned round": select(ARCHER.id).order_by(ARCHER.hand.desc(), ARCHER.id.desc()),
    "small letters of A to Z alone": select(ARCHER.id, func.lower(ARCHER.call_name)).order_by(ARCHER.id),
    "like minds no case": select(ARCHER.id).where(ARCHER.call_name.like("%ALPH%")).order_by(ARCHER.id),
    "contains minds none either": select(ARCHER.id).where(ARCHER.call_name.contains("L", autoescape=True)).order_by(ARCHER.id),
    "a text as a number": select(ARCHER.id, cast(ARCHER.hand, Integer)).order_by(ARCHER.id),
    "part of a text as a number": select(ARCHER.id, cast(func.substr(ARCHER.hand, 2), Integer)).order_by(ARCHER.id),
    "the largest and the smallest": select(func.max(ARCHER.call_name), func.min(ARCHER.call_name), func.max(ARCHER.hand)),
    "between two": select(ARCHER.id).where(ARCHER.call_name >= "A", ARCHER.call_name < "b").order_by(ARCHER.id),
    "nothing comes first where a table is joined, whatever its own columns always hold": (
        select(ARCHER.id, ARROW.tag).select_from(WITH_ARROWS).order_by(ARROW.tag, ARCHER.id)
    ),
    "a sum of whole numbers": select(func.sum(ARCHER.rev)),
    "a list": select(func.json_group_array(select(ARCHER.call_name).order_by(ARCHER.id).subquery().c.call_name)),
    "a list of none": select(func.json_group_array(select(ARCHER.call_name).where(ARCHER.id == "?").subquery().c.call_name)),
}


def answers(book: Storage, question: Any) -> list[tuple[Any, ...]]:
    with book.read() as session:
        rows = [tuple(row) for row in session.execute(question)]
    return [tuple(re.sub(r"\s", "", one) if str(one).startswith("[") else one for one in row) for row in rows]


def test_the_same_is_answered_to_the_same_question(book: Storage, file: Storage) -> None:
    put(book)
    put(file)
    said = {name: (answers(book, question), answers(file, question)) for name, question in QUESTIONS.items()}
    assert {name: both for name, both in said.items() if both[0] != both[1]} == {}
    assert len(said["in the order of bytes"][0]) == len(ROWS)


@pytest.mark.parametrize("zone", ["UTC", "Europe/Berlin", "America/St_Johns"])
def test_a_moments_day_is_this_machines_day(postgres: Server, file: Storage, tmp_path: Path, zone: str, monkeypatch: Patch) -> None:
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        book = on_a_database(postgres, tmp_path / "there")
        moments = [1_790_000_000_000 + 37 * 60_000 * n for n in range(60)]  # 37 hours of them, in 2026
        question = select(*(day_of(literal(at)).label(f"d{n}") for n, at in enumerate(moments)))
        assert answers(book, question) == answers(file, question)
        given_back(book)
    finally:
        monkeypatch.undo()
        time.tzset()


def test_every_table_has_the_columns_that_the_program_means_as_wide_as_they_must_be(book: Storage) -> None:
    wanted = {}
    for table in SQLModel.metadata.tables.values():
        for column in table.columns:
            kind = column.type.impl if isinstance(column.type, TypeDecorator) else column.type
            as_ = "text" if isinstance(kind, Text) else "bytea" if isinstance(kind, LargeBinary) else None
            wanted[table.name, column.name] = as_ or ("bigint" if isinstance(kind, Integer) else "double precision")
    with book.read() as session:
        rows = session.connection().exec_driver_sql(
            "SELECT table_name, column_name, data_type, collation_name FROM information_schema.columns WHERE table_schema = 'public' "
            "AND table_name <> 'alembic_version'"
        )
        found = {(row[0], row[1]): (row[2], row[3]) for row in rows}
    assert {key: kind for key, (kind, _) in found.items()} == wanted
    assert {collation for kind, collation in found.values() if kind == "text"} == {"C"}


def test_every_link_and_every_unique_name_of_the_file_is_one_there(book: Storage, file: Storage) -> None:
    """What the database itself refuses: primary keys and unique columns, and links that lead nowhere, composite ones too. Of an index
    on what is worked out of a column (a name without its capitals) both say no column."""
    names = sorted({*SQLModel.metadata.tables, CacheFit.__tablename__})
    kept, linked = set(), set()
    with file.read() as session:
        ask = session.connection().exec_driver_sql
        for table in names:
            for _, index, unique, *_rest in ask(f"PRAGMA index_list({table})").all():
                if unique:
                    kept.add((table, tuple(sorted(row[2] for row in ask(f"PRAGMA index_info({index})") if row[2]))))
            links: dict[int, list[Any]] = {}
            for number, _, to, own, *_rest in ask(f"PRAGMA foreign_key_list({table})").all():
                links.setdefault(number, [to]).append(own)
            linked |= {(table, to, tuple(sorted(own))) for to, *own in links.values()}
    with book.read() as session:
        rows = (
            session.connection()
            .exec_driver_sql(
                "SELECT c.conrelid::regclass::text, c.contype::text, c.confrelid::regclass::text, "
                "ARRAY(SELECT attname::text FROM pg_attribute WHERE attrelid = c.conrelid AND attnum = ANY (c.conkey)) "
                "FROM pg_constraint c WHERE c.contype IN ('p', 'u', 'f') AND c.connamespace = 'public'::regnamespace"
            )
            .all()
        )
        also = (
            session.connection()
            .exec_driver_sql(
                "SELECT i.indrelid::regclass::text, ARRAY(SELECT attname::text FROM pg_attribute WHERE attrelid = i.indrelid AND "
                "attnum = ANY (i.indkey)) FROM pg_index i JOIN pg_class c ON c.oid = i.indrelid WHERE i.indisunique "
                "AND c.relnamespace = 'public'::regnamespace"
            )
            .all()
        )
    there = {(table.strip('"'), tuple(sorted(columns))) for table, columns in also if table != "alembic_version"}
    links_there = {(table.strip('"'), to.strip('"'), tuple(sorted(own))) for table, kind, to, own in rows if kind == "f"}
    # The number of a revision is the row's own number in SQLite, which lists no index for it; so is that of the cache's one row.
    assert there == kept | {("revision", ("seq",)), ("cache_state", ("one",))}
    assert links_there == linked and len(linked) > 50
