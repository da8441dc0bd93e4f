"""Putting a backup in the place of the book. The file may come from anybody, so nothing in it is believed.

Before a row is read: is it a regular file of a bearable size, with nothing half written beside it? Is it laid out
exactly like an empty book of its form, with no trigger, view or index more? Is it whole? Only a copy that passed takes
the place of the book, and the book that was there is kept beside it.

No phone is let in by a restored book alone: a phone stays in if the book that was there knew it the same way.
"""

import os
import re
import shutil
import sqlite3  # the standard one, for a stranger’s file alone: it can set limits, and the file is no book yet
import stat
import tempfile
import time
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from proofyard import book_file
from proofyard.book_file import beside
from proofyard.exchange.backup import NotCopied, backup, rows_in
from proofyard.exchange.kept_photos import photos_at
from proofyard.exchange.packed_copy import MOST_BYTES, NotRestored, OpenedCopy, PhotoRow, is_packed, is_whole, open_packed, photo_rows
from proofyard.exchange.photo_files import surely_sync_folder
from proofyard.opening import all_forms, make_empty, newest_form
from proofyard.records.ids import new_id
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookBusy, BookFull, BookNewer, BookReadOnly, StorageTrouble, in_words

MOST_SECONDS = 300
SPARE_BYTES = 20_000_000
SPOKEN = ("trial", "session", "shot", "shot_reading", "speed_reading", "bow", "arrow", "head", "panel", "archer", "device")


@dataclass(frozen=True)
class Inside:
    """What a backup holds. Times are UTC milliseconds. photos, missing: that its book names, and that come with it or not."""

    form: str
    size: int
    counts: dict[str, int]
    book_id: str
    made_at: int
    changed_at: int | None
    demo: bool
    photos: int = 0
    missing: int = 0


@dataclass(frozen=True)
class Restored:
    """What was put in place, and where the book that was there before is now, if there was one."""

    inside: Inside
    aside: Path | None


def look_inside(file: Path) -> Inside:
    """What a backup holds, without writing anywhere but into a temporary folder.

    Refuses
        NotRestored  no such file, too big, half written, not a book, not whole, laid out otherwise than a book
        BookNewer    made by a newer program
    """
    _regular(file)
    if is_packed(file):
        with open_packed(file) as copy, tempfile.TemporaryDirectory(prefix="proofyard-") as folder:
            _room_for(copy.size, Path(folder))
            book = Path(folder) / BOOK_FILE
            copy.unpack_book(book)
            inside = _look_inside(book, file)
            rows = photo_rows_of(book, file)
            held = sum(copy.photo(row) is not None for row in rows)
            return replace(inside, size=file.stat().st_size, photos=held, missing=len(rows) - held)
    inside = _look_inside(file, file)
    return replace(inside, missing=len(photo_rows_of(file, file)))


def _look_inside(book: Path, file: Path) -> Inside:
    """`file`: what it is called in words; the book may have been unpacked from it."""
    try:
        # immutable: nothing beside the file is read, and nothing in it can be changed
        with closing(sqlite3.connect(f"{book.absolute().as_uri()}?mode=ro&immutable=1", uri=True, isolation_level=None)) as connection:
            return _examine(connection, file)
    except (sqlite3.Error, OverflowError, UnicodeError) as error:
        raise NotRestored(f"{file} is not a Proofyard book, or not whole. {_LEFT}") from error


_LEFT = "Nothing was changed."


def _regular(file: Path) -> None:
    try:
        found = file.stat()
    except OSError as error:
        raise NotRestored(f"{file} can’t be read ({error.strerror}). {_LEFT}") from error
    if not stat.S_ISREG(found.st_mode) or found.st_size == 0:
        raise NotRestored(f"{file} is not a file with a book in it. {_LEFT}")
    if found.st_size > MOST_BYTES:
        raise NotRestored(f"{file} has {found.st_size / 1e9:.1f} GB; at most {MOST_BYTES / 1e9:.0f} GB are taken. {_LEFT}")
    for other in beside(file)[:2]:
        if other.exists() and other.stat().st_size:
            raise NotRestored(
                f"{other.name} lies beside it, so the file is in use or half written. Make a backup of that book first: proofyard "
                f"backup. {_LEFT}"
            )


