"""The laptop's stream of "something changed". Phones at the range ask by /api/changes instead.

Each event carries only the number of the last change; a page that hears one fetches its parts again.
"""

import asyncio
import contextlib
from collections.abc import AsyncIterator
from random import random
from typing import Annotated

from fastapi import APIRouter, Depends, Header, HTTPException, Query, Request
from fastapi.sse import EventSourceResponse, ServerSentEvent
from starlette.concurrency import run_in_threadpool

from proofyard.access.gate import TheGate
from proofyard.access.seats import COOKIE, ScopedViewerSeat, cookie_of
from proofyard.live.doorbell import Doorbell, Ear

router = APIRouter()

RETRY_MS = 3000
GATHER_S = 0.1  # the first change is told at once; those close behind it are one more, not to all pages in one instant
BEAT_S = 15.0  # a page that heard nothing for 35 s opens the stream again: see static/js/live.js


def the_doorbell(request: Request) -> Doorbell:
    bell: Doorbell = request.app.state.doorbell
    return bell


TheDoorbell = Annotated[Doorbell, Depends(the_doorbell)]


def number_in(text: str | None) -> int | None:
    """The number of a change out of what a browser sent back; None if it isn't one."""
    return int(text) if text and text.isascii() and text.isdigit() and len(text) <= 18 else None


async def an_ear(bell: TheDoorbell, _: ScopedViewerSeat) -> AsyncIterator[Ear]:
    """A place among the listeners, for as long as the stream is open."""
    ear = bell.open_ear()
    if ear is None:
        raise HTTPException(
            503,
            "As many pages listen as may. This one still works: open it again to see what changed.",
            {"Retry-After": "30", "Connection": "close"},
        )
    try:
        yield ear
    finally:
        bell.close_ear(ear)


@router.get("/live", response_class=EventSourceResponse)
async def live(
    request: Request,
    seat: ScopedViewerSeat,
    gate: TheGate,
    bell: TheDoorbell,
    ear: Annotated[Ear, Depends(an_ear)],
    since: Annotated[str | None, Query()] = None,
    last_event_id: Annotated[str | None, Header()] = None,
) -> AsyncIterator[ServerSentEvent]:
    """A stream that begins with what was missed since `since` or the last event heard, if anything was."""
    token = cookie_of(request, COOKIE)
    told = number_in(last_event_id)
    told = number_in(since) if told is None else told
    begin = await bell.latest()
    yield ServerSentEvent(event="beat", data={"seq": begin}, retry=RETRY_MS)
    if told is None or told > begin:
        told = begin
    while not bell.closing:
        ear.rang.clear()
        seq = await bell.latest()
        if seq > told:
            told = seq
            yield ServerSentEvent(data={"seq": seq}, id=str(seq))
            await asyncio.sleep(GATHER_S * (1 + random()))
        if not await _heard(ear):
            yield ServerSentEvent(event="beat", data={"seq": told})
        now = gate.seats.held(token)
        if now is None:
            now = await run_in_threadpool(gate.seats.read, token)
        if now.device_id != seat.device_id or now.trial_id != seat.trial_id or not now.at_least("viewer"):
            return


async def _heard(ear: Ear) -> bool:
    """Wait for the bell; False when it stayed silent for one beat."""
    with contextlib.suppress(TimeoutError):
        await asyncio.wait_for(ear.rang.wait(), BEAT_S)
        return True
    return False
