"""A trial's report: its page with what to read aloud and what to download, the report as one file, and the data behind its checksum."""

import re
import unicodedata
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.exchange.data_state import DATA, data_of
from proofyard.exchange.fetched import fetch
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Form, form_routes
from proofyard.pages.frame.forms import query_of
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.report.contents import Report, report_of
from proofyard.pages.report.made import report_file
from proofyard.records.trial import Trial
from proofyard.storage import Storage
from proofyard.views.address import Choice, Reading

router = APIRouter()

FIELDS = ("author", "report_number", "licence", "departures")
PHOTOS = Choice(
    name="photos", choices={"yes": "with photos", "no": "without photos"}, default="yes", wrong="Photos are “yes” or “no”, not “{}”."
)


@dataclass(frozen=True)
class ReportPage:
    report: Report
    reader: str
    may_write: bool


def _report(book: Storage, trial_id: str, reader: str) -> Report:
    report = report_of(book, trial_id, reader=reader)
    if report is None:
        raise HTTPException(404, "The book has no such trial.")
    return report


@router.get("/trials/{trial_id}/report", response_class=HTMLResponse)
def report_page(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    frame = frame_for(request, title="Report", nav="trials")
    return html("report/page.html", ReportPage(_report(book, trial_id, frame.reader), frame.reader, seat.at_least("archer")), frame=frame)


@form_routes(router, "/trials/{trial_id}/report/fields")
def report_fields(asked: Asked, trial_id: str) -> Form:
    row = asked.found(Trial, trial_id)
    return Form(
        heading="For the report",
        lead=row.question,
        back=f"/trials/{trial_id}/report",
        blocks=[Block(table=Trial, names=FIELDS, row=row, blank=True)],
        nav="trials",
        classes=WORDS,
        label="This trial",
    )


@router.get("/trials/{trial_id}/report.html", response_class=HTMLResponse)
def whole_report(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    """The file. A browser keeps it rather than show it: it is for reading elsewhere."""
    reader = frame_for(request, title="").reader
    reading = Reading(query_of(request))
    photos = reading.one(PHOTOS) != "no"
    if reading.problems:
        raise HTTPException(422, reading.problems[PHOTOS.name])
    report = _report(book, trial_id, reader)
    return as_file(report_file(book, report, reader=reader, photos=photos), report)


def as_file(content: bytes, report: Report) -> Response:
    """A report as a file that a browser keeps under the trial's question."""
    return _kept(content, "text/html; charset=utf-8", f"report_{file_words(report.read.trial.question)}.html")


@router.get("/trials/{trial_id}/report.csv")
def report_data(seat: ViewerSeat, book: TheBook, trial_id: str) -> Any:
    """The shots that the report is made of, byte for byte what its checksum is of."""
    return _kept(data_of(fetch(book, only_trial=trial_id)), "text/csv; charset=utf-8; header=present", DATA)


def _kept(content: bytes, media_type: str, name: str) -> Response:
    return Response(
        content, media_type=media_type, headers={"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    )


def file_words(question: str, most: int = 50) -> str:
    """A question as part of a file's name.

    >>> file_words("Is 1.6 mm plate enough against the 145 lb bow?")
    'is_1_6_mm_plate_enough_against_the_145_lb_bow'
    """
    plain = unicodedata.normalize("NFKD", question).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "_", plain)[:most].strip("_") or "trial"
