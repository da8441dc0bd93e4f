"""The command `move`: a book from its file to PostgreSQL, or from there to a file.

Errors
    NotMoved  why nothing was moved, or why it stopped; the book that it comes from is as it was
"""

import time
from collections.abc import Callable, Iterator
from contextlib import closing, nullcontext
from dataclasses import dataclass
from pathlib import Path

from proofyard.moving.database import Database
from proofyard.moving.ends import ROWS, End, File, Target, every_row, sum_of, sums_of
from proofyard.opening import HeldFolder, form_of, newest_form
from proofyard.postgres.book import shown, url_of
from proofyard.postgres.forms import form_of_postgres
from proofyard.settings import BOOK_FILE
from proofyard.storage import StorageTrouble


class NotMoved(StorageTrouble):
    """Why, and what to do."""


@dataclass(frozen=True)
class Moved:
    """rows: of all tables; kept: the file that the book lay in, under its new name, if it lay in one."""

    rows: int
    tables: int
    went_on: bool
    kept: Path | None = None

    def in_words(self, source: str) -> tuple[str, ...]:
        """What is said of it at the end, a line each."""
        first = f"Moved: {self.rows} rows in {self.tables} tables; every one was read back and compared."
        again = ("It went on where it had stopped.",) if self.went_on else ()
        if self.kept:
            served = f"Serve it with PROOFYARD_DATABASE set to that address, and --data {source}"
            return (*again, first, f"The file is kept as {self.kept}; photos stay in its folder.", served)
        left = "The database is marked as moved away, and no server opens it again. Photos stay where they were: copy them into the folder."
        return (*again, first, left)


def move(source: str, target: str, *, tell: Callable[[str], object] = lambda line: None) -> Moved:
    """Move the book of a folder, or of a database's address, to the other kind of place.

    Every row is read back from the target and compared by its sum before the target becomes a book. What was stopped goes
    on where it stopped, if the source is still the same, and begins again if it isn't.
    """
    from_database, to_database = (one.startswith("postgresql") for one in (source, target))
    if from_database == to_database:
        raise NotMoved("A book moves between a folder and PostgreSQL: give a folder and an address that begins with postgresql+psycopg://.")
    folder = Path(target if from_database else source).expanduser().absolute()
    form = form_of_postgres(url_of(source)) if from_database else form_of(folder / BOOK_FILE)
    _refuse_form(form, source if not from_database else shown(url_of(source)))
    with HeldFolder(folder) if folder.is_dir() or from_database else nullcontext():
        if from_database:
            return _from_database(source, folder, tell)
        return _from_file(folder, target, tell)


def _refuse_form(form: str | None, where: str) -> None:
    if form is None:
        raise NotMoved(f"There is no book in {where}.")
    if form != newest_form():
        raise NotMoved(f"The book in {where} is in form {form}, this program moves form {newest_form()}. Start its server once, then move.")


def _from_file(folder: Path, target: str, tell: Callable[[str], object]) -> Moved:
    with closing(Database(url_of(target), target=True)) as to:
        if to.mark() is None and to.holds_anything():
            raise NotMoved(f"The database {to.called()} is not empty, and a move never writes over anything. Make a new one with createdb.")
        with closing(File(folder, target=False)) as source:
            done = _carry(source, to, tell)
    book = folder / BOOK_FILE
    kept = book.with_name(f"{book.stem}-moved-away-{time.strftime('%Y%m%d-%H%M%S')}.db")
    book.rename(kept)
    return Moved(done.rows, done.tables, done.went_on, kept)


def _from_database(source: str, folder: Path, tell: Callable[[str], object]) -> Moved:
    with closing(File(folder, target=True)) as to:
        if to.holds_a_book():
            raise NotMoved(f"There is a book in {folder} already, and a move never writes over one. Choose another folder.")
        with closing(Database(url_of(source), target=False)) as from_:
            if from_.mark() is not None:
                raise NotMoved(f"The book in {from_.called()} is itself only half moved there. Finish that move first.")
            if from_.was_left():
                raise NotMoved(f"The book in {from_.called()} was moved away already.")
            done = _carry(from_, to, tell)
            from_.leave(str(folder / BOOK_FILE))
    return done


def _carry(source: End, to: Target, tell: Callable[[str], object]) -> Moved:
    """All rows, then every sum compared, then the target becomes a book."""
    sums = sums_of(source)
    went_on = to.mark() == sums
    if not went_on:
        to.begin(sums, newest_form())
    layout = source.tables()
    if layout != to.tables():
        raise NotMoved("The two have not the same tables and columns, so nothing was moved.")
    for table, columns in sorted(layout.items()):
        for many in _put_what_lacks(source, to, table, columns):
            tell(f"{table}: {many}")
    for table, columns in sorted(layout.items()):
        if sum_of(to, table, columns) != sums[table]:
            raise NotMoved(f"What came over of “{table}” is not the same as in {source.called()}. Nothing was changed there.")
    to.finish()
    return Moved(sum(int(one.split()[0]) for one in sums.values()), len(sums), went_on)


def _put_what_lacks(source: End, to: Target, table: str, columns: tuple[str, ...]) -> Iterator[int]:
    """Rows in the order of the key: what is there already was put in that order too, so the rest follows its last."""
    key = source.key_of(table)
    places = [columns.index(one) for one in key]
    there = list(every_row(to, table, key))
    after = there[-1] if there else None
    many = len(there)
    while rows := source.rows(table, columns, key, after, ROWS):
        to.put(table, columns, rows)
        after, many = tuple(rows[-1][place] for place in places), many + len(rows)
        yield many
