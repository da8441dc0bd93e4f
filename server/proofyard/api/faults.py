"""`POST /api/faults`: an error that a page's script did not catch, for the log. Nothing of it is stored or shown."""

import json
import logging
from typing import Annotated

from fastapi import APIRouter, HTTPException, Request, Response
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from proofyard.access.connections import Pace
from proofyard.access.seats import ScopedViewerSeat

router = APIRouter()
log = logging.getLogger("proofyard")

MOST_BYTES = 8_000
MOST_EACH_MINUTE = 10  # for one device: its page tells five at most before it is reloaded
SLOWER = "This device told of enough faults for now. Try again in a minute."
UNREADABLE = "That is not what a page tells of a fault."


class Told(BaseModel):
    """message, where, stack: as the browser gives them. page: the path in the address bar. at: ms by the device's clock."""

    model_config = ConfigDict(extra="ignore")
    message: Annotated[str, Field(min_length=1, max_length=300)]
    where: Annotated[str, Field(max_length=300)] = ""
    stack: Annotated[str, Field(max_length=2000)] = ""
    page: Annotated[str, Field(max_length=200)] = ""
    at: Annotated[int, Field(ge=0, le=1 << 53)] = 0


@router.post("/api/faults", include_in_schema=False)
async def tell(request: Request, seat: ScopedViewerSeat) -> Response:
    """204 and a line in the log; 413, 422 and 429 otherwise. The door has asked whether it comes from our own page."""
    pace: Pace = request.app.state.faults_told
    if pace.wait_s(seat.device_id or ""):
        raise HTTPException(429, SLOWER, {"Retry-After": "60"})
    try:
        told = Told.model_validate_json(await _body(request))
    except ValidationError:
        raise HTTPException(422, UNREADABLE) from None
    # As JSON in ASCII: whatever a page sends stays one line, and can't draw on the terminal that shows it.
    said = json.dumps(told.model_dump(), ensure_ascii=True)
    log.error("fault in the script of a page: %s, phone %s, device %s: %s", seat.role, seat.letter or "-", seat.device_id, said)
    return Response(status_code=204)


async def _body(request: Request) -> bytes:
    """The body, until it is longer than a fault is."""
    whole = b""
    async for part in request.stream():
        whole += part
        if len(whole) > MOST_BYTES:
            raise HTTPException(413, UNREADABLE)
    return whole
