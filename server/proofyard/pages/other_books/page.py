"""Other groups' books: the list, bringing a package in, one book with its trials, and the report of one of them."""

import shutil
import tempfile
import threading
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from markupsafe import Markup
from starlette.datastructures import FormData, UploadFile

from proofyard.access.seats import OwnerSeat, TheBook, ViewerSeat
from proofyard.answers.claims.page import read_claim
from proofyard.answers.trial.page import read_trial
from proofyard.exchange.one_file import drawn_glyphs
from proofyard.exchange.other_books.bring_in import Asked, BroughtIn, bring_in_elsewhere, words_typed
from proofyard.exchange.other_books.shelf import OtherBook, opened, other_books, remove, the_other_book
from proofyard.exchange.package.descriptor import book_for_others
from proofyard.exchange.package.opened import NoPackage
from proofyard.pages.frame.forms import FieldState, Wrong, query_of
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.report.contents import report_of
from proofyard.pages.report.made import report_file, report_inside
from proofyard.pages.report.page import as_file
from proofyard.quantities.reason import Reason
from proofyard.records.devices import the_book
from proofyard.records.licences import LICENCES
from proofyard.records.trial import STATES, Trial
from proofyard.records.trial_days import TrialLine, trial_lines
from proofyard.storage import Session, Storage
from proofyard.wording.other_books import brought_in_words, facts_of_other_book, head_of_other_book

router = APIRouter()

FILE, WHOSE, CITATION = "package", "whose", "citation"
NO_FILE = "Choose the package, a file that ends in .zip."
NO_NAME = "Enter whose book it is, for example Quarry group."
BUSY = "A package is being read already. Wait for it, then press again."
DONE = ("new", "replaced", "unchanged", "removed")
_one_at_a_time = threading.Lock()


async def _one_file(request: Request) -> AsyncIterator[FormData]:
    async with request.form(max_files=1, max_fields=10) as form:
        yield form


OneFile = Annotated[FormData, Depends(_one_file)]


@dataclass(frozen=True)
class OtherBooksPage:
    """The books, and the form. refused: why a package was not taken, a line each; done: what was just done."""

    books: Sequence[OtherBook]
    lines: Sequence[str]
    may_bring_in: bool
    whose: FieldState
    citation: FieldState
    file: FieldState
    go_back: str
    errors: Sequence[Wrong]
    refused: Sequence[str]
    done: str


@dataclass(frozen=True)
class TheirTrial:
    """One trial of another book: its line in the list, and its first answer."""

    line: TrialLine
    state: str
    answer: Reason


@dataclass(frozen=True)
class OtherBookPage:
    book: OtherBook
    about: Sequence[tuple[str, str]]
    trials: Sequence[TheirTrial]
    may_remove: bool
    done: str
    reader: str


@dataclass(frozen=True)
class TheirReportPage:
    """A trial of another book as its report; every link in it stays in it."""

    book: OtherBook
    trial: Trial
    head: str
    inside: Markup


@router.get("/other-books", response_class=HTMLResponse)
def list_of_other_books(request: Request, seat: ViewerSeat, book: TheBook) -> Response:
    return _list(request, book, may_bring_in=seat.at_least("owner"))


@router.post("/other-books", response_class=HTMLResponse)
def bring_in(request: Request, seat: OwnerSeat, book: TheBook, form: OneFile) -> Response:
    """Bring a package in; or say what of it can't be taken, with what was typed still there."""
    asked = Asked(whose=_typed(form, WHOSE), citation=_typed(form, CITATION), go_back=form.get("go_back") == "yes")
    upload = form.get(FILE)
    wrong = [] if asked.whose else [Wrong(WHOSE, "Whose book", NO_NAME)]
    if not isinstance(upload, UploadFile) or not upload.filename:
        wrong.append(Wrong(FILE, "Package", NO_FILE))
    if wrong or not isinstance(upload, UploadFile):
        return _list(request, book, may_bring_in=True, asked=asked, wrong=wrong)
    if not _one_at_a_time.acquire(blocking=False):
        return _list(request, book, may_bring_in=True, asked=asked, refused=[BUSY], status=503)
    try:
        found = _brought_in(book, upload, asked)
    except NoPackage as why:
        return _list(request, book, may_bring_in=True, asked=asked, refused=str(why).splitlines(), status=422)
    finally:
        _one_at_a_time.release()
    done = "unchanged" if found.unchanged else "replaced" if found.before else "new"
    return RedirectResponse(f"/other-books/{found.book.id}?done={done}", 303)