def _examine(connection: sqlite3.Connection, file: Path) -> Inside:
    until = time.monotonic() + MOST_SECONDS
    connection.set_progress_handler(lambda: time.monotonic() > until, 100_000)
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, 64_000_000)
    connection.setlimit(sqlite3.SQLITE_LIMIT_ATTACHED, 0)
    for line in ("trusted_schema=OFF", "cell_size_check=ON", "query_only=ON", "mmap_size=0"):
        connection.execute(f"PRAGMA {line}")
    form = _form(connection, file)
    _same_layout(connection, form, file)
    said = [row[0] for row in connection.execute("PRAGMA integrity_check(3)")]
    if said != ["ok"]:
        raise NotRestored(f"{file} is not whole: {str(said[0])[:200]}. {_LEFT}")
    if connection.execute("PRAGMA foreign_key_check").fetchone():
        raise NotRestored(f"{file} is not whole: some of its links lead nowhere. {_LEFT}")
    books = connection.execute("SELECT book_id, made_at, demo FROM book").fetchall()
    if len(books) != 1:
        raise NotRestored(f"{file} names {len(books)} books where there must be one. {_LEFT}")
    changed = connection.execute("SELECT max(at) FROM revision").fetchone()[0]
    book_id, made_at, demo = books[0]
    return Inside(form, file.stat().st_size, rows_in(connection), str(book_id), made_at, changed, bool(demo))


def _form(connection: sqlite3.Connection, file: Path) -> str:
    forms = [str(row[0]) for row in connection.execute("SELECT version_num FROM alembic_version LIMIT 2")]
    if len(forms) != 1 or not re.fullmatch(r"[0-9]{4}", forms[0], re.ASCII):
        raise NotRestored(f"{file} doesn’t say which form of the book it is in. {_LEFT}")
    if forms[0] not in all_forms():
        raise BookNewer(
            f"{file} was written by a newer Proofyard (form {forms[0]}, this program knows {newest_form()}). Install that one. {_LEFT}"
        )
    return forms[0]


def _same_layout(connection: sqlite3.Connection, form: str, file: Path) -> None:
    with tempfile.TemporaryDirectory(prefix="proofyard-") as folder:
        empty = Path(folder) / BOOK_FILE
        make_empty(empty, form)
        with closing(book_file.look(empty)) as fresh:
            expected = _layout(fresh)
    odd = _layout(connection) ^ expected
    if odd:
        # !r: a name out of the file must not steer the terminal
        what = ", ".join(sorted({f"{kind} {name[:40]!r}" for kind, name, *_ in odd})[:3])
        raise NotRestored(f"{file} is not laid out as a book of form {form} is ({what}). {_LEFT}")


def _layout(connection: sqlite3.Connection) -> set[tuple[str, str, str, str]]:
    """Every table, index, trigger and view, with the words that made it."""
    rows = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master")
    return {(str(kind), str(name), str(table), " ".join(str(sql).split())) for kind, name, table, sql in rows}


def restore(file: Path, folder: Path) -> Restored:
    """Put a backup in the place of a folder's book, and its photos beside it. The caller holds the folder (HeldFolder).

    Refuses
        NotRestored, BookNewer, BookFull, BookReadOnly, BookBusy  the present book is as it was
    """
    _regular(file)
    book = folder / BOOK_FILE
    if book.exists() and file.resolve() == book.resolve():
        raise NotRestored(f"{file} is the book itself. {_LEFT}")
    folder.mkdir(parents=True, exist_ok=True)
    there = book.stat().st_size if book.exists() else 0
    if is_packed(file):
        with open_packed(file) as copy:
            _room_for(copy.size + there, folder)
            return _put_in_place(file, folder, copy)
    _room_for(file.stat().st_size + there, folder)
    return _put_in_place(file, folder, None)


def _room_for(size: int, folder: Path) -> None:
    if shutil.disk_usage(folder).free < size + SPARE_BYTES:
        raise BookFull(
            f"There is not enough room on the disk for the backup and a copy of the present book. Make room, then try again. {_LEFT}"
        )


