"""Opening the book: one server at a time, a safe copy before an upgrade, no book newer than the program."""

import os
import re
import time
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import IO

from sqlalchemy import exc

from proofyard import book_file
from proofyard.settings import BOOK_FILE, data_folder, database, photos_setting
from proofyard.storage import BookBusy, BookDamaged, BookNewer, BookReadOnly, StateThere, Storage, in_words

LOCK_FILE = "proofyard.lock"
MOST_GIVEN_BACK = 300_000_000  # bytes of a book that is written anew
# What only a book that was written to leaves beside it.
TRACES = ("backups/*", "photos/*/*", "pictures/[0-9a-f][0-9a-f]/*.jpg", "*-before-*.db", "proofyard-*.zip", "proofyard-*.db")


@dataclass(frozen=True)
class Opened:
    """What was found and done: the form before, the form now, and the safe copy that was made, if one was."""

    was: str | None
    now: str
    copy: Path | None


class HeldFolder:
    """A book's folder, held so that no second server opens it. The system lets go if this program dies."""

    def __init__(self, folder: Path) -> None:
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            self._file: IO[str] = open(folder / LOCK_FILE, "a+", encoding="utf-8")  # noqa: SIM115 - held till close
        except OSError as error:
            raise BookReadOnly(f"The folder {folder} can’t be written ({error.strerror}). Choose one with --data.") from error
        try:
            _lock(self._file)
        except OSError as error:
            self._file.seek(0)
            who = self._file.read().strip() or "another program"
            self._file.close()
            raise BookBusy(
                f"The book in {folder} is open already, by {who}. Stop that one first, or use --data with another folder."
            ) from error
        self._file.truncate(0)
        self._file.write(f"process {os.getpid()}, since {time.strftime('%H:%M on %d %B %Y')}")
        self._file.flush()

    def __enter__(self) -> "HeldFolder":
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.let_go()

    def let_go(self) -> None:
        self._file.close()


def _lock(file: IO[str]) -> None:
    if os.name == "nt":
        import msvcrt

        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)


def all_forms() -> tuple[str, ...]:
    """Every form that this program knows, in the order in which a book goes through them.

    By what each migration says that it follows: two that were written side by side may have come in the other order of their numbers.
    """
    texts = [path.read_text(encoding="utf-8") for path in (data_folder("migrations") / "versions").glob("[0-9]*.py")]
    found = [_STEP.search(text) or _STEP_IN_ONE_LINE.search(text) for text in texts]
    follows = {one[2]: one[1] for one in found if one}
    forms, at = [], follows.get(None)
    while at is not None:
        forms.append(at)
        at = follows.get(at)
    return tuple(forms)


_STEP = re.compile(r'^revision = "(\w+)"\s+down_revision = (?:"(\w+)"|None)', re.MULTILINE)
_STEP_IN_ONE_LINE = re.compile(r'^revision, down_revision, [\w, ]+ = "(\w+)", (?:"(\w+)"|None)', re.MULTILINE)


def newest_form() -> str:
    """The form that this program brings a book to."""
    return all_forms()[-1]


def form_of(path: Path) -> str | None:
    """The number of the form that a book's file is in; None for a file that is not there or empty."""
    if not path.exists() or path.stat().st_size == 0:
        return None
    try:
        with closing(book_file.look(path)) as connection:
            row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except book_file.Error as error:
        trouble = in_words(error, act="start")
        if isinstance(trouble, (BookBusy, BookReadOnly)):
            raise trouble from error
        raise BookDamaged(f"{path} is not a Proofyard book, or not whole. It was left as it is.") from error
    return str(row[0]) if row else None


def bring_up_to_date(path: Path) -> Opened:
    """Make the book, or bring an older one to today's form after a safe copy.

    Refuses
        BookNewer, BookDamaged, BookBusy, BookReadOnly  the file is left as it was
    """
    was, newest = form_of(path), newest_form()
    if was == newest:
        return Opened(was, newest, None)
    if was is not None and was not in all_forms():
        raise BookNewer(
            f"This book was written by a newer Proofyard (form {was}, this program knows {newest}). "
            "Install the newer program; the book was left as it is."
        )
    try:
        copy = _safe_copy(path, was) if was else None
        _migrate(path)
        _give_back(path)
    except (book_file.Error, exc.SQLAlchemyError) as error:
        trouble = in_words(error, act="start")
        if trouble:
            raise trouble from error
        raise
    return Opened(was, newest, copy)


def make_empty(path: Path, form: str) -> None:
    """A new book in a form that this program knows, with no row in it: what another file is compared with."""
    _migrate(path, form)


def _safe_copy(path: Path, was: str) -> Path:
    copy = path.with_name(f"{path.stem}-before-upgrade-from-{was}-{time.strftime('%Y%m%d-%H%M%S')}.db")
    try:
        with closing(book_file.connect(path)) as connection:
            connection.execute("VACUUM INTO ?", (str(copy),))
    except book_file.Error:
        copy.unlink(missing_ok=True)
        raise
    with closing(book_file.connect(copy)) as connection:
        if connection.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
            raise BookDamaged(f"The safe copy {copy.name} is not whole, so nothing was upgraded. Restore a backup.")
    return copy


def _give_back(path: Path) -> None:
    """Room that an upgrade left empty within the file goes back to the disk, where it is much. The book is whole without it.

    A big book is left alone and fills the room later: SQLite makes the new file in memory first.
    """
    with suppress(book_file.Error), closing(book_file.connect(path)) as connection:
        free, pages, size = (connection.execute(f"PRAGMA {one}").fetchone()[0] for one in ("freelist_count", "page_count", "page_size"))
        if free > pages / 5 and (pages - free) * size < MOST_GIVEN_BACK:
            connection.execute("VACUUM")


