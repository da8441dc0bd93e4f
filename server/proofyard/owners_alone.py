"""The book's folder as its owner's alone: no other account of the laptop reads who shot what, or the phones' seats.

On Windows a folder in the user's own profile is nobody else's already, and these rights do not exist.
"""

import os
import stat
from collections.abc import Iterator
from pathlib import Path

FOLDER, FILE = 0o700, 0o600
OWN_FILES = ("*.db", "*.db-wal", "*.db-shm", "*.db-journal", "*.lock", "*.zip", "*.part")
OWN_FOLDERS = ("backups", "photos", "other-books", "https")


def from_now_on() -> None:
    """Whatever this program makes from here is its owner's alone."""
    os.umask(0o077)


def mend(folder: Path) -> str:
    """Take away others' rights from a book's folder and what is ours in it; a line that says so, empty if none had any.

    Files that aren't a book's are left alone. What can't be changed (a stick without rights) is said, not refused.
    """
    if os.name == "nt" or not folder.is_dir():
        return ""
    mended, failed = 0, 0
    for path in _ours(folder):
        done = _alone(path)
        mended, failed = mended + (done is True), failed + (done is False)
    if failed:
        return (
            f"Other accounts of this laptop may read the book: the rights of {failed} files in {folder} can’t be changed. Keep it in "
            f"your own folder."
        )
    if mended:
        return f"Other accounts of this laptop could read the book’s folder. It is yours alone now ({mended} files and folders mended)."
    return ""


def _ours(folder: Path) -> Iterator[Path]:
    if not _is_shared(folder):
        yield folder
    for pattern in OWN_FILES:
        yield from folder.glob(pattern)
    for name in OWN_FOLDERS:
        for at, _, files in os.walk(folder / name):  # follows no link
            yield Path(at)
            yield from (Path(at, one) for one in files)


def _is_shared(folder: Path) -> bool:
    """A home folder, or one for everybody (/tmp): its own rights are not ours to change."""
    return bool(folder.stat().st_mode & stat.S_ISVTX) or folder.resolve() == Path.home().resolve()


def _alone(path: Path) -> bool | None:
    """True: others had rights and have none now; False: they still have; None: nothing to do."""
    try:
        found = path.lstat()
        if stat.S_ISLNK(found.st_mode) or not found.st_mode & 0o077:
            return None
        path.chmod(FOLDER if stat.S_ISDIR(found.st_mode) else FILE)
        return not path.lstat().st_mode & 0o077
    except FileNotFoundError:
        return None
    except OSError:
        return False
