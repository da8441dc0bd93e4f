"""A panel build's hits so far."""

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.panel.page import PanelPage, read_panel
from proofyard.answers.panel.photograph import Photograph, on_the_drawing
from proofyard.answers.photos.page import PhotosOf, photos_on_page
from proofyard.pages.charts import files as drawings
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.records.ids import new_id

router = APIRouter()
router.include_router(drawings.router)


@dataclass(frozen=True)
class PanelHitsPage:
    read: PanelPage
    reader: str
    photograph: Photograph | None
    photos: PhotosOf
    photo_operation: str
    may_write: bool


@router.get("/panels/{build_id}", response_class=HTMLResponse)
def panel(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader, build_id: str) -> Response:
    """A viewer of one trial sees that trial's hits, and only of panels that it shot at."""
    with book.read() as session:
        read = read_panel(session, build_id, reader=reader, only_trial=seat.trial_id)
        if read is None:
            raise HTTPException(404, "The book has no such panel build.")
        photos = photos_on_page(session, "panel_build", ids=build_id, name=read.hits.name, back=f"/panels/{build_id}")
    photograph = on_the_drawing(photos.facts, read.hits.plan)
    page = PanelHitsPage(read, reader, photograph, photos, new_id(), seat.at_least("archer"))
    if wants_part(request):
        return part("panel/_record.html", page)
    return html("panel/page.html", page, frame=frame_for(request, title=f"Hits on {read.hits.name}", nav="kit", live=True))