def _brought_in(book: Storage, upload: UploadFile, asked: Asked) -> BroughtIn:
    with book.read() as session:
        own = the_book(session)
    # In the book's folder: where other books have room, their packages have too.
    with tempfile.TemporaryDirectory(prefix=".package-", dir=book.path.parent) as work:
        file = Path(work) / "package.zip"
        with open(file, "wb") as to:
            shutil.copyfileobj(upload.file, to)
        try:
            return bring_in_elsewhere(file, book.path.parent, asked, own_id=book_for_others(own.book_id) if own else "")
        except NoPackage as why:
            raise NoPackage(str(why).replace(str(file), "The file")) from why


def _typed(form: FormData, name: str) -> str:
    return words_typed(str(form.get(name, "")))


def _list(
    request: Request,
    book: Storage,
    *,
    may_bring_in: bool,
    asked: Asked | None = None,
    wrong: Sequence[Wrong] = (),
    refused: Sequence[str] = (),
    status: int = 200,
) -> Response:
    errors = {one.id: one.message for one in wrong}
    asked = asked or Asked(whose="")
    books = other_books(book.path.parent)
    page = OtherBooksPage(
        books,
        [brought_in_words(one) for one in books],
        may_bring_in,
        FieldState(asked.whose, error=errors.get(WHOSE, "")),
        FieldState(asked.citation),
        FieldState(error=errors.get(FILE, "")),
        "yes" if asked.go_back else "",
        wrong,
        refused,
        _done(request),
    )
    frame = frame_for(request, title="Other books", nav="data", wrong=len(wrong))
    return html("other_books/page.html", page, frame=frame, status=422 if wrong else status)


def _done(request: Request) -> str:
    said = query_of(request).get("done", [""])[-1]
    return said if said in DONE else ""


def _found(book: Storage, their_book: str) -> OtherBook:
    one = the_other_book(book.path.parent, their_book)
    if one is None:
        raise HTTPException(404, "No such book was brought in.")
    return one


@router.get("/other-books/{their_book}", response_class=HTMLResponse)
def one_other_book(request: Request, seat: ViewerSeat, book: TheBook, their_book: str) -> Response:
    one = _found(book, their_book)
    frame = frame_for(request, title=f"{one.whose}, another book", nav="data")
    with opened(book.path.parent, one) as theirs, theirs.read() as session:
        trials = [_trial(session, line, reader=frame.reader) for line in trial_lines(session)]
    licence = LICENCES[one.licence].title if one.licence else ""
    page = OtherBookPage(one, facts_of_other_book(one, licence), trials, seat.at_least("owner"), _done(request), frame.reader)
    return html("other_books/book.html", page, frame=frame)


def _trial(session: Session, line: TrialLine, *, reader: str) -> TheirTrial:
    read = read_trial(session, line.trial.id, reader=reader)
    assert read is not None
    claim = read_claim(read.claim, read.shots) if read.claim else None
    return TheirTrial(line, STATES[line.trial.state], claim.title if claim else read.lead)


@router.post("/other-books/{their_book}/remove")
def remove_other_book(seat: OwnerSeat, book: TheBook, their_book: str) -> Response:
    remove(book.path.parent, _found(book, their_book))
    return RedirectResponse("/other-books?done=removed", 303)


@router.get("/other-books/{their_book}/trials/{their_trial}", response_class=HTMLResponse)
def report_of_their_trial(request: Request, seat: ViewerSeat, book: TheBook, their_book: str, their_trial: str) -> Response:
    """Named otherwise than a trial of one's own, since a seat at one trial is told by that name."""
    one, reader = _found(book, their_book), frame_for(request, title="").reader
    with opened(book.path.parent, one) as theirs:
        report = report_of(theirs, their_trial, reader=reader)
        if report is None:
            raise HTTPException(404, "That book has no such trial.")
        inside = report_inside(theirs, report, reader=reader, photos=False, source=one.whose)
    # Our own markup, every text in it escaped when it was rendered.
    markup = Markup(drawn_glyphs(inside.glyphs) + inside.markup)
    frame = frame_for(request, title=f"{report.read.trial.question}, {one.whose}", nav="data")
    return html("other_books/report.html", TheirReportPage(one, report.read.trial, head_of_other_book(one), markup), frame=frame)


@router.get("/other-books/{their_book}/trials/{their_trial}/report.html", response_class=HTMLResponse)
def their_report_as_file(request: Request, seat: ViewerSeat, book: TheBook, their_book: str, their_trial: str) -> Response:
    """The same as one file, with its photos."""
    one, reader = _found(book, their_book), frame_for(request, title="").reader
    with opened(book.path.parent, one) as theirs:
        report = report_of(theirs, their_trial, reader=reader)
        if report is None:
            raise HTTPException(404, "That book has no such trial.")
        return as_file(report_file(theirs, report, reader=reader, source=one.whose), report)
