"""A copy of the book packed in one file: the book, and its photos or only their checksums.

    proofyard.db        the book
    contents.json       when it was made, how many rows each table has, which photos it has with their checksums
    photos/ab/<id>.jpg   the photos; an automatic copy has them once, in the folder `photos` beside it

A packed copy may come from anybody. Before anything is unpacked, its list of contents is judged: only these names, no
link, no secret, no more and no bigger than a book can be; and while it is unpacked, what comes is counted, not believed.
"""

import hashlib
import json
import os
import re
import shutil
import stat
import tempfile
import time
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from proofyard import book_file
from proofyard.exchange.backup import Copied, NotCopied, backup, refuse_nothing
from proofyard.exchange.kept_photos import photos_at
from proofyard.exchange.photo_files import FORMERLY, PHOTOS, PhotoFolder, sync_folder, write_whole
from proofyard.records.ids import is_id
from proofyard.settings import BOOK_FILE
from proofyard.storage import StorageTrouble, in_words

CONTENTS = "contents.json"
WHAT = "a copy of a Proofyard book"
MOST_BYTES = 4_000_000_000
MOST_PHOTOS = 60_000
MOST_BYTES_A_PHOTO = 40_000_000
MOST_BYTES_OF_CONTENTS = 20_000_000
MOST_BYTES_OF_THE_LIST = 8_000_000
MOST_RATIO = 250  # a book packs to a tenth; what packs to less than this is made to burst
SMALL = 5_000_000  # below this a ratio means nothing: an empty book is nearly all zeros
_PHOTO = re.compile(rf"(?:{PHOTOS}|{FORMERLY})/([0-9a-f]{{2}})/([0-9a-f-]{{36}})\.jpg", re.ASCII)
_LEFT = "Nothing was changed."
_THERE = "{} exists already, and a backup never writes over anything. Choose another name."


class NotRestored(StorageTrouble):
    """Why the file was not taken. The present book was not touched."""


@dataclass(frozen=True)
class PhotoRow:
    """What the book says of a photo's file."""

    id: str
    sha256: str
    size: int


def photo_rows(book: Path, *, foreign: bool = False) -> list[PhotoRow]:
    """The photos that a book names; none for one of a form that had no photos yet."""
    with closing(book_file.as_it_lies(book) if foreign else book_file.look(book)) as connection:
        tables = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name IN ('photo', 'picture')").fetchall()
        if not tables:
            return []
        # Up to form 0007 the table had another name, and a copy of that form is restored with its photos.
        rows = connection.execute(f"SELECT id, sha256, bytes FROM {tables[0][0]} ORDER BY id").fetchall()
    return [PhotoRow(str(one), str(sha), int(size)) for one, sha, size in rows if is_id(one) and isinstance(size, int)]


def is_whole(content: bytes | None, row: PhotoRow) -> bool:
    """Whether these bytes are that photo."""
    return content is not None and hashlib.sha256(content).hexdigest() == row.sha256


@dataclass(frozen=True)
class Packed:
    """A packed copy that was made: the file, its book, how many photos it has, and which are missing in the book's folder."""

    file: Path
    size: int
    counts: dict[str, int]
    photos: int
    missing: tuple[str, ...]


