"""A page of fits and the drawings on it as files: worked out one at a time, on a thread of its own.

    worked_out_routes(router, "/measures", read=_read, page=_page, sheet=_sheet)

Fits take long, and whoever saves meanwhile must not wait for several.
"""

from collections.abc import Callable
from typing import TypeVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proofyard.access.seats import ScopedViewerSeat, Seat, TheBook
from proofyard.live.hands import Hands
from proofyard.pages.charts.files import Sheet, drawn_file, parted
from proofyard.pages.frame.forms import query_of
from proofyard.pages.frame.rendering import frame_for
from proofyard.storage import Storage
from proofyard.views.address import Query

T = TypeVar("T")
Read = Callable[[Storage, Query, str, str | None], T]  # of a book, as an address asks, in a reader's units, of one trial alone


def worked_out_routes(
    router: APIRouter,
    path: str,
    *,
    read: Read[T],
    page: Callable[[Request, Seat, T], HTMLResponse],
    sheet: Callable[[T, str], Sheet | None],
) -> None:
    """The page at `path`, and `path`/drawings/{drawing}: each a `sheet` of what was `read`, by its name; files are named after both."""

    def found(request: Request, seat: Seat, book: Storage) -> T:
        return read(book, query_of(request), frame_for(request, title="").reader, seat.trial_id)

    def drawn(request: Request, seat: Seat, book: Storage) -> HTMLResponse:
        return page(request, seat, found(request, seat, book))

    def drawing_of(request: Request, seat: Seat, book: Storage, drawing: str) -> Response:
        name, ending = parted(drawing)
        return drawn_file(request, sheet(found(request, seat, book), name), f"{path.strip('/')}-{name}", ending)

    @router.get(path, response_class=HTMLResponse)
    async def shown(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
        hands: Hands = request.app.state.working_out
        return await hands.do(drawn, request, seat, book)

    @router.get(f"{path}/drawings/{{drawing}}", response_class=Response)
    async def one_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, drawing: str) -> Response:
        hands: Hands = request.app.state.working_out
        return await hands.do(drawing_of, request, seat, book, drawing)
