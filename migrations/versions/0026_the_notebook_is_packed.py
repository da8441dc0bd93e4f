"""A revision and the operation that asked for it are one row, and their texts are packed: the same history in a third of its room.

An operation made one revision and said all of it again: record, device, moment, and what was changed. Nothing of it is lost: what an
operation says otherwise than its revision is kept beside its answer, and an operation that made none gets a line of its own, of
revision 0 or less, which no record stands at.

Written out by hand and never changed again. How a text is packed is said by its first byte (server/proofyard/records/packed.py).
"""

import json
from collections.abc import Iterator
from hashlib import sha256
from typing import Any

from alembic import op
from proofyard.records.packed import pack, pack_row, short_id
from proofyard.storage import BookDamaged
from sqlalchemy import text

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None

ROWS = 500  # so much at once: a big book need not fit into the memory
COLUMNS = (
    *("seq", "device_id", "noun", "record_id", "rev", "action", "reason", "changes", "at", "op_id"),
    *("device_seq", "base_rev", "t_device", "clock_offset_ms", "clock_error_ms", "status", "asked"),
)
# What a revision has beside its own, under the names that it had in `op`.
ASKED = ("device_seq", "base_rev", "t_device", "clock_offset_ms", "clock_error_ms", "status")
_FROM_OP = ("action", "noun", "record_id", "device_id", "received", "body", "body_sha256", "result")
_OF_OP = ", ".join([*(f"o.{name}" for name in ASKED), *(f"o.{name} AS op_{name}" for name in _FROM_OP)])
_OWN = "r.seq, r.device_id, r.noun, r.record_id, r.rev, r.action, r.reason, r.changes, r.at, r.op_id"
_BOTH = f"SELECT {_OWN}, {_OF_OP} FROM revision r LEFT JOIN op o ON o.op_id = r.op_id WHERE r.seq > :after ORDER BY r.seq LIMIT {ROWS}"
_NO_REVISION = "o.op_id NOT IN (SELECT op_id FROM revision WHERE op_id IS NOT NULL)"
_ALONE = f"SELECT o.op_id, {_OF_OP} FROM op o WHERE {_NO_REVISION} AND o.op_id > :after ORDER BY o.op_id LIMIT {ROWS}"

REVISION = """
    CREATE TABLE revision_packed (
        seq INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
        device_id TEXT,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        rev INTEGER NOT NULL,
        action TEXT NOT NULL,
        reason TEXT,
        changes BLOB NOT NULL,
        at INTEGER NOT NULL,
        op_id BLOB,
        device_seq INTEGER,
        base_rev INTEGER,
        t_device INTEGER,
        clock_offset_ms INTEGER,
        clock_error_ms INTEGER,
        status TEXT,
        asked BLOB,
        FOREIGN KEY(device_id) REFERENCES device (id)) STRICT
    """
CLASH = """
    CREATE TABLE clash (
        id TEXT NOT NULL,
        op_id BLOB NOT NULL,
        noun TEXT NOT NULL,
        record_id TEXT NOT NULL,
        field TEXT NOT NULL,
        stands TEXT NOT NULL,
        offered TEXT NOT NULL,
        stands_op_id BLOB,
        settled_op_id BLOB,
        PRIMARY KEY (id),
        FOREIGN KEY(op_id) REFERENCES revision (op_id),
        FOREIGN KEY(stands_op_id) REFERENCES revision (op_id),
        FOREIGN KEY(settled_op_id) REFERENCES revision (op_id)) STRICT
    """
CLASHED = ("id", "op_id", "noun", "record_id", "field", "stands", "offered", "stands_op_id", "settled_op_id")


def upgrade() -> None:
    book = op.get_bind()
    _refuse_lost(book)
    op.execute(REVISION)
    into = text(f"INSERT INTO revision_packed ({', '.join(COLUMNS)}) VALUES ({', '.join(f':{name}' for name in COLUMNS)})")
    for some in _revisions(book):
        book.execute(into, some)
    for some in _alone(book):
        book.execute(into, some)
    clashes = [dict(row) for row in book.execute(text(f"SELECT {', '.join(CLASHED)} FROM clash ORDER BY id")).mappings()]
    for table in ("clash", "revision", "op"):
        op.execute(f"DROP TABLE {table}")
    op.execute("ALTER TABLE revision_packed RENAME TO revision")
    op.execute("CREATE UNIQUE INDEX uq_revision_record_rev ON revision (noun, record_id, rev)")
    op.execute("CREATE UNIQUE INDEX uq_revision_op_id ON revision (op_id)")
    op.execute("CREATE UNIQUE INDEX uq_revision_device_seq ON revision (device_id, device_seq) WHERE device_seq IS NOT NULL")
    op.execute(CLASH)
    op.execute("CREATE INDEX ix_clash_op_id ON clash (op_id)")
    op.execute("CREATE INDEX ix_clash_record_id ON clash (record_id)")
    for one in clashes:
        ids = {name: one[name] and short_id(one[name]) for name in ("op_id", "stands_op_id", "settled_op_id")}
        book.execute(text(f"INSERT INTO clash ({', '.join(CLASHED)}) VALUES ({', '.join(f':{name}' for name in CLASHED)})"), one | ids)


