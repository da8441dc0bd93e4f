"""Bringing a spreadsheet in, for the owner: choose it, look at its columns, bring it in as one batch; each batch on a page."""

from collections.abc import AsyncIterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile

from proofyard.access.seats import OwnerSeat, Seat, TheBook
from proofyard.exchange.bring_in.batch import Crossing, bring_in, crossed_out, crossing, made_ready, tried
from proofyard.exchange.bring_in.held import Chosen, HeldSheets
from proofyard.exchange.bring_in.reading import read_sheets
from proofyard.exchange.bring_in.said import Trouble
from proofyard.exchange.bring_in.sheet import NotRead
from proofyard.pages.bring_in.preview import Looked, Preview, looked_at, preview_of
from proofyard.pages.frame.forms import FieldState, Posted, Wrong, posted
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.records.import_batch import HOLDS, MADE
from proofyard.records.import_facts import BatchFact, batches, days_of, made_by
from proofyard.storage import Storage
from proofyard.wording.counts import counted
from proofyard.wording.when import day_words, moment_words

router = APIRouter()

MOST_PASTED = 800_000
MOST_FIELDS = 6_000
NO_FILE = "Choose a file, or paste its rows."
BOTH = "There is a file and pasted text. Take one of them away."
NO_HOLDS = "Choose what the sheet holds."
LET_GO = "That sheet is no longer held: the laptop was started again, or four others were chosen since. Choose the file once more."
PASTED = "pasted text"


async def _sent(request: Request) -> AsyncIterator[FormData]:
    async with request.form(max_files=1, max_fields=10, max_part_size=MOST_PASTED) as form:
        yield form


Sent = Annotated[FormData, Depends(_sent)]
Many = Annotated[FormData, Depends(posted(MOST_FIELDS))]


@dataclass(frozen=True)
class BatchLine:
    batch_id: str
    words: str
    small: str
    voided: bool


@dataclass(frozen=True)
class BringInPage:
    """The first step, with what was chosen and what is wrong with it; and the batches there are."""

    holds: Mapping[str, str]
    chosen: FieldState
    file: FieldState
    pasted: FieldState
    errors: Sequence[Wrong]
    batches: Sequence[BatchLine]


@dataclass(frozen=True)
class BatchPage:
    """One batch: where it came from, what it made, what crossing it out would do."""

    batch_id: str
    heading: str
    voided: bool
    known: Sequence[tuple[str, str]]
    days: Sequence[tuple[str, str]]
    stays: str
    reason: FieldState
    errors: Sequence[Wrong]


def held_sheets(request: Request) -> HeldSheets:
    held: HeldSheets = request.app.state.held_sheets
    return held


Held = Annotated[HeldSheets, Depends(held_sheets)]


@router.get("/bring-in", response_class=HTMLResponse)
def first(request: Request, seat: OwnerSeat, book: TheBook) -> Response:
    return _first(request, book, {})


@router.post("/bring-in", response_class=HTMLResponse)
async def choose(request: Request, seat: OwnerSeat, book: TheBook, form: Sent, held: Held) -> Response:
    """The file is read where nothing can be lost; what can't be read is said beside its field."""
    upload = form.get("file")
    name = upload.filename or "" if isinstance(upload, UploadFile) else ""
    content = await upload.read() if isinstance(upload, UploadFile) and name else b""
    pasted = str(form.get("pasted", ""))
    holds = str(form.get("holds", ""))
    wrong: dict[str, str] = {}
    if holds not in HOLDS:
        wrong["holds"] = NO_HOLDS
    if bool(name) == bool(pasted.strip()):
        wrong["file"] = BOTH if name else NO_FILE
    if not wrong:
        try:
            sheets = await run_in_threadpool(read_sheets, content if name else pasted.encode())
            at = await run_in_threadpool(held.hold, _file_name(name) if name else PASTED, holds, sheets)
            return RedirectResponse(f"/bring-in/sheet/{at}", 303)
        except NotRead as why:
            wrong["file" if name else "pasted"] = str(why)
    return await run_in_threadpool(_first, request, book, wrong, holds=holds, pasted=pasted)


def _file_name(name: str) -> str:
    """Its last part alone, without what can't be seen."""
    shown = "".join(sign for sign in name.replace("\\", "/").rpartition("/")[2] if sign.isprintable())
    return shown[-120:] or "a file"


def _first(request: Request, book: Storage, wrong: Mapping[str, str], *, holds: str = "", pasted: str = "") -> Response:
    labels = {"holds": "The sheet holds", "file": "The file", "pasted": "Or its rows, pasted"}
    with book.read() as session:
        known = [_line(one) for one in batches(session)]
    page = BringInPage(
        HOLDS,
        FieldState(holds, error=wrong.get("holds", "")),
        FieldState(error=wrong.get("file", "")),
        FieldState(pasted, error=wrong.get("pasted", "")),
        [Wrong(name, labels[name], sentence) for name, sentence in wrong.items()],
        known,
    )
    frame = frame_for(request, title="Bring in a spreadsheet", nav="data", wrong=len(wrong))
    return html("bring_in/page.html", page, frame=frame, status=422 if wrong else 200)


def _line(one: BatchFact) -> BatchLine:
    rows = counted(one.batch.rows_taken, "row")
    small = f"{rows} of {HOLDS[one.batch.holds].lower()}, brought in at {moment_words(one.at)}"
    return BatchLine(one.batch.id, one.batch.file_name, small, one.batch.voided_rev is not None)


