"""What it costs to hand a book on: a data package, and a site of pages without photos.

    python -m tests.bench.going_out [shots] [--package]

The demo multiplied (multiplied.py). Processor time, so that another program's work doesn't count; beside each the time that reading
every row of the book and packing it takes (the floor). The package is the middle of five after one that isn't counted, as a server
makes it; the first of a process, which loads what it needs, is said too. The site is published twice: the second run changes nothing.

Wanted: a package in at most 1 s for 1,000 shots; the demo's site in 15 s; 1,057 shots in 90 s and 40 MB; a second run 0 changed.
"""

from __future__ import annotations

import io
import statistics
import sys
import tempfile
import time
import zlib
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from proofyard import book_file
from proofyard.assembled import app_without_door
from proofyard.exchange.package.packing import write_package
from proofyard.opening import the_book
from proofyard.publishing.choices import Choices
from proofyard.publishing.site import publish
from proofyard.serving import fill_folder
from proofyard.settings import BOOK_FILE

from tests.bench.multiplied import multiply

TURNS = 5
CHOICES = Choices(names="invented", places="none", photos=frozenset(), licence="CC-BY-4.0")


@dataclass(frozen=True)
class HandedOn:
    """Processor seconds, megabytes, and the files that a second run into the same folder changed, added or took away."""

    shots: int
    floor_s: float
    package_s: float
    first_package_s: float
    package_mb: float
    site_s: float | None = None
    site_mb: float | None = None
    site_pages: int | None = None
    changed_again: int | None = None

    @property
    def package_per_1000_s(self) -> float:
        return self.package_s / self.shots * 1000


def measure(shots: int | None = None, *, site: bool = True) -> HandedOn:
    """Of the demo (None) or of it multiplied to so many shots."""
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place:
        folder = Path(place) / "book"
        fill_folder(folder)
        many = multiply(folder / BOOK_FILE, shots) if shots else _count(folder)
        first, took, size = _packages(folder)
        found = HandedOn(many, _floor(folder / BOOK_FILE), took, first, size / 1e6)
        if not site:
            return found
        to = Path(place) / "site"
        written: list[int] = []

        def once() -> None:
            done = publish(folder / BOOK_FILE, to, choices=CHOICES, make_app=app_without_door)
            written[:] = [done.size, done.pages, done.new + done.changed + done.removed]

        site_s = _timed(once)
        size, pages, _ = written
        once()
        return HandedOn(**{**vars(found), "site_s": site_s, "site_mb": size / 1e6, "site_pages": pages, "changed_again": written[2]})


def _packages(folder: Path) -> tuple[float, float, int]:
    made = io.BytesIO()
    with closing(the_book(folder)) as book:

        def once() -> None:
            made.seek(0)
            made.truncate()
            write_package(book, made)

        first = _timed(once)
        return first, statistics.median(_timed(once) for _ in range(TURNS)), len(made.getvalue())


def _floor(book: Path) -> float:
    """Every row of the nouns read and packed, nothing worked out and nothing written as it should be."""

    def once() -> None:
        with closing(book_file.connect(book)) as connection:
            names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
            for name in names:
                zlib.compress(repr(connection.execute(f'SELECT * FROM "{name}"').fetchall()).encode())

    return statistics.median(_timed(once) for _ in range(TURNS))


def _count(folder: Path) -> int:
    with closing(book_file.connect(folder / BOOK_FILE)) as connection:
        return int(connection.execute("SELECT count(*) FROM shot").fetchone()[0])


def _timed(what: Callable[[], None]) -> float:
    begun = time.process_time()
    what()
    return time.process_time() - begun


def main(asked: list[str]) -> None:
    """Print one book's figures."""
    numbers = [int(one) for one in asked if one.isdigit()]
    found = measure(numbers[0] if numbers else None, site="--package" not in asked)
    print(f"{found.shots} shots. Every row read and packed, nothing worked out: {found.floor_s:.2f} s")
    each = f"{found.package_per_1000_s:.2f} s for 1,000 shots"
    print(f"package: {found.package_s:.2f} s, {each}, the first of a process {found.first_package_s:.2f} s, {found.package_mb:.2f} MB")
    if found.site_s is not None:
        print(f"site: {found.site_pages} pages, {found.site_mb:.2f} MB, {found.site_s:.1f} s; again: {found.changed_again} files changed")


if __name__ == "__main__":
    main(sys.argv[1:])
