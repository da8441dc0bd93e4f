"""A package from anybody, opened with limits: its list of files is judged before anything of it is read."""

import stat
import zipfile
import zlib
from collections.abc import Collection, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from proofyard.exchange.package.descriptor import DESCRIPTOR
from proofyard.exchange.package.packing import README
from proofyard.exchange.package.rows import photo_path
from proofyard.exchange.package.tables import record_layouts
from proofyard.exchange.package.worked_out import worked_out_layouts
from proofyard.exchange.packed_copy import MOST_BYTES, MOST_BYTES_A_PHOTO, MOST_PHOTOS, MOST_RATIO, SMALL, NotRestored, short_list
from proofyard.records.ids import is_id
from proofyard.storage import StorageTrouble

MOST_BYTES_A_TABLE = 200_000_000
_PHOTOS, _JPG = "photos/", ".jpg"


class NoPackage(StorageTrouble):
    """Why a file can't be read as a package at all."""


@dataclass(frozen=True)
class Opened:
    """A package whose list of files holds nothing but what a package has."""

    packed: zipfile.ZipFile
    names: frozenset[str]

    def read(self, name: str) -> bytes:
        """A file of it; what is damaged in it is NoPackage."""
        try:
            return self.packed.read(name)
        except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError, ValueError) as error:
            raise NoPackage(f"{name} can’t be unpacked: the file was cut off or damaged.") from error


def table_paths() -> Collection[str]:
    return [one.path for one in (*record_layouts(), *worked_out_layouts())]


def is_package(file: Path) -> bool:
    """Whether a zip says that it is one; a copy of a book has no description."""
    try:
        with zipfile.ZipFile(file) as packed:
            return DESCRIPTOR in packed.namelist()
    except (OSError, zipfile.BadZipFile, ValueError):
        return False


@contextmanager
def open_package(file: Path) -> Iterator[Opened]:
    """Open and judge.

    Refuses
        NoPackage  no whole zip, or one with a path, a link, a secret, twice one name, or more than a package can hold
    """
    try:
        short_list(file)
        packed = zipfile.ZipFile(file)
    except NotRestored as error:
        raise NoPackage(str(error)) from error
    except OSError as error:
        raise NoPackage(f"{file} can’t be read ({error.strerror}).") from error
    except (zipfile.BadZipFile, zipfile.LargeZipFile, ValueError) as error:
        raise NoPackage(f"{file} is not a whole zip file.") from error
    # What goes wrong from here on is no fault of the file's list: a full disk, say, while something is made of it.
    with packed:
        yield Opened(packed, _judged(packed))


def _judged(packed: zipfile.ZipFile) -> frozenset[str]:
    infos = packed.infolist()
    if len(infos) > MOST_PHOTOS + 100 or sum(info.file_size for info in infos) > MOST_BYTES:
        raise NoPackage("It holds more than a package of a book can.")
    known, names = {DESCRIPTOR, README, *table_paths()}, set[str]()
    for info in infos:
        if fault := "is in it twice" if info.filename in names else _fault(info, known):
            raise NoPackage(f"{info.filename[:60]!r} {fault}.")
        names.add(info.filename)
    return frozenset(names)


def _fault(info: zipfile.ZipInfo, known: Collection[str]) -> str:
    photo = info.filename.startswith(_PHOTOS) and is_id(info.filename[len(_PHOTOS) : -len(_JPG)])
    if info.filename not in known and not (photo and photo_path(info.filename[len(_PHOTOS) : -len(_JPG)]) == info.filename):
        return "is no file that a package of this form has"
    if stat.S_IFMT(info.external_attr >> 16) not in (0, stat.S_IFREG):
        return "is a link or something else that is no file"
    if info.flag_bits & 0x1:
        return "is kept secret by a password"
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is packed in a way that packages are not"
    if info.file_size > (MOST_BYTES_A_PHOTO if photo else MOST_BYTES_A_TABLE):
        return "is too big"
    if info.file_size > SMALL and info.file_size > MOST_RATIO * max(1, info.compress_size):
        return "unpacks to far more than a table would"
    return ""
