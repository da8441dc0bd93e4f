"""A trial's next shot: what its rule says, why and by how much, and the rule itself with when to stop."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from server.findings.planning.next_shot_read import NextShotRead, read_next_shot
from server.pages.corrections import save_correction, with_blank
from server.pages.figures import reader_of
from server.pages.forms import FormField, body_of, form_fields, shown_body, wrongs
from server.pages.found import found
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html, part, wants_part
from server.pages.shapes import Wrong
from server.records.ids import new_id
from server.records.listing import one
from server.records.trial import Trial
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

FIELDS = (
    "next_shot_rule", "start_energy", "next_step_percent", "bow_change_costs", "stop_rule", "stop_shots", "stop_width_percent",
    "stopped_because",
)  # fmt: skip


@dataclass(frozen=True)
class NextShotPage:
    """read None: nothing is set up, so nothing can be chosen."""

    trial: Trial
    read: NextShotRead | None
    may_write: bool
    fields: Sequence[FormField]
    errors: Sequence[Wrong]
    operation: str
    rev: int


@router.get("/trials/{trial_id}/next", response_class=HTMLResponse)
def next_shot(request: Request, seat: ViewerSeat, book: TheBook, trial_id: str) -> Response:
    return _page(request, seat, book, trial_id)


def _page(
    request: Request, seat: Seat, book: Storage, trial_id: str, *, typed: Mapping[str, Any] | None = None, rev: int | None = None,
    problems: Sequence[Problem] = (),
) -> Response:  # fmt: skip
    with book.read() as session:
        row = one(session, Trial, trial_id)
        read = read_next_shot(session, trial_id, reader=reader_of(frame_for(request, title="")))
    if row is None:
        raise HTTPException(404, "The book has no such trial.")
    fields = with_blank(form_fields(Trial, FIELDS, typed=shown_body(row) if typed is None else typed, problems=problems))
    errors = wrongs(fields, problems, label="This rule", at="next_shot_rule")
    page = NextShotPage(row, read, seat.at_least("archer"), fields, errors, new_id(), row.rev if rev is None else rev)
    if wants_part(request):
        return part("next_shot/_said.html", page)
    frame = frame_for(request, title=f"Next shot: {row.question}", nav="trials", live=True, wrong=bool(errors))
    return html("next_shot/page.html", page, frame=frame, status=422 if errors else 200)


@router.post("/trials/{trial_id}/next", response_class=HTMLResponse)
def set_rule(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """The rule stands in the trial from now on; what it was before stands in the notebook."""
    row, body = found(book, Trial, trial_id), body_of(form, Trial, FIELDS)
    if refused := save_correction(seat, book, form, row, typed=body):
        return _page(request, seat, book, trial_id, typed=body, rev=base_rev(form), problems=refused)
    return RedirectResponse(f"/trials/{trial_id}/next", 303)