# --- the preview


@router.get("/bring-in/sheet/{held_id}", response_class=HTMLResponse)
def look(request: Request, seat: OwnerSeat, book: TheBook, held: Held, held_id: str) -> Response:
    """The sheet with what its columns probably are, or what was said of the same headings the last time."""
    if _is_in(book, held_id):
        return RedirectResponse(f"/bring-in/batches/{held_id}", 303)
    chosen = _chosen(held, held_id)
    return _previewed(request, book, looked_at(book, chosen, None), seat, held_id, tell=False)


@router.post("/bring-in/sheet/{held_id}", response_class=HTMLResponse)
def take(request: Request, seat: OwnerSeat, book: TheBook, form: Many, held: Held, held_id: str) -> Response:
    """Looks again with what was changed, or brings it in: all rows that are left, in one transaction."""
    if _is_in(book, held_id):
        return RedirectResponse(f"/bring-in/batches/{held_id}", 303)
    looked = looked_at(book, _chosen(held, held_id), form)
    wanted = form.get("act") == "bring"
    if not wanted or looked.fresh:
        return _previewed(request, book, looked, seat, held_id, tell=False)
    with book.read() as session:
        ready = made_ready(session, looked.table, looked.said, looked.source(seat), held_id)
    if ready.refused or (ready.wrong and not looked.said.leave_wrong):
        return _previewed(request, book, looked, seat, held_id, tell=True)
    troubles = bring_in(book, ready)
    if troubles:
        return _previewed(request, book, looked, seat, held_id, tell=True, refused=troubles)
    return RedirectResponse(f"/bring-in/batches/{held_id}", 303)


def _chosen(held: HeldSheets, held_id: str) -> Chosen:
    found = held.chosen(held_id)
    if found is None:
        raise HTTPException(404, LET_GO)
    return found


def _is_in(book: Storage, held_id: str) -> bool:
    """A form that was sent twice, or a step back in the browser: the batch is in already."""
    with book.read() as session:
        return bool(batches(session, held_id))


def _previewed(
    request: Request, book: Storage, looked: Looked, seat: Seat, held_id: str, *, tell: bool, refused: Sequence[Trouble] = ()
) -> Response:
    with book.read() as session:
        ready = made_ready(session, looked.table, looked.said, looked.source(seat), held_id)
    also = refused or tried(book, ready)
    with book.read() as session:
        page: Preview = preview_of(session, looked, ready, also, held_id=held_id, tell=tell)
    frame = frame_for(request, title=page.heading, nav="data", wrong=len(page.errors))
    return html("bring_in/preview.html", page, frame=frame, status=422 if page.errors else 200)


# --- a batch


@router.get("/bring-in/batches/{batch_id}", response_class=HTMLResponse)
def batch(request: Request, seat: OwnerSeat, book: TheBook, batch_id: str) -> Response:
    return _batch(request, book, batch_id, FieldState())


@router.post("/bring-in/batches/{batch_id}/cross-out", response_class=HTMLResponse)
def cross_out(request: Request, seat: OwnerSeat, book: TheBook, form: Posted, batch_id: str) -> Response:
    """Crosses out the batch with all that came with it, or takes that back."""
    _found(book, batch_id)
    reason, back = str(form.get("reason", "")).strip(), form.get("back") == "yes"
    assert seat.device_id is not None
    problems = crossed_out(book, batch_id, device_id=seat.device_id, reason=reason, back=back)
    if problems:
        return _batch(request, book, batch_id, FieldState(reason, error=" ".join(one.sentence for one in problems)))
    return RedirectResponse(f"/bring-in/batches/{batch_id}", 303)


def _found(book: Storage, batch_id: str) -> BatchFact:
    with book.read() as session:
        found = batches(session, batch_id)
    if not found:
        raise HTTPException(404, "The book has no such batch.")
    return found[0]


def _batch(request: Request, book: Storage, batch_id: str, reason: FieldState) -> Response:
    found = _found(book, batch_id)
    with book.read() as session:
        made = made_by(session, batch_id)
        would = crossing(session, batch_id)
        days = [(f"/sessions/{one}", day_words(day)) for one, _, day in days_of(session, batch_id)]
    counts: dict[str, int] = {}
    for one in made:
        counts[one.noun] = counts.get(one.noun, 0) + 1
    facts = [
        ("File", found.batch.file_name),
        ("Sheet", found.batch.sheet or ""),
        ("Brought in", moment_words(found.at)),
        ("Rows", str(found.batch.rows_taken)),
        *((MADE[noun], str(count)) for noun, count in counts.items()),
    ]
    voided = found.batch.voided_rev is not None
    errors = [Wrong("reason", "Why", reason.error)] if reason.error else []
    heading = f"{HOLDS[found.batch.holds]} from {found.batch.file_name}"
    page = BatchPage(batch_id, heading, voided, facts, days, "" if voided else _stays(would), reason, errors)
    frame = frame_for(request, title=heading, nav="data", wrong=len(errors))
    return html("bring_in/batch.html", page, frame=frame, status=422 if errors else 200)


def _stays(would: Crossing) -> str:
    if not would.stays:
        return ""
    counts: dict[str, int] = {}
    for one in would.stays:
        counts[one.noun] = counts.get(one.noun, 0) + 1
    listed = ", ".join(counted(count, MADE[noun].lower()) for noun, count in counts.items())
    return f"These would stay, since something that did not come with the batch uses them: {listed}."
