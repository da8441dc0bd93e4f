"""A trial's next shot: what its rule says, why and by how much, and the rule itself with when to stop."""

from dataclasses import dataclass

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ArcherSeat, TheBook, ViewerSeat
from proofyard.answers.planning.next_shot_read import NextShotRead, read_next_shot
from proofyard.pages.frame.form_page import Asked, Block, Form, FormPage, Sent, form_page, tried
from proofyard.pages.frame.forms import Posted
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.records.trial import Trial

router = APIRouter()

FIELDS = (
    "next_shot_rule",
    "start_energy",
    "next_step_percent",
    "bow_change_costs",
    "stop_rule",
    "stop_shots",
    "stop_width_percent",
    "stopped_because",
)


@dataclass(frozen=True)
class NextShotPage:
    """read None: nothing is set up, so nothing can be chosen."""

    trial: Trial
    read: NextShotRead | None
    may_write: bool
    rule: FormPage


def _rule(row: Trial) -> Form:
    """The rule stands in the trial from now on; what it was before stands in the notebook."""
    return Form(blocks=[Block(table=Trial, names=FIELDS, row=row, blank=True)], label="This rule")


def _page(asked: Asked, row: Trial, sent: Sent | None = None) -> Response:
    with asked.book.read() as session:
        read = read_next_shot(session, row.id, reader=asked.reader)
    page = NextShotPage(row, read, asked.seat.at_least("archer"), form_page(asked, _rule(row), sent))
    if wants_part(asked.request):
        return part("planning/_next_said.html", page)
    wrong = len(page.rule.errors)
    frame = frame_for(asked.request, title=f"Next shot: {row.question}", nav="trials", live=True, wrong=wrong)
    return html("planning/next_shot.html", page, frame=frame, status=422 if wrong else 200)


@router.get("/trials/{trial_id}/next", response_class=HTMLResponse)
def next_shot(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    asked = Asked(request, seat, book)
    return _page(asked, asked.found(Trial, trial_id))


@router.post("/trials/{trial_id}/next", response_class=HTMLResponse)
def set_rule(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    asked = Asked(request, seat, book, form)
    row = asked.found(Trial, trial_id)
    sent = tried(asked, _rule(row))
    return _page(asked, row, sent) if sent.problems else RedirectResponse(f"/trials/{trial_id}/next", 303)
