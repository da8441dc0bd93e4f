"""Search: one box, one list of what fits best."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ScopedViewerSeat
from proofyard.answers.find.index import SearchIndex
from proofyard.answers.find.page import Found, read_found
from proofyard.pages.frame.forms import Wrong, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import asked_page, frame_for

router = APIRouter()


@dataclass(frozen=True)
class FindPage:
    found: Found
    wrongs: Sequence[Wrong]
    reader: str


@router.get("/find", response_class=HTMLResponse)
def find(request: Request, seat: ScopedViewerSeat) -> Any:
    """What fits the words that were typed; a viewer of one trial finds what belongs to it."""
    index: SearchIndex = request.app.state.search
    found = read_found(index, query_of(request), only_trial=seat.trial_id)
    page = FindPage(found, wrongs(controls_of(found.asked).values()), frame_for(request, title="").reader)
    title = f"Search: {found.asked.q}" if found.asked.q else "Search"
    return asked_page(request, "find/page.html", page, title=title, nav="more")
