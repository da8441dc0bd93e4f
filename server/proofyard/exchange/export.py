"""The book as files in a folder or a zip file, with the list of columns; also while a server has it open."""

import os
import zipfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path

from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.fetched import fetch
from proofyard.exchange.file_forms import in_form, name_in_form
from proofyard.opening import all_forms, form_of_the_book, newest_form, the_book
from proofyard.settings import BOOK_FILE
from proofyard.storage import StorageTrouble

Write = Callable[[str, bytes], object]


class NotExported(StorageTrouble):
    """Why no file was written."""


def export(folder: Path, to: Path, *, form: str = "analysis") -> dict[str, int]:
    """Write every file that the Download page offers, in one of `FILE_FORMS`, as the owner gets them there; name -> rows.

    Refuses
        NotInThisForm   too many rows for a workbook
        NotExported     no book, a book in another form than this program's, or something of that name there already
        StorageTrouble  the book can't be read
    """
    book = folder / BOOK_FILE
    readable(book)
    with closing(the_book(folder)) as storage:
        fetched = fetch(storage)
    rows: dict[str, int] = {}
    with _zip(to) if to.suffix.lower() == ".zip" else _folder(to, [name_in_form(name, form) for name in FILES]) as write:
        for name, offered in FILES.items():
            table = offered.make(fetched)
            write(name_in_form(name, form), b"".join(in_form(table, form)))
            rows[name_in_form(name, form)] = len(table.rows)
    return rows


def readable(book: Path) -> None:
    """Refuse a book that is not there, or is of another form than this program reads. `book`: its file, or where that would be."""
    was = form_of_the_book(book.parent)
    if was is None:
        raise NotExported(f"There is no book in {book.parent} yet, so there is nothing to export.")
    if was != newest_form():
        older = (
            "Start the server once: it makes a safe copy and brings the book up to date."
            if was in all_forms()
            else "Install the newer program."
        )
        raise NotExported(f"The book is in form {was}, this program reads form {newest_form()}. {older}")


@contextmanager
def _folder(to: Path, names: Sequence[str]) -> Iterator[Write]:
    there = [name for name in names if (to / name).exists()]
    if there:
        raise NotExported(f"{to} has a {there[0]} already, and an export never writes over anything. Choose a new folder.")
    try:
        to.mkdir(parents=True, exist_ok=True)
        yield lambda name, content: (to / name).write_bytes(content)
    except OSError as error:
        raise NotExported(f"{to} can’t be written ({error.strerror}). Choose another place.") from error


@contextmanager
def _zip(to: Path) -> Iterator[Write]:
    if to.exists():
        raise NotExported(f"{to} exists already, and an export never writes over anything. Choose another name.")
    part = to.with_name(to.name + ".part")
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
            yield archive.writestr
        os.replace(part, to)
    except OSError as error:
        raise NotExported(f"{to} can’t be written ({error.strerror}). Choose another place.") from error
    finally:
        part.unlink(missing_ok=True)
