"""Every incident of the book on one page, for the range officer and for whoever plans the next day."""

from dataclasses import dataclass

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse

from server.access.seats import ScopedViewerSeat, TheBook
from server.findings.incident_list import IncidentList, incident_list
from server.pages.figures import reader_of
from server.pages.rendering import frame_for, html

router = APIRouter()


@dataclass(frozen=True)
class IncidentsPage:
    read: IncidentList


@router.get("/incidents", response_class=HTMLResponse)
def all_incidents(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """A viewer of one trial sees that trial's."""
    frame = frame_for(request, title="Incidents", nav="trials")
    with book.read() as session:
        read = incident_list(session, reader=reader_of(frame), only_trial=seat.trial_id)
    return html("incidents/page.html", IncidentsPage(read), frame=frame)
