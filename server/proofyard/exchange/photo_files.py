"""Where photos lie: in a folder beside the book, each under its own id, written whole or not at all."""

import contextlib
import os
import re
import time
import uuid
from collections.abc import Collection, Iterator
from pathlib import Path

from proofyard.records.ids import is_id

PHOTOS = "photos"
FORMERLY = "pictures"  # what books and copies of form 0007 and before called it
_NAME = re.compile(r"[0-9a-f]{2}/([0-9a-f-]{36})(?:\.([0-9A-Za-z-]+))?\.jpg", re.ASCII)


def name_of(photo_id: str, form: str = "") -> str:
    """What a photo's file is called below where photos lie; `form`: "" itself, "small", or another form made from it.

    Refuses
        ValueError  not an id
    """
    if not is_id(photo_id) or not form.replace("-", "").isalnum() and form:
        raise ValueError("not the id of a photo")
    # The last two digits: an id begins with its time, which would put a whole season into one folder.
    return f"{photo_id[-2:]}/{photo_id}" + (f".{form}" if form else "") + ".jpg"


def named(name: str) -> tuple[str, str] | None:
    """(id, form) of what is called so; None if it is no photo's name."""
    found = _NAME.fullmatch(name)
    return (found[1], found[2] or "") if found and is_id(found[1]) else None


class PhotoFolder:
    """The photos of one book's folder. An id is looked up, never a path."""

    def __init__(self, folder: Path) -> None:
        self.root = folder / PHOTOS
        self.called = str(folder)
        self._roots = (self.root, folder / FORMERLY)

    def path(self, photo_id: str, form: str = "") -> Path:
        """The file of a photo, by its name (`name_of`). Refuses as that does."""
        return self.root / name_of(photo_id, form)

    def places(self, photo_id: str, form: str = "") -> tuple[Path, ...]:
        """Where a photo’s file may lie: as `path` says, or in the folder that an older program filled."""
        own = self.path(photo_id, form).relative_to(self.root)
        return tuple(root / own for root in self._roots)

    def has(self, photo_id: str) -> bool:
        return any(path.is_file() for path in self.places(photo_id))

    def lacking(self, ids: Collection[str]) -> list[str]:
        """Those of the ids whose photo isn't there."""
        return [one for one in ids if not self.has(one)]

    @staticmethod
    def in_pool(folder: Path, photo_id: str) -> Path:
        """The same file in a folder of copies."""
        return PhotoFolder(folder).path(photo_id)

    def read(self, photo_id: str, form: str = "") -> bytes | None:
        """The file's bytes; None if it is not there."""
        if not is_id(photo_id):
            return None
        for path in self.places(photo_id, form):
            with contextlib.suppress(OSError):
                return path.read_bytes()
        return None

    def write(self, photo_id: str, content: bytes, form: str = "") -> None:
        """Put it on disk, so that it is there whole when this returns."""
        write_whole(self.path(photo_id, form), content)

    def set_aside(self, photo_id: str) -> None:
        """Give what lies there another name, so that it isn't written over."""
        path = self.path(photo_id)
        if path.exists():
            path.rename(path.with_name(f"{path.stem}-before-restore-{time.strftime('%Y%m%d-%H%M%S')}.jpg"))

    def files(self) -> Iterator[tuple[str, str]]:
        """(id, form) of all that lies there."""
        yield from (found for path in sorted(self.root.glob("*/*.jpg")) if (found := named(path.relative_to(self.root).as_posix())))


def take_former(folder: Path) -> None:
    """Bring the photos that an older program kept under another folder's name to where they belong; none is written over.

    What can't be moved is found where it lies.
    """
    former, root = folder / FORMERLY, folder / PHOTOS
    if not former.is_dir() or former.is_symlink():
        return
    with contextlib.suppress(OSError):
        # File by file: a folder of that name may hold what is not ours.
        for path in former.glob("[0-9a-f][0-9a-f]/*.jpg"):
            to = root / path.parent.name / path.name
            if is_id(path.name.split(".")[0]) and not to.exists():
                to.parent.mkdir(parents=True, exist_ok=True)
                path.rename(to)
        for left in (*former.glob("[0-9a-f][0-9a-f]"), former):
            with contextlib.suppress(OSError):
                left.rmdir()  # refused unless it is empty


def write_whole(path: Path, content: bytes) -> None:
    """Write beside, bring to the disk, then take the name: whoever reads finds all of it or nothing."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        with open(part, "xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Bring a folder's names to the disk, where the system can."""
    with contextlib.suppress(OSError):
        surely_sync_folder(folder)


def surely_sync_folder(folder: Path) -> None:
    """The same; OSError where it did not work. Windows has no such call, and needs none."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
