"""Blunt impact behind armour: what a shot that did not come through left on the wearer's side. Everything is in the address."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.blunt.page import BluntAnswer, read_blunt
from proofyard.pages.charts.files import Sheet, drawn_file, parted
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.forms import FormField, Wrong, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import asked_page
from proofyard.wording.blunt_cautions import CAUTIONS

router = APIRouter()


@dataclass(frozen=True)
class BluntPage:
    """The answer, and its form."""

    blunt: BluntAnswer
    reader: str
    cautions: tuple[str, ...]
    controls: Mapping[str, FormField]
    wrongs: Sequence[Wrong]
    may_write: bool


@router.get("/blunt", response_class=HTMLResponse)
def blunt(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader) -> Any:
    """Of a trial, a panel or one shot: what went on behind, with its cautions."""
    found = read_blunt(book, query_of(request), reader=reader, only_trial=seat.trial_id)
    controls = controls_of(found.asked, found.problems, choices={"trial": found.trials, "panel": found.panels})
    page = BluntPage(found, reader, CAUTIONS, controls, wrongs(controls.values()), seat.at_least("archer"))
    return asked_page(request, "blunt/page.html", page, title="Blunt impact behind armour")


@router.get("/blunt/drawings/{drawing}", response_class=Response)
def blunt_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader, drawing: str) -> Response:
    """The chart of the shots as a file, with its cautions under it."""
    name, ending = parted(drawing)
    found = read_blunt(book, query_of(request), reader=reader, only_trial=seat.trial_id)
    return drawn_file(request, Sheet(found.drawing, CAUTIONS) if found.drawing and name == "blunt" else None, name, ending)
