"""Another bow: its arrow's speed, its energy at the target and what that does, each with one range. Everything is in the address."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from proofyard.access.seats import ScopedViewerSeat, Seat, TheBook
from proofyard.exchange.csv_writing import csv_bytes
from proofyard.live.hands import Hands
from proofyard.pages.charts.files import Sheet, drawn_file, parted
from proofyard.pages.frame.forms import FormField, Wrong, asked_again, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import asked_page, frame_for
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

if TYPE_CHECKING:
    from proofyard.answers.another_bow.page import AnotherBowFound

router = APIRouter()

CAUTION = "Panels on a stand. Nothing here certifies armour or says that anyone would be safe. Never try it on anyone."


@dataclass(frozen=True)
class AnotherBowPage:
    """The answer, and its form. `query`: the address as it was asked, for the drawing as a file."""

    found: "AnotherBowFound"
    reader: str
    controls: Mapping[str, FormField]
    wrongs: Sequence[Wrong]
    query: str


def _found(request: Request, seat: Seat, book: Storage) -> "AnotherBowFound":
    from proofyard.answers.another_bow.page import read_another_bow  # late: the start need not wait for fits

    reader = frame_for(request, title="").reader
    return read_another_bow(book, query_of(request), reader=reader, only_trial=seat.trial_id)


def _drawn(request: Request, seat: Seat, book: Storage) -> HTMLResponse:
    found = _found(request, seat, book)
    controls = controls_of(found.asked, found.problems)
    page = AnotherBowPage(found, found.reader, controls, wrongs(controls.values()), asked_again(request))
    title = f"What would another bow do? {said(found.finding, found.reader)}".strip()
    return asked_page(request, "another_bow/page.html", page, title=title)


@router.get("/another-bow", response_class=HTMLResponse)
async def another_bow(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    """Worked out one page at a time, as the 50 % energies are."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_drawn, request, seat, book)


@router.get("/another-bow/drawings/{drawing}", response_class=Response)
async def another_bow_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, drawing: str) -> Response:
    """The chart as a file, for the same address."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_drawing, request, seat, book, drawing)


@router.get("/another-bow.csv", response_class=Response)
async def another_bow_file(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """The same answer in the columns of another_bow.csv."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_file, request, seat, book)


def _file(request: Request, seat: Seat, book: Storage) -> Response:
    from proofyard.exchange.another_bow_csv import table_of_page  # late: the start need not wait for fits

    found = _found(request, seat, book)
    if found.problems:
        return RedirectResponse("/another-bow" + asked_again(request), 303)  # the page says what is wrong with the address
    headers = {"Content-Disposition": 'attachment; filename="another_bow.csv"', "Cache-Control": "no-store"}
    body = b"".join(csv_bytes(table_of_page(found), "analysis"))
    return Response(body, media_type="text/csv; charset=utf-8; header=present", headers=headers)


def _drawing(request: Request, seat: Seat, book: Storage, drawing: str) -> Response:
    name, ending = parted(drawing)
    found = _found(request, seat, book)
    if found.drawing is None or name != "energy":
        return drawn_file(request, None, name, ending)
    return drawn_file(request, Sheet(found.drawing, (said(found.finding, found.reader), CAUTION)), "another-bow-energy", ending)
