"""The notebook: who changed what, newest first; and what two people said differently, to be decided."""

from dataclasses import dataclass

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, TheBook, ViewerSeat
from server.findings.notebook_page import NotebookRead, read_notebook
from server.pages.posted import Posted
from server.pages.rendering import frame_for, html, part, wants_part
from server.pages.shots import decide
from server.records.ids import new_id

router = APIRouter()


@dataclass(frozen=True)
class NotebookPage:
    read: NotebookRead
    first: bool
    may_write: bool
    clash_operations: dict[str, str]


@router.get("/notebook", response_class=HTMLResponse)
def notebook(request: Request, seat: ViewerSeat, book: TheBook, before: str = "") -> Response:
    """It spans all trials, so a viewer of one trial has no way in."""
    number = int(before) if before.isascii() and before.isdigit() and len(before) < 16 else None
    with book.read() as session:
        read = read_notebook(session, before=number)
    page = NotebookPage(read, number is None, seat.at_least("archer"), {clash.id: new_id() for clash in read.clashes})
    if wants_part(request):
        return part("notebook/_lines.html", page)
    return html("notebook/page.html", page, frame=frame_for(request, title="Notebook", nav="trials", live=number is None))


@router.post("/notebook/clashes/{clash_id}", response_class=HTMLResponse)
def decide_here(seat: ArcherSeat, book: TheBook, clash_id: str, form: Posted) -> Response:
    decide(book, seat, form, clash_id=clash_id)
    return RedirectResponse("/notebook", 303)
