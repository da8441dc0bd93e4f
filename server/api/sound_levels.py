"""`POST /api/sound-levels`: loose and strike found in a recording that stays in the phone.

The phone sends how loud the recording is, half a millisecond at a time; no word can be heard from that. It is looked
through and forgotten.
"""

from typing import Annotated

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field, StrictFloat, StrictInt, ValidationError

from server.access.seats import ArcherSeat
from server.findings.speed_without_chronograph import LOUDEST, QUIETEST, Heard, loose_and_strike

router = APIRouter()

MOST_LEVELS = 120_000  # a minute of half milliseconds
Level = Annotated[StrictInt, Field(ge=QUIETEST, le=LOUDEST)]


class Levels(BaseModel):
    """Tenths of a decibel below the loudest step, in order."""

    model_config = ConfigDict(extra="ignore")
    step_s: Annotated[StrictFloat, Field(ge=0.0001, le=0.001)]
    levels: Annotated[list[Level], Field(min_length=200, max_length=MOST_LEVELS)]


@router.post("/api/sound-levels", include_in_schema=False)
async def find(request: Request, seat: ArcherSeat) -> Response:
    """Moments in seconds from the start, or `why_not` in words."""
    body = await request.body()  # the door has bounded it
    return await run_in_threadpool(_found, body)


def _found(body: bytes) -> Response:
    try:
        sent = Levels.model_validate_json(body)
    except ValidationError:
        return JSONResponse({"why_not": "this recording can’t be looked through: it is too short, longer than a minute, or not what was expected"}, 422)
    found = loose_and_strike(sent.levels, sent.step_s)
    if not isinstance(found, Heard):
        return JSONResponse({"why_not": found})
    return JSONResponse({"loose_s": found.loose_s, "strike_s": found.strike_s, "u_s": found.u_s, "heard_s": list(found.heard_s)})
