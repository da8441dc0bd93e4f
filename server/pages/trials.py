"""Trials: the list, a trial's page, asking a new question, correcting it, opening and closing it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, ScopedViewerSeat, Seat, TheBook, ViewerSeat
from server.findings.to_pick import trials_to_follow
from server.findings.trial_page import TrialRead, read_trial
from server.findings.trial_rules import BorrowedLine, RuleLine, borrowed_lines, default_lines
from server.pages import follow_up, next_shots, plans, trial_comparisons, trial_kit
from server.pages.corrections import save_correction, with_blank
from server.pages.figures import reader_of
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import (
    FormOperations,
    body_of,
    form_fields,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.found import found
from server.pages.posted import Posted, base_rev
from server.pages.rendering import Frame, frame_for, html, part, wants_part
from server.pages.shapes import FieldState, Wrong
from server.records.ids import new_id
from server.records.trial import CAUTIONS, STATES, Trial
from server.records.trial_days import TrialLine, trial_lines
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()
router.include_router(plans.router)
router.include_router(next_shots.router)
# Before /trials/{trial_id}, which would take "compare" for a trial.
router.include_router(trial_comparisons.router)
router.include_router(follow_up.router)
router.include_router(trial_kit.router)

FIELDS = (
    "question", "varied", "held_fixed", "prediction", "enough", "through", "near_opened", "near_dented", "near_edge",
    "finger", "spoils", "follows",
)  # fmt: skip
# From where to where a trial may be moved, and what the key says.
MOVES = {"planned": ("open", "Open this trial"), "open": ("closed", "Close it"), "closed": ("open", "Reopen it")}


@dataclass(frozen=True)
class TrialsPage:
    lines: Sequence[TrialLine]
    states: Mapping[str, str]
    may_write: bool


@dataclass(frozen=True)
class TrialPage:
    """A trial, and the form that moves it to its next state (None for who only looks)."""

    read: TrialRead
    borrowed: Sequence[BorrowedLine]
    may_write: bool
    move: str
    move_words: str
    cautions: Sequence[str]
    reason: FieldState
    errors: Sequence[Wrong]
    operation: str


@dataclass(frozen=True, kw_only=True)
class TrialForm(FormPage):
    """A new trial, or one that is corrected."""

    defaults: Sequence[RuleLine]
    borrowed: Sequence[BorrowedLine]


@router.get("/trials", response_class=HTMLResponse)
def trials(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """All trials, newest first; a viewer of one trial sees that one."""
    with book.read() as session:
        lines = trial_lines(session, only=seat.trial_id)
    page = TrialsPage(lines, STATES, seat.at_least("archer"))
    if wants_part(request):
        return part("trials/_list.html", page)
    return html("trials/page.html", page, frame=frame_for(request, title="Trials", nav="trials", live=True))


@router.get("/trials/new", response_class=HTMLResponse)
def new_trial(request: Request, seat: ArcherSeat, book: TheBook, follows: str = "") -> Response:
    return _new(request, book, typed={"follows": follows})


def _new(request: Request, book: Storage, *, typed: Mapping[str, Any], problems: Sequence[Problem] = ()) -> Response:
    return _form(
        request, book, title="A new trial", heading="Ask a question that shots can answer", action="/trials/new", back="/trials",
        lead="It begins as planned. Shots are taken once you open it.", save="Write it down", typed=typed, problems=problems,
    )  # fmt: skip


def _form(
    request: Request, book: Storage, *, title: str, heading: str, lead: str, action: str, back: str, save: str,
    typed: Mapping[str, Any], problems: Sequence[Problem], rev: int = 0, but: str | None = None,
) -> Response:  # fmt: skip
    with book.read() as session:
        options = {"follows": trials_to_follow(session, but=but)}
    fields = with_blank(form_fields(Trial, FIELDS, typed=typed, problems=problems, options=options))
    page = TrialForm(
        heading=heading, lead=lead, action=action, operation=new_id(), fields=fields, save=save, back=back,
        errors=wrongs(fields, problems, label="This trial", at="question"), unseen={"base_rev": str(rev)}, classes="form layout__words",
        defaults=default_lines(reader=reader_of(frame_for(request, title=title))), borrowed=borrowed_lines(),
    )  # fmt: skip
    return form_answer(request, page, nav="trials", title=title, template="trials/form.html")


@router.post("/trials/new", response_class=HTMLResponse)
def make_trial(request: Request, seat: ArcherSeat, book: TheBook, form: Posted) -> Response:
    body = body_of(form, Trial, FIELDS)
    operations = FormOperations(seat, operation_id(form))
    trial_id = operations.new("trial", {**body, "state": "planned"})
    if refused := operations.try_to_save(book):
        return _new(request, book, typed=body, problems=refused)
    return RedirectResponse(f"/trials/{trial_id}", 303)


@router.get("/trials/{trial_id}", response_class=HTMLResponse)
def trial(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    """The trial's page; its record alone for a page that heard of a change."""
    frame = frame_for(request, title="Trial", nav="trials", live=True)
    page = _page(book, seat, trial_id, frame=frame)
    if wants_part(request):
        return part("trial/_record.html", page)
    return _whole(request, page)


