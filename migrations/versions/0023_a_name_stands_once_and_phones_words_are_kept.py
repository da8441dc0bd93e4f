"""A name stands once: the book itself sees to it. And what phones said last of what they hold has a table.

Two that bear one name, which an earlier program could let through when a record was taken back, get names that differ; the notebook
says so. What phones said is of the moment: it is in no notebook and in no file, and on one server it stays in its memory.

Written out by hand and never changed again.
"""

import json
import time

from alembic import op
from sqlalchemy import text

revision = "0023"
down_revision = "0021"
branch_labels = None
depends_on = None

NAMES = {"archer": "call_name", "instrument": "name", "bow": "name", "head": "name", "arrow": "tag", "panel": "name", "stand": "name"}
WHY = "Two had this name. A name stands once, so the later one got another when the program was brought up to date."


def upgrade() -> None:
    for noun, column in NAMES.items():
        _part_the_same(noun, column)
        op.execute(f"CREATE UNIQUE INDEX uq_{noun}_{column} ON {noun} (lower({column})) WHERE voided_rev IS NULL")
    op.execute(
        """
    CREATE TABLE phone_word (
        device_id TEXT NOT NULL,
        at INTEGER NOT NULL,
        session_id TEXT,
        shots INTEGER NOT NULL,
        unsent INTEGER NOT NULL,
        photos_unsent INTEGER NOT NULL,
        needs INTEGER NOT NULL,
        agrees INTEGER,
        lacks INTEGER NOT NULL,
        PRIMARY KEY (device_id)) STRICT
    """
    )


def _part_the_same(noun: str, column: str) -> None:
    book = op.get_bind()
    rows = book.execute(text(f"SELECT id, rev, typed, {column}, lower({column}) FROM {noun} WHERE voided_rev IS NULL ORDER BY id")).all()
    taken: set[str] = set()
    for key, rev, typed, name, lowered in rows:
        if lowered in taken:
            everyone = taken | {row[4] for row in rows}
            number = next(n for n in range(2, len(rows) + 3) if f"{lowered} ({n})" not in everyone)
            lowered = f"{lowered} ({number})"
            _rename(noun, column, key=key, rev=rev, typed=typed, was=name, now=f"{name} ({number})")
        taken.add(lowered)


def _rename(noun: str, column: str, *, key: str, rev: int, typed: str, was: str, now: str) -> None:
    book, words = op.get_bind(), json.loads(typed)
    said = words.get(column)
    words[column] = now
    row = {"now": now, "rev": rev + 1, "typed": json.dumps(words, ensure_ascii=False), "id": key}
    book.execute(text(f"UPDATE {noun} SET {column} = :now, rev = :rev, typed = :typed WHERE id = :id"), row)
    seq = (book.execute(text("SELECT max(seq) FROM revision")).scalar() or 0) + 1
    changes = json.dumps({column: [was, now, said, now]}, ensure_ascii=False)
    told = {"seq": seq, "noun": noun, "id": key, "rev": rev + 1, "why": WHY, "changes": changes, "at": int(time.time() * 1000)}
    book.execute(
        text(
            "INSERT INTO revision (seq, noun, record_id, rev, action, reason, changes, at) "
            "VALUES (:seq, :noun, :id, :rev, 'change', :why, :changes, :at)"
        ),
        told,
    )
