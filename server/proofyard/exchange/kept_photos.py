"""Where a book's photos are kept: in its folder, or in a store that several servers share (PROOFYARD_PHOTOS)."""

import hashlib
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Protocol

from proofyard.exchange.photo_files import PhotoFolder
from proofyard.exchange.photo_store import is_store, store_at
from proofyard.settings import photos_setting
from proofyard.storage import Storage


class Photos(Protocol):
    """What a folder and a store both are. An id is looked up, never a path; `form`: "" the photo itself, "small", or another made from it.

    Whatever is asked of a store may be refused with PhotosAway (server/proofyard/exchange/photo_store.py).
    """

    @property
    def called(self) -> str:
        """Where they are, for a person."""

    def has(self, photo_id: str) -> bool:
        """Whether something lies there under the photo's name."""

    def lacking(self, ids: Collection[str]) -> list[str]:
        """Those of the ids whose photo isn't there."""

    def read(self, photo_id: str, form: str = "") -> bytes | None:
        """Its bytes; None where it isn't there."""

    def write(self, photo_id: str, content: bytes, form: str = "") -> None:
        """Put it there, so that it is there whole when this returns."""

    def set_aside(self, photo_id: str) -> None:
        """Give what lies there another name, so that it isn't written over."""

    def files(self) -> Iterator[tuple[str, str]]:
        """(id, form) of all that lies there."""


def photos_of(book: Storage) -> Photos:
    """The photos of a book that is open."""
    return photos_at(book.path.parent, book.photos_at)


def photos_at(folder: Path, at: str | None = None) -> Photos:
    """Those of a book's folder.

    at  the store's address; empty: the folder itself; None: as PROOFYARD_PHOTOS says
    """
    at = photos_setting() if at is None else at
    if not at:
        return PhotoFolder(folder)
    return store_at(at)


def photos_in(place: str) -> Photos:
    """Those of a place that somebody typed: a folder's path, or a store's address."""
    return store_at(place) if is_store(place) else PhotoFolder(Path(place).expanduser().absolute())


def whole(content: bytes | None, sha256: str) -> bytes | None:
    """The same bytes if they are what the book says; None if they are anything else."""
    return content if content is not None and hashlib.sha256(content).hexdigest() == sha256 else None
