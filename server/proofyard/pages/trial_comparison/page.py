"""Trials side by side: what changed, what was the same, and the same counts of each. Everything is in the address."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.trial_comparison.page import TrialComparison, read_trial_comparison
from proofyard.pages.frame.forms import FormField, Wrong, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import asked_page, frame_for

router = APIRouter()


@dataclass(frozen=True)
class ComparisonPage:
    found: TrialComparison
    controls: Mapping[str, FormField]
    wrongs: Sequence[Wrong]


@router.get("/trials/compare", response_class=HTMLResponse)
def compare_trials(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """Two trials or more. A viewer of one trial is told that it takes two."""
    with book.read() as session:
        reader = frame_for(request, title="").reader
        found = read_trial_comparison(session, query_of(request), reader=reader, only_trial=seat.trial_id)
    controls = controls_of(found.asked) | controls_of(found.picked)
    page = ComparisonPage(found, controls, wrongs(controls.values()))
    # With nothing wrong and too few picked the page asks; that is no fault of who opened it.
    return asked_page(request, "trial_comparison/page.html", page, title=found.heading, nav="trials")
