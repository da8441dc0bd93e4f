"""Trials: the list, a trial's page, asking a new question, correcting it, opening and closing it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ArcherSeat, ScopedViewerSeat, Seat, TheBook, ViewerSeat
from proofyard.answers.claims.page import read_claim
from proofyard.answers.claims.read import ClaimRead
from proofyard.answers.range.to_pick import trials_to_follow
from proofyard.answers.trial.listed import TrialsFound, read_trials
from proofyard.answers.trial.page import TrialRead, read_trial
from proofyard.pages.claims import page as claims
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Form, form_routes
from proofyard.pages.frame.forms import FieldState, FormField, Posted, Wrong, asked_again, base_rev, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import Frame, frame_for, html, part, wants_part
from proofyard.pages.planning import next_shot as next_shots
from proofyard.pages.planning import page as plans
from proofyard.pages.report import page as reports
from proofyard.pages.trial import follow_up
from proofyard.pages.trial import kit as trial_kit
from proofyard.pages.trial_comparison import page as trial_comparisons
from proofyard.quantities.reason import because
from proofyard.records.ids import new_id
from proofyard.records.kit_to_pick import MOST_OFFERED
from proofyard.records.trial import CAUTIONS, STATES, Trial
from proofyard.shots.rule_words import BorrowedLine, RuleLine, borrowed_lines, default_lines
from proofyard.storage import Storage
from proofyard.views.address import PAGE
from proofyard.wording.reasons.said import said as reason_words

router = APIRouter()
router.include_router(plans.router)
router.include_router(claims.router)
router.include_router(next_shots.router)
# Before /trials/{trial_id}, which would take "compare" for a trial.
router.include_router(trial_comparisons.router)
router.include_router(follow_up.router)
router.include_router(trial_kit.router)
router.include_router(reports.router)

FIELDS = (
    "question",
    "varied",
    "held_fixed",
    "prediction",
    "enough",
    "through",
    "near_opened",
    "near_dented",
    "near_edge",
    "position_accuracy",
    "spoils",
    "follows",
)
NO_REASON = FieldState()
# From where to where a trial may be moved, and what the key says.
MOVES = {"planned": ("open", "Open this trial"), "open": ("closed", "Close it"), "closed": ("open", "Reopen it")}


@dataclass(frozen=True)
class TrialsPage:
    """filters: their controls; query: the address as it was asked, for the refresh."""

    found: TrialsFound
    filters: Sequence[FormField]
    wrongs: Sequence[Wrong]
    query: str
    states: Mapping[str, str]
    reader: str
    may_write: bool


@dataclass(frozen=True)
class TrialPage:
    """A trial, and the form that moves it to its next state (None for who only looks)."""

    read: TrialRead
    claim: ClaimRead | None
    reader: str
    borrowed: Sequence[BorrowedLine]
    may_write: bool
    move: str
    move_words: str
    cautions: Sequence[str]
    reason: FieldState
    errors: Sequence[Wrong]
    operation: str


@dataclass(frozen=True)
class Distances:
    """What an empty box of a fair-hit distance means."""

    defaults: Sequence[RuleLine]
    borrowed: Sequence[BorrowedLine]


@router.get("/trials", response_class=HTMLResponse)
def trials(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """All trials, or those that the address asks for, newest first; a viewer of one trial sees that one."""
    with book.read() as session:
        found = read_trials(session, query_of(request), only_trial=seat.trial_id)
    controls = controls_of(found.asked)
    wrong = wrongs(controls.values())
    frame = frame_for(request, title="Trials", nav="trials", live=True, wrong=len(wrong))
    filters = tuple(control for name, control in controls.items() if name != PAGE.name)
    page = TrialsPage(found, filters, wrong, asked_again(request), STATES, frame.reader, seat.at_least("archer"))
    status = 422 if wrong else 200
    if wants_part(request):
        return part("trial/_list.html", page, status=status)
    return html("trial/list.html", page, frame=frame, status=status)


def _form(asked: Asked, row: Trial | None, **more: Any) -> Form:
    with asked.book.read() as session:
        kept = (row.follows_id if row else asked.request.query_params.get("follows", ""), str(asked.form.get("follows", "")))
        follows, more_trials = trials_to_follow(session, but=row.id if row else None, keep=[one for one in kept if one])
    typed = None if row else {"follows": asked.request.query_params.get("follows", "")}
    block = Block(
        table=Trial,
        names=FIELDS,
        row=row,
        typed=typed,
        fixed={} if row else {"state": "planned"},
        options={"follows": follows},
        hints={"follows": reason_words(because("trials_of_many", most=MOST_OFFERED))} if more_trials else {},
        blank=True,
    )
    own = Distances(default_lines(reader=asked.reader), borrowed_lines())
    return Form(blocks=[block], nav="trials", template="trial/form.html", classes=WORDS, label="This trial", own=lambda sent: own, **more)


@form_routes(router, "/trials/new")
def new_trial(asked: Asked) -> Form:
    return _form(
        asked,
        None,
        title="A new trial",
        heading="Ask a question that shots can answer",
        lead="It begins as planned. Shots are taken once you open it.",
        back="/trials",
        after=f"/trials/{asked.nth_id()}",
    )


@form_routes(router, "/trials/{trial_id}/correct")
def correct_trial(asked: Asked, trial_id: str) -> Form:
    return _form(
        asked,
        asked.found(Trial, trial_id),
        title="Correct a trial",
        heading="Correct this trial",
        lead="Its history is kept. If the question itself changes, start a follow-up trial instead.",
        back=f"/trials/{trial_id}",
    )


@router.get("/trials/{trial_id}", response_class=HTMLResponse)
def trial(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    """The trial's page; its record alone for a page that heard of a change."""
    frame = frame_for(request, title="Trial", nav="trials", live=True)
    page = _page(book, seat, trial_id, frame=frame)
    if wants_part(request):
        return part("trial/_record.html", page)
    return _whole(request, page)


