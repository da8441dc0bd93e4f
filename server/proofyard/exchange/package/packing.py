"""A package made: one zip, written so that the same state gives the same bytes."""

import csv
import gc
import hashlib
import io
import os
import shutil
import tempfile
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import IO

from proofyard.exchange.csv_writing import Value
from proofyard.exchange.kept_photos import Photos, photos_of, whole
from proofyard.exchange.package.descriptor import DESCRIPTOR, Resource, descriptor, state_of
from proofyard.exchange.package.fields import moment_of
from proofyard.exchange.package.rows import Filled, photo_path, record_tables
from proofyard.exchange.package.state import Included, included
from proofyard.exchange.package.tables import Layout
from proofyard.exchange.package.worked_out import tables_about, to_be_worked_out, worked_out_tables
from proofyard.records.devices import the_book
from proofyard.records.licences import LICENCES
from proofyard.storage import Storage
from proofyard.wording.data_package import ONE_TRIAL, PACKAGE_IS, readme

README = "README.txt"
_MOMENTS = frozenset({"made_at", "changed_at", "crossed_out_at", "offered_at"})
# The first moment that a zip can say: when a file was packed is no part of the state.
_NO_TIME = (1980, 1, 1, 0, 0, 0)
_IN_MEMORY = 1 << 20


@dataclass(frozen=True)
class Made:
    """What a package holds: rows by table, photos, photos that the book names and whose file is missing or damaged."""

    counts: dict[str, int]
    photos: int
    missing: tuple[str, ...]
    state: str


@dataclass
class _Noted:
    """What is noted of rows on their way into the zip. moment: when the state last changed, as text; "" for an empty book."""

    counts: dict[str, int] = field(default_factory=dict)
    moment: str = ""

    def passing(self, table: Filled, *, moments: bool) -> Iterator[Sequence[Value]]:
        """All moments are written in one way and in UTC, so the last one is the highest text."""
        places = [place for place, name in enumerate(table.layout.names) if name in _MOMENTS] if moments else []
        count = 0
        for row in table.rows:
            count += 1
            for place in places:
                self.moment = max(self.moment, str(row[place]))
            yield row
        self.counts[table.layout.name] = count


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
    noted, beside, one_trial = _Noted(), book.path.parent, only_trial is not None
    with book.read() as session, zipfile.ZipFile(to, "w") as packed:
        there, the_one = included(session, only_trial), the_book(session)
        kept, missing = _put_photos(packed, there, photos_of(book))
        records = [_put_table(packed, one, noted, beside, moments=True) for one in record_tables(there, kept)]
        read = to_be_worked_out(session, only_trial)
        others = [_put_table(packed, one, noted, beside) for one in chain(worked_out_tables(read), tables_about(read.base))]
        state, moment = state_of(records), noted.moment
        about = f"{PACKAGE_IS} {ONE_TRIAL}" if one_trial else PACKAGE_IS
        when = moment_of(moment) if moment else None
        _put(packed, DESCRIPTOR, descriptor(records, others, book=the_one, moment=when, licence=licence, one_trial=one_trial, about=about))
        words = f"{licence}. {LICENCES[licence].title}. {LICENCES[licence].path}" if licence else ""
        questions = sorted(row["question"] for row in there.rows("trial") if row["voided_rev"] is None)
        _put(packed, README, readme(moment=moment, state=state, trials=questions, licence=words, one_trial=one_trial).encode())
    return Made(noted.counts, len(kept), missing, state)


def _put_photos(packed: zipfile.ZipFile, there: Included, photos: Photos) -> tuple[set[str], tuple[str, ...]]:
    kept, missing = set(), []
    for row in there.rows("photo"):
        content = whole(photos.read(row["id"]), row["sha256"])
        if content is None:
            missing.append(row["id"])
            continue
        _put(packed, photo_path(row["id"]), content, packed_already=True)
        kept.add(row["id"])
    return kept, tuple(missing)


def _put_table(packed: zipfile.ZipFile, table: Filled, noted: _Noted, beside: Path, *, moments: bool = False) -> Resource:
    """Its text is on the disk before it is in the zip, which wants to know its size first.

    beside  where there is room, if anything may be written there
    """
    where = str(beside) if os.access(beside, os.W_OK) else None
    told, size = hashlib.sha256(), 0
    with tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY, dir=where) as text:
        for piece in csv_pieces(table.layout, noted.passing(table, moments=moments)):
            text.write(piece)
            told.update(piece)
            size += len(piece)
        text.seek(0)
        info = _info(table.layout.path)
        info.file_size = size
        with packed.open(info, "w") as into:
            shutil.copyfileobj(text, into, _IN_MEMORY)
    return Resource(table.layout, size, told.hexdigest(), table.caution)


def csv_pieces(layout: Layout, rows: Iterable[Sequence[Value]]) -> Iterator[bytes]:
    """RFC 4180: commas, CRLF, quotes where they are needed, UTF-8. The text is as it was typed, for programs."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(layout.names)
    for row in rows:
        writer.writerow(row)
        if text.tell() > _IN_MEMORY:
            yield text.getvalue().encode("utf-8", "replace")
            text.seek(0)
            text.truncate()
    yield text.getvalue().encode("utf-8", "replace")


def _put(packed: zipfile.ZipFile, name: str, content: bytes, *, packed_already: bool = False) -> None:
    packed.writestr(_info(name, packed_already=packed_already), content)


def _info(name: str, *, packed_already: bool = False) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, _NO_TIME)
    info.compress_type = zipfile.ZIP_STORED if packed_already else zipfile.ZIP_DEFLATED
    info.create_system, info.external_attr = 3, 0o100644 << 16  # the same on every system
    return info
