"""A book of many shots: the demo's trials copied beside themselves, each with its own arrows, panels and readings.

Works on the file, so that a book of another version of the program can be multiplied too. Archers, bows, heads,
instruments and stands are shared by all copies; no operations are copied.
"""

from __future__ import annotations

import hashlib
import re
from contextlib import closing
from pathlib import Path

from proofyard import book_file

SHARED = frozenset(
    {
        "alembic_version",
        "sqlite_sequence",
        "book",
        "device",
        "op",
        "clash",
        "archer",
        "bow",
        "bow_build",
        "draw_point",
        "head",
        "instrument",
        "instrument_check",
        "stand",
        "stand_layer",
        "backing_check",
        "revision",
        "photo",
    }
)
NAMED_APART = {"arrow": "tag", "panel": "name"}
ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")


def multiply(book: Path, shots: int) -> int:
    """Copy until the book holds at least so many shots; how many it holds."""
    with closing(book_file.connect(book)) as connection:
        connection.execute("PRAGMA foreign_keys=OFF")
        first = connection.execute("SELECT count(*) FROM shot").fetchone()[0]
        names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        rows = {name: _rows(connection, name) for name in names if name not in SHARED}
        own = {str(row["id"]) for table in rows.values() for row in table}
        rows["revision"] = [row for row in _rows(connection, "revision") if row["record_id"] in own]
        connection.execute("BEGIN")
        for copy in range(1, -(-shots // first)):
            for name, table in rows.items():
                _insert(connection, name, [_copied(name, row, own, copy) for row in table])
        connection.execute("COMMIT")
        odd = connection.execute("PRAGMA foreign_key_check").fetchone()
        assert odd is None, f"a copy leads nowhere: {odd}"
        return int(connection.execute("SELECT count(*) FROM shot").fetchone()[0])


def _rows(connection: book_file.Connection, name: str) -> list[dict[str, object]]:
    found = connection.execute(f'SELECT * FROM "{name}"')
    columns = [column[0] for column in found.description]
    return [dict(zip(columns, row, strict=True)) for row in found]


def _copied(name: str, row: dict[str, object], own: set[str], copy: int) -> dict[str, object]:
    def other(found: re.Match[str]) -> str:
        one = found.group()
        return one[:24] + hashlib.sha256(f"{one} {copy}".encode()).hexdigest()[:12] if one in own else one

    made = {key: ID.sub(other, value) if isinstance(value, str) else value for key, value in row.items()}
    if name in NAMED_APART:
        made[NAMED_APART[name]] = f"{made[NAMED_APART[name]]}-{copy}"
    if name == "revision":
        made |= {"seq": None, "op_id": None}
    return made


def _insert(connection: book_file.Connection, name: str, rows: list[dict[str, object]]) -> None:
    if rows:
        columns = ", ".join(f'"{column}"' for column in rows[0])
        marks = ", ".join("?" for _ in rows[0])
        connection.executemany(f'INSERT INTO "{name}" ({columns}) VALUES ({marks})', [list(row.values()) for row in rows])
