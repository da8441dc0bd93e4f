"""Photos brought along: from the folder that one server used to the folder that the next one uses, each held against its checksum.

A photo that is there and whole is not brought again, so what was stopped goes on.
"""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from proofyard.exchange.photo_files import PhotoFolder

FORMS = ("small",)  # made from it, and lying beside it


@dataclass(frozen=True)
class Brought:
    """named: by the book; new: brought now; missing: whole in neither folder."""

    named: int
    new: int
    missing: int


def bring_photos(rows: Iterable[tuple[str, str]], *, source: Path, target: Path, tell: Callable[[str], object]) -> Brought:
    """Bring each photo (id, SHA-256) to the target's folder; the source's is only read.

    A file that is there under a photo's name and isn't whole is written over with the whole one, never with another.
    """
    from_, to = PhotoFolder(source), PhotoFolder(target)
    named = new = missing = 0
    for photo_id, sha256 in rows:
        named += 1
        if _is_whole(to.read(photo_id), sha256):
            continue
        content = from_.read(photo_id)
        if content is None or not _is_whole(content, sha256):
            missing += 1
            continue
        for form in FORMS:
            made = from_.read(photo_id, form)
            if made is not None:
                to.write(photo_id, made, form)
        to.write(photo_id, content)  # last: where it lies whole, all of it is there
        if not _is_whole(to.read(photo_id), sha256):
            missing += 1
            continue
        new += 1
        tell(f"photos: {new}")
    return Brought(named, new, missing)


def _is_whole(content: bytes | None, sha256: str) -> bool:
    return content is not None and hashlib.sha256(content).hexdigest() == sha256
