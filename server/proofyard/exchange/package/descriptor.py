"""datapackage.json: Data Package 2, with the state that the package is of."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from proofyard.exchange.csv_writing import utc_text
from proofyard.exchange.package.tables import Layout
from proofyard.opening import newest_form
from proofyard.records.book import Book
from proofyard.records.licences import LICENCES
from proofyard.settings import program_version

DESCRIPTOR = "datapackage.json"
PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
NAME = "proofyard-book"
# The layout of the package itself: raised when a table, a column or what stands in it is no longer read as before.
PACKAGE_FORM = 1


@dataclass(frozen=True)
class Resource:
    """One written table: its layout, and its bytes by size and SHA-256."""

    layout: Layout
    size: int
    sha256: str
    caution: str = ""

    def described(self) -> dict[str, Any]:
        said: dict[str, Any] = {
            "name": self.layout.name,
            "type": "table",
            "path": self.layout.path,
            "title": self.layout.title,
            "format": "csv",
            "mediatype": "text/csv",
            "encoding": "utf-8",
            "bytes": self.size,
            "hash": f"sha256:{self.sha256}",
            "schema": self.layout.schema(),
        }
        return said | ({"caution": self.caution} if self.caution else {})


def state_of(records: Sequence[Resource]) -> str:
    """SHA-256 of what was seen or typed: of the record tables by path and checksum, photos by theirs in records/photo.csv.

    Neither the program's version nor what it works out is in it.
    """
    lines = "".join(f"{one.layout.path} {one.sha256}\n" for one in sorted(records, key=lambda one: one.layout.path))
    return hashlib.sha256(lines.encode()).hexdigest()


def book_for_others(book_id: str) -> str:
    """The id under which packages name their book: the same in all of them, and made so that it tells no moment as the book's own does.

    A book that came from a package keeps the one that it came with.
    """
    if book_id[14:15] == "8":
        return book_id
    told = hashlib.sha256(f"packages of {book_id}".encode()).hexdigest()
    return f"{told[:8]}-{told[8:12]}-8{told[12:15]}-8{told[15:18]}-{told[18:30]}"


def descriptor(
    records: Sequence[Resource],
    others: Sequence[Resource],
    *,
    book: Book | None,
    moment: int | None,
    licence: str,
    one_trial: bool,
    about: str,
) -> bytes:
    """The file. `moment`: when the state last changed, never when the file was made: the same state gives the same bytes."""
    state = state_of(records)
    said: dict[str, Any] = {"$schema": PROFILE, "name": NAME, "title": "A Proofyard book", "description": about, "version": "0.0.0"}
    if moment is not None:
        year, month, day = utc_text(moment)[:10].split("-")
        said["version"] = f"{year}.{int(month)}.{int(day)}"
        said["created"] = utc_text(moment)
    said["version"] += f"+{state[:12]}"
    if licence:
        said["licenses"] = [{"name": licence, "path": LICENCES[licence].path, "title": LICENCES[licence].title}]
    said["keywords"] = ["archery", "arrows", "armour", "experimental archaeology"]
    said["proofyard"] = {
        "packageForm": PACKAGE_FORM,
        "bookForm": newest_form(),
        "program": program_version(),
        "stateSha256": state,
        "oneTrial": one_trial,
    }
    if book is not None:
        said["proofyard"] |= {"book": book_for_others(book.book_id), "demo": bool(book.demo)}
    said["resources"] = [one.described() for one in (*records, *others)]
    return (json.dumps(said, ensure_ascii=False, indent=1) + "\n").encode()
