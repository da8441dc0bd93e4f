"""How many bytes a book takes for each shot, its history whole: in the form of today, and taken apart into the form before.

    python -m tests.bench.bytes_a_shot [shots]

Without a number the demo; with one the demo multiplied to at least so many, its history and operations too. Both are emptied of what
is kept of shots (cache_ tables, which are worked out again at any time and are no part of the book) and VACUUMed; with them it is said too.

Wanted: at most 0.6 of the form before.
"""

from __future__ import annotations

import sys
import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from proofyard.book_file import library as sqlite3
from proofyard.opening import open_book
from proofyard.serving import fill_with_demo
from proofyard.settings import BOOK_FILE
from proofyard.shots.cache import fill

from tests.bench.multiplied import multiply
from tests.notebook_for_tests import take_apart


@dataclass(frozen=True)
class Sizes:
    """Bytes of the files, VACUUMed. before: of the same book with its notebook in the tables of form 0025."""

    shots: int
    now: int
    before: int
    with_cache: int

    @property
    def share(self) -> float:
        return self.now / self.before


def _bytes_of(path: Path, *, emptied: bool) -> int:
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        if emptied:
            for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name LIKE 'cache%'").fetchall():
                connection.execute(f"DELETE FROM {name}")
        connection.execute("VACUUM")
        pages, each = (connection.execute(f"PRAGMA {one}").fetchone()[0] for one in ("page_count", "page_size"))
    return int(pages * each)


def measure(shots: int = 0) -> Sizes:
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place:
        book = Path(place) / BOOK_FILE
        with closing(open_book(Path(place))) as made:
            fill_with_demo(made)
        if shots:
            multiply(book, shots, operations=True)
        with closing(open_book(Path(place))) as made:
            fill(made)
        with closing(sqlite3.connect(book)) as connection:
            many = int(connection.execute("SELECT count(*) FROM shot").fetchone()[0])
        with_cache, now = _bytes_of(book, emptied=False), _bytes_of(book, emptied=True)
        take_apart(book)
        return Sizes(many, now, _bytes_of(book, emptied=True), with_cache)


if __name__ == "__main__":
    found = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 0)
    for called, size in (("before", found.before), ("now", found.now), ("now, with what is kept of shots", found.with_cache)):
        print(f"{called:32} {size / 1024:9,.0f} KB, {size / found.shots:7,.0f} bytes a shot")
    print(f"now by before {found.share:.3f} (wanted at most 0.6), {found.shots} shots")