def _whole(request: Request, page: TrialPage) -> Response:
    frame = frame_for(request, title=page.read.trial.question, nav="trials", live=True, wrong=len(page.errors))
    return html("trial/page.html", page, frame=frame, status=422 if page.errors else 200)


def _page(book: Storage, seat: Seat, trial_id: str, *, frame: Frame, reason: FieldState = NO_REASON) -> TrialPage:
    with book.read() as session:
        read = read_trial(session, trial_id, reader=frame.reader, only_trial=seat.trial_id)
    if read is None:
        raise HTTPException(404, "The book has no such trial.")
    move, words = MOVES[read.trial.state]
    return TrialPage(
        read=read,
        claim=read_claim(read.claim, read.shots) if read.claim else None,
        reader=frame.reader,
        borrowed=borrowed_lines(),
        may_write=seat.at_least("archer"),
        move=move,
        move_words=words,
        cautions=tuple(CAUTIONS.values()),
        reason=reason,
        errors=[Wrong("reason", "Why", reason.error)] if reason.error else [],
        operation=new_id(),
    )


@router.post("/trials/{trial_id}/state", response_class=HTMLResponse)
def move_trial(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """Open, close, reopen. Reopening needs a reason: `apply` says so by the field."""
    asked, state = Asked(request, seat, book, form), str(form.get("state", ""))
    now = asked.found(Trial, trial_id)
    if state not in STATES:
        raise HTTPException(422, "Choose planned, open or closed.")
    if now.state == state:
        return RedirectResponse(f"/trials/{trial_id}", 303)
    operations = asked.operations()
    operations.put("trial", trial_id, {"state": state}, base_rev=base_rev(form), reason=asked.reason or None)
    said = asked.saved(operations, asked.reason)
    if said.error:
        return _whole(request, _page(book, seat, trial_id, frame=frame_for(request, title="Trial"), reason=said))
    return RedirectResponse(f"/trials/{trial_id}", 303)
