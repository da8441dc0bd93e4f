"""Invented books of other groups, as packages, and one of them brought in.

package = package_of(folder, empty_book_file, fill)      # `fill` puts the shots into a new book
one = brought_in(package, own_folder, "Quarry group")
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from proofyard.exchange.other_books import shelf
from proofyard.exchange.other_books.bring_in import Asked, bring_in
from proofyard.exchange.other_books.shelf import OtherBook
from proofyard.exchange.package.packing import write_package
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.listing import all_of
from proofyard.records.trial import Trial
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.conftest import copied, opened


def package_of(folder: Path, empty_book_file: Path | None, fill: Callable[[Storage], object], *, licence: str = "CC-BY-4.0") -> Path:
    """The package of a new book. `empty_book_file`: copied where there is one, which is quicker than making it."""
    at = copied(empty_book_file, folder / "book") if empty_book_file else folder / "book"
    at.mkdir(parents=True, exist_ok=True)
    with closing(opened(at) if empty_book_file else open_book(at)) as book:
        with book.write() as session:
            devices.make_book(session)
        fill(book)
        with open(folder / "package.zip", "wb") as file:
            write_package(book, file, licence=licence)
    return folder / "package.zip"


def small(book: Storage, question: str = "Does quarry plate hold the leaf?") -> None:
    """Two shots, read, and a photo of the panel."""
    made = kit.yard(book, question=question)
    kit.read_shot(book, made, outcome_low="4")
    kit.read_shot(book, made, outcome_low="2")
    kit.photo(book, "panel_build", made.panel.build)


def brought_in(package: Path, folder: Path, whose: str, citation: str = "") -> OtherBook:
    """Into the data folder of another book, in this process."""
    assert (folder / BOOK_FILE).exists()
    return bring_in(package, folder, Asked(whose=whose, citation=citation), own_id="").book


def beside_the_demo(folder: Path) -> dict[str, str]:
    """Another group's book beside the demo's: its id and its trial's, by what the tests of all pages call them."""
    with tempfile.TemporaryDirectory() as work:
        one = brought_in(package_of(Path(work), None, small), folder, "Quarry group")
    with shelf.opened(folder, one) as book, book.read() as session:
        return {"other book": one.id, "trial of it": all_of(session, Trial)[0].id}
