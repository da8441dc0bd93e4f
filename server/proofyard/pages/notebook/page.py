"""The notebook: who changed what, newest first; and what two people said differently, to be decided."""

from dataclasses import dataclass

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ArcherSeat, TheBook, ViewerSeat
from proofyard.answers.notebook.page import NotebookRead, read_notebook
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.forms import Posted, query_of
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.pages.shot.page import decide
from proofyard.records.ids import new_id
from proofyard.views.address import Reading, Written

router = APIRouter()


def _line(text: str) -> int | None:
    """The number of a line; what is none begins at the newest."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else None


BEFORE: Written[int | None] = Written(name="before", default=None, reader=_line)


@dataclass(frozen=True)
class NotebookPage:
    read: NotebookRead
    first: bool
    may_write: bool
    clash_operations: dict[str, str]


@router.get("/notebook", response_class=HTMLResponse)
def notebook(request: Request, seat: ViewerSeat, book: TheBook, reader: Reader) -> Response:
    """It spans all trials, so a viewer of one trial has no way to it. `?before=` a line: what came before that."""
    number = Reading(query_of(request)).one(BEFORE)
    with book.read() as session:
        read = read_notebook(session, reader=reader, before=number)
    page = NotebookPage(read, number is None, seat.at_least("archer"), {clash.id: new_id() for clash in read.clashes})
    if wants_part(request):
        return part("notebook/_lines.html", page)
    return html("notebook/page.html", page, frame=frame_for(request, title="Notebook", nav="more", live=number is None))


@router.post("/notebook/clashes/{clash_id}", response_class=HTMLResponse)
def decide_here(seat: ArcherSeat, book: TheBook, clash_id: str, form: Posted) -> Response:
    decide(book, seat, form, clash_id=clash_id)
    return RedirectResponse("/notebook", 303)
