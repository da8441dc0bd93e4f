"""Other groups' books where they lie: each a folder with a book's file and photos of its own, beside one's own book.

other-books/<the id that its packages give it>/
    proofyard.db, photos/   the book as its package says it stood, only ever read
    brought-in.json         whose it is, and what its package says of itself
"""

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

from proofyard.opening import HeldFolder, bring_up_to_date, form_of, newest_form
from proofyard.records.ids import is_id
from proofyard.settings import BOOK_FILE
from proofyard.storage import BookReadOnly, Storage

OTHER_BOOKS = "other-books"
ABOUT = "brought-in.json"
_ON_THE_WAY = ".coming-"
_BEFORE = "before"  # in it: the book whose place is being taken
_ON_ITS_WAY_OUT = ".going-"


@dataclass(frozen=True, kw_only=True)
class OtherBook:
    """What is known of one without opening it.

    whose, citation  as they were typed here
    stood_at         when its state last changed, as its package says it in UTC; "" for a book without records
    brought_in_at    UTC milliseconds
    one_trial        the package held one trial with the kit that it used, not the whole book
    """

    id: str
    whose: str
    citation: str
    licence: str
    state: str
    stood_at: str
    brought_in_at: int
    one_trial: bool
    demo: bool
    trials: int
    shots: int


def shelf_of(folder: Path) -> Path:
    """Where the other books of a data folder lie."""
    return folder / OTHER_BOOKS


def other_books(folder: Path) -> list[OtherBook]:
    """All that were brought in, by whose they are; those that can't be read are in `damaged`."""
    found = [one for at in _folders(folder) if (one := _about(at)) is not None]
    return sorted(found, key=lambda one: (one.whose.casefold(), one.id))


def damaged(folder: Path) -> list[str]:
    """Names of folders that hold no other book that can be told."""
    return [at.name for at in _folders(folder) if _about(at) is None]


def the_other_book(folder: Path, book_id: str) -> OtherBook | None:
    return _about(shelf_of(folder) / book_id) if is_id(book_id) else None


@contextmanager
def opened(folder: Path, one: OtherBook) -> Iterator[Storage]:
    """One of them, to read. An older form is brought up to date first.

    Refuses
        StorageTrouble  it can't be read
    """
    at = shelf_of(folder) / one.id
    if form_of(at / BOOK_FILE) != newest_form():
        with HeldFolder(at):
            bring_up_to_date(at / BOOK_FILE)
    with closing(Storage(at / BOOK_FILE, writes=False)) as book:
        yield book


@contextmanager
def place_for_new(folder: Path) -> Iterator[Path]:
    """A folder beside the others in which one is made; whatever is left in it at the end is thrown away."""
    shelf_of(folder).mkdir(parents=True, exist_ok=True, mode=0o700)
    with tempfile.TemporaryDirectory(prefix=_ON_THE_WAY, dir=shelf_of(folder), ignore_cleanup_errors=True) as work:
        yield Path(work)


def put(folder: Path, made: Path, one: OtherBook) -> None:
    """Give a whole new book its place, in that of the one before it. Until the last step the one before stands."""
    (made / ABOUT).write_text(json.dumps(asdict(one), ensure_ascii=False, indent=1), encoding="utf-8")
    at = shelf_of(folder) / one.id
    with place_for_new(folder) as work:
        before = work / _BEFORE
        if at.exists():
            os.replace(at, before)
        try:
            os.replace(made, at)
        except OSError:
            if before.exists():
                os.replace(before, at)
            raise


def clear_half_made(folder: Path) -> None:
    """Take away what a process left that was killed on its way; a book that it had moved aside stands again."""
    for left in shelf_of(folder).glob(f"{_ON_THE_WAY}*"):
        before = left / _BEFORE
        if (about := _read(before / ABOUT)) and not (shelf_of(folder) / about.id).exists():
            os.replace(before, shelf_of(folder) / about.id)
        shutil.rmtree(left, ignore_errors=True)


def remove(folder: Path, one: OtherBook) -> None:
    """Take one away with its photos.

    Refuses
        BookReadOnly  the system doesn't let it go
    """
    gone = shelf_of(folder) / f"{_ON_ITS_WAY_OUT}{one.id}"
    try:
        shutil.rmtree(gone, ignore_errors=True)
        os.replace(shelf_of(folder) / one.id, gone)
    except OSError as error:
        raise BookReadOnly(f"This book can’t be removed now ({error.strerror}). Close what reads it, then try again.") from error
    shutil.rmtree(gone, ignore_errors=True)


def _folders(folder: Path) -> list[Path]:
    at = shelf_of(folder)
    return sorted(one for one in at.iterdir() if is_id(one.name)) if at.is_dir() else []


def _about(at: Path) -> OtherBook | None:
    found = _read(at / ABOUT)
    return found if found is not None and found.id == at.name and (at / BOOK_FILE).is_file() else None


def _read(about: Path) -> OtherBook | None:
    try:
        return OtherBook(**json.loads(about.read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None