def _put_in_place(file: Path, folder: Path, copy: OpenedCopy | None) -> Restored:
    book = folder / BOOK_FILE
    handle, name = tempfile.mkstemp(prefix="restoring-", suffix=".part", dir=folder)
    os.close(handle)
    part = Path(name)
    try:
        # Examined after copying: the file that was looked at is the file that is put in place.
        copy.unpack_book(part) if copy else shutil.copyfile(file, part)
        inside = _look_inside(part, file)
        aside = _set_aside(book)
        _make_ours(part, aside)
        held, missing = _put_photos(photo_rows_of(part, file), folder, copy)
        inside = replace(inside, size=file.stat().st_size, photos=held, missing=missing)
        for left in beside(book):
            left.unlink(missing_ok=True)
        os.replace(part, book)
        surely_sync_folder(folder)
    except book_file.Error as error:
        raise in_words(error) or NotRestored(f"{file} could not be put in place. {_LEFT}") from error
    except OSError as error:
        raise in_words(error) or BookReadOnly(f"{folder} can’t be written ({error.strerror}). {_LEFT}") from error
    finally:
        for left in (part, *beside(part)):
            left.unlink(missing_ok=True)
    return Restored(inside, aside)


def photo_rows_of(book: Path, file: Path) -> list[PhotoRow]:
    try:
        return photo_rows(book, foreign=True)
    except (book_file.Error, OverflowError, UnicodeError) as error:
        raise NotRestored(f"{file} is not a Proofyard book, or not whole. {_LEFT}") from error


def _put_photos(rows: list[PhotoRow], folder: Path, copy: OpenedCopy | None) -> tuple[int, int]:
    """Each photo of the backup beside the book; how many there are, and how many nobody has.

    A file that is there already and is another photo is kept under another name: nothing is written over.
    """
    here, held = photos_at(folder), 0
    for row in rows:
        if is_whole(here.read(row.id), row):
            held += 1
            continue
        content = copy.photo(row) if copy else None
        if content is None:
            continue
        here.set_aside(row.id)
        here.write(row.id, content)
        held += 1
    return held, len(rows) - held


def _set_aside(book: Path) -> Path | None:
    """A copy of the present book; byte by byte if it is too damaged for a backup."""
    if not book.exists() or book.stat().st_size == 0:
        return None
    aside = book.with_name(f"{book.stem}-before-restore-{time.strftime('%Y%m%d-%H%M%S')}.db")
    try:
        backup(book, aside)
    except (BookFull, BookBusy, BookReadOnly, NotCopied):
        raise
    except StorageTrouble:
        for one, other in zip((book, *beside(book)), (aside, *beside(aside)), strict=True):
            if one.exists():
                shutil.copyfile(one, other)
    return aside


def _make_ours(part: Path, aside: Path | None) -> None:
    """A new epoch, so that phones offer again what this book may lack; no seat that the book before didn't give; and nothing that somebody
    else's program has worked out."""
    known = _seats(aside) if aside else set()
    with closing(book_file.connect(part)) as connection:
        connection.execute("PRAGMA trusted_schema=OFF")
        connection.execute("PRAGMA synchronous=EXTRA")
        connection.execute("PRAGMA journal_mode=DELETE")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("UPDATE book SET epoch = ?", (new_id(),))
        for (table,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name LIKE 'cache^_%' ESCAPE '^'"
        ).fetchall():
            connection.execute(f'DELETE FROM "{table}"')
        seats = connection.execute(_SEATS).fetchall()
        for seat in seats:
            if seat not in known:
                connection.execute("UPDATE device SET session_hash = NULL WHERE id = ?", (seat[0],))
        connection.execute("COMMIT")


_SEATS = "SELECT id, role, session_hash, trial_id, expires_at FROM device WHERE session_hash IS NOT NULL"


def _seats(book: Path) -> set[tuple[object, ...]]:
    try:
        with closing(book_file.as_it_lies(book)) as connection:
            return set(connection.execute(_SEATS).fetchall())
    except book_file.Error:
        return set()  # a damaged or older book vouches for nobody
