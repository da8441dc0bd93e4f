"""The two kinds of place that a book is moved between, under one set of names.

A target that isn't whole yet says so itself: a file has another name until it is, a database has a table `moving`, and no
server opens either. Links between rows are checked at the end, all at once, since some go round in a circle. Once it is whole it says
so, still under its other name: then the source is marked as left, and only then the target becomes a book. Whatever stops it, there
are never two books that a server would open, nor none that the same command couldn't finish.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

from proofyard import book_file
from proofyard.exchange.photo_files import sync_folder
from proofyard.opening import form_of, make_empty
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookDamaged

ROWS = 500  # a commit
MARK, WHOLE = "moving", "moved"
LEFT = "moved_away"
_NOT_MOVED = ("alembic_version", MARK, LEFT)  # the target has the form from its own migrations
Row = tuple[Any, ...]


class End(Protocol):
    """A book that is read from, or one that is being filled."""

    def called(self) -> str: ...
    def tables(self) -> dict[str, tuple[str, ...]]: ...
    def key_of(self, table: str) -> tuple[str, ...]: ...
    def rows(self, table: str, columns: Sequence[str], key: Sequence[str], after: Row | None, most: int) -> list[Row]: ...
    def close(self) -> None: ...


class Target(End, Protocol):
    """What is filled."""

    def mark(self) -> dict[str, str] | None: ...
    def begin(self, sums: Mapping[str, str], form: str) -> None: ...
    def put(self, table: str, columns: Sequence[str], rows: Sequence[Row]) -> None: ...
    def make_whole(self) -> None: ...
    def is_whole(self) -> bool: ...
    def finish(self) -> None: ...


def every_row(end: End, table: str, columns: Sequence[str]) -> Iterator[Row]:
    """All rows of a table in the order of its key, a page at a time."""
    key, after = end.key_of(table), None
    places = [columns.index(one) for one in key]
    while True:
        some = end.rows(table, columns, key, after, 5 * ROWS)
        yield from some
        if len(some) < 5 * ROWS:
            return
        after = tuple(some[-1][place] for place in places)


def sum_of(end: End, table: str, columns: Sequence[str]) -> str:
    """How many rows, and a SHA-256 of every value of them: the same for the same rows, whichever database keeps them."""
    hashed, number = hashlib.sha256(repr(tuple(columns)).encode()), 0
    for row in every_row(end, table, columns):
        number += 1
        hashed.update(repr(row).encode("utf-8", "surrogatepass"))
    return f"{number} {hashed.hexdigest()}"


def sums_of(end: End) -> dict[str, str]:
    return {table: sum_of(end, table, columns) for table, columns in sorted(end.tables().items())}


class File:
    """A book in a file, as a source, or as a target under a name of its own until it is whole."""

    def __init__(self, folder: Path, *, target: bool) -> None:
        self._book = folder / BOOK_FILE
        self._filled, self._whole = (self._book.with_name(f"{BOOK_FILE}.{name}") for name in (MARK, WHOLE))
        self._at = (self._whole if self._whole.exists() else self._filled) if target else self._book
        self._target = target
        self._open = None if target and not self._at.exists() else self._opened()

    def called(self) -> str:
        return str(self._book)

    def _opened(self) -> book_file.Connection:
        if not self._target:
            return book_file.look(self._at)
        connection = book_file.connect(self._at)
        connection.execute("PRAGMA foreign_keys=OFF")
        connection.execute("PRAGMA synchronous=EXTRA")
        return connection

    @property
    def _there(self) -> book_file.Connection:
        if self._open is None:
            self._open = self._opened()
        return self._open

    def tables(self) -> dict[str, tuple[str, ...]]:
        named = self._there.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'").fetchall()
        moved = [name for (name,) in named if name not in _NOT_MOVED and not name.startswith("cache_")]
        return {name: tuple(sorted(row[1] for row in self._about(name))) for name in moved}

    def _about(self, table: str) -> list[Any]:
        return self._there.execute(f'PRAGMA table_info("{table}")').fetchall()

    def key_of(self, table: str) -> tuple[str, ...]:
        return tuple(row[1] for row in sorted(self._about(table), key=lambda row: row[5]) if row[5])

    def rows(self, table: str, columns: Sequence[str], key: Sequence[str], after: Row | None, most: int) -> list[Row]:
        said = statement(table, columns, key, after, place="?")
        return [tuple(row) for row in self._there.execute(f"{said} LIMIT {most}", after or ()).fetchall()]

    def mark(self) -> dict[str, str] | None:
        if not self._at.exists():
            return None
        try:
            row = self._there.execute(f"SELECT sums FROM {MARK}").fetchone()
        except book_file.Error:
            if self.is_whole():
                return sums_of(self)  # stopped just before it took its name
            row = None  # stopped while it was being made: nothing is in it yet
        return dict(json.loads(row[0])) if row else {}

    def begin(self, sums: Mapping[str, str], form: str) -> None:
        self.close()
        for one in (self._whole, self._filled):
            for file in (one, *book_file.beside(one)):
                file.unlink(missing_ok=True)
        self._at = self._filled
        make_empty(self._at, form)
        self._there.execute(f"CREATE TABLE {MARK} (sums TEXT NOT NULL) STRICT")
        self._there.execute(f"INSERT INTO {MARK} VALUES (?)", (json.dumps(sums),))

    def put(self, table: str, columns: Sequence[str], rows: Sequence[Row]) -> None:
        named = ", ".join(f'"{one}"' for one in columns)
        self._there.execute("BEGIN IMMEDIATE")
        self._there.executemany(f'INSERT INTO "{table}" ({named}) VALUES ({", ".join("?" * len(columns))})', rows)
        self._there.execute("COMMIT")

    def make_whole(self) -> None:
        lost = self._there.execute("PRAGMA foreign_key_check").fetchall()
        if lost:
            raise BookDamaged(f"{len(lost)} links in the moved book lead nowhere. Nothing was changed in the one that it came from.")
        self._there.execute("PRAGMA journal_mode=DELETE")
        self.close()
        self._at = self._filled.replace(self._whole)
        sync_folder(self._at.parent)

    def is_whole(self) -> bool:
        return self._whole.exists()

    def finish(self) -> None:
        self._there.execute(f"DROP TABLE IF EXISTS {MARK}")
        self.close()
        self._at.replace(self._book)
        sync_folder(self._book.parent)

    def close(self) -> None:
        if self._open is not None:
            self._open.close()
            self._open = None

    def holds_a_book(self) -> bool:
        return form_of(self._book) is not None


def statement(table: str, columns: Sequence[str], key: Sequence[str], after: Row | None, *, place: str) -> str:
    named, ordered = (", ".join(f'"{one}"' for one in some) for some in (columns, key))
    later = f" WHERE ({ordered}) > ({', '.join([place] * len(key))})" if after is not None else ""
    return f'SELECT {named} FROM "{table}"{later} ORDER BY {ordered}'
