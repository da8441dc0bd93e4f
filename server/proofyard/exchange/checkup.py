"""How the book stands on this machine: what `check` prints and the health page shows.

It only looks: it opens the book's file to read, and writes nothing into it.
"""

import os
import shutil
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path

from proofyard import book_file
from proofyard.exchange.checkup_there import checkup_there
from proofyard.exchange.finding import OLD_BACKUP_S, Finding, size_in_words
from proofyard.exchange.kept_photos import photos_at
from proofyard.exchange.other_books.shelf import damaged, other_books, shelf_of
from proofyard.exchange.packed_copy import PhotoRow, is_whole, photo_rows
from proofyard.exchange.photo_files import PhotoFolder
from proofyard.opening import all_forms, form_of, is_emptied, newest_form
from proofyard.settings import BOOK_FILE, database
from proofyard.storage import StorageTrouble, durability_here, in_words

LITTLE_ROOM = 500_000_000  # bytes; a season's book with photos takes less
NO_ROOM = 50_000_000
COPIES = ("backups/*.db", "*-before-upgrade-*.db", "backups/*.zip")


def checkup(
    folder: Path,
    *,
    thorough: bool = False,
    also_to: Path | None = None,
    trouble: str = "",
    address: str | None = None,
    photos: str | None = None,
) -> list[Finding]:
    """Look at a book's folder. `thorough` reads the whole file and every photo, which takes a while for a big book.

    also_to  the second folder for copies, if there is one
    trouble  what went wrong with the last automatic copy, if anything did
    address  of the database that keeps it; None: as PROOFYARD_DATABASE says
    photos   the store that keeps its photos; None: as PROOFYARD_PHOTOS says, or the folder where an address is given
    """
    at = photos if photos is not None or address is None else ""
    book, address = folder / BOOK_FILE, database() if address is None else address
    findings = [_program(), *([] if address else [_durability()]), _folder(folder)]
    if address:
        there, named = checkup_there(folder, address)
        findings += there
        rows = [PhotoRow(*one) for one in named]
    else:
        findings += _file(book, thorough=thorough)
        rows = _photos_of(book)
    findings += [*_photos(folder, at, rows, thorough=thorough), *_other_books(folder, thorough=thorough), _room(folder)]
    findings += [] if address else [_backup(folder, trouble)]
    if also_to is not None:
        findings.append(_second_folder(also_to))
    return findings


def last_copy(folder: Path) -> Path | None:
    """The newest backup or safe copy in the book's folder."""
    found = [path for pattern in COPIES for path in folder.glob(pattern) if path.is_file()]
    return max(found, key=lambda path: path.stat().st_mtime, default=None)


def _program() -> Finding:
    return Finding("Program", f"Python {'.'.join(map(str, sys.version_info[:3]))}, SQLite {book_file.VERSION}")


def _durability() -> Finding:
    mode = durability_here()
    return Finding("How a save reaches the disk", f"journal {mode.journal}, synchronous {mode.synchronous}: {mode.why}")


def _folder(folder: Path) -> Finding:
    if not folder.is_dir():
        return Finding("Folder", str(folder), "wrong", "There is no such folder yet. It is made when you start the server.")
    if not os.access(folder, os.W_OK):
        return Finding("Folder", str(folder), "wrong", "It can’t be written. Change its rights, or choose another with --data.")
    return Finding("Folder", str(folder))


def _file(book: Path, *, thorough: bool) -> Iterator[Finding]:
    if is_emptied(book):
        yield Finding(
            "Book",
            "empty (0 bytes), though copies or photos of a book lie beside it",
            "wrong",
            "Restore the newest copy: proofyard restore FILE --yes.",
        )
        return
    if not book.exists() or book.stat().st_size == 0:
        yield Finding("Book", "none yet", "look", "It is made when you start the server.")
        return
    try:
        form, newest = form_of(book), newest_form()
        if form is not None and form not in all_forms():
            yield Finding(
                "Book", f"form {form}; this program knows {newest}", "wrong", "Install the newer program. The book is left as it is."
            )
            return
        older = "; brought up to date at the next start, after a safe copy" if form != newest else ""
        yield Finding("Book", f"{size_in_words(book.stat().st_size)}, form {form}{older}")
        yield _whole(book, thorough=thorough)
    except (StorageTrouble, book_file.Error) as error:
        told = error if isinstance(error, StorageTrouble) else in_words(error)
        yield Finding("Book", str(told or "its file can’t be read"), "wrong", "Keep a copy of the folder, then restore the last backup.")


