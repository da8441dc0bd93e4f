"""Which measure of the heads explains who gets through, and the angle as a chart. Everything is in the address."""

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
    from proofyard.answers.measures.page import Measures

router = APIRouter()
ANGLE = "angle"


@dataclass(frozen=True)
class MeasuresPage(ViewFields):
    """`query`: the address as it was asked, for the drawings as files."""

    found: "Measures"
    query: str
    reader: str


def _read(book: Storage, query: Query, reader: str, only_trial: str | None) -> "Measures":
    from proofyard.answers.measures.page import read_measures  # late: the start need not wait for fits

    return read_measures(book, query, reader=reader, only_trial=only_trial)


def _page(request: Request, seat: Seat, found: "Measures") -> HTMLResponse:
    fields = view_fields(controls_of(found.asked))
    page = MeasuresPage(**fields, found=found, query=asked_again(request), reader=found.view.reader)
    return asked_page(request, "measures/page.html", page, title="Which measure explains")


def _sheet(found: "Measures", name: str) -> Sheet | None:
    """One measure's chart, or the angle's."""
    drawings = {row.key: row.drawing for row in found.rows} | {ANGLE: found.angle}
    figure = drawings.get(name)
    return Sheet(figure, (said(found.finding, found.view.reader), found.view.showing)) if figure else None


worked_out_routes(router, "/measures", read=_read, page=_page, sheet=_sheet)
