"""PostgreSQL as an end of a move: read in one snapshot while nobody writes, or filled with its links set aside until the end."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy.engine import URL

from proofyard.moving.ends import LEFT, MARK, Row, statement
from proofyard.postgres.book import engine_of, shown
from proofyard.postgres.forms import migrate
from proofyard.settings import data_folder
from proofyard.storage import BookBusy

_TABLES = """SELECT table_name, column_name FROM information_schema.columns
    WHERE table_schema = current_schema() AND table_name NOT IN ('alembic_version', 'moving', 'moved_away')
    AND table_name NOT LIKE 'cache%' ORDER BY table_name, column_name COLLATE "C" """
_KEY = """SELECT a.attname FROM pg_index i JOIN pg_attribute a ON a.attrelid = i.indrelid AND a.attnum = ANY(i.indkey)
    WHERE i.indrelid = to_regclass(%s) AND i.indisprimary ORDER BY array_position(i.indkey, a.attnum)"""
_LINKS = """SELECT conrelid::regclass::text, quote_ident(conname), pg_get_constraintdef(oid) FROM pg_constraint
    WHERE contype = 'f' AND connamespace = current_schema()::regnamespace ORDER BY 1, 2"""
_NOBODY_WRITES = "SELECT pg_try_advisory_xact_lock(hashtextextended('proofyard ' || current_schema(), 0))"


class Database:
    """A book in PostgreSQL. As a source nobody writes to it until it is closed; if it need not be `alone`, it is read as it was."""

    def __init__(self, url: URL, *, target: bool, alone: bool = True) -> None:
        self._url, self._target = url, target
        self._engine = engine_of(url, read_only=False, connections=1, own_words=False)
        self._raw: Any = self._engine.raw_connection()
        if not target:
            self._raw.rollback()
            self._run("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            if alone and not self._run(_NOBODY_WRITES)[0][0]:
                self.close()
                raise BookBusy(f"Somebody writes to the book in {shown(url)}. Stop every server on it, then move again.")

    def _run(self, said: str, given: Sequence[Any] = ()) -> list[Any]:
        with self._raw.cursor() as cursor:
            cursor.execute(said, given or None)
            return cursor.fetchall() if cursor.description else []

    def called(self) -> str:
        return shown(self._url)

    def tables(self) -> dict[str, tuple[str, ...]]:
        found: dict[str, tuple[str, ...]] = {}
        for table, column in self._run(_TABLES):
            found[table] = (*found.get(table, ()), column)
        return found

    def key_of(self, table: str) -> tuple[str, ...]:
        return tuple(row[0] for row in self._run(_KEY, (f'"{table}"',)))

    def rows(self, table: str, columns: Sequence[str], key: Sequence[str], after: Row | None, most: int) -> list[Row]:
        return [tuple(row) for row in self._run(f"{statement(table, columns, key, after, place='%s')} LIMIT {most}", after or ())]

    def holds_a_book(self) -> bool:
        return self.mark() is None and self._is_there("alembic_version")

    def holds_anything(self) -> bool:
        return bool(self._run("SELECT 1 FROM information_schema.tables WHERE table_schema = current_schema() LIMIT 1"))

    def was_left(self) -> bool:
        return self._is_there(LEFT)

    def _is_there(self, table: str) -> bool:
        return bool(self._run("SELECT to_regclass(%s) IS NOT NULL", (table,))[0][0])

    def mark(self) -> dict[str, str] | None:
        if not self._is_there(MARK):
            return None
        rows = self._run(f"SELECT sums FROM {MARK}")
        return dict(json.loads(rows[0][0])) if rows else {}

    def begin(self, sums: Mapping[str, str], form: str) -> None:
        """The tables, with their links taken off and written down; what an earlier try of another book left is emptied."""
        if not self._is_there(MARK):
            # The mark comes first, in a commit of its own: from here on no server takes this for a book.
            self._run(f"CREATE TABLE {MARK} (sums TEXT NOT NULL, links TEXT NOT NULL, whole BOOLEAN NOT NULL)")
            self._raw.commit()
        self._raw.commit()
        migrate(self._url, data_folder("migrations"), form)
        kept = self._run(f"SELECT links FROM {MARK}")
        links = self._run(_LINKS)
        for table, name, _ in links:
            self._run(f"ALTER TABLE {table} DROP CONSTRAINT {name}")
        for table in self.tables():
            self._run(f'TRUNCATE "{table}"')
        written = kept[0][0] if kept else json.dumps([list(one) for one in links])
        self._run(f"DELETE FROM {MARK}")
        self._run(f"INSERT INTO {MARK} VALUES (%s, %s, false)", (json.dumps(dict(sums)), written))
        self._raw.commit()

    def put(self, table: str, columns: Sequence[str], rows: Sequence[Row]) -> None:
        named = ", ".join(f'"{one}"' for one in columns)
        with self._raw.cursor() as cursor, cursor.copy(f'COPY "{table}" ({named}) FROM STDIN') as taken:
            for row in rows:
                taken.write_row(row)
        self._raw.commit()

    def make_whole(self) -> None:
        for table, name, said in json.loads(self._run(f"SELECT links FROM {MARK}")[0][0]):
            self._run(f"ALTER TABLE {table} ADD CONSTRAINT {name} {said}")  # looks at every row
        self._run(f"UPDATE {MARK} SET whole = true")
        self._raw.commit()

    def is_whole(self) -> bool:
        return self._is_there(MARK) and [row[0] for row in self._run(f"SELECT whole FROM {MARK}")] == [True]

    def finish(self) -> None:
        self._run(f"DROP TABLE {MARK}")
        self._raw.commit()

    def leave(self, to: str) -> None:
        """Written down in the book that was moved away from: no server opens it again."""
        self._run(f"CREATE TABLE {LEFT} (place TEXT NOT NULL, at TIMESTAMPTZ NOT NULL DEFAULT now())")
        self._run(f"INSERT INTO {LEFT} (place) VALUES (%s)", (to,))
        self._raw.commit()

    def close(self) -> None:
        self._raw.close()
        self._engine.dispose()
