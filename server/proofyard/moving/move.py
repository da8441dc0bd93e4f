"""The command `move`: a book from its file to PostgreSQL, or from there to a file; or a book's photos alone, into a store or out of it.

Errors
    NotMoved  why nothing was moved, or why it stopped; the book that it comes from is as it was
"""

import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from proofyard.exchange.kept_photos import Photos, photos_in
from proofyard.exchange.photo_files import PhotoFolder, sync_folder
from proofyard.exchange.photo_store import is_store
from proofyard.moving.database import Database
from proofyard.moving.ends import ROWS, End, File, Target, every_row, sum_of, sums_of
from proofyard.moving.photos import Brought, bring_photos
from proofyard.opening import HeldFolder, form_of, form_of_the_book, newest_form
from proofyard.postgres.book import shown, url_of
from proofyard.postgres.forms import form_of_postgres
from proofyard.settings import BOOK_FILE, database
from proofyard.storage import StorageTrouble

Tell = Callable[[str], object]


class NotMoved(StorageTrouble):
    """Why, and what to do."""


@dataclass(frozen=True)
class Moved:
    """rows: of all tables; kept: the file that the book lay in, under its new name, if it lay in one."""

    rows: int
    tables: int
    went_on: bool
    photos: Brought
    photos_in: str
    kept: Path | None = None

    def in_words(self) -> tuple[str, ...]:
        """What is said of it at the end, a line each."""
        first = f"Moved: {self.rows} rows in {self.tables} tables; every one was read back and compared."
        lines = [*(("It went on where it had stopped.",) if self.went_on else ()), first]
        if self.photos.named:
            lines.append(f"Photos: {self.photos.named - self.photos.missing} of {self.photos.named} are whole in {self.photos_in}.")
        if self.photos.missing:
            lines.append(f"Missing or damaged: {self.photos.missing}. Copy the folder “photos” from where the server’s --data was.")
        if self.kept:
            found = f"PROOFYARD_PHOTOS set to {self.photos_in}" if is_store(self.photos_in) else f"--data {self.photos_in}"
            served = f"Serve it with PROOFYARD_DATABASE set to that address, and {found}"
            return (*lines, f"The file is kept as {self.kept}.", served)
        return (*lines, "The database is marked as moved away, and no server opens it again.")


def move(source: str, target: str, *, data: Path | None = None, photos: str = "", tell: Tell = lambda line: None) -> Moved:
    """Move the book of a folder, or of a database's address, to the other kind of place.

    `data`: the folder that the server on the database uses, for photos: brought from there to the book's new folder, or there from
    its old one; None: the book's folder itself. `photos`: the address of a store, if that server has them there.

    Every row is read back from the target and compared by its sum before the target becomes a book. What was stopped goes
    on where it stopped, if the source is still the same, and begins again if it isn't.
    """
    from_database, to_database = (one.startswith("postgresql") for one in (source, target))
    if from_database == to_database:
        raise NotMoved("A book moves between a folder and PostgreSQL: give a folder and an address that begins with postgresql+psycopg://.")
    folder = Path(target if from_database else source).expanduser().absolute()
    if not from_database and not folder.is_dir():
        raise NotMoved(f"There is no book in {folder}.")
    with HeldFolder(folder):
        there = photos_in(photos) if photos else PhotoFolder(data or folder)
        return _from_database(source, folder, there, tell) if from_database else _from_file(folder, target, there, tell)


def move_photos(source: str, target: str, *, tell: Tell = lambda line: None) -> Brought:
    """Copy a book's photos from its folder into a store, or from there into its folder; those that are there whole are left.

    The book stays where it is: a file of the folder, or the database that is set. Nothing is taken away from the source.
    """
    if is_store(source) == is_store(target):
        raise NotMoved("Photos move between a book’s folder and a store: give a folder and an address that begins with s3://.")
    folder = Path(target if is_store(source) else source).expanduser().absolute()
    _refuse_form(form_of_the_book(folder), str(folder))
    with closing(Database(url_of(database()), target=False, alone=False) if database() else File(folder, target=False)) as book:
        rows = [(str(one), str(sha256)) for one, sha256 in every_row(book, "photo", ("id", "sha256"))]
    return bring_photos(rows, source=photos_in(source), target=photos_in(target), tell=tell)


