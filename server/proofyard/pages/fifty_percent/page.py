"""The 50 % energy: the curve, its 50 % point, and heads compared by it. All in the address."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import Seat
from proofyard.pages.charts.files import Sheet
from proofyard.pages.charts.worked_out import worked_out_routes
from proofyard.pages.frame.forms import asked_again, controls_of
from proofyard.pages.frame.rendering import asked_page
from proofyard.pages.results.page import ViewFields, view_fields
from proofyard.storage import Storage
from proofyard.views.address import Query
from proofyard.wording.reasons.said import said

if TYPE_CHECKING:
    from proofyard.answers.fifty_percent.page import FiftyPercentAnswer

router = APIRouter()


@dataclass(frozen=True)
class FiftyPercentPage(ViewFields):
    """`query`: the address as it was asked, for the drawings as files."""

    found: "FiftyPercentAnswer"
    query: str


def _read(book: Storage, query: Query, reader: str, only_trial: str | None) -> "FiftyPercentAnswer":
    from proofyard.answers.fifty_percent.page import read_fifty_percent  # late: the start need not wait for fits

    return read_fifty_percent(book, query, reader=reader, only_trial=only_trial)


def _page(request: Request, seat: Seat, found: "FiftyPercentAnswer") -> HTMLResponse:
    page = FiftyPercentPage(**view_fields(controls_of(found.asked)), found=found, query=asked_again(request))
    title = f"50 % energy: {said(found.finding, found.reader)}"
    return asked_page(request, "fifty_percent/page.html", page, title=title)


def _sheet(found: "FiftyPercentAnswer", name: str) -> Sheet | None:
    """One curve, named as its head and panel type are in the page."""
    for part in found.parts:
        for head in part.heads:
            if head.id == name and head.drawing is not None:
                return Sheet(head.drawing, (f"On {part.words}. {said(head.lead, found.reader)}", found.showing))
    return None


worked_out_routes(router, "/fifty-percent", read=_read, page=_page, sheet=_sheet)
