"""The command: a package written to a new file, also while a server has the book open."""

import os
from contextlib import closing
from pathlib import Path

from proofyard.exchange.export import NotExported, readable
from proofyard.exchange.package.packing import Made, write_package
from proofyard.opening import the_book
from proofyard.settings import BOOK_FILE


def package_to_file(folder: Path, to: Path, *, licence: str = "") -> Made:
    """Write the package of a folder's book.

    Refuses
        NotExported     no book, a book in another form than this program's, or something of that name there already
        StorageTrouble  the book can't be read
    """
    readable(folder / BOOK_FILE)
    if to.suffix.lower() != ".zip":
        raise NotExported(f"A package is a zip file. Give it a name that ends in .zip, for example {to.with_suffix('.zip').name}.")
    if to.exists():
        raise NotExported(f"{to} exists already, and a package never writes over anything. Choose another name.")
    part = to.with_name(to.name + ".part")
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        with closing(the_book(folder)) as book, open(part, "wb") as file:
            made = write_package(book, file, licence=licence)
        os.replace(part, to)
    except OSError as error:
        raise NotExported(f"{to} can’t be written ({error.strerror}). Choose another place.") from error
    finally:
        part.unlink(missing_ok=True)
    return made