def _whole(book: Path, *, thorough: bool) -> Finding:
    check = "integrity_check" if thorough else "quick_check"
    began = time.monotonic()
    with closing(book_file.look(book)) as connection:
        said = [row[0] for row in connection.execute(f"PRAGMA {check}(5)")]
        links = len(connection.execute("PRAGMA foreign_key_check").fetchall()) if thorough else 0
    took = f"looked through in {time.monotonic() - began:.1f} s"
    if said != ["ok"] or links:
        faults = f"{links} links lead nowhere" if said == ["ok"] else "; ".join(said)[:200]
        return Finding("Is the file complete?", f"no: {faults}", "wrong", "Stop, keep a copy of the folder, then restore the last backup.")
    return Finding("Is the file complete?", f"yes, {took}")


def _room(folder: Path) -> Finding:
    there = next(one for one in (folder, *folder.absolute().parents) if one.exists())
    free = shutil.disk_usage(there).free
    if free < NO_ROOM:
        return Finding("Room on the disk", size_in_words(free), "wrong", "Make room now: a save that does not fit is refused.")
    if free < LITTLE_ROOM:
        return Finding("Room on the disk", size_in_words(free), "look", "Make room before the next day at the range.")
    return Finding("Room on the disk", size_in_words(free))


def _photos_of(book: Path) -> list[PhotoRow]:
    if not book.exists() or book.stat().st_size == 0:
        return []
    try:
        return photo_rows(book)
    except book_file.Error:
        return []  # the book's own line tells of it


def _photos(folder: Path, at: str | None, rows: Sequence[PhotoRow], *, thorough: bool) -> Iterator[Finding]:
    try:
        here = photos_at(folder, at)
        if not rows and isinstance(here, PhotoFolder):
            return
        gone = set(here.lacking([row.id for row in rows]))  # of a store it asks also where no photo is named: is it there?
        lost = len(gone) + (sum(row.id not in gone and not is_whole(here.read(row.id), row) for row in rows) if thorough else 0)
    except StorageTrouble as trouble:
        yield Finding("Photos", str(trouble), "wrong", "Until then no photo is shown, and phones keep those that they take.")
        return
    place = "" if isinstance(here, PhotoFolder) else f" in {here.called}"
    found = f"{len(rows)}, {size_in_words(sum(row.size for row in rows))}{place}"
    if lost:
        yield Finding(
            "Photos",
            f"{found}; {lost} missing or damaged",
            "wrong",
            "Restore a copy that has them, or open Range on the phones that took them.",
        )
    else:
        yield Finding("Photos", found)


def _other_books(folder: Path, *, thorough: bool) -> Iterator[Finding]:
    """Other groups' books are no part of this one: their packages are their copies."""
    try:
        here, lost = other_books(folder), damaged(folder)
        if thorough:
            lost += [one.id for one in here if not _reads_whole(shelf_of(folder) / one.id / BOOK_FILE)]
    except OSError as error:
        yield Finding("Other books", f"their folder can’t be read ({error.strerror})", "wrong", "Look at the folder’s rights.")
        return
    if lost:
        places = ", ".join(str(shelf_of(folder) / one) for one in lost)
        yield Finding("Other books", f"{len(lost)} damaged", "wrong", f"Delete {places} and bring the package in again.")
    elif here:
        yield Finding("Other books", f"{len(here)}; in no backup of this book, so keep their packages")


def _reads_whole(book: Path) -> bool:
    try:
        return _whole(book, thorough=True).verdict == "good"
    except book_file.Error:
        return False


def _second_folder(folder: Path) -> Finding:
    found = [path for path in folder.glob("copy-*.zip") if path.is_file()] if folder.is_dir() else []
    newest = max(found, key=lambda path: path.stat().st_mtime, default=None)
    if newest is None:
        return Finding(
            "Second folder for copies", f"{folder}: none yet", "look", "Is its disk plugged in? The next copy is tried at the next change."
        )
    return Finding("Second folder for copies", f"{newest}, {_when(newest)}")


def _when(path: Path) -> str:
    return time.strftime("%d %B %Y, %H:%M", time.localtime(path.stat().st_mtime))


def _backup(folder: Path, trouble: str = "") -> Finding:
    copy = last_copy(folder) if folder.is_dir() else None
    if trouble:
        return Finding("Last backup", copy.name if copy else "none", "wrong", f"The last automatic copy could not be made: {trouble}")
    if copy is None:
        return Finding("Last backup", "none found in the folder", "look", "Make one, and keep it on another disk than this.")
    age_s = time.time() - copy.stat().st_mtime
    found = f"{copy.name}, {_when(copy)}"
    if age_s > OLD_BACKUP_S:
        return Finding("Last backup", found, "look", "It is more than a week old. Make another, and keep it on another disk than this.")
    return Finding("Last backup", found)
