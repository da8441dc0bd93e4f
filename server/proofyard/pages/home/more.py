"""More: every page that has no place of its own in the masthead, and the units of this device."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ViewerSeat
from proofyard.pages.frame.places import UNDER_MORE, Family, open_to
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.home.preferences import UNITS

router = APIRouter()


@dataclass(frozen=True)
class MorePage:
    """groups: the pages under More that this reader may open; units: value and words of each choice."""

    groups: tuple[Family, ...]
    units: tuple[tuple[str, str], ...]


@router.get("/more", response_class=HTMLResponse)
def more(request: Request, seat: ViewerSeat) -> HTMLResponse:
    groups = (one._replace(places=open_to(one.places, seat.role, only_trial=None)) for one in UNDER_MORE)
    page = MorePage(tuple(one for one in groups if one.places), tuple(UNITS.items()))
    return html("more/page.html", page, frame=frame_for(request, title="More", nav="more"))
