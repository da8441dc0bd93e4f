"""A book in PostgreSQL as a file, for work that needs one: as it is at this moment, while servers go on saving."""

from contextlib import closing
from pathlib import Path

from proofyard.moving.database import Database
from proofyard.moving.ends import File
from proofyard.moving.move import put_all
from proofyard.opening import newest_form
from proofyard.postgres.book import url_of
from proofyard.settings import BOOK_FILE


def copied_from_database(address: str, folder: Path) -> Path:
    """A new book in a folder that has none, without photos; its path. The book that it is of stays where it is.

    Refuses
        StorageTrouble  the database doesn't answer, or holds no whole book of today's form
    """
    folder.mkdir(parents=True, exist_ok=True)
    with closing(Database(url_of(address), target=False, alone=False)) as source, closing(File(folder, target=True)) as to:
        to.begin({}, newest_form())
        put_all(source, to, lambda line: None)
        to.make_whole()
        to.finish()
    return folder / BOOK_FILE
