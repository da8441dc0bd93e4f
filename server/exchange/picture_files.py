"""Where pictures lie: in a folder beside the book, each under its own id, written whole or not at all."""

import contextlib
import os
import uuid
from pathlib import Path

from server.records.ids import is_id

PICTURES = "pictures"


class PictureFolder:
    """The pictures of one book's folder. An id is looked up, never a path."""

    def __init__(self, folder: Path) -> None:
        self.root = folder / PICTURES

    def path(self, picture_id: str, form: str = "") -> Path:
        """The file of a picture; `form`: "" itself, "small", or another form made from it.

        Refuses
            ValueError  not an id
        """
        if not is_id(picture_id) or not form.replace("-", "").isalnum() and form:
            raise ValueError("not the id of a picture")
        # The last two digits: an id begins with its time, which would put a whole season into one folder.
        return self.root / picture_id[-2:] / (picture_id + (f".{form}" if form else "") + ".jpg")

    @staticmethod
    def in_pool(folder: Path, picture_id: str) -> Path:
        """The same file in a folder of copies."""
        return PictureFolder(folder).path(picture_id)

    def read(self, picture_id: str, form: str = "") -> bytes | None:
        """The file's bytes; None if it is not there."""
        try:
            return self.path(picture_id, form).read_bytes()
        except (OSError, ValueError):
            return None

    def write(self, picture_id: str, content: bytes, form: str = "") -> Path:
        """Put it on disk, so that it is there whole when this returns."""
        path = self.path(picture_id, form)
        write_whole(path, content)
        return path


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
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
