"""Stating a trial's claim, correcting it, crossing it out. Its answer stands on the trial's own pages."""

from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.answers.range.to_pick import for_claim
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Form, draw, form_routes, why_field
from proofyard.pages.frame.forms import FieldState, FormField, Posted, Wrong
from proofyard.records.claim import DEFAULT_DIFFERENCE, DEFAULT_LEVEL, DEFAULT_ONE_IN, Claim
from proofyard.records.columns import meanings
from proofyard.records.ids import new_id
from proofyard.records.listing import belonging
from proofyard.records.trial import Trial

router = APIRouter()

FIELDS = tuple(name for name in meanings(Claim) if name != "trial")
BEGINS = {"claim_form": "holds", "one_in": str(DEFAULT_ONE_IN), "level": DEFAULT_LEVEL, "difference": DEFAULT_DIFFERENCE}
NOTHING_SAID = FieldState()
VOID = "void-"  # two forms stand on this page, so the second one's box is told apart


@dataclass(frozen=True)
class ClaimOwn:
    """Beside the form that states or corrects: the form that crosses out; `claim_id` empty while there is none."""

    trial_id: str
    claim_id: str
    void_operation: str
    void_field: FormField


def _standing(asked: Asked, trial_id: str) -> Claim | None:
    with asked.book.read() as session:
        found = belonging(session, Claim, "trial_id", trial_id)
    return found[0] if found else None


def _form(asked: Asked, trial_id: str, void: FieldState = NOTHING_SAID) -> Form:
    trial, row = asked.found(Trial, trial_id), _standing(asked, trial_id)
    with asked.book.read() as session:
        kept = (row.bow_id, row.stand_id, row.panel_id, row.than_panel_id, row.than_stand_id) if row else ()
        options = for_claim(session, trial_id, keep=[one for one in kept if one])
    more: dict[str, Any] = {} if row else {"typed": BEGINS}
    block = Block(table=Claim, names=FIELDS, row=row, fixed={"trial": trial_id}, options=options, blank=True, **more)
    box = replace(why_field(f"{VOID}reason", hint="A few words, for example: the bow broke."), state=void)
    own = ClaimOwn(trial_id, row.id if row else "", new_id(), box)
    return Form(
        heading="Correct the claim" if row else "State a claim",
        lead=trial.question,
        back=f"/trials/{trial_id}",
        action=f"/trials/{trial_id}/claim",
        blocks=[block],
        nav="trials",
        template="claims/form.html",
        classes=WORDS,
        label="This claim",
        at="claim_form",
        why=why_field(hint="Optional. For example: typed 5 for 50.") if row else None,
        refreshes={"claim_form": "Show the boxes of this claim"},
        own=lambda sent: own,
        also=lambda sent: [Wrong(box.name, box.label, void.error)] if void.error else [],
    )


@form_routes(router, "/trials/{trial_id}/claim", fields=True)
def claim_of_trial(asked: Asked, trial_id: str) -> Form:
    """A trial has one claim: a new one, or the one that stands, corrected."""
    return _form(asked, trial_id)


@router.post("/trials/{trial_id}/claim/cross-out", response_class=HTMLResponse)
def cross_out(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    """The question is a claim no longer; the notebook keeps what it said."""
    asked = Asked(request, seat, book, form)
    row = _standing(asked, trial_id)
    if row is None:
        return RedirectResponse(f"/trials/{trial_id}", 303)
    said = asked.crossed_out("claim", row.id, name=f"{VOID}reason")
    if said.error:
        return draw(Asked(request, seat, book), _form(asked, trial_id, said))
    return RedirectResponse(f"/trials/{trial_id}", 303)
