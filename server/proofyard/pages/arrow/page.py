"""An arrow's flights so far, build by build."""

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.arrow.page import ArrowPage, read_arrow
from proofyard.answers.photos.page import PhotosOf, photos_on_page
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.records.ids import new_id

router = APIRouter()


@dataclass(frozen=True)
class ArrowHitsPage:
    read: ArrowPage
    reader: str
    photos: PhotosOf
    photo_operation: str
    may_write: bool


@router.get("/arrows/{arrow_id}", response_class=HTMLResponse)
def arrow(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader, arrow_id: str) -> Response:
    with book.read() as session:
        read = read_arrow(session, arrow_id, reader=reader, only_trial=seat.trial_id)
        if read is None:
            raise HTTPException(404, "The book has no such arrow.")
        builds = [one.build_id for one in read.builds]
        photos = photos_on_page(session, "arrow_build", ids=builds, name=read.heading.partition(":")[0], back=f"/arrows/{arrow_id}")
    page = ArrowHitsPage(read, reader, photos, new_id(), seat.at_least("archer"))
    if wants_part(request):
        return part("arrow/_record.html", page)
    return html("arrow/page.html", page, frame=frame_for(request, title=read.heading, nav="kit", live=True))
