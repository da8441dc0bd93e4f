"""Photos brought along: from the folder or store that one server used to what the next one uses, each held against its checksum.

A photo that is there and whole is not brought again, so what was stopped goes on.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from proofyard.exchange.kept_photos import Photos, whole
from proofyard.exchange.photo_store import is_store

FORMS = ("small",)  # made from it, and lying beside it


@dataclass(frozen=True)
class Brought:
    """named: by the book; new: brought now; missing: whole in neither place."""

    named: int
    new: int
    missing: int

    def in_words(self, place: str) -> tuple[str, ...]:
        """What is said at the end, a line each, where photos alone were brought to a place."""
        lines = [f"Photos: {self.named - self.missing} of {self.named} are whole in {place}; {self.new} of them were brought now."]
        lines += [f"Missing or damaged in both: {self.missing}. The phones that took them may still hold them."] if self.missing else []
        served = f"Serve the book with PROOFYARD_PHOTOS set to {place}." if is_store(place) else "Serve the book without PROOFYARD_PHOTOS."
        return (*lines, served)


def bring_photos(rows: Iterable[tuple[str, str]], *, source: Photos, target: Photos, tell: Callable[[str], object]) -> Brought:
    """Bring each photo (id, SHA-256) to the target; the source is only read.

    A file that is there under a photo's name and isn't whole is written over with the whole one, never with another.
    """
    named = new = missing = 0
    for photo_id, sha256 in rows:
        named += 1
        if whole(target.read(photo_id), sha256) is not None:
            continue
        content = whole(source.read(photo_id), sha256)
        if content is None:
            missing += 1
            continue
        for form in FORMS:
            made = source.read(photo_id, form)
            if made is not None:
                target.write(photo_id, made, form)
        target.write(photo_id, content)  # last: where it lies whole, all of it is there
        if whole(target.read(photo_id), sha256) is None:
            missing += 1
            continue
        new += 1
        tell(f"photos: {new}")
    return Brought(named, new, missing)
