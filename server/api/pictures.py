"""`PUT /api/pictures/{id}`: a picture from a phone's queue, under the id that the phone made. Sent again, it is the same one."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse

from server.access.seats import ArcherSeat, TheBook
from server.exchange.picture_reading import MOST_BYTES, NotAPicture
from server.exchange.pictures import Kept, OtherPicture, keep
from server.records.apply import NotTaken
from server.records.ids import is_id
from server.storage import StorageTrouble

router = APIRouter()

# What a phone does with it: "waits" and "storage" are tried again later, the others need a person.
STATUS = {"not_a_picture": 422, "too_big": 413, "other_picture": 409, "waits": 409, "refused": 422, "storage": 503}


@router.put("/api/pictures/{picture_id}", include_in_schema=False)
async def take_picture(
    request: Request,
    seat: ArcherSeat,
    book: TheBook,
    picture_id: str,
    noun: Annotated[str, Query(max_length=20)] = "",
    record: Annotated[str, Query(max_length=36)] = "",
    taken_at: Annotated[int | None, Query(ge=0, lt=1 << 45)] = None,
    note: Annotated[str, Query(max_length=2000)] = "",
) -> Response:
    """The body is the picture itself. Without `noun` and `record` it lies in the tray until somebody says what it is of."""
    if not is_id(picture_id):
        return _trouble("refused", "The id of a picture is a UUID in its usual form.")
    sent = await _body(request)
    if sent is None:
        return _trouble("too_big", f"At most {MOST_BYTES // 1_000_000} MB are taken. Send the picture smaller.")
    body = {"noun": noun, "record": record, "taken_at": taken_at, "note": note}
    try:
        kept = await run_in_threadpool(keep, book, sent, picture_id=picture_id, device_id=seat.device_id or "", body=body)
    except NotAPicture as fault:
        return _trouble(fault.kind, str(fault))
    except OtherPicture as fault:
        return _trouble("other_picture", str(fault))
    except NotTaken as refusal:
        said = " ".join(one.sentence for one in refusal.problems)
        return _trouble("waits" if "no such record" in said else "refused", said)
    except StorageTrouble as trouble:
        return _trouble("storage", str(trouble), retry_after_s=trouble.retry_after_s or 10)
    return JSONResponse(_told(kept))


async def _body(request: Request) -> bytes | None:
    pieces, length = [], 0
    async for piece in request.stream():
        length += len(piece)
        if length > MOST_BYTES:
            return None
        pieces.append(piece)
    return b"".join(pieces)


def _told(kept: Kept) -> dict[str, Any]:
    """What a phone keeps of it: the checksum of what it sent says that all of it came."""
    one = kept.picture
    return {
        "id": one.id, "rev": one.rev, "seq": kept.seq, "again": kept.again, "sent_sha256": one.sent_sha256, "sha256": one.sha256,
        "width": one.width, "height": one.height, "bytes": one.bytes, "noun": one.noun, "record": one.record_id,
    }  # fmt: skip


def _trouble(kind: str, sentence: str, *, retry_after_s: int | None = None) -> Response:
    headers = {"Retry-After": str(retry_after_s)} if retry_after_s else {}
    return JSONResponse({"trouble": kind, "sentence": sentence}, STATUS[kind], headers)
