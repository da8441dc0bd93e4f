"""Groups of shots compared, and whether an earlier hit nearby matters. Everything is in the address; no script is needed."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ScopedViewerSeat, Seat, TheBook
from proofyard.charts.binned import MOST_MARKS
from proofyard.live.hands import Hands
from proofyard.pages.frame.forms import controls_of, query_of
from proofyard.pages.frame.rendering import asked_page, frame_for
from proofyard.pages.results.page import ViewFields, view_fields
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

if TYPE_CHECKING:
    from proofyard.answers.compare.page import CompareFindings
    from proofyard.answers.compare.worn_spots import WornSpots

router = APIRouter()


@dataclass(frozen=True)
class ComparePage(ViewFields):
    """most_marks: so many shots stand one by one, as in drawings; of more the tiles are counted."""

    compare: "CompareFindings"
    most_marks: int


@dataclass(frozen=True)
class WearPage(ViewFields):
    """Fair against near an earlier hit. It has no choice of fairness: that is what it asks about."""

    wear: "WornSpots"


def _compared(request: Request, seat: Seat, book: Storage) -> HTMLResponse:
    from proofyard.answers.compare.page import read_comparison

    found = read_comparison(book, query_of(request), only_trial=seat.trial_id, reader=frame_for(request, title="").reader)
    page = ComparePage(**view_fields(controls_of(found.compare) | controls_of(found.asked)), compare=found, most_marks=MOST_MARKS)
    return asked_page(request, "compare/page.html", page, title=f"Compare: {said(found.finding.title, found.reader)}")


def _worn(request: Request, seat: Seat, book: Storage) -> HTMLResponse:
    from proofyard.answers.compare.worn_spots import read_worn_spots  # late, as above

    found = read_worn_spots(book, query_of(request), only_trial=seat.trial_id, reader=frame_for(request, title="").reader)
    controls = controls_of(found.asked)
    del controls["fair"]
    page = WearPage(**view_fields(controls), wear=found)
    return asked_page(request, "compare/wear.html", page, title=f"Earlier hits nearby: {said(found.title, found.reader)}")


@router.get("/compare", response_class=HTMLResponse)
async def compare(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    """Heads, panels, days, archers, bows: two or more groups at like energy. On the thread of its own, as all long reckoning."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_compared, request, seat, book)


@router.get("/compare/wear", response_class=HTMLResponse)
async def worn_spots(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    """Does an earlier hit nearby matter? Fair hits against those near one."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_worn, request, seat, book)
