"""The suite's own tests on a book in PostgreSQL: `book` is one here, and whatever is built on it (`house`, `archer` …) stands on it.

A module here takes tests of another folder by their names; they run there on a file, and here on a database.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from proofyard.postgres.book import PostgresBook, url_of
from proofyard.records import cache as _cache  # noqa: F401 - its tables are the book’s too
from proofyard.records import devices
from proofyard.records import phone_word as _phone_word  # noqa: F401 - its table is one of the book
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage
from sqlalchemy import Engine
from sqlmodel import SQLModel

from tests.postgres_for_tests import Server

_FIRST: list[Engine] = []
_FREE: list[str] = []


def on_a_database(postgres: Server, folder: Path) -> PostgresBook:
    """A book with no row in it, of a database that nobody else has now; what was compiled for one is known to the next."""
    folder.mkdir(parents=True, exist_ok=True)
    address = _FREE.pop() if _FREE else postgres.new_database("empty_book")
    book = PostgresBook(folder / BOOK_FILE, url_of(address))
    for engine in (book._readers, book._writer):
        _FIRST.append(engine) if not _FIRST else None
        engine._compiled_cache = _FIRST[0]._compiled_cache
    return book


def given_back(book: PostgresBook) -> None:
    """Rows are deleted in a moment; a database has 300 files to make and to take away."""
    import psycopg

    book.close()
    names = sorted(SQLModel.metadata.tables)
    where = {**book.url.query, **book.url.translate_connect_args(username="user", database="dbname")}
    with psycopg.connect(**where, autocommit=True) as connection:
        connection.execute("SET session_replication_role = replica; SET lock_timeout = '20s'")
        for name in names:
            connection.execute(f'DELETE FROM "{name}"'.encode())
    _FREE.append(book.url.render_as_string(hide_password=False))


def with_the_rows_of(source: Storage, postgres: Server, folder: Path) -> PostgresBook:
    """The same rows in a database: whatever a page says of the one it must say of the other."""
    book = on_a_database(postgres, folder)
    with source.read() as session, closing(book._writer.raw_connection()) as connection:
        cursor = connection.cursor()
        cursor.execute("SET LOCAL session_replication_role = replica")  # rows come in no order of their links
        for table in SQLModel.metadata.tables.values():
            columns = [column.name for column in table.columns]
            rows = session.connection().exec_driver_sql(f'SELECT {", ".join(columns)} FROM "{table.name}"').all()
            marks = ", ".join(["%s"] * len(columns))
            cursor.executemany(f'INSERT INTO "{table.name}" ({", ".join(columns)}) VALUES ({marks})', [tuple(row) for row in rows])
        connection.commit()
    return book


@pytest.fixture
def book(tmp_path: Path, postgres: Server) -> Iterator[PostgresBook]:
    made = on_a_database(postgres, tmp_path / "book")
    with made.write() as session:
        devices.make_book(session)
    yield made
    given_back(made)
