"""Tables, columns and values take the field's own words: a book that exists is upgraded, its notebook too.

What was typed stays as it was typed; only the names beside it change. The fingerprint of an operation follows its new
names: a phone whose answer was lost on the way renames what it holds too, sends it again, and still gets its first answer.

Written out by hand and never changed again.
"""

import json
from hashlib import sha256
from typing import Any

from alembic import op
from sqlalchemy import text

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

NOUNS = {"pairing": "combination", "walk": "shooting_end", "picture": "photo"}
# Every table of a noun has struck_rev; these besides.
COLUMNS = {
    "shot": {"walk_id": "shooting_end_id"},
    "shot_reading": {"way_in": "entry", "look_behind": "rear_check"},
    "second_reading": {"way_in": "entry"},
    "speed_series": {"pairing_id": "combination_id"},
    "prediction": {"half_energy_j": "fifty_percent_energy_j"},
    "panel_face": {"picture_id": "photo_id"},
    "trial": {"finger_m": "position_accuracy_m"},
    "device": {"put_out_at": "removed_at", "put_out_why": "removed_why"},
}
# The names that forms, phones and the notebook use, by noun (as it was called).
FIELDS = {
    "shot": {"walk": "shooting_end"},
    "shot_reading": {"way_in": "entry", "look_behind": "rear_check"},
    "second_reading": {"way_in": "entry"},
    "speed_series": {"pairing": "combination"},
    "prediction": {"half_energy": "fifty_percent_energy"},
    "panel_face": {"picture": "photo"},
    "trial": {"finger": "position_accuracy"},
}
VALUES = {
    ("shot_reading", "hit"): {"fair_target": "on_panel"},
    ("shot_reading", "arrow_did"): {"stood_armour": "stuck_armour", "stood_backing": "stuck_backing"},
    ("head", "form"): {"stout": "short_bodkin"},
    ("trial", "next_shot_rule"): {"narrow_the_half": "smallest_interval"},
}
ACTIONS = {"strike": "void", "unstrike": "unvoid"}


def _indexes(connection: Any) -> list[tuple[str, str]]:
    rows = connection.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL")).all()
    old = ("pairing", "walk", "picture")
    return [(name, sql) for name, sql in rows if any(word in name for word in old)]


def _in_new_words(text_: str) -> str:
    for old, new in {**NOUNS, "walk_id": "shooting_end_id"}.items():
        text_ = text_.replace(old, new)
    return text_


def _rename_tables_and_columns(connection: Any) -> None:
    indexes = _indexes(connection)
    for name, _ in indexes:
        connection.execute(text(f"DROP INDEX {name}"))
    tables = [row[0] for row in connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'table'"))]
    for table in tables:
        columns = {row[1] for row in connection.execute(text(f"PRAGMA table_info({table})"))}
        renamed = {**COLUMNS.get(table, {}), **({"struck_rev": "voided_rev"} if "struck_rev" in columns else {})}
        for old, new in renamed.items():
            connection.execute(text(f"ALTER TABLE {table} RENAME COLUMN {old} TO {new}"))
    for old, new in NOUNS.items():
        connection.execute(text(f"ALTER TABLE {old} RENAME TO {new}"))
    for _, sql in indexes:
        connection.execute(text(_in_new_words(sql)))


def _rename_values(connection: Any) -> None:
    for (table, column), values in VALUES.items():
        for old, new in values.items():
            connection.execute(text(f"UPDATE {table} SET {column} = :new WHERE {column} = :old"), {"old": old, "new": new})
    for table in ("op", "revision"):
        for old, new in ACTIONS.items():
            connection.execute(text(f"UPDATE {table} SET action = :new WHERE action = :old"), {"old": old, "new": new})
    for old, new in NOUNS.items():
        for table, column in (("op", "noun"), ("revision", "noun"), ("clash", "noun")):
            connection.execute(text(f"UPDATE {table} SET {column} = :new WHERE {column} = :old"), {"old": old, "new": new})


def _named(noun: str, held: dict[str, Any]) -> dict[str, Any]:
    """The same with its fields under their new names, and values of choices in new words."""
    names = FIELDS.get(noun, {})
    return {names.get(field, field): _new_value(noun, field, value) for field, value in held.items()}


def _new_value(noun: str, field: str, value: Any) -> Any:
    words = VALUES.get((noun, field), {})
    return words.get(value, value) if isinstance(value, str) else value


def _body(noun: str, text_: str) -> str:
    """What an operation said."""
    action, _, record_id, base_rev, body, reason = json.loads(text_)
    said = [ACTIONS.get(action, action), NOUNS.get(noun, noun), record_id, base_rev, _named(noun, body), reason]
    return json.dumps(said, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def _changes(noun: str, text_: str) -> str:
    """The notebook's: field -> was, is, typed then, typed now."""
    names = {**FIELDS.get(noun, {}), "struck": "voided"}
    held = json.loads(text_)
    said = {names.get(field, field): [_new_value(noun, field, value) for value in four] for field, four in held.items()}
    return json.dumps(said, ensure_ascii=False)


def _result(noun: str, text_: str) -> str:
    """An answer names fields beside what was wrong with them, or doubtful."""
    held = json.loads(text_)
    names = FIELDS.get(noun, {})
    for some in ("problems", "warnings"):
        held[some] = [{**one, "field": names.get(one["field"], one["field"])} for one in held[some]]
    return json.dumps(held, ensure_ascii=False)


def _rewrite_json(connection: Any) -> None:
    for table, key, column, rewritten in (
        ("op", "op_id", "body", _body), ("op", "op_id", "result", _result), ("revision", "seq", "changes", _changes),
    ):  # fmt: skip
        rows = connection.execute(text(f"SELECT {key}, noun, {column} FROM {table}")).all()
        changed = [(new, held) for held, noun, old in rows if (new := rewritten(noun, old)) != old]
        for new, held in changed:
            connection.execute(text(f"UPDATE {table} SET {column} = :new WHERE {key} = :held"), {"new": new, "held": held})
            if (table, column) == ("op", "body"):
                print_ = sha256(new.encode()).digest()
                connection.execute(text("UPDATE op SET body_sha256 = :print WHERE op_id = :held"), {"print": print_, "held": held})
    _rewrite_clashes(connection)
    for noun in {*FIELDS, *(noun for noun, _ in VALUES)}:
        for held, typed in connection.execute(text(f"SELECT id, typed FROM {noun} WHERE typed <> '{{}}'")).all():
            new = json.dumps(_named(noun, json.loads(typed)), ensure_ascii=False)
            if new != typed:
                connection.execute(text(f"UPDATE {noun} SET typed = :new WHERE id = :held"), {"new": new, "held": held})


def _rewrite_clashes(connection: Any) -> None:
    """What two said of one field: its name, and in both (the value, and the word that was typed) the word of a choice."""
    for held, noun, field, stands, offered in connection.execute(text("SELECT id, noun, field, stands, offered FROM clash")).all():
        said = [json.dumps([_new_value(noun, field, one) for one in json.loads(both)], ensure_ascii=False) for both in (stands, offered)]
        named = FIELDS.get(noun, {}).get(field, field)
        if [named, *said] != [field, stands, offered]:
            connection.execute(
                text("UPDATE clash SET field = :field, stands = :stands, offered = :offered WHERE id = :held"),
                {"field": named, "stands": said[0], "offered": said[1], "held": held},
            )


def upgrade() -> None:
    connection = op.get_bind()
    _rewrite_json(connection)  # while every noun has its old name
    _rename_values(connection)
    _rename_tables_and_columns(connection)