def _whole(request: Request, page: TrialPage) -> Response:
    frame = frame_for(request, title=page.read.trial.question, nav="trials", live=True, wrong=bool(page.errors))
    return html("trial/page.html", page, frame=frame, status=422 if page.errors else 200)


def _page(
    book: Storage, seat: Seat, trial_id: str, *, frame: Frame, typed: str = "", problems: Sequence[Problem] = ()
) -> TrialPage:
    with book.read() as session:
        read = read_trial(session, trial_id, reader=reader_of(frame), only_trial=seat.trial_id)
    if read is None:
        raise HTTPException(404, "The book has no such trial.")
    said = " ".join(p.sentence for p in problems)
    move, words = MOVES[read.trial.state]
    return TrialPage(
        read=read, borrowed=borrowed_lines(), may_write=seat.at_least("archer"), move=move, move_words=words,
        cautions=tuple(CAUTIONS.values()), reason=FieldState(typed=typed, error=said),
        errors=[Wrong("reason", "Why", said)] if said else [], operation=new_id(),
    )  # fmt: skip


@router.post("/trials/{trial_id}/state", response_class=HTMLResponse)
def move_trial(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """Open, close, reopen. Reopening needs a reason: `apply` says so by the field."""
    state, reason = str(form.get("state", "")), str(form.get("reason", "")).strip()
    now = found(book, Trial, trial_id)
    if state not in STATES:
        raise HTTPException(422, "Say whether the trial is to be planned, open or closed.")
    if now.state == state:
        return RedirectResponse(f"/trials/{trial_id}", 303)
    operations = FormOperations(seat, operation_id(form))
    operations.put("trial", trial_id, {"state": state}, base_rev=base_rev(form), reason=reason or None)
    if refused := operations.try_to_save(book):
        frame = frame_for(request, title="Trial")
        return _whole(request, _page(book, seat, trial_id, frame=frame, typed=reason, problems=refused))
    return RedirectResponse(f"/trials/{trial_id}", 303)


@router.get("/trials/{trial_id}/correct", response_class=HTMLResponse)
def correct_trial(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str) -> Response:
    row = found(book, Trial, trial_id)
    return _correct(request, book, row, typed=shown_body(row), rev=row.rev)


def _correct(
    request: Request, book: Storage, row: Trial, *, typed: Mapping[str, Any], rev: int, problems: Sequence[Problem] = ()
) -> Response:
    return _form(
        request, book, title="Correct a trial", heading="Correct this trial", action=f"/trials/{row.id}/correct", back=f"/trials/{row.id}",
        lead="What it said before is kept. If the question itself changes, ask a new one that follows this.", save="Correct it",
        typed=typed, problems=problems, rev=rev, but=row.id,
    )  # fmt: skip


@router.post("/trials/{trial_id}/correct", response_class=HTMLResponse)
def take_correction(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """Only what was changed is sent on, so that what somebody else changed meanwhile stands beside it."""
    row, body = found(book, Trial, trial_id), body_of(form, Trial, FIELDS)
    if refused := save_correction(seat, book, form, row, typed=body):
        return _correct(request, book, row, typed=body, rev=base_rev(form), problems=refused)
    return RedirectResponse(f"/trials/{trial_id}", 303)
