"""A package made: one zip, written so that the same state gives the same bytes."""

import csv
import gc
import hashlib
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO

from proofyard.exchange.csv_writing import Value
from proofyard.exchange.fetched import Fetched, fetched_in
from proofyard.exchange.kept_photos import Photos, photos_of, whole
from proofyard.exchange.package.descriptor import DESCRIPTOR, Resource, descriptor, state_of
from proofyard.exchange.package.fields import moment_of
from proofyard.exchange.package.rows import Filled, photo_path, record_tables
from proofyard.exchange.package.state import Included, included
from proofyard.exchange.package.tables import Layout
from proofyard.exchange.package.worked_out import tables_about, worked_out_tables
from proofyard.records.book import Book
from proofyard.records.devices import the_book
from proofyard.records.licences import LICENCES
from proofyard.records.whole_state import whole_state
from proofyard.storage import Storage
from proofyard.wording.data_package import ONE_TRIAL, PACKAGE_IS, readme

README = "README.txt"
_MOMENTS = frozenset({"made_at", "changed_at", "crossed_out_at", "offered_at"})
# The first moment that a zip can say: when a file was packed is no part of the state.
_NO_TIME = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True)
class Made:
    """What a package holds: rows by table, photos, photos that the book names and whose file is missing or damaged."""

    counts: dict[str, int]
    photos: int
    missing: tuple[str, ...]
    state: str


@dataclass(frozen=True)
class _Read:
    included: Included
    fetched: Fetched
    book: Book | None


def write_package(book: Storage, to: IO[bytes], *, licence: str = "", only_trial: str | None = None) -> Made:
    """Write the package of a book, or of what a viewer of one trial may see of it.

    licence  a key of LICENCES, or none
    """
    with _nothing_collected():
        return _written(book, to, licence=licence, only_trial=only_trial)


@contextmanager
def _nothing_collected() -> Iterator[None]:
    """What is read here is kept to the end, so looking through it for what may be thrown away finds nothing, and takes a tenth
    of the time. A package is made in some seconds; what others leave behind meanwhile is collected after it."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _written(book: Storage, to: IO[bytes], *, licence: str, only_trial: str | None) -> Made:
    with book.read() as session:
        read = _Read(included(whole_state(session), only_trial), fetched_in(session, only_trial=only_trial), the_book(session))
    with zipfile.ZipFile(to, "w") as packed:
        kept, missing = _put_photos(packed, read.included, photos_of(book))
        records = record_tables(read.included, kept)
        others = [*worked_out_tables(read.fetched), *tables_about(read.fetched)]
        described = [[_put_table(packed, one) for one in some] for some in (records, others)]
        state, moment, one_trial = state_of(described[0]), _last_moment(records), only_trial is not None
        about = f"{PACKAGE_IS} {ONE_TRIAL}" if one_trial else PACKAGE_IS
        _put(
            packed,
            DESCRIPTOR,
            descriptor(
                *described, book=read.book, moment=moment_of(moment) if moment else None, licence=licence, one_trial=one_trial, about=about
            ),
        )
        words = f"{licence}. {LICENCES[licence].title}. {LICENCES[licence].path}" if licence else ""
        questions = sorted(row["question"] for row in read.included.rows["trial"] if row["voided_rev"] is None)
        _put(packed, README, readme(moment=moment, state=state, trials=questions, licence=words, one_trial=one_trial).encode())
    counts = {one.layout.name: len(one.rows) for one in (*records, *others)}
    return Made(counts, len(kept), missing, state)


def _put_photos(packed: zipfile.ZipFile, there: Included, photos: Photos) -> tuple[set[str], tuple[str, ...]]:
    kept, missing = set(), []
    for row in there.rows["photo"]:
        content = whole(photos.read(row["id"]), row["sha256"])
        if content is None:
            missing.append(row["id"])
            continue
        _put(packed, photo_path(row["id"]), content, packed_already=True)
        kept.add(row["id"])
    return kept, tuple(missing)


def _put_table(packed: zipfile.ZipFile, table: Filled) -> Resource:
    content = csv_content(table.layout, table.rows)
    _put(packed, table.layout.path, content)
    return Resource(table.layout, len(content), hashlib.sha256(content).hexdigest(), table.caution)


def csv_content(layout: Layout, rows: Iterable[Sequence[Value]]) -> bytes:
    """RFC 4180: commas, CRLF, quotes where they are needed, UTF-8. The text is as it was typed, for programs."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(layout.names)
    writer.writerows(rows)
    return text.getvalue().encode("utf-8", "replace")


def _put(packed: zipfile.ZipFile, name: str, content: bytes, *, packed_already: bool = False) -> None:
    info = zipfile.ZipInfo(name, _NO_TIME)
    info.compress_type = zipfile.ZIP_STORED if packed_already else zipfile.ZIP_DEFLATED
    info.create_system, info.external_attr = 3, 0o100644 << 16  # the same on every system
    packed.writestr(info, content)


def _last_moment(records: Sequence[Filled]) -> str:
    """When the state last changed, by what stands in it; none for an empty book. As text: all are written in one way and in UTC."""

    def moments(table: Filled) -> Iterable[str]:
        places = [place for place, name in enumerate(table.layout.names) if name in _MOMENTS]
        return (str(row[place]) for row in table.rows for place in places)

    return max((one for table in records for one in moments(table)), default="")
