"""A copy of the book packed in one file: the book, and its pictures or only their checksums.

    proofyard.db        the book
    contents.json       when it was made, how many rows each table has, which pictures it has with their checksums
    pictures/ab/<id>.jpg   the pictures; an automatic copy has them once, in the folder `pictures` beside it

A packed copy may come from anybody. Before anything is unpacked, its list of contents is judged: only these names, no
link, no secret, no more and no bigger than a book can be; and while it is unpacked, what comes is counted, not believed.
"""

import hashlib
import json
import os
import re
import shutil
import sqlite3
import stat
import tempfile
import time
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from server.exchange.backup import Copied, NotCopied, backup, refuse_nothing
from server.exchange.picture_files import PICTURES, PictureFolder, sync_folder, write_whole
from server.records.ids import is_id
from server.settings import BOOK_FILE
from server.storage import StorageTrouble, in_words

CONTENTS = "contents.json"
MOST_BYTES = 4_000_000_000
MOST_PICTURES = 60_000
MOST_BYTES_A_PICTURE = 40_000_000
MOST_BYTES_OF_CONTENTS = 20_000_000
MOST_BYTES_OF_THE_LIST = 8_000_000
MOST_RATIO = 250  # a book packs to a tenth; what packs to less than this is made to burst
SMALL = 5_000_000  # below this a ratio means nothing: an empty book is nearly all zeros
_PICTURE = re.compile(r"pictures/([0-9a-f]{2})/([0-9a-f-]{36})\.jpg", re.ASCII)
_LEFT = "Nothing was changed."
_THERE = "{} exists already, and a backup never writes over anything. Choose another name."


class NotRestored(StorageTrouble):
    """Why the file was not taken. The present book was not touched."""


@dataclass(frozen=True)
class PictureRow:
    """What the book says of a picture's file."""

    id: str
    sha256: str
    size: int


def picture_rows(book: Path) -> list[PictureRow]:
    """The pictures that a book names; none for one of a form that had no pictures yet."""
    with closing(sqlite3.connect(f"{book.absolute().as_uri()}?mode=ro", uri=True)) as connection:
        connection.execute("PRAGMA trusted_schema=OFF")
        if not connection.execute("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = 'picture'").fetchone():
            return []
        rows = connection.execute("SELECT id, sha256, bytes FROM picture ORDER BY id").fetchall()
    return [PictureRow(str(one), str(sha), int(size)) for one, sha, size in rows if is_id(one) and isinstance(size, int)]


def is_whole(content: bytes | None, row: PictureRow) -> bool:
    """Whether these bytes are that picture."""
    return content is not None and hashlib.sha256(content).hexdigest() == row.sha256


@dataclass(frozen=True)
class Packed:
    """A packed copy that was made: the file, its book, how many pictures it has, and which are missing in the book's folder."""

    file: Path
    size: int
    counts: dict[str, int]
    pictures: int
    missing: tuple[str, ...]


def pack(book: Path, to: Path, *, pool: Path | None = None) -> Packed:
    """Copy a book and its pictures into a new file, and look the file through before it takes its name.

    pool  a folder that keeps each picture once for many copies; without it the pictures are packed into the file

    Refuses
        NotCopied, StorageTrouble  see backup; no half copy is left
    """
    refuse_nothing(book)
    if to.exists():
        raise NotCopied(_THERE.format(to))
    try:
        to.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".copying-", dir=to.parent) as work:
            part = Path(work) / "copy.zip"
            made = _packed(book, Path(work), part, pool)
            _look_through(part, made)
            if to.exists():
                raise NotCopied(_THERE.format(to))
            part.replace(to)
            sync_folder(to.parent)
    except OSError as error:
        raise in_words(error) or NotCopied(f"{to} can’t be written ({error.strerror}). Choose another place.") from error
    return Packed(to, to.stat().st_size, made.copied.counts, made.held, made.missing)


