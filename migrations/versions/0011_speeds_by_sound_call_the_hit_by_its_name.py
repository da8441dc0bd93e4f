"""What a speed by sound was worked out from calls the moment of the hit `hit`, in its notebook and its operations too.

It was `strike`, which elsewhere meant crossing out; so the demo of form 0008 to 0010 held `void` where a person had typed
that moment. What was typed stays as it was typed; only the name beside it changes.

Written out by hand and never changed again.
"""

import json
from hashlib import sha256
from typing import Any

from alembic import op
from sqlalchemy import text

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def _inputs(kept: Any) -> Any:
    """{"typed": {field: as typed}, "si": {field_unit: value}} as text; anything else as it is."""
    try:
        held = json.loads(kept)
        typed, si = held["typed"], held["si"]
    except (TypeError, ValueError, KeyError):
        return kept
    if not isinstance(typed, dict) or not isinstance(si, dict) or "strike_s" not in si:
        return kept
    held["typed"] = {"hit" if name in ("strike", "void") else name: value for name, value in typed.items()}
    held["si"] = {"hit_s" if name == "strike_s" else name: value for name, value in si.items()}
    return json.dumps(held, ensure_ascii=False)


def _typed(text_: str) -> str:
    held = json.loads(text_)
    if "inputs" not in held:
        return text_
    return json.dumps({**held, "inputs": _inputs(held["inputs"])}, ensure_ascii=False)


def _body(text_: str) -> str:
    """What an operation said."""
    *before, body, reason = json.loads(text_)
    if "inputs" not in body:
        return text_
    said = [*before, {**body, "inputs": _inputs(body["inputs"])}, reason]
    return json.dumps(said, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def _changes(text_: str) -> str:
    """The notebook's: field -> was, is, typed then, typed now."""
    held = json.loads(text_)
    if "inputs" not in held:
        return text_
    return json.dumps({**held, "inputs": [_inputs(one) for one in held["inputs"]]}, ensure_ascii=False)


def _both(text_: str) -> str:
    """One side of a clash: the value, and what was typed."""
    return json.dumps([_inputs(one) for one in json.loads(text_)], ensure_ascii=False)


def _rewrite(connection: Any, table: str, key: str, column: str, rewritten: Any, which: str) -> None:
    rows = connection.execute(text(f"SELECT {key}, {column} FROM {table} WHERE {which} AND {column} LIKE '%strike_s%'")).all()
    for held, old in rows:
        new = rewritten(old)
        if new == old:
            continue
        connection.execute(text(f"UPDATE {table} SET {column} = :new WHERE {key} = :held"), {"new": new, "held": held})
        if (table, column) == ("op", "body"):
            # A phone or a form that sends it again sends the new names, and still gets its first answer.
            fingerprint = sha256(new.encode()).digest()
            connection.execute(text("UPDATE op SET body_sha256 = :print WHERE op_id = :held"), {"print": fingerprint, "held": held})


def upgrade() -> None:
    connection = op.get_bind()
    _rewrite(connection, "speed_reading", "id", "inputs", _inputs, "true")
    _rewrite(connection, "speed_reading", "id", "typed", _typed, "true")
    _rewrite(connection, "op", "op_id", "body", _body, "noun = 'speed_reading'")
    _rewrite(connection, "revision", "seq", "changes", _changes, "noun = 'speed_reading'")
    for side in ("stands", "offered"):
        _rewrite(connection, "clash", "id", side, _both, "noun = 'speed_reading' AND field = 'inputs'")
