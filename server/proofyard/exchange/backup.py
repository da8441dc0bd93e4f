"""A safe copy of the book, taken while a server may be saving, and looked through before it is called one.

SQLite's online backup holds one reading lock while it copies, so the copy is the book as it was at one moment. Copying
the file by hand instead can catch it half written.
"""

import os
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from proofyard import book_file
from proofyard.book_file import beside
from proofyard.storage import WAIT_FOR_LOCK_MS, BookDamaged, StorageTrouble, in_words

BACKUPS = "backups"


class NotCopied(StorageTrouble):
    """Why there is no copy."""


@dataclass(frozen=True)
class Copied:
    """Where the copy is, how big, and how many rows each table has."""

    file: Path
    size: int
    counts: dict[str, int]


def backup_name(folder: Path, asked: Path | None = None) -> Path:
    """Where a backup of a folder's book goes: where it was asked for, in a folder that was asked for under today's date and time,
    or, if nobody says anything, beside the book."""
    if asked is not None and not asked.is_dir():
        return asked
    return (asked or folder / BACKUPS) / f"proofyard-{time.strftime('%Y%m%d-%H%M%S')}.zip"


def backup(book: Path, to: Path) -> Copied:
    """Copy a book into a new file.

    Refuses
        NotCopied       there is no book, the file exists already, or its folder can't be written
        StorageTrouble  the book can't be read, or the disk is full; no half copy is left
    """
    refuse_nothing(book)
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(to, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))  # the name is ours from here on
    except FileExistsError as error:
        raise NotCopied(f"{to} exists already, and a backup never writes over anything. Choose another name.") from error
    except OSError as error:
        raise NotCopied(f"{to} can’t be written ({error.strerror}). Choose another place.") from error
    try:
        counts = _copy(book, to)
    except book_file.Error as error:
        _remove(to)
        raise in_words(error) or NotCopied(f"The copy could not be made: {book} can’t be read.") from error
    except BaseException:
        _remove(to)
        raise
    return Copied(to, to.stat().st_size, counts)


def refuse_nothing(book: Path) -> None:
    if not book.exists() or book.stat().st_size == 0:
        raise NotCopied(f"There is no book in {book.parent} yet, so there is nothing to copy.")


def _copy(book: Path, to: Path) -> dict[str, int]:
    with closing(book_file.look(book, wait_s=WAIT_FOR_LOCK_MS / 1000)) as source, closing(book_file.make(to)) as copy:
        source.execute("BEGIN")
        counts = rows_in(source)  # the first read: the copy is of this moment
        source.backup(copy)
        source.execute("COMMIT")
        copy.execute("PRAGMA trusted_schema=OFF")
        copy.execute("PRAGMA synchronous=EXTRA")
        copy.execute("PRAGMA journal_mode=DELETE")  # one file, with nothing beside it that could be left behind
        said = copy.execute("PRAGMA integrity_check(1)").fetchone()[0]
        if said != "ok":
            raise BookDamaged(
                f"The book is not whole ({said}), so this is no backup. Stop, keep a copy of the folder, and restore the last backup."
            )
        if rows_in(copy) != counts:
            raise NotCopied("The copy has other rows than the book, so it was thrown away. Try again.")
    with open(to, "rb") as file:
        os.fsync(file.fileno())
    return counts


def rows_in(connection: book_file.Connection) -> dict[str, int]:
    """Table -> how many rows it has."""
    names = [
        row[0]
        for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name")
    ]
    return {name: connection.execute('SELECT count(*) FROM "' + name.replace('"', '""') + '"').fetchone()[0] for name in names}


def _remove(file: Path) -> None:
    for path in (file, *beside(file)):
        path.unlink(missing_ok=True)
