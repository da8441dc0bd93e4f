"""Where photos lie: in a folder beside the book, each under its own id, written whole or not at all."""

import contextlib
import os
import uuid
from pathlib import Path

from proofyard.records.ids import is_id

PHOTOS = "photos"
FORMERLY = "pictures"  # what books and copies of form 0007 and before called it


class PhotoFolder:
    """The photos of one book's folder. An id is looked up, never a path."""

    def __init__(self, folder: Path) -> None:
        self.root = folder / PHOTOS
        self._roots = (self.root, folder / FORMERLY)

    def path(self, photo_id: str, form: str = "") -> Path:
        """The file of a photo; `form`: "" itself, "small", or another form made from it.

        Refuses
            ValueError  not an id
        """
        if not is_id(photo_id) or not form.replace("-", "").isalnum() and form:
            raise ValueError("not the id of a photo")
        # The last two digits: an id begins with its time, which would put a whole season into one folder.
        return self.root / photo_id[-2:] / (photo_id + (f".{form}" if form else "") + ".jpg")

    def places(self, photo_id: str, form: str = "") -> tuple[Path, ...]:
        """Where a photo’s file may lie: as `path` says, or in the folder that an older program filled."""
        own = self.path(photo_id, form).relative_to(self.root)
        return tuple(root / own for root in self._roots)

    def has(self, photo_id: str) -> bool:
        return any(path.is_file() for path in self.places(photo_id))

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

    def write(self, photo_id: str, content: bytes, form: str = "") -> Path:
        """Put it on disk, so that it is there whole when this returns."""
        path = self.path(photo_id, form)
        write_whole(path, content)
        return path


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
