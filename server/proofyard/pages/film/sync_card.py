"""The sync card: a page that a phone shows to a camera, with the book's time very large and a code of it, ten a second.

The codes are made here, some seconds ahead: the page needs no library for them, and goes on without the laptop till they run out. Then
the time alone stands on it, which is enough.
"""

import time
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

import segno
from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.records.devices import the_book
from proofyard.records.film_words import CODE_STEP_S, code_of_card
from proofyard.records.notebook import latest_seq

router = APIRouter()

STEP_MS = round(CODE_STEP_S * 1000)
MOST_CODES = 100
MOST_MS = 1 << 43


@dataclass(frozen=True)
class SyncCardPage:
    """step_ms: how often another code is drawn; codes: where they come from."""

    step_ms: int
    codes: str


@router.get("/sync-card", response_class=HTMLResponse)
def sync_card(request: Request, seat: ArcherSeat) -> Response:
    page = SyncCardPage(STEP_MS, "/sync-card/codes")
    return html("film/sync_card.html", page, frame=frame_for(request, title="Sync card", nav="trials"))


@router.get("/sync-card/codes", include_in_schema=False)
def codes(
    seat: ArcherSeat,
    book: TheBook,
    begin: Annotated[int, Query(ge=0, le=MOST_MS)],
    count: Annotated[int, Query(ge=0, le=MOST_CODES)] = MOST_CODES,
    error: Annotated[int | None, Query(ge=0, le=99_999)] = None,
) -> dict[str, Any]:
    """The codes of the next moments, row by row in hexadecimal; the laptop's clock before and after, and its time zone."""
    t1 = time.time_ns() // 1_000_000
    with book.read() as session:
        the, seq = the_book(session), latest_seq(session)
    assert the is not None
    first = begin // STEP_MS * STEP_MS
    moments = [first + nth * STEP_MS for nth in range(count)]
    made = {str(at): _rows(code_of_card(book_id=the.book_id, seq=seq, at_ms=at, error_ms=error)) for at in moments}
    offset = datetime.now().astimezone().utcoffset()
    zone_ms = round(offset.total_seconds() * 1000) if offset is not None else 0
    return {"t1": t1, "t2": time.time_ns() // 1_000_000, "zone_ms": zone_ms, "codes": made}


def _rows(text: str) -> list[str]:
    """A row of modules as one number, its first module the highest bit."""
    rows = [list(row) for row in segno.make(text, micro=False, error="m").matrix]
    return [f"{len(rows):x}", *(f"{int(''.join('1' if dark else '0' for dark in row), 2):x}" for row in rows)]
