"""The tables as the code knows them are the tables that a migrated book has, and nothing in records deletes."""

import ast
import keyword
import re
import uuid
from pathlib import Path

import proofyard.records
from proofyard.records import book as _book  # noqa: F401 - registers its tables
from proofyard.records import nouns
from proofyard.records.columns import meanings
from proofyard.records.ids import is_id, new_id
from proofyard.storage import Storage
from sqlalchemy import text
from sqlmodel import SQLModel

RECORDS = Path(proofyard.records.__file__).parent


def test_a_migrated_book_has_every_column_that_the_code_knows_and_no_other(book: Storage) -> None:
    with book.read() as session:
        for name, table in SQLModel.metadata.tables.items():
            there = {(row.name, row.type, bool(row.notnull)) for row in session.execute(text(f"PRAGMA table_info({name})"))}
            known = {(c.name, str(c.type), not c.nullable) for c in table.columns}
            relaxed = {(n, {"BLOB": "BLOB"}.get(t, t)) for n, t, _ in there}
            assert relaxed == {(n, t) for n, t, _ in known}, name
            assert {n for n, _, notnull in there if notnull} == {n for n, _, notnull in known if notnull} | (
                set() if name != "revision" else {"seq"} & {n for n, _, x in there if x}
            ), name


def test_no_column_has_a_name_that_a_row_of_a_save_can_not_have() -> None:
    """`apply` reads an operation and its record in one row, whose values have names (records/prepared.py)."""
    names = [column.name for table in nouns.TABLES.values() for column in table.__table__.columns]
    assert names and not [name for name in names if keyword.iskeyword(name) or name.startswith(("_", "op_"))]


def test_every_table_is_strict_and_every_link_is_checked(book: Storage) -> None:
    with book.read() as session:
        tables = session.execute(
            text("select name, sql from sqlite_master where type='table' and name not like 'sqlite_%' and name != 'alembic_version'")
        ).all()
        assert tables and all(row.sql.rstrip().endswith("STRICT") for row in tables)
        assert session.execute(text("PRAGMA foreign_keys")).scalar_one() == 1


def test_links_and_indexes_in_the_book_are_those_in_the_code(book: Storage) -> None:
    with book.read() as session:
        for name, table in SQLModel.metadata.tables.items():
            links = {(row.table, getattr(row, "from")) for row in session.execute(text(f"PRAGMA foreign_key_list({name})"))}
            assert links == {(k.column.table.name, k.parent.name) for k in table.foreign_keys}, name
            indexes = {row.name for row in session.execute(text(f"PRAGMA index_list({name})")) if row.origin == "c"}
            assert indexes == {i.name for i in table.indexes}, name


def test_nothing_in_records_deletes() -> None:
    for path in RECORDS.glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        called = {
            n.func.attr if isinstance(n.func, ast.Attribute) else getattr(n.func, "id", "")
            for n in ast.walk(tree)
            if isinstance(n, ast.Call)
        }
        assert "delete" not in called, path.name
        assert not re.search(r"\bDELETE FROM\b", path.read_text(encoding="utf-8")), path.name


def test_every_noun_names_its_fields_once() -> None:
    for name, table in nouns.TABLES.items():
        columns = [c.name for c in table.__table__.columns if "field" in c.info]
        assert len(meanings(table)) == len(columns), name


def test_ids_are_version_7_sort_as_they_were_made_and_never_repeat() -> None:
    made = [new_id() for _ in range(20_000)]
    assert made == sorted(made) and len(set(made)) == len(made)
    # RFC 9562, section 5.7: version 7, variant 10
    assert all(uuid.UUID(one).version == 7 and uuid.UUID(one).variant == uuid.RFC_4122 for one in made[:100])
    assert is_id(made[0]) and not is_id(made[0].upper()) and not is_id("A7") and not is_id(None)
