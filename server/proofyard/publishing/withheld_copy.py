"""A copy of the whole book in which names are replaced before any page is made of it.

All rows stay: a copy cut down to one trial would change findings, since speeds of every trial are pooled. What goes is what pages do
not need: operations, what two phones said differently, what a correction changed, phones' names and secrets. Ids are given again
in their order, for an id tells to the millisecond when a record was typed.
"""

import json
import re
from collections.abc import Callable, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlmodel import SQLModel

from proofyard import book_file
from proofyard.exchange.kept_photos import Photos, photos_at
from proofyard.exchange.photo_files import PhotoFolder
from proofyard.publishing.choices import WITHHELD, Choices, Replaced
from proofyard.publishing.notes import is_note
from proofyard.records.columns import Meaning, meanings
from proofyard.records.nouns import TABLES
from proofyard.records.packed import pack
from proofyard.settings import BOOK_FILE

ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
OF_AN_OPERATION = ("op_id", "device_seq", "base_rev", "t_device", "clock_offset_ms", "clock_error_ms", "status", "asked")
TOLD = ("words", "lines")  # the kinds of columns in which people write what they like


def copy_withheld(book: Path, folder: Path, *, choices: Choices, replaced: Replaced, photos: Photos | None = None) -> Path:
    """A new book in an empty folder, with its photos; the path of the book.

    photos  the book's own; None: those in the folder of its file

    Refuses
        book_file.Error, OSError  the book can't be read or the folder not written; the caller puts that into words
    """
    to = folder / BOOK_FILE
    with closing(book_file.look(book)) as source, closing(book_file.make(to)) as copy:
        source.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")
        copy.execute("PRAGMA foreign_keys=OFF")
        copy.execute("BEGIN")
        _drop_what_no_page_needs(copy)
        _keep_photos(copy, choices)
        numbered = _with_new_ids(copy)
        _rewrite(copy, numbered, _in_other_words(replaced), notes=choices.notes)
        copy.execute("COMMIT")
        copy.execute("VACUUM")
    _bring_photos(photos or photos_at(book.parent, ""), PhotoFolder(folder), numbered)
    return to


def _drop_what_no_page_needs(copy: Any) -> None:
    copy.execute("DELETE FROM cache_shot")
    copy.execute("DELETE FROM cache_state")
    copy.execute("DELETE FROM cache_fit")
    copy.execute("DELETE FROM phone_word")
    copy.execute("DELETE FROM clash")
    emptied = ", ".join(f"{one} = NULL" for one in OF_AN_OPERATION)
    copy.execute(f"UPDATE revision SET changes = ?, {emptied}", (pack("{}"),))
    copy.execute("UPDATE revision SET reason = NULL WHERE reason IS NOT NULL AND action != 'void'")
    copy.execute(
        "UPDATE device SET call_name = coalesce('Phone ' || letter, 'A phone'), role = 'out', words = NULL, session_hash = NULL, "
        "agent = '', trial_id = NULL, expires_at = NULL, heard_at = NULL, removed_at = NULL, removed_why = NULL, kind = 'phone'"
    )
    copy.execute("UPDATE book SET address = NULL")
    copy.execute("UPDATE photo SET sent_sha256 = sha256")


def _keep_photos(copy: Any, choices: Choices) -> None:
    if choices.photos is None:
        return
    for (photo,) in copy.execute("SELECT id FROM photo").fetchall():
        if photo not in choices.photos:
            copy.execute("DELETE FROM photo WHERE id = ?", (photo,))
            copy.execute("UPDATE panel_face SET photo_id = NULL WHERE photo_id = ?", (photo,))


def _with_new_ids(copy: Any) -> Mapping[str, str]:
    """Old id -> new id; in the same order, since lists and ties stand in the order of ids."""
    found: set[str] = set()
    for table in (*TABLES, "device"):
        found.update(row[0] for row in copy.execute(f'SELECT id FROM "{table}"'))
    return {old: f"{n:08x}-0000-8000-8000-000000000000" for n, old in enumerate(sorted(found), 1)}


def _rewrite(copy: Any, numbered: Mapping[str, str], say: Callable[[str], str], *, notes: bool) -> None:
    """Every text of every table: new ids, and in what people wrote the words replaced."""
    for table in [row[0] for row in copy.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'")]:
        told = _told_columns(TABLES[table]) if table in TABLES else {}
        columns = [row[1] for row in copy.execute(f'PRAGMA table_info("{table}")') if row[2].upper() == "TEXT"]
        if table == "alembic_version" or not columns:
            continue
        names = ", ".join(f'"{name}"' for name in columns)
        for rowid, *values in copy.execute(f'SELECT rowid, {names} FROM "{table}"').fetchall():
            after = [_told(name, value, told, numbered, say, notes=notes) for name, value in zip(columns, values, strict=True)]
            if after != values:
                settings = ", ".join(f'"{name}" = ?' for name in columns)
                copy.execute(f'UPDATE "{table}" SET {settings} WHERE rowid = ?', (*after, rowid))


def _told_columns(table: type[SQLModel]) -> dict[str, tuple[str, Meaning]]:
    """Column -> (field, meaning), of those in which people write."""
    return {column: (name, meaning) for name, (column, meaning) in meanings(table).items() if meaning.value in TOLD}


def _told(
    name: str,
    value: str | None,
    told: Mapping[str, tuple[str, Meaning]],
    numbered: Mapping[str, str],
    say: Callable[[str], str],
    *,
    notes: bool,
) -> str | None:
    if value is None:
        return None
    if name == "typed":
        return _typed(value, dict(told.values()), numbered, say, notes=notes)
    if name in told:
        meaning = told[name][1]
        if is_note(name, meaning) and not notes:
            return WITHHELD if meaning.required else None
        return say(value)
    if name == "reason":
        return say(value) if notes else WITHHELD
    return ID.sub(lambda found: numbered.get(found[0], found[0]), value)


def _typed(value: str, told: Mapping[str, Meaning], numbered: Mapping[str, str], say: Callable[[str], str], *, notes: bool) -> str:
    kept: dict[str, Any] = {}
    for field, text in json.loads(value).items():
        meaning = told.get(field)
        if meaning is None:
            kept[field] = ID.sub(lambda found: numbered.get(found[0], found[0]), text) if isinstance(text, str) else text
        elif notes or not is_note(field, meaning):
            kept[field] = say(text) if isinstance(text, str) else text
    return json.dumps(kept, ensure_ascii=False)


def _in_other_words(replaced: Replaced) -> Callable[[str], str]:
    """Replaces each word where it stands as a whole word, in whatever case; the longest first."""
    words = replaced.withheld
    if not words:
        return lambda text: text
    other = {word.casefold(): replaced.words[word] for word in words}
    wanted = re.compile(r"(?<!\w)(?:" + "|".join(re.escape(word) for word in words) + r")(?!\w)", re.IGNORECASE)
    return lambda text: wanted.sub(lambda found: other.get(found[0].casefold(), WITHHELD), text)


def _bring_photos(source: Photos, to: PhotoFolder, numbered: Mapping[str, str]) -> None:
    for old, form in source.files():
        if old in numbered:
            content = source.read(old, form)
            if content is not None:
                to.write(numbered[old], content, form)
