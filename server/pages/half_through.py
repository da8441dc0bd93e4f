"""Energy to get through: the curve, the energy at which half get through, and heads compared by it. All in the address."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from server.access.seats import ScopedViewerSeat, TheBook
from server.findings.axes import PLACES, ROWS
from server.findings.half.settings import SPREAD_LABELS, TERMS, USUAL_SPREADS
from server.findings.view_settings import FAIRS, FILTERS, THROUGHS
from server.live.hands import Hands
from server.pages.drawings import Sheet, drawn_file, parted
from server.pages.figures import reader_of
from server.pages.rendering import frame_for, html
from server.pages.results import LABELS, ViewFields, head_options, query_of
from server.pages.shapes import Column, FieldState, Wrong

if TYPE_CHECKING:
    from server.findings.half.page import HalfThrough

router = APIRouter()

OWN_LABELS = {
    "tails": "Other shares to ask for",
    "term": "Beside the energy",
    "arrow": "Arrow of the averaging limit",
    **SPREAD_LABELS,
}
KEPT = ("axis", "edges", "method")  # of the results page: they mean nothing here, and are there again on the way back


@dataclass(frozen=True)
class HalfPage(ViewFields):
    """The page. `kept`: what the way back needs."""

    half: "HalfThrough"
    rows: Mapping[str, str]
    terms: Mapping[str, str]
    own_labels: Mapping[str, str]
    usual_spreads: Mapping[str, str]
    kept: tuple[tuple[str, str], ...]
    results_href: str
    query: str
    compared_columns: tuple[Column, ...]


def half_page(half: "HalfThrough", query: str) -> HalfPage:
    asked, labels = half.asked, {**LABELS, **OWN_LABELS}
    states = {name: FieldState(asked.typed.get(name, ""), error=asked.problems.get(name, "")) for name in (*labels, "pool")}
    states["at"] = FieldState(asked.typed.get("at") or asked.view.place, error=asked.problems.get("at", ""))
    return HalfPage(
        half=half,
        choices=half.choices,
        heads_typed=asked.heads_typed,
        states=states,
        wrongs=tuple(Wrong(name, labels[name], asked.problems[name]) for name in labels if name in asked.problems),
        filters=FILTERS,
        heads=head_options(half.choices["head"]),
        throughs=THROUGHS,
        fairs=FAIRS,
        places=PLACES,
        rows={key: one.label for key, one in ROWS.items()},
        terms=TERMS,
        own_labels=OWN_LABELS,
        usual_spreads=USUAL_SPREADS,
        kept=tuple((name, asked.typed[name]) for name in KEPT if asked.typed.get(name)),
        results_href=half.results_href,
        query=f"?{query}" if query else "",
        compared_columns=(Column("Head"), Column("Times the energy", True), Column("May be, 95\N{NO-BREAK SPACE}%")),
    )


def _drawn(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    from server.findings.half.page import read_half  # late: the start need not wait for fits

    frame = frame_for(request, title="Energy to get through", nav="results")
    half = read_half(book, query_of(request), reader=reader_of(frame), only_trial=seat.trial_id)
    page = half_page(half, request.url.query)
    frame = frame_for(request, title=half.title, nav="results", wrong=bool(page.wrongs))
    return html("half/page.html", page, frame=frame, status=422 if page.wrongs else 200)


@router.get("/half", response_class=HTMLResponse)
async def half_through(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    """Worked out one page at a time, on a thread of its own: fits take long, and whoever saves must not wait for several."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_drawn, request, seat, book)


@router.get("/half/drawings/{drawing}", response_class=Response)
async def half_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, drawing: str) -> Response:
    """One curve as a file, for the same view: named as its head and sort of panel are in the page."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_drawing, request, seat, book, drawing)


def _drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, drawing: str) -> Response:
    from server.findings.half.page import read_half  # late: the start need not wait for fits

    name, ending = parted(drawing)
    half = read_half(book, query_of(request), reader=reader_of(frame_for(request, title="")), only_trial=seat.trial_id)
    for part in half.parts:
        for head in part.heads:
            if head.id == name and head.picture is not None:
                notes = (head.picture.key, f"On {part.words}. {head.lead}", half.showing)
                return drawn_file(request, Sheet("curve_by_energy", head.picture, notes), f"half-{name}", ending)
    return drawn_file(request, None, name, ending)
