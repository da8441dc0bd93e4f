"""What the trial of a day claims, with its answer: fetched by the day's page, which has no room for a trial's shots in its statements."""

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.answers.claims.page import read_claim
from proofyard.answers.claims.read import ClaimRead
from proofyard.answers.trial.page import read_trial
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.rendering import part, wants_part
from proofyard.records.listing import one
from proofyard.records.trial import Session as Day

router = APIRouter()


@dataclass(frozen=True)
class ClaimOfDay:
    day_id: str
    claim: ClaimRead
    reader: str


@router.get("/sessions/{session_id}/claim", response_class=HTMLResponse)
def claim_of_day(request: Request, seat: ViewerSeat, book: TheBook, session_id: str, reader: Reader) -> Response:
    """The same answer as the trial's own page gives; for anybody else than the day's page its sheet, which says it too."""
    if not wants_part(request):
        return RedirectResponse(f"/sessions/{session_id}/day", 303)
    with book.read() as session:
        day = one(session, Day, session_id)
        read = read_trial(session, day.trial_id, reader=reader, only_trial=seat.trial_id) if day else None
    if read is None or read.claim is None:
        raise HTTPException(404, "This day’s trial claims nothing.")
    return part("session/_claim.html", ClaimOfDay(session_id, read_claim(read.claim, read.shots), reader))
