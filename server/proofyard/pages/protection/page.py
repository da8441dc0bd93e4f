"""Protection for weight: 50 % energies over what a square metre weighs. Everything is in the address."""

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
    from proofyard.answers.protection.page import Protection

router = APIRouter()


@dataclass(frozen=True)
class ProtectionPage(ViewFields):
    """`query`: the address as it was asked, for the drawings as files."""

    found: "Protection"
    query: str
    may_write: bool


def _read(book: Storage, query: Query, reader: str, only_trial: str | None) -> "Protection":
    from proofyard.answers.protection.page import read_protection  # late: the start need not wait for fits

    return read_protection(book, query, reader=reader, only_trial=only_trial)


def _page(request: Request, seat: Seat, found: "Protection") -> HTMLResponse:
    fields = view_fields(controls_of(found.asked))
    page = ProtectionPage(**fields, found=found, query=asked_again(request), may_write=seat.at_least("archer"))
    return asked_page(request, "protection/page.html", page, title="Protection for weight")


def _sheet(found: "Protection", name: str) -> Sheet | None:
    """One head's chart."""
    drawing = next((one.drawing for one in found.heads if one.id == name), None)
    return Sheet(drawing, (said(found.finding, found.reader), found.showing)) if drawing else None


worked_out_routes(router, "/protection", read=_read, page=_page, sheet=_sheet)