def _refuse_lost(book: Any) -> None:
    """What names an operation that isn't there: the book is damaged, and is left as it is."""
    lost = 0
    for table, column in (("revision", "op_id"), ("clash", "op_id"), ("clash", "stands_op_id"), ("clash", "settled_op_id")):
        asked = f"SELECT count(*) FROM {table} WHERE {column} IS NOT NULL AND {column} NOT IN (SELECT op_id FROM op)"
        lost += book.execute(text(asked)).scalar()
    if lost:
        raise BookDamaged(f"{lost} links in the book lead nowhere, so nothing was upgraded.")


def _revisions(book: Any) -> Iterator[list[dict[str, Any]]]:
    """All revisions as they are kept from now on, some at a time."""
    again = "SELECT seq FROM revision r WHERE op_id IS NOT NULL AND seq > (SELECT min(seq) FROM revision q WHERE q.op_id = r.op_id)"
    twice = text("SELECT op_id FROM revision WHERE op_id IS NOT NULL GROUP BY op_id HAVING count(*) > 1 LIMIT 1")
    later = set(book.execute(text(again)).scalars()) if book.execute(twice).first() else set()
    after = 0  # the first is 1
    while rows := book.execute(text(_BOTH), {"after": after}).mappings().all():
        yield [_packed(dict(row), without=row["seq"] in later) for row in rows]
        after = rows[-1]["seq"]


def _packed(row: dict[str, Any], *, without: bool = False) -> dict[str, Any]:
    """`without`: its operation is kept with an earlier revision."""
    changes = row["changes"]
    kept = {name: row.get(name) for name in COLUMNS}
    if row["op_id"] is None or without:
        return kept | dict.fromkeys((*ASKED, "op_id")) | {"changes": pack(changes)}
    otherwise = _said_otherwise(row)
    answer = row["op_result"] if not otherwise else f"{row['op_result']}\n{json.dumps(otherwise, ensure_ascii=False)}"
    changed, asked = pack_row(changes, row["op_body"], answer, row)
    return kept | {"op_id": short_id(row["op_id"]), "changes": changed, "asked": asked}


def _said_otherwise(row: dict[str, Any]) -> dict[str, Any]:
    """What the operation's own columns say and its revision's don't, as in books that something else than this program wrote to."""
    found = {name: row[f"op_{name}"] for name in ("noun", "record_id", "device_id") if row[f"op_{name}"] != row[name]}
    if row["op_received"] != row["at"]:
        found["received"] = row["op_received"]
    if row["op_action"] != ("put" if row["action"] in ("make", "change") else row["action"]):
        found["action"] = row["op_action"]
    if bytes(row["op_body_sha256"]) != sha256(row["op_body"].encode()).digest():
        found["body_sha256"] = bytes(row["op_body_sha256"]).hex()
    return found


def _alone(book: Any) -> Iterator[list[dict[str, Any]]]:
    """Operations that no revision names: each a line of its own, under its answer's number if that is free."""
    after = ""
    while rows := book.execute(text(_ALONE), {"after": after}).mappings().all():
        for row in rows:  # one at a time: each sees the numbers that the one before took
            yield [_packed(_a_line_of_its_own(book, dict(row)))]
        after = rows[-1]["op_id"]


def _a_line_of_its_own(book: Any, row: dict[str, Any]) -> dict[str, Any]:
    of = {"noun": row["op_noun"], "record_id": row["op_record_id"]}
    lowest = book.execute(text("SELECT min(rev) FROM revision_packed WHERE noun = :noun AND record_id = :record_id"), of).scalar()
    action = row["op_action"] if row["op_action"] != "put" else "make" if row["base_rev"] == 0 else "change"
    line = {"rev": min(0, 1 if lowest is None else lowest - 1), "reason": None, "changes": "{}", "at": row["op_received"], "action": action}
    return row | of | line | {"device_id": row["op_device_id"], "seq": _free_number(book, row["op_result"])}


def _free_number(book: Any, answer: str) -> int:
    try:
        wanted = json.loads(answer).get("seq")
    except (ValueError, AttributeError):
        wanted = None
    taken = text("SELECT 1 FROM revision_packed WHERE seq = :seq")
    if isinstance(wanted, int) and wanted > 0 and book.execute(taken, {"seq": wanted}).first() is None:
        return wanted
    return int(book.execute(text("SELECT max(seq) FROM revision_packed")).scalar() or 0) + 1
