"""Trials side by side: what changed, what was the same, and the same counts of each. Everything is in the address."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from server.access.seats import ScopedViewerSeat, TheBook
from server.findings.axes import PLACES
from server.findings.trials_compared.page import TrialComparison, read_trial_comparison
from server.findings.view_settings import FAIRS, METHODS, THROUGHS
from server.pages.figures import reader_of
from server.pages.rendering import frame_for, html
from server.pages.results import query_of
from server.pages.shapes import FieldState, Option, Wrong

router = APIRouter()

LABELS = {
    "trial": "Trials", "through": "Through means", "depth": "Past the rear face by", "fair": "Fair hits", "way": "Way in", "head": "Head",
    "at": "Energy", "edges": "Edges of the bands", "method": "Range of the share",
}  # fmt: skip


@dataclass(frozen=True)
class ComparisonPage:
    """The comparison, and the form that asks for another. `alike_href`: like with like, or all again; "" where neither is of use."""

    found: TrialComparison
    states: Mapping[str, FieldState]
    wrongs: tuple[Wrong, ...]
    trials: tuple[Option, ...]
    trials_ticked: list[str]
    heads: tuple[Option, ...]
    throughs: Mapping[str, str]
    fairs: Mapping[str, str]
    methods: Mapping[str, str]
    places: Mapping[str, str]
    alike_href: str


@router.get("/trials/compare", response_class=HTMLResponse)
def compare_trials(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """Two trials or more. A viewer of one trial is told that it takes two."""
    with book.read() as session:
        reader = reader_of(frame_for(request, title=""))
        found = read_trial_comparison(session, query_of(request), reader=reader, only_trial=seat.trial_id)
    page = _page(found)
    # With nothing wrong and too few picked the page asks; that is no fault of who opened it.
    title = f"{found.title}: {' and '.join(one.short for one in found.picked.names)}" if found.columns else found.title
    frame = frame_for(request, title=title, nav="trials", wrong=bool(page.wrongs))
    return html("trial_comparison/page.html", page, frame=frame, status=422 if page.wrongs else 200)


def _page(found: TrialComparison) -> ComparisonPage:
    asked = found.asked
    states = {name: FieldState(asked.typed.get(name, ""), error=found.problems.get(name, "")) for name in LABELS}
    states["at"] = FieldState(asked.typed.get("at") or asked.settings.place, error=found.problems.get("at", ""))
    return ComparisonPage(
        found=found, states=states,
        wrongs=tuple(Wrong(name, label, found.problems[name]) for name, label in LABELS.items() if name in found.problems),
        trials=tuple(Option(one.trial.id, f"{one.number}: {one.trial.question}") for one in found.picked.offered),
        trials_ticked=[one.trial.id for one in found.picked.names],
        heads=tuple(Option(form, words, glyph="" if form == "not_said" else f"head-{form}") for form, words in found.choices["head"].items()),
        throughs=THROUGHS, fairs=FAIRS, methods=METHODS, places=PLACES,
        alike_href=found.address(alike=not found.alike) if found.alike or found.can_be_alike else "",
    )  # fmt: skip
