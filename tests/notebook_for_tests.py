"""The notebook of a book's file as texts: what is kept packed, unpacked by the program's own hand (records/packed.py)."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from proofyard.book_file import library as sqlite3
from proofyard.opening import make_empty
from proofyard.records.packed import long_id, short_id, unpack, unpack_asked
from proofyard.settings import BOOK_FILE

# For questions that a test asks of the file itself: SELECT long_id(op_id), unpack(changes) FROM revision
FUNCTIONS = {"long_id": long_id, "short_id": short_id, "unpack": unpack}


@dataclass(frozen=True)
class Told:
    """A revision, and what was asked and answered where an operation asked for it."""

    seq: int
    noun: str
    record_id: str
    rev: int
    action: str
    changes: str
    op_id: str | None
    body: str | None
    answer: str | None


def told_in(book: Path) -> list[Told]:
    """All of it, in the order of its numbers."""
    return told_of(rows_of(book, "SELECT * FROM revision ORDER BY seq"))


def told_of(rows: Iterable[Mapping[str, Any]]) -> list[Told]:
    """Of rows as the file has them."""
    told = []
    for one in rows:
        row = dict(one)
        changes, body, answer = unpack(row["changes"]), None, None
        if row["op_id"] is not None:
            row["op_id"] = long_id(row["op_id"])
            body, answer = unpack_asked(row["asked"], row, changes=changes)
        of = {name: row[name] for name in ("seq", "noun", "record_id", "rev", "action", "op_id")}
        told.append(Told(**of, changes=changes, body=body, answer=answer))
    return told


def answers_in(book: Path) -> dict[str, str]:
    """The answer of every operation that was taken, by its id."""
    return {one.op_id: one.answer or "" for one in told_in(book) if one.op_id}


def rows_of(path: Path, question: str) -> list[dict[str, Any]]:
    with closing(sqlite3.connect(path)) as connection:
        cursor = connection.execute(question)
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor]


def as_form_0025(path: Path) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Operations and revisions in the columns of form 0025, from a book of today."""
    ops, revisions = [], []
    for row in rows_of(path, "SELECT * FROM revision ORDER BY seq"):
        row["changes"] = unpack(row["changes"])
        asked, row["op_id"] = row.pop("asked"), row["op_id"] and long_id(row["op_id"])
        own = {name: row[name] for name in ("seq", "op_id", "device_id", "noun", "record_id", "rev", "action", "reason", "changes", "at")}
        revisions.append(own)
        if asked is not None:
            body, result = unpack_asked(asked, row, changes=row["changes"])
            of_op = {name: value for name, value in row.items() if name not in ("seq", "rev", "reason", "changes", "at")}
            action = "put" if row["action"] in ("make", "change") else row["action"]
            ops.append(of_op | {"action": action, "body": body, "result": result, "received": row["at"]})
    return ops, revisions


def take_apart(book: Path) -> None:
    """Make a book of today one of form 0025, whose operations had a table of their own."""
    ops, revisions = as_form_0025(book)
    clashes = rows_of(book, "SELECT * FROM clash")
    for one in ops:
        one["body_sha256"] = sha256(one["body"].encode()).digest()
    for one in clashes:
        one |= {name: one[name] and long_id(one[name]) for name in ("op_id", "stands_op_id", "settled_op_id")}
    with tempfile.TemporaryDirectory(prefix="proofyard-") as folder:
        make_empty(Path(folder) / BOOK_FILE, "0025")
        asked = "SELECT sql FROM sqlite_master WHERE tbl_name IN ('op', 'revision', 'clash') AND sql IS NOT NULL ORDER BY type DESC"
        made = rows_of(Path(folder) / BOOK_FILE, asked)
    with closing(sqlite3.connect(book)) as connection:
        for table in ("clash", "revision"):
            connection.execute(f"DROP TABLE {table}")
        for one in made:
            connection.execute(one["sql"])
        for table, rows in (("op", ops), ("revision", revisions), ("clash", clashes)):
            for row in rows:
                connection.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})", [*row.values()])
        connection.execute("UPDATE alembic_version SET version_num = '0025'")
        connection.commit()
