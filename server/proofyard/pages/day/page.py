"""The day sheet of a session: one sheet for talking the day over."""

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.answers.claims.page import read_claim
from proofyard.answers.day.others import Others
from proofyard.answers.day.page import DayReport, read_day_report
from proofyard.answers.planning.next_shot import next_shot
from proofyard.answers.results.page import results_of
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.rendering import frame_for, html

router = APIRouter()
OTHERS = Others(results=results_of, next_shot=next_shot, claim=read_claim)


@dataclass(frozen=True)
class DayPage:
    found: DayReport
    reader: str
    may_write: bool


@router.get("/sessions/{session_id}/day", response_class=HTMLResponse)
def day_sheet(request: Request, seat: ViewerSeat, book: TheBook, reader: Reader, session_id: str) -> Response:
    """What the day showed, and what is still to do."""
    with book.read() as session:
        found = read_day_report(session, session_id, reader=reader, others=OTHERS, only_trial=seat.trial_id)
    if found is None:
        raise HTTPException(404, "The book has no such session.")
    page = DayPage(found, reader, seat.at_least("archer"))
    return html("day/page.html", page, frame=frame_for(request, title=found.heading, nav="trials"))
