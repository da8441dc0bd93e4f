"""Taking a photo in: read, drawn again, on disk, then its row in the book. Sent twice, it is one photo.

Errors
    NotAPicture   see photo_reading
    OtherPicture  the id names another photo already
    NotTaken      the book refuses the row, field by field
    StorageTrouble  nothing was saved; PhotosAway among them, where a store keeps the photos
"""

import hashlib
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from proofyard.exchange.kept_photos import Photos, photos_of
from proofyard.exchange.photo_reading import MEDIA, Developed, develop
from proofyard.records.apply import NotTaken, apply
from proofyard.records.ids import id_after
from proofyard.records.listing import one
from proofyard.records.operations import Operation
from proofyard.records.photo import Photo
from proofyard.records.photo_facts import of_file
from proofyard.storage import BookReadOnly, Storage, in_words

# One at a time: two tries of one photo must not both find that it is not there yet.
_TURN = threading.Lock()


class OtherPhoto(Exception):
    """The id was given to another photo before."""


@dataclass(frozen=True)
class Kept:
    """A photo that is in the book. `again`: it was before, perhaps under another id."""

    photo: Photo
    seq: int | None
    again: bool


def keep(storage: Storage, sent: bytes, *, photo_id: str, device_id: str, body: Mapping[str, Any]) -> Kept:
    """Put a photo into the book under the id that its sender made.

    body  what it is of (noun, record), taken_at, note; all may be left out, and then it lies in the tray
    """
    sent_sha256 = hashlib.sha256(sent).hexdigest()
    photos = photos_of(storage)
    with _TURN:
        there = _row(storage, photo_id)
        if there is not None and there.sent_sha256 != sent_sha256:
            raise OtherPhoto("This id was given to another photo before. Make a new one.")
        if there is not None and photos.has(photo_id):
            return Kept(there, None, True)
        same = _same_file(storage, sent_sha256, body) if there is None else None
        if same is not None and photos.has(same.id):
            return _placed(storage, same, photo_id=photo_id, device_id=device_id, body=body)
        developed = develop(sent)
        _write(photos, photo_id, developed)  # before the row: a row without its photo would be a promise broken
        found = _found(developed, sent_sha256)
        if there is not None and there.sha256 == found["sha256"]:
            return Kept(there, None, True)  # a restored book lacked the file, and the phone offered it again
        said = {name: value for name, value in body.items() if value not in (None, "")}
        if there is None and developed.taken_at is not None:
            said.setdefault("taken_at", developed.taken_at)
        op = Operation(
            id_after(photo_id, found["sha256"]),
            device_id,
            "put",
            "photo",
            photo_id,
            base_rev=there.rev if there else 0,
            body=said if there is None else {},
        )
        with storage.write() as session:
            answer = apply(session, op, found=found)
            if not answer.taken:
                raise NotTaken([answer])
        kept = _row(storage, photo_id)
        assert kept is not None
        return Kept(kept, answer.seq, answer.again)


def _row(storage: Storage, photo_id: str) -> Photo | None:
    with storage.read() as session:
        return one(session, Photo, photo_id)


def _same_file(storage: Storage, sent_sha256: str, body: Mapping[str, Any]) -> Photo | None:
    """The photo of these very bytes, if it is of the same thing or either is of nothing yet. One file may show two shots."""
    record = body.get("record") or None
    with storage.read() as session:
        found = of_file(session, sent_sha256)
    return next((one for one in found if record is None or one.record_id in (None, record)), None)


def _placed(storage: Storage, same: Photo, *, photo_id: str, device_id: str, body: Mapping[str, Any]) -> Kept:
    """A file that came a second time is not kept twice; what it is of is written down if only the second time said so."""
    if same.record_id is not None or not body.get("record"):
        return Kept(same, None, True)
    said = {name: body[name] for name in ("noun", "record", "seen_from") if body.get(name)}
    op = Operation(id_after(photo_id, same.sha256), device_id, "put", "photo", same.id, base_rev=same.rev, body=said)
    with storage.write() as session:
        answer = apply(session, op)
        if not answer.taken:
            raise NotTaken([answer])
    return Kept(_row(storage, same.id) or same, answer.seq, True)


def _write(photos: Photos, photo_id: str, developed: Developed) -> None:
    try:
        photos.write(photo_id, developed.small, "small")
        photos.write(photo_id, developed.jpeg)
    except OSError as error:
        raise in_words(error) or BookReadOnly(f"The photo can’t be written ({error.strerror}). Nothing was saved.") from error


def _found(developed: Developed, sent_sha256: str) -> dict[str, Any]:
    return {
        "sent_sha256": sent_sha256,
        "sha256": hashlib.sha256(developed.jpeg).hexdigest(),
        "media": MEDIA,
        "width": developed.width,
        "height": developed.height,
        "bytes": len(developed.jpeg),
    }
