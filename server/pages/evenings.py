"""The evening of a session: one sheet for the table at which the day is talked over."""

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse

from server.access.seats import TheBook, ViewerSeat
from server.findings.evening import Evening, read_evening
from server.pages.figures import reader_of
from server.pages.rendering import frame_for, html

router = APIRouter()


@dataclass(frozen=True)
class EveningPage:
    found: Evening
    may_write: bool


@router.get("/sessions/{session_id}/evening", response_class=HTMLResponse)
def evening(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    """What the day came to, and what is still owed."""
    with book.read() as session:
        found = read_evening(session, session_id, reader=reader_of(frame_for(request, title="")))
    if found is None:
        raise HTTPException(404, "The book has no such session.")
    return html("evening/page.html", EveningPage(found, seat.at_least("archer")), frame=frame_for(request, title=found.heading, nav="trials"))