def _refuse_form(form: str | None, where: str) -> None:
    if form is None:
        raise NotMoved(f"There is no book in {where}.")
    if form != newest_form():
        raise NotMoved(f"The book in {where} is in form {form}, this program moves form {newest_form()}. Start its server once, then move.")


def _kept(folder: Path) -> Path | None:
    """The file that the folder's book became when it was moved away from there, if it was."""
    return max(folder.glob(f"{Path(BOOK_FILE).stem}-moved-away-*.db"), default=None)


def _from_file(folder: Path, target: str, there: Photos, tell: Tell) -> Moved:
    book = folder / BOOK_FILE
    with closing(Database(url_of(target), target=True)) as to:
        left = _kept(folder) if not book.exists() else None
        if left and not to.is_whole():
            raise NotMoved(f"The book in {folder} was moved away already; the file is kept as {left}.")
        if to.mark() is None and to.holds_anything():
            raise NotMoved(f"The database {to.called()} is not empty, and a move never writes over anything. Make a new one with createdb.")
        if left is None:
            _refuse_form(form_of(book), str(folder))
            with closing(File(folder, target=False)) as source:
                done = _carry(source, to, tell, photos_from=PhotoFolder(folder), photos_to=there)
            left = book.with_name(f"{book.stem}-moved-away-{time.strftime('%Y%m%d-%H%M%S')}.db")
            book.rename(left)
            sync_folder(folder)
        else:  # it was stopped between the last two steps
            done = _all_of(to, photos_from=PhotoFolder(folder), photos_to=there, tell=tell)
        to.finish()
    return replace(done, kept=left)


def _from_database(source: str, folder: Path, there: Photos, tell: Tell) -> Moved:
    _refuse_form(form_of_postgres(url_of(source)), shown(url_of(source)))
    with closing(File(folder, target=True)) as to, closing(Database(url_of(source), target=False)) as from_:
        if from_.mark() is not None:
            raise NotMoved(f"The book in {from_.called()} is itself only half moved there. Finish that move first.")
        if from_.was_left() and not to.is_whole():
            raise NotMoved(f"The book in {from_.called()} was moved away already.")
        if to.holds_a_book():
            raise NotMoved(f"There is a book in {folder} already, and a move never writes over one. Choose another folder.")
        if from_.was_left():  # it was stopped between the last two steps
            done = _all_of(to, photos_from=there, photos_to=PhotoFolder(folder), tell=tell)
        else:
            done = _carry(from_, to, tell, photos_from=there, photos_to=PhotoFolder(folder))
            from_.leave(str(folder / BOOK_FILE))
        to.finish()
    return done


def _carry(source: End, to: Target, tell: Tell, *, photos_from: Photos, photos_to: Photos) -> Moved:
    """All rows, then every sum compared, then the target says that it is whole."""
    sums = sums_of(source)
    went_on = to.mark() == sums
    if not went_on:
        to.begin(sums, newest_form())
    if not to.is_whole():
        _fill(source, to, sums, tell)
    return replace(_all_of(to, photos_from=photos_from, photos_to=photos_to, tell=tell), went_on=went_on)


def put_all(source: End, to: Target, tell: Tell) -> dict[str, tuple[str, ...]]:
    """Every row that the target lacks; the tables and their columns."""
    layout = source.tables()
    if layout != to.tables():
        raise NotMoved("The two have not the same tables and columns, so nothing was moved.")
    for table, columns in sorted(layout.items()):
        for many in _put_what_lacks(source, to, table, columns):
            tell(f"{table}: {many}")
    return layout


def _fill(source: End, to: Target, sums: Mapping[str, str], tell: Tell) -> None:
    for table, columns in sorted(put_all(source, to, tell).items()):
        if sum_of(to, table, columns) != sums[table]:
            raise NotMoved(f"What came over of “{table}” is not the same as in {source.called()}. Nothing was changed there.")
    to.make_whole()


def _all_of(to: Target, *, photos_from: Photos, photos_to: Photos, tell: Tell) -> Moved:
    """The photos as well; and how much it is. The target is whole."""
    named = [(str(one), str(sha256)) for one, sha256 in every_row(to, "photo", ("id", "sha256"))]
    photos = bring_photos(named, source=photos_from, target=photos_to, tell=tell)
    sums = to.mark() or {}
    return Moved(sum(int(one.split()[0]) for one in sums.values()), len(sums), True, photos, photos_to.called)


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