@dataclass(frozen=True)
class _Made:
    copied: Copied
    book_sha256: str
    held: int
    missing: tuple[str, ...]


def _packed(book: Path, work: Path, part: Path, pool: Path | None) -> _Made:
    copied = backup(book, work / BOOK_FILE)
    rows = picture_rows(copied.file)
    here, kept, missing = PictureFolder(book.parent), 0, []
    digest = _sha256_of(copied.file)
    with zipfile.ZipFile(part, "x", zipfile.ZIP_DEFLATED) as packed:
        packed.write(copied.file, BOOK_FILE)
        for row in rows:
            if pool is not None and _in_pool(pool, row):
                kept += 1
                continue
            content = here.read(row.id)
            if content is None or not is_whole(content, row):
                missing.append(row.id)
                continue
            kept += 1
            if pool is not None:
                write_whole(PictureFolder.in_pool(pool, row.id), content)
            else:
                packed.writestr(zipfile.ZipInfo(f"{PICTURES}/{row.id[-2:]}/{row.id}.jpg"), content, zipfile.ZIP_STORED)
        packed.writestr(CONTENTS, json.dumps(_contents(copied, rows, missing, inside=pool is None)))
    with open(part, "rb") as file:
        os.fsync(file.fileno())
    return _Made(copied, digest, kept, tuple(missing))


def _in_pool(pool: Path, row: PictureRow) -> bool:
    """Read when it was put there; its size is enough to see that it is still whole, and `restore` reads it again."""
    try:
        return PictureFolder.in_pool(pool, row.id).stat().st_size == row.size
    except OSError:
        return False


def _contents(copied: Copied, rows: list[PictureRow], missing: list[str], *, inside: bool) -> dict[str, object]:
    return {
        "what": "a copy of a Proofyard book",
        "made_at": time.time_ns() // 1_000_000,
        "counts": copied.counts,
        "pictures_inside": inside,
        "pictures": {row.id: row.sha256 for row in rows},
        "missing": missing,
    }