def _migrate(path: Path, form: str = "head") -> None:
    # Alembic takes a fifth of a second to load, so only an upgrade pays for it.
    from alembic import command
    from alembic.config import Config
    from sqlalchemy import create_engine, event
    from sqlalchemy.pool import NullPool

    engine = create_engine(f"sqlite:///{path}", module=book_file.library, poolclass=NullPool)

    @event.listens_for(engine, "connect")
    def _on_connect(connection: book_file.Connection, _record: object) -> None:
        connection.isolation_level = None
        connection.execute("PRAGMA foreign_keys=OFF")  # a table is rebuilt by dropping it; this has no effect later
        connection.execute("PRAGMA synchronous=EXTRA")

    @event.listens_for(engine, "begin")
    def _on_begin(connection: object) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    config = Config()
    config.set_main_option("script_location", str(data_folder("migrations")).replace("%", "%%"))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, form)
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise BookDamaged(f"{len(broken)} links in the book lead nowhere, so nothing was upgraded.")


def is_emptied(book: Path) -> bool:
    """Whether a book's file has 0 bytes though something beside it tells that it once held more."""
    if not book.exists() or book.stat().st_size:
        return False
    beside = [one for one in book_file.beside(book) if one.exists() and one.stat().st_size]
    return bool(beside) or any(any(book.parent.glob(pattern)) for pattern in TRACES)


def refuse_emptied(book: Path) -> None:
    """A full disk or a broken stick leaves a file of no length: a new book in its place would hide what was lost.

    Refuses
        BookDamaged  the file is left as it is
    """
    if is_emptied(book):
        raise BookDamaged(
            f"{book} is empty (0 bytes), but copies or photos of a book lie beside it. Nothing was changed. "
            "Restore the newest copy: proofyard restore FILE --yes. For a new book, move the empty file away or use --data with "
            "another folder."
        )


def refuse_damaged(book: Path) -> None:
    """Look through the file before anything is written to it: nobody should log a day into a book that can't be read back.

    Refuses
        BookDamaged, BookBusy  the file is left as it is
    """
    if form_of(book) is None:
        return
    try:
        with closing(book_file.look(book)) as connection:
            said = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    except book_file.Error as error:
        raise in_words(error, act="start") or BookDamaged(f"{book} can’t be read. It was left as it is.") from error
    if said != "ok":
        raise BookDamaged(
            f"{book} is not whole ({said[:200]}). It was left as it is. Keep a copy of the folder, then: proofyard restore FILE"
        )


def open_book(folder: Path, *, address: str | None = None, photos: str | None = None) -> Storage:
    """The book of a folder, made or brought up to date: its file, or the database that is set. The caller holds the folder.

    address  of another database than the one that is set; empty: the folder's file
    photos   the store that keeps its photos; None: the one that is set, or the folder where an address is given
    """
    if kept_in := _kept_in(address):
        _bring_up_to_date_there(folder, kept_in)
    else:
        refuse_emptied(folder / BOOK_FILE)
        bring_up_to_date(folder / BOOK_FILE)
    return the_book(folder, address=address, photos=photos)


def _kept_in(address: str | None) -> str:
    return database() if address is None else address


def the_book(folder: Path, *, writes: bool = True, address: str | None = None, photos: str | None = None) -> Storage:
    """The folder's book as it is, in today's form already: its file, or the database that is set.

    `writes`: False for a process that only reads; `address`, `photos`: as for `open_book`
    """
    book = _opened(folder, writes=writes, address=address)
    book.photos_at = photos if photos is not None else photos_setting() if address is None else ""
    return book


def _opened(folder: Path, *, writes: bool, address: str | None) -> Storage:
    if kept_in := _kept_in(address):
        from proofyard.postgres.book import READERS, READERS_OF_ONE, PostgresBook, url_of

        readers = READERS if address is None else READERS_OF_ONE
        return PostgresBook(folder / BOOK_FILE, url_of(kept_in), writes=writes, readers=readers)
    return Storage(folder / BOOK_FILE, writes=writes)


def form_of_the_book(folder: Path, *, address: str | None = None) -> str | None:
    """The form of the folder's book, wherever it is kept; None where there is none."""
    if not (kept_in := _kept_in(address)):
        return form_of(folder / BOOK_FILE)
    from proofyard.postgres.book import in_words as in_its_words
    from proofyard.postgres.book import url_of
    from proofyard.postgres.forms import form_of_postgres

    url = url_of(kept_in)
    try:
        return form_of_postgres(url)
    except exc.SQLAlchemyError as error:
        raise in_its_words(error, act="start") or error from error


def state_there(address: str) -> StateThere:
    """What the database that keeps a book says of itself."""
    from proofyard.postgres.book import in_words as in_its_words
    from proofyard.postgres.book import url_of
    from proofyard.postgres.state import state_of

    try:
        return state_of(url_of(address))
    except exc.SQLAlchemyError as error:
        raise in_its_words(error, act="check") or error from error


def _bring_up_to_date_there(folder: Path, address: str) -> None:
    from proofyard.postgres.book import in_words as in_its_words
    from proofyard.postgres.book import shown, url_of
    from proofyard.postgres.forms import migrate, refuse_moved

    url, newest = url_of(address), newest_form()
    refuse_moved(url)
    was = form_of_the_book(folder, address=address)
    if was is not None and was not in all_forms():
        raise BookNewer(
            f"The book in {shown(url)} was written by a newer Proofyard (form {was}, this program knows {newest}). "
            "Install the newer program; the book was left as it is."
        )
    try:
        migrate(url, data_folder("migrations"), newest)
    except exc.SQLAlchemyError as error:
        raise in_its_words(error, act="start") or error from error
