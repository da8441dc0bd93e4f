"""`POST /api/sound-levels`: loose and hit found in a recording that stays in the phone.

The phone sends how loud the recording is, half a millisecond at a time; no word can be heard from that. With it come the
boxes that say how far the arrow flew and where the reading goes, as they were typed: they tell which noises can be a
flight. It is looked through and forgotten.
"""

from typing import Annotated

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field, StrictFloat, StrictInt, ValidationError

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.quantities.reason import because
from proofyard.shots.speed_expected import known_flight, own_speed
from proofyard.shots.speed_without_chronograph import LOUDEST, QUIETEST, Heard, loose_and_hit
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

router = APIRouter()

MOST_LEVELS = 120_000  # a minute of half milliseconds
Level = Annotated[StrictInt, Field(ge=QUIETEST, le=LOUDEST)]


class Levels(BaseModel):
    """Tenths of a decibel below the loudest step, in order."""

    model_config = ConfigDict(extra="ignore")
    step_s: Annotated[StrictFloat, Field(ge=0.0001, le=0.001)]
    levels: Annotated[list[Level], Field(min_length=200, max_length=MOST_LEVELS)]
    typed: dict[Annotated[str, Field(max_length=40)], Annotated[str, Field(max_length=200)]] = Field(default={}, max_length=20)


@router.post("/api/sound-levels", include_in_schema=False)
async def find(request: Request, seat: ArcherSeat, storage: TheBook) -> Response:
    """Moments in seconds from the start, or `why_not` in words."""
    body = await request.body()  # the door has bounded it
    return await run_in_threadpool(_found, body, storage)


def _found(body: bytes, storage: Storage) -> Response:
    try:
        sent = Levels.model_validate_json(body)
    except ValidationError:
        return JSONResponse({"why_not": said(because("recording_not_readable"))}, 422)
    with storage.read() as session:
        own = own_speed(session, sent.typed.get("into", ""))
    flight = known_flight(sent.typed, own)
    found = loose_and_hit(sent.levels, sent.step_s, flight=flight)
    if not isinstance(found, Heard):
        return JSONResponse({"why_not": said(found)})
    # What the phone says beside the marks; empty where no other noise would do.
    others = because("noises_other_pairs", others=found.others, way_known=flight is not None) if found.others else None
    return JSONResponse(
        {"loose_s": found.loose_s, "hit_s": found.hit_s, "u_s": found.u_s, "heard_s": list(found.heard_s), "warning": said(others)}
    )