def _sha256_of(file: Path) -> str:
    with open(file, "rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def _look_through(part: Path, made: _Made) -> None:
    """Read back all that was written: the book to the byte, each picture by its checksum within the file."""
    with zipfile.ZipFile(part) as packed:
        bad = packed.testzip()
        with packed.open(BOOK_FILE) as book:
            digest = hashlib.file_digest(book, "sha256").hexdigest()  # type: ignore[arg-type]
    if bad or digest != made.book_sha256:
        raise NotCopied("The copy does not read back as it was written, so it was thrown away. Look at the disk, then try again.")


# --- opening one that may come from anybody


def is_packed(file: Path) -> bool:
    try:
        with open(file, "rb") as content:
            return content.read(4) in (b"PK\x03\x04", b"PK\x05\x06")
    except OSError:
        return False


@dataclass(frozen=True)
class OpenedCopy:
    """A packed copy whose list of contents was judged. Nothing of it is on disk yet."""

    file: Path
    packed: zipfile.ZipFile
    pictures: Mapping[str, zipfile.ZipInfo]
    size: int

    def unpack_book(self, to: Path) -> None:
        with self.packed.open(BOOK_FILE) as book, open(to, "wb") as out:
            shutil.copyfileobj(book, out, 1 << 20)

    def picture(self, row: PictureRow) -> bytes | None:
        """A picture's bytes, from the file or from the folder of pictures beside it; None if neither has it whole."""
        for content in (self._inside(row), self._beside(row)):
            # A picture that the book names is a JPEG and nothing else, whatever its checksum says.
            if content is not None and content[:3] == b"\xff\xd8\xff" and is_whole(content, row):
                return content
        return None

    def _inside(self, row: PictureRow) -> bytes | None:
        info = self.pictures.get(row.id)
        if info is None or info.file_size != row.size:
            return None
        return self.packed.read(info)

    def _beside(self, row: PictureRow) -> bytes | None:
        path = PictureFolder.in_pool(self.file.parent, row.id)
        try:
            found = path.lstat()
            if not stat.S_ISREG(found.st_mode) or found.st_size != row.size or found.st_size > MOST_BYTES_A_PICTURE:
                return None
            return path.read_bytes()
        except OSError:
            return None


@contextmanager
def open_packed(file: Path) -> Iterator[OpenedCopy]:
    """Open a packed copy and judge its contents.

    Refuses
        NotRestored  a name that no copy has, a link, something secret or twice there, too much of anything
    """
    _short_list(file)
    try:
        with zipfile.ZipFile(file) as packed:
            pictures = _judged(packed, file)
            yield OpenedCopy(file, packed, pictures, sum(info.file_size for info in packed.infolist()))
    except (zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, ValueError) as error:
        raise NotRestored(f"{file} is not a whole packed copy. {_LEFT}") from error


def _short_list(file: Path) -> None:
    """The list of contents is read as a whole, so its length is judged first."""
    size = file.stat().st_size
    if size > MOST_BYTES:
        raise NotRestored(f"{file} has {size / 1e9:.1f} GB; at most {MOST_BYTES / 1e9:.0f} GB are taken. {_LEFT}")
    with open(file, "rb") as content:
        content.seek(max(0, size - 66_000))
        tail = content.read()
    end = tail.rfind(b"PK\x05\x06")
    if end < 0 or len(tail) < end + 22:
        raise NotRestored(f"{file} is not a whole packed copy: its end is missing. {_LEFT}")
    # A second, longer list may be named just before the end, and would be read in the place of the first.
    if tail[max(0, end - 20) : max(0, end - 16)] == b"PK\x06\x07" or int.from_bytes(tail[end + 12 : end + 16], "little") > MOST_BYTES_OF_THE_LIST:
        raise NotRestored(f"{file} lists more than a copy of a book can have. {_LEFT}")


def _judged(packed: zipfile.ZipFile, file: Path) -> dict[str, zipfile.ZipInfo]:
    """The pictures by id, once every name, size and kind is one that a copy has."""
    infos = packed.infolist()
    if len(infos) > MOST_PICTURES + 2:
        raise NotRestored(f"{file} has {len(infos)} files in it; a copy has at most {MOST_PICTURES} pictures. {_LEFT}")
    if sum(info.file_size for info in infos) > MOST_BYTES:
        raise NotRestored(f"{file} unpacks to more than {MOST_BYTES / 1e9:.0f} GB, which no copy does. {_LEFT}")
    names: set[str] = set()
    pictures = {}
    for info in infos:
        fault = "is there twice" if info.filename in names else _fault(info)
        if fault:
            raise NotRestored(f"{file}: {info.filename[:60]!r} {fault}. {_LEFT}")
        names.add(info.filename)
        found = _PICTURE.fullmatch(info.filename)
        if found:
            pictures[found.group(2)] = info
    if BOOK_FILE not in names:
        raise NotRestored(f"{file} has no book in it. {_LEFT}")
    return pictures


def _fault(info: zipfile.ZipInfo) -> str:
    found = _PICTURE.fullmatch(info.filename)
    most = {BOOK_FILE: MOST_BYTES, CONTENTS: MOST_BYTES_OF_CONTENTS}.get(info.filename, MOST_BYTES_A_PICTURE if found else -1)
    if most < 0 or (found and (not is_id(found.group(2)) or found.group(1) != found.group(2)[-2:])):
        return "is no name that a copy has"
    if stat.S_IFMT(info.external_attr >> 16) not in (0, stat.S_IFREG):
        return "is a link or something else that is no file"
    if info.flag_bits & 0x1:
        return "is kept secret by a password"
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is packed in a way that copies are not"
    if info.file_size > most:
        return f"is too big ({info.file_size} bytes)"
    if info.file_size > SMALL and info.file_size > MOST_RATIO * max(1, info.compress_size):
        return "unpacks to far more than a book would"
    return ""
