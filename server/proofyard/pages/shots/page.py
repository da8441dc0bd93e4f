"""All shots: filtered, sorted and paged by the address, and the same as a file."""

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.shots.asked import ALL_FILTERS
from proofyard.answers.shots.page import ShotsFound, read_shots, shots_found
from proofyard.exchange.fetched import fetch
from proofyard.exchange.file_forms import FILE_FORMS
from proofyard.exchange.shots_csv import TABLES, shots_table
from proofyard.pages.download.page import FORM, as_file
from proofyard.pages.frame.forms import asked_again, controls_of, query_of
from proofyard.pages.frame.rendering import asked_page, frame_for
from proofyard.pages.results.page import ViewFields, view_fields
from proofyard.views.address import Reading
from proofyard.views.settings import asked_trial

router = APIRouter()


@dataclass(frozen=True)
class AllShotsPage(ViewFields):
    """files: the same shots as a file, in each form: its name on the button, what it is for, the address."""

    found: ShotsFound
    reader: str
    files: tuple[tuple[str, str, str], ...]


@router.get("/shots", response_class=HTMLResponse)
def all_shots(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """Every shot that this reader may see, or those that the address asks for."""
    reader = frame_for(request, title="").reader
    found = read_shots(book, query_of(request), reader=reader, only_trial=seat.trial_id)
    csv = found.asked.address("/shots.csv")
    page = AllShotsPage(
        **view_fields(controls_of(found.asked), ALL_FILTERS),
        found=found,
        reader=reader,
        files=tuple((one.name, one.hint, f"{csv}{'&' if '?' in csv else '?'}form={form}") for form, one in FILE_FORMS.items()),
    )
    return asked_page(request, "shots/page.html", page, title="Shots", nav="more")


@router.get("/shots.csv")
def shots_file(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """The same shots in the same order, all pages of them, in the columns of shots.csv."""
    query = query_of(request)
    fetched = fetch(book, tables=TABLES, only_trial=seat.trial_id, trial_id=asked_trial(query))
    found = shots_found(fetched.loosed, query, with_photo=fetched.with_photo)
    reading = Reading(query)
    form = reading.one(FORM)
    if found.asked.problems or reading.problems:
        return RedirectResponse("/shots" + asked_again(request), 303)  # the page says what is wrong with the address
    return as_file(shots_table(fetched, found.found), "shots.csv", form)
