"""A book of form 0025 in PostgreSQL is packed by the same migration as a file, to the same bytes."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import psycopg
from proofyard.book_file import library as sqlite3
from proofyard.opening import make_empty
from proofyard.postgres.book import url_of
from proofyard.postgres.forms import form_of_postgres, migrate
from proofyard.settings import data_folder

from tests.notebook_for_tests import rows_of
from tests.postgres_for_tests import Server
from tests.upgrade import book_before as before


def test_the_notebook_is_packed_there_as_in_a_file(postgres: Server, tmp_path: Path) -> None:
    book = before.make_book(tmp_path)
    make_empty(book, "0025")
    url = url_of(postgres.new_database())
    migrate(url, data_folder("migrations"), "0025")
    where = {**url.query, **url.translate_connect_args(username="user", database="dbname")}
    with closing(sqlite3.connect(book)) as file, psycopg.connect(**where) as there:
        there.execute("SET session_replication_role = replica")  # rows come in no order of their links
        for (table,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'").fetchall():
            cursor = file.execute(f'SELECT * FROM "{table}"')
            columns = [column[0] for column in cursor.description]
            if table != "alembic_version":
                put = f'INSERT INTO "{table}" ({", ".join(columns)}) VALUES ({", ".join(["%s"] * len(columns))})'
                there.cursor().executemany(put.encode(), cursor.fetchall())
    assert migrate(url, data_folder("migrations"), "0026") == "0025"
    make_empty(book, "0026")
    assert form_of_postgres(url) == "0026"
    with psycopg.connect(**where) as there:
        for table, key in (("revision", "seq"), ("clash", "id")):
            here = rows_of(book, f"SELECT * FROM {table} ORDER BY {key}")
            found = there.execute(f"SELECT {', '.join(here[0])} FROM {table} ORDER BY {key}".encode())
            assert found.fetchall() == [tuple(row.values()) for row in here] and here
        assert there.execute("SELECT to_regclass('op')").fetchone() == (None,)