def pack(book: Path, to: Path, *, pool: Path | None = None, photos: str | None = None) -> Packed:
    """Copy a book and its photos into a new file, and look the file through before it takes its name.

    pool    a folder that keeps each photo once for many copies; without it the photos are packed into the file
    photos  the store that keeps the book's photos; as for `photos_at`

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
            made = _packed(book, Path(work), part, pool, photos)
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


def _packed(book: Path, work: Path, part: Path, pool: Path | None, photos: str | None) -> _Made:
    copied = backup(book, work / BOOK_FILE)
    rows = photo_rows(copied.file)
    here, kept, missing = photos_at(book.parent, photos), 0, []
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
                write_whole(PhotoFolder.in_pool(pool, row.id), content)
            else:
                packed.writestr(zipfile.ZipInfo(f"{PHOTOS}/{row.id[-2:]}/{row.id}.jpg"), content, zipfile.ZIP_STORED)
        packed.writestr(CONTENTS, json.dumps(_contents(copied, rows, missing, inside=pool is None)))
    with open(part, "rb") as file:
        os.fsync(file.fileno())
    return _Made(copied, digest, kept, tuple(missing))


def _in_pool(pool: Path, row: PhotoRow) -> bool:
    """Read when it was put there; its size is enough to see that it is still whole, and `restore` reads it again."""
    return any(path.is_file() and path.stat().st_size == row.size for path in PhotoFolder(pool).places(row.id))


def _contents(copied: Copied, rows: list[PhotoRow], missing: list[str], *, inside: bool) -> dict[str, object]:
    return {
        "what": WHAT,
        "made_at": time.time_ns() // 1_000_000,
        "counts": copied.counts,
        "photos_inside": inside,
        "photos": {row.id: row.sha256 for row in rows},
        "missing": missing,
    }


def _sha256_of(file: Path) -> str:
    with open(file, "rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def _look_through(part: Path, made: _Made) -> None:
    """Read back all that was written: the book to the byte, each photo by its checksum within the file."""
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
    photos: Mapping[str, zipfile.ZipInfo]
    size: int

    def unpack_book(self, to: Path) -> None:
        with self.packed.open(BOOK_FILE) as book, open(to, "wb") as out:
            shutil.copyfileobj(book, out, 1 << 20)

    def photo(self, row: PhotoRow) -> bytes | None:
        """A photo's bytes, from the file or from the folder of photos beside it; None if neither has it whole."""
        for content in (self._inside(row), self._beside(row)):
            # A photo that the book names is a JPEG and nothing else, whatever its checksum says.
            if content is not None and content[:3] == b"\xff\xd8\xff" and is_whole(content, row):
                return content
        return None

    def _inside(self, row: PhotoRow) -> bytes | None:
        info = self.photos.get(row.id)
        if info is None or info.file_size != row.size:
            return None
        return self.packed.read(info)

    def _beside(self, row: PhotoRow) -> bytes | None:
        for path in PhotoFolder(self.file.parent).places(row.id):
            with suppress(OSError):
                found = path.lstat()
                if stat.S_ISREG(found.st_mode) and found.st_size == row.size <= MOST_BYTES_A_PHOTO:
                    return path.read_bytes()
        return None


@contextmanager
def open_packed(file: Path) -> Iterator[OpenedCopy]:
    """Open a packed copy and judge its contents.

    Refuses
        NotRestored  a name that no copy has, a link, something secret or twice there, too much of anything
    """
    short_list(file)
    try:
        with zipfile.ZipFile(file) as packed:
            photos = _judged(packed, file)
            yield OpenedCopy(file, packed, photos, sum(info.file_size for info in packed.infolist()))
    except (zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, ValueError) as error:
        raise NotRestored(f"{file} is not a whole packed copy. {_LEFT}") from error


def short_list(file: Path) -> None:
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
    if (
        tail[max(0, end - 20) : max(0, end - 16)] == b"PK\x06\x07"
        or int.from_bytes(tail[end + 12 : end + 16], "little") > MOST_BYTES_OF_THE_LIST
    ):
        raise NotRestored(f"{file} lists more than a copy of a book can have. {_LEFT}")


def _judged(packed: zipfile.ZipFile, file: Path) -> dict[str, zipfile.ZipInfo]:
    """The photos by id, once every name, size and kind is one that a copy has."""
    infos = packed.infolist()
    if len(infos) > MOST_PHOTOS + 2:
        raise NotRestored(f"{file} has {len(infos)} files in it; a copy has at most {MOST_PHOTOS} photos. {_LEFT}")
    if sum(info.file_size for info in infos) > MOST_BYTES:
        raise NotRestored(f"{file} unpacks to more than {MOST_BYTES / 1e9:.0f} GB, which no copy does. {_LEFT}")
    names: set[str] = set()
    photos = {}
    for info in infos:
        fault = "is there twice" if info.filename in names else _fault(info)
        if fault:
            raise NotRestored(f"{file}: {info.filename[:60]!r} {fault}. {_LEFT}")
        names.add(info.filename)
        found = _PHOTO.fullmatch(info.filename)
        if found:
            photos[found.group(2)] = info
    if BOOK_FILE not in names:
        raise NotRestored(f"{file} has no book in it. {_LEFT}")
    if CONTENTS not in names or not _is_a_list(packed):
        raise NotRestored(
            f"{file} has no readable list of its contents ({CONTENTS}), which every copy has: it was changed or damaged. {_LEFT}"
        )
    return photos


def _is_a_list(packed: zipfile.ZipFile) -> bool:
    """Whether the list of contents reads as the one that `pack` writes."""
    try:
        said = json.loads(packed.read(CONTENTS).decode("utf-8"))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        return False
    return isinstance(said, dict) and said.get("what") == WHAT and isinstance(said.get(PHOTOS, said.get(FORMERLY)), dict)


def _fault(info: zipfile.ZipInfo) -> str:
    found = _PHOTO.fullmatch(info.filename)
    most = {BOOK_FILE: MOST_BYTES, CONTENTS: MOST_BYTES_OF_CONTENTS}.get(info.filename, MOST_BYTES_A_PHOTO if found else -1)
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
