"""Taking a picture in: read, drawn anew, on disk, then its row in the book. Sent twice, it is one picture.

Errors
    NotAPicture   see picture_reading
    OtherPicture  the id names another picture already
    NotTaken      the book refuses the row, field by field
    StorageTrouble  nothing was saved
"""

import hashlib
import threading
import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from server.exchange.picture_files import PictureFolder
from server.exchange.picture_reading import MEDIA, Developed, develop
from server.records.apply import NotTaken, apply
from server.records.listing import one
from server.records.operations import Operation
from server.records.picture import Picture
from server.storage import BookReadOnly, Storage, in_words

# One at a time: two tries of one picture must not both find that it is not there yet.
_TURN = threading.Lock()


class OtherPicture(Exception):
    """The id was given to another picture before."""


@dataclass(frozen=True)
class Kept:
    """A picture that is in the book. `again`: it was before."""

    picture: Picture
    seq: int | None
    again: bool


def keep(storage: Storage, sent: bytes, *, picture_id: str, device_id: str, body: Mapping[str, Any]) -> Kept:
    """Put a picture into the book under the id that its sender made.

    body  what it is of (noun, record), taken_at, note; all may be left out, and then it lies in the tray
    """
    sent_sha256 = hashlib.sha256(sent).hexdigest()
    folder = PictureFolder(storage.path.parent)
    with _TURN:
        there = _row(storage, picture_id)
        if there is not None and there.sent_sha256 != sent_sha256:
            raise OtherPicture("This id was given to another picture before. Make a new one.")
        if there is not None and folder.path(picture_id).exists():
            return Kept(there, None, True)
        developed = develop(sent)
        _write(folder, picture_id, developed)  # before the row: a row without its picture would be a promise broken
        found = _found(developed, sent_sha256)
        if there is not None and there.sha256 == found["sha256"]:
            return Kept(there, None, True)  # a restored book lacked the file, and the phone offered it again
        said = {name: value for name, value in body.items() if value not in (None, "")}
        if there is None and developed.taken_at is not None:
            said.setdefault("taken_at", developed.taken_at)
        op = Operation(
            _id_after(picture_id, found["sha256"]), device_id, "put", "picture", picture_id, base_rev=there.rev if there else 0,
            body=said if there is None else {},
        )  # fmt: skip
        with storage.write() as session:
            answer = apply(session, op, found=found)
            if not answer.taken:
                raise NotTaken([answer])
        kept = _row(storage, picture_id)
        assert kept is not None
        return Kept(kept, answer.seq, answer.again)


def _row(storage: Storage, picture_id: str) -> Picture | None:
    with storage.read() as session:
        return one(session, Picture, picture_id)


def _write(folder: PictureFolder, picture_id: str, developed: Developed) -> None:
    try:
        folder.write(picture_id, developed.small, "small")
        folder.write(picture_id, developed.jpeg)
    except OSError as error:
        raise in_words(error) or BookReadOnly(f"The picture can’t be written ({error.strerror}). Nothing was saved.") from error


def _found(developed: Developed, sent_sha256: str) -> dict[str, Any]:
    return {
        "sent_sha256": sent_sha256, "sha256": hashlib.sha256(developed.jpeg).hexdigest(), "media": MEDIA,
        "width": developed.width, "height": developed.height, "bytes": len(developed.jpeg),
    }  # fmt: skip


def _id_after(picture_id: str, what: str) -> str:
    """The id of the operation: the same for the same picture, whenever it is sent."""
    tail = int.from_bytes(hashlib.sha256(f"{picture_id}/{what}".encode()).digest()[:10], "big")
    moment = uuid.UUID(picture_id).int >> 80
    return str(uuid.UUID(int=moment << 80 | 0x7 << 76 | (tail >> 62 & 0xFFF) << 64 | 0b10 << 62 | tail & ((1 << 62) - 1)))
