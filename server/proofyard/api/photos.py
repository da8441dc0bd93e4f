"""`PUT /api/photos/{id}`: a photo from a phone's queue, under the id that the phone made. Sent again, it is the same one."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.api.body import whole_body
from proofyard.exchange.photo_reading import MOST_BYTES, NotAPicture
from proofyard.exchange.photos import Kept, OtherPhoto, keep
from proofyard.records.apply import NotTaken
from proofyard.records.ids import is_id
from proofyard.storage import StorageTrouble

router = APIRouter()

# What a phone does with it: "waits" and "storage" are tried again later, the others need a person.
STATUS = {"not_a_photo": 422, "too_big": 413, "other_photo": 409, "waits": 409, "refused": 422, "storage": 503}


@router.put("/api/photos/{photo_id}", include_in_schema=False)
async def take_photo(
    request: Request,
    seat: ArcherSeat,
    book: TheBook,
    photo_id: str,
    noun: Annotated[str, Query(max_length=20)] = "",
    record: Annotated[str, Query(max_length=36)] = "",
    taken_at: Annotated[int | None, Query(ge=0, lt=1 << 45)] = None,
    note: Annotated[str, Query(max_length=2000)] = "",
) -> Response:
    """The body is the photo itself. Without `noun` and `record` it lies in the tray until somebody says what it is of."""
    if not is_id(photo_id):
        return _trouble("refused", "The id of a photo is a UUID in its usual form.")
    sent = await whole_body(request, most=MOST_BYTES)
    if sent is None:
        return _trouble("too_big", f"At most {MOST_BYTES // 1_000_000} MB are taken. Send the photo smaller.")
    body = {"noun": noun, "record": record, "taken_at": taken_at, "note": note}
    try:
        kept = await run_in_threadpool(keep, book, sent, photo_id=photo_id, device_id=seat.device_id or "", body=body)
    except NotAPicture as fault:
        return _trouble(fault.kind, str(fault))
    except OtherPhoto as fault:
        return _trouble("other_photo", str(fault))
    except NotTaken as refusal:
        said = " ".join(one.sentence for one in refusal.problems)
        return _trouble("waits" if "no such record" in said else "refused", said)
    except StorageTrouble as trouble:
        return _trouble("storage", str(trouble), retry_after_s=trouble.retry_after_s or 10)
    return JSONResponse(_told(kept))


def _told(kept: Kept) -> dict[str, Any]:
    """What a phone keeps of it: the checksum of what it sent says that all of it came."""
    one = kept.photo
    return {
        "id": one.id,
        "rev": one.rev,
        "seq": kept.seq,
        "again": kept.again,
        "sent_sha256": one.sent_sha256,
        "sha256": one.sha256,
        "width": one.width,
        "height": one.height,
        "bytes": one.bytes,
        "noun": one.noun,
        "record": one.record_id,
    }


def _trouble(kind: str, sentence: str, *, retry_after_s: int | None = None) -> Response:
    headers = {"Retry-After": str(retry_after_s)} if retry_after_s else {}
    return JSONResponse({"trouble": kind, "sentence": sentence}, STATUS[kind], headers)
