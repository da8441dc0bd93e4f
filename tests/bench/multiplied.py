"""A book of many shots: the demo's trials copied beside themselves, each with its own arrows, panels and readings.

Works on the file, so that a book of another version of the program can be multiplied too. Archers, bows, heads,
instruments and stands are shared by all copies; operations are copied where that is asked for.
"""

from __future__ import annotations

import re
from contextlib import closing
from pathlib import Path

from proofyard import book_file
from proofyard.publishing.withheld_copy import OF_AN_OPERATION
from proofyard.records.packed import pack, pack_row, short_id, unpack

from tests.notebook_for_tests import told_of

SHARED = frozenset(
    {
        "alembic_version",
        "sqlite_sequence",
        "book",
        "device",
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
NAMED_APART = {"arrow": "tag", "panel": "name", "shot": "label"}
# Readings of kit: those of what all copies share are not copied, else a bow would be weighed by every group that ever shot it.
READ_OF = {"bow_check": "bow_build_id", "hardness_reading": "record_id", "reading": "record_id"}
ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_COPY, _NTH = "@copy@", "@nth@"  # where a copied row says which copy it is: six digits of an id, or a name's end


def multiply(book: Path, shots: int, *, operations: bool = False) -> int:
    """Copy until the book holds at least so many shots; how many it holds. `operations`: those too, of a book whose notebook is packed.

    The rows are marked once, and SQLite writes the copies' numbers into them: a statement a table, whatever the number of copies.
    """
    with closing(book_file.connect(book)) as connection:
        for said in ("foreign_keys=OFF", "synchronous=OFF", "cache_size=-200000", "temp_store=MEMORY"):
            connection.execute(f"PRAGMA {said}")
        first = connection.execute("SELECT count(*) FROM shot").fetchone()[0]
        names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        rows = {name: _rows(connection, name) for name in names if name not in SHARED}
        there = {row["id"] for table in rows.values() for row in table}
        for name, of in READ_OF.items():
            rows[name] = [row for row in rows[name] if row[of] in there]
        own = {one: number for number, one in enumerate(sorted(str(row["id"]) for table in rows.values() for row in table))}
        rows["revision"] = [row for row in _rows(connection, "revision") if row["record_id"] in own]
        packed = bool(rows["revision"]) and "asked" in rows["revision"][0]
        copies = -(-shots // first) - 1
        connection.execute("CREATE TEMP TABLE copies (copy TEXT, nth TEXT)")
        connection.executemany("INSERT INTO copies VALUES (?, ?)", [(f"{one:06x}", str(one)) for one in range(1, copies + 1)])
        connection.execute("BEGIN")
        for name, table in rows.items():
            if name != "revision" or not packed:
                _copy(connection, name, [_marked(name, row, own) for row in table])
        if packed:
            copy_notebook(connection, rows["revision"], own, copies, operations=operations)
        connection.execute("COMMIT")
        odd = connection.execute("PRAGMA foreign_key_check").fetchone()
        assert odd is None, f"a copy leads nowhere: {odd}"
        return int(connection.execute("SELECT count(*) FROM shot").fetchone()[0])


def copy_notebook(
    connection: book_file.Connection, rows: list[dict[str, object]], own: dict[str, int], copies: int, *, operations: bool
) -> None:
    """A packed notebook: each row's texts are unpacked once, and packed again for each copy."""
    of_op = {short_id(one.op_id): one for one in told_of(rows) if one.op_id} if operations else {}
    own = own | {one.op_id: len(own) + number for number, one in enumerate(of_op.values()) if one.op_id}
    marked = []
    for row in rows:
        op = of_op.get(row["op_id"]) if isinstance(row["op_id"], bytes) else None
        texts = {"op_id": op.op_id, "body": op.body, "answer": op.answer} if op else dict.fromkeys((*OF_AN_OPERATION, "body", "answer"))
        marked.append(_marked("", {**row, **texts, "changes": unpack(bytes(row["changes"]))}, own))
    seq = int(connection.execute("SELECT max(seq) FROM revision").fetchone()[0])
    columns = list(rows[0])
    into = f"INSERT INTO revision ({', '.join(columns)}) VALUES ({', '.join('?' * len(columns))})"
    for copy in range(1, copies + 1):
        made = []
        for number, one in enumerate(marked):
            row = {key: value.replace(_COPY, f"{copy:06x}") if isinstance(value, str) else value for key, value in one.items()}
            old, row["seq"] = row["seq"], seq + (copy - 1) * len(marked) + number + 1
            if row["op_id"] is None:
                row["changes"] = pack(str(row["changes"]))
            else:
                answer = str(row["answer"]).replace(f'"seq": {old},', f'"seq": {row["seq"]},')
                row["changes"], row["asked"] = pack_row(str(row["changes"]), str(row["body"]), answer, row)
                row["op_id"] = short_id(str(row["op_id"]))
            made.append([row[name] for name in columns])
        connection.executemany(into, made)


def _rows(connection: book_file.Connection, name: str) -> list[dict[str, object]]:
    found = connection.execute(f'SELECT * FROM "{name}"')
    columns = [column[0] for column in found.description]
    return [dict(zip(columns, row, strict=True)) for row in found]


def _marked(name: str, row: dict[str, object], own: dict[str, int]) -> dict[str, object]:
    """The row with a mark wherever its copies differ. An id keeps its beginning, which tells when its record was made."""

    def other(found: re.Match[str]) -> str:
        one = found.group()
        return f"{one[:24]}{own[one]:06x}{_COPY}" if one in own else one

    made = {key: ID.sub(other, value) if isinstance(value, str) else value for key, value in row.items()}
    if name in NAMED_APART:
        made[NAMED_APART[name]] = f"{made[NAMED_APART[name]]}x{_NTH}"
    if name == "revision":
        made |= {"seq": None, "op_id": None}
    return made


def _copy(connection: book_file.Connection, name: str, marked: list[dict[str, object]]) -> None:
    if not marked:
        return
    columns = [f'"{column}"' for column in marked[0]]
    connection.execute(f"CREATE TEMP TABLE marked ({', '.join(columns)})")
    marks = ", ".join("?" for _ in columns)
    connection.executemany(f"INSERT INTO marked VALUES ({marks})", [list(row.values()) for row in marked])
    # Only what holds a mark is rewritten: numbers must stay numbers.
    values = ", ".join(
        f"CASE WHEN instr({one}, '{_COPY}') OR instr({one}, '{_NTH}') "
        f"THEN replace(replace({one}, '{_COPY}', copy), '{_NTH}', nth) ELSE {one} END"
        for one in columns
    )
    copied = f"SELECT {values} FROM copies CROSS JOIN marked ORDER BY copies.rowid, marked.rowid"
    connection.execute(f'INSERT INTO main."{name}" ({", ".join(columns)}) {copied}')
    connection.execute("DROP TABLE marked")
