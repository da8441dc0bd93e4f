"""A panel build's hits so far, and an arrow's flights so far."""

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse

from server.access.seats import ScopedViewerSeat, TheBook
from server.findings.arrow_hits import ArrowPage, read_arrow
from server.findings.panel_hits import PanelPage, read_panel
from server.findings.photograph import Photograph, on_the_drawing
from server.findings.pictures import PicturesOf, pictures_on_page
from server.pages import drawings
from server.pages.figures import reader_of
from server.pages.rendering import frame_for, html, part, wants_part
from server.records.ids import new_id

router = APIRouter()
router.include_router(drawings.router)


@dataclass(frozen=True)
class PanelHitsPage:
    read: PanelPage
    photograph: Photograph | None
    pictures: PicturesOf
    picture_operation: str
    may_write: bool


@dataclass(frozen=True)
class ArrowHitsPage:
    read: ArrowPage
    pictures: PicturesOf
    picture_operation: str
    may_write: bool


@router.get("/panels/{build_id}", response_class=HTMLResponse)
def panel(request: Request, seat: ScopedViewerSeat, book: TheBook, build_id: str) -> Response:
    """A viewer of one trial sees that trial's hits, and only of panels that it shot at."""
    with book.read() as session:
        read = read_panel(session, build_id, reader=reader_of(frame_for(request, title="")), only_trial=seat.trial_id)
        if read is None:
            raise HTTPException(404, "The book has no such panel build.")
        pictures = pictures_on_page(session, "panel_build", ids=build_id, name=read.hits.name, back=f"/panels/{build_id}")
    drawing = read.hits.drawing
    photograph = on_the_drawing(pictures.facts, drawing.plan if drawing else None)
    page = PanelHitsPage(read, photograph, pictures, new_id(), seat.at_least("archer"))
    if wants_part(request):
        return part("panel/_record.html", page)
    return html("panel/page.html", page, frame=frame_for(request, title=f"Hits on {read.hits.name}", nav="kit", live=True))


@router.get("/arrows/{arrow_id}", response_class=HTMLResponse)
def arrow(request: Request, seat: ScopedViewerSeat, book: TheBook, arrow_id: str) -> Response:
    with book.read() as session:
        read = read_arrow(session, arrow_id, reader=reader_of(frame_for(request, title="")), only_trial=seat.trial_id)
        if read is None:
            raise HTTPException(404, "The book has no such arrow.")
        builds = [one.build_id for one in read.builds]
        pictures = pictures_on_page(session, "arrow_build", ids=builds, name=read.heading.partition(":")[0], back=f"/arrows/{arrow_id}")
    page = ArrowHitsPage(read, pictures, new_id(), seat.at_least("archer"))
    if wants_part(request):
        return part("arrow/_record.html", page)
    return html("arrow/page.html", page, frame=frame_for(request, title=read.heading, nav="kit", live=True))
