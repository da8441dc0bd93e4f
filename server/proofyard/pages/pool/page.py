"""Several groups' books asked one question: the page, its chart as a file, its table as CSV. Everything is in the address."""

from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.exchange.csv_writing import csv_bytes
from proofyard.exchange.other_books.shelf import opened, other_books
from proofyard.live.hands import Hands
from proofyard.pages.charts.files import Sheet, drawn_file, parted
from proofyard.pages.frame.forms import FormField, Wrong, asked_again, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import asked_page, frame_for
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said

if TYPE_CHECKING:
    from proofyard.answers.pool.page import Pool

router = APIRouter()

OWN = "Your own book"


@dataclass(frozen=True)
class PoolPage:
    """`measures`: each group's armour in words; `others`: how many other books are here; `query`: the address as it was asked."""

    found: "Pool"
    measures: Sequence[str]
    others: int
    controls: dict[str, FormField]
    wrongs: Sequence[Wrong]
    query: str


def _read(book: Storage, request: Request) -> "Pool":
    from proofyard.answers.pool.page import GroupsBook, read_pool  # late: the start need not wait for fits

    reader, demo = frame_for(request, title="").reader, bool(request.app.state.demo)
    with ExitStack() as stack:
        books = [GroupsBook(OWN, "/trials", book, own=True, invented=demo)]
        for one in other_books(book.path.parent):
            theirs = stack.enter_context(opened(book.path.parent, one))
            books.append(GroupsBook(one.whose, f"/other-books/{one.id}", theirs, invented=one.demo))
        return read_pool(books, query_of(request), reader=reader)


def _page(request: Request, book: Storage) -> HTMLResponse:
    from proofyard.answers.pool.page import measures_words

    found = _read(book, request)
    controls = controls_of(found.asked)
    measures = [measures_words(one, found.reader) for one in found.groups]
    page = PoolPage(found, measures, len(found.groups) - 1, controls, wrongs(controls.values()), asked_again(request))
    return asked_page(request, "pool/page.html", page, title="Groups pooled")


def _drawing(request: Request, book: Storage, drawing: str) -> Response:
    name, ending = parted(drawing)
    found = _read(book, request)
    sheet = Sheet(found.drawing, (said(found.finding, found.reader),)) if name == "forest" and found.drawing.marks else None
    return drawn_file(request, sheet, "pool-forest", ending)


def _table(request: Request, book: Storage) -> Response:
    from proofyard.exchange.pool_csv import NAME, pool_table

    headers = {"Content-Disposition": f'attachment; filename="{NAME}"', "Cache-Control": "no-store"}
    body = b"".join(csv_bytes(pool_table(_read(book, request)), "analysis"))
    return Response(body, media_type="text/csv; charset=utf-8; header=present", headers=headers)


@router.get("/pool", response_class=HTMLResponse)
async def pool(request: Request, seat: ViewerSeat, book: TheBook) -> Response:
    hands: Hands = request.app.state.working_out
    return await hands.do(_page, request, book)


@router.get("/pool/drawings/{drawing}", response_class=Response)
async def pool_drawing(request: Request, seat: ViewerSeat, book: TheBook, drawing: str) -> Response:
    hands: Hands = request.app.state.working_out
    return await hands.do(_drawing, request, book, drawing)


@router.get("/pool/table.csv", response_class=Response)
async def pool_file(request: Request, seat: ViewerSeat, book: TheBook) -> Response:
    hands: Hands = request.app.state.working_out
    return await hands.do(_table, request, book)
