"""What it did to the arrows: heads and shafts by panel type and head form, and how many shots one lasts. All in the address."""

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.arrow_damage.page import ArrowDamage, read_arrow_damage
from proofyard.pages.charts.files import Sheet, drawn_file, parted
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.forms import asked_again, controls_of, query_of
from proofyard.pages.frame.rendering import asked_page
from proofyard.pages.results.page import ViewFields, view_fields
from proofyard.wording.reasons.said import said

router = APIRouter()
SHARES = "shares"


@dataclass(frozen=True)
class ArrowDamagePage(ViewFields):
    """`query`: the address as it was asked, for the chart as a file."""

    found: ArrowDamage
    query: str
    reader: str


@router.get("/arrow-damage", response_class=HTMLResponse)
def arrow_damage(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader) -> Any:
    """What armour does to arrows, and how many shots a head lasts."""
    found = read_arrow_damage(book, query_of(request), reader=reader, only_trial=seat.trial_id)
    page = ArrowDamagePage(**view_fields(controls_of(found.asked)), found=found, query=asked_again(request), reader=reader)
    return asked_page(request, "arrow_damage/page.html", page, title="Arrow damage")


@router.get("/arrow-damage/drawings/{drawing}", response_class=Response)
def arrow_damage_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, drawing: str) -> Response:
    """The chart of ended heads as a file, for the same view."""
    name, ending = parted(drawing)
    found = read_arrow_damage(book, query_of(request), only_trial=seat.trial_id)
    notes = (said(found.ended), said(found.narrowed))
    sheet = Sheet(found.drawing, notes) if found.drawing and name == SHARES else None
    return drawn_file(request, sheet, f"arrow-damage-{name}", ending)
