"""A book, its CSV and a packed copy as the version before the field's own words wrote them (form 0007), all invented.

    book_of_form_0007.sql.xz   the demo, and a trial more: clashes open and decided, readings crossed out and taken back,
                               photos, predictions, a face of a panel, warnings in answers; at least a row of every noun
    csv_of_form_0007.tar.xz    what that version exported of it, and its photos in the folder where that version kept them
    copy_of_form_0007.zip      a packed copy of a small book of that form, with one photo

They were written once by that version and never change: what is renamed since stands in RENAMED and REWORDED.
"""

from __future__ import annotations

import csv
import io
import json
import lzma
import tarfile
from contextlib import closing
from pathlib import Path
from typing import Any

from proofyard.book_file import library as sqlite3
from proofyard.settings import BOOK_FILE

HERE = Path(__file__).parent
PACKED_COPY = HERE / "copy_of_form_0007.zip"
PHOTOS_THEN = "pictures"

# Column then -> column now, the first that fits: whole names, then beginnings and endings.
RENAMED = {
    "way_in": "entry",
    "second_reading_way_in": "second_reading_entry",
    "look_behind": "rear_check",
    "struck": "voided",
    "struck_reason": "voided_reason",
    "energy_at_target_u_pairing_j": "energy_at_target_u_combination_j",
}
BEGINNINGS = {"walk_": "shooting_end_", "pairing_": "combination_", "blow_": "blunt_"}
ENDINGS = {"_struck": "_voided"}
# Column now -> what stood in it then and stands in it now.
REWORDED = {
    "hit": {"fair_target": "on_panel"},
    "arrow_did": {"stood_armour": "stuck_armour", "stood_backing": "stuck_backing"},
    "head_form": {"stout": "short_bodkin"},
    "outcome_low_words": {"Point behind": "Point through", "Head behind": "Head through"},
    "outcome_high_words": {"Point behind": "Point through", "Head behind": "Head through"},
    "speed_basis": {"pairing": "combination"},
}
# Sentences of the program, worked out when the file is made: a better wording is no other fact, a missing one is.
SENTENCES = {
    "blunt_caution",
    "blunt_not_known_because",
    "fair_reason",
    "fair_because",
    "left_out_by_default_because",
    "energy_at_target_not_known_because",
}
# What an operation said then -> what it says now: nouns, actions, fields, and the words of choices.
NOUNS = {"pairing": "combination", "walk": "shooting_end", "picture": "photo"}
ACTIONS = {"strike": "void", "unstrike": "unvoid"}
FIELDS = {**NOUNS, "way_in": "entry", "look_behind": "rear_check", "half_energy": "fifty_percent_energy", "finger": "position_accuracy"}
CHOICES = {
    "hit": {"fair_target": "on_panel"},
    "arrow_did": {"stood_armour": "stuck_armour", "stood_backing": "stuck_backing"},
    "form": {"stout": "short_bodkin"},
    "next_shot_rule": {"narrow_the_half": "smallest_interval"},
}
# What a speed by sound was worked out from, as text within a field.
IN_INPUTS = {'"strike": ': '"hit": ', '"strike_s": ': '"hit_s": '}


def make_book(folder: Path) -> Path:
    """The book of form 0007 in a folder, with its photos beside it."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / BOOK_FILE
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(lzma.decompress((HERE / "book_of_form_0007.sql.xz").read_bytes()).decode())
    for name, content in _files().items():
        if name.endswith(".jpg"):
            to = folder / name
            to.parent.mkdir(parents=True, exist_ok=True)
            to.write_bytes(content)
    return path


def tables_then() -> dict[str, list[dict[str, str]]]:
    """Each CSV file of that version, its rows under today's names and in today's words."""
    return {name: [_today(row) for row in rows_of(content)] for name, content in _files().items() if name.endswith(".csv")}


def rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8"), newline="")))


def name_now(column: str) -> str:
    if column in RENAMED:
        return RENAMED[column]
    for old, new in BEGINNINGS.items():
        if column.startswith(old):
            return new + column.removeprefix(old)
    for old, new in ENDINGS.items():
        if column.endswith(old):
            return column.removesuffix(old) + new
    return column


def _today(row: dict[str, str]) -> dict[str, str]:
    return {name_now(column): _value_now(name_now(column), value) for column, value in row.items()}


def _value_now(column: str, value: str) -> str:
    if column.endswith("as_typed") and value.startswith("{"):
        return json.dumps(typed_now(json.loads(value)), ensure_ascii=False)
    return inputs_now(value) if column == "inputs" else REWORDED.get(column, {}).get(value, value)


def typed_now(said: dict[str, Any]) -> dict[str, Any]:
    """What was typed, by field, under today's names and with today's words of choices."""

    def value_now(name: str, value: str) -> str:
        return inputs_now(value) if name == "inputs" else CHOICES.get(name, {}).get(value, value)

    return {FIELDS.get(name, name): value_now(name, value) if isinstance(value, str) else value for name, value in said.items()}


def inputs_now(kept: str) -> str:
    for old, new in IN_INPUTS.items():
        kept = kept.replace(old, new)
    return kept


def _files() -> dict[str, bytes]:
    packed = lzma.decompress((HERE / "csv_of_form_0007.tar.xz").read_bytes())
    with tarfile.open(fileobj=io.BytesIO(packed)) as archive:
        return {one.name: taken.read() for one in archive if (taken := archive.extractfile(one)) is not None}
