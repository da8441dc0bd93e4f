"""Results: outcomes by head form and energy band, and the shots behind each number. Everything is in the address."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ScopedViewerSeat, TheBook
from server.findings.axes import AXES, PLACES, ROWS
from server.findings.drawings_of_results import DrawingsOfResults, drawings_of
from server.findings.listed_shots import ShotList, read_shot_list
from server.findings.results import Results, read_results
from server.findings.view_settings import ALIKES, FAIRS, FILTERS, METHODS, THROUGHS, Asked, Filter
from server.pages.figures import reader_of
from server.pages.rendering import frame_for, html, part, wants_part
from server.pages.shapes import FieldState, Option, Wrong

router = APIRouter()

LABELS = {
    **{one.name: one.label for one in FILTERS},
    "head": "Head",
    "through": "Through means",
    "depth": "Past the rear face by",
    "way": "Way in",
    "fair": "Fair hits",
    "at": "Energy",
    "axis": "Outcomes against",
    "rows": "Rows are",
    "row_edges": "Edges of the rows’ bands",
    "edges": "Edges of the bands",
    "method": "Range of the share",
    "alike": "Shots of one arrow are alike to",
}


@dataclass(frozen=True)
class ViewFields:
    """The controls of a view, as the part that several pages share takes them: results, comparisons, half-way energies.

    states    by field: what was asked, and what is wrong with it
    """

    choices: Mapping[str, Mapping[str, str]]
    heads_typed: tuple[str, ...]
    states: Mapping[str, FieldState]
    wrongs: tuple[Wrong, ...]
    filters: tuple[Filter, ...]
    heads: tuple[Option, ...]
    throughs: Mapping[str, str]
    fairs: Mapping[str, str]
    places: Mapping[str, str]


def head_options(heads: Mapping[str, str]) -> tuple[Option, ...]:
    """The forms of head that were shot, with their outlines."""
    return tuple(Option(form, words, glyph="" if form == "not_said" else f"head-{form}") for form, words in heads.items())


@dataclass(frozen=True)
class ResultsPage(ViewFields):
    """The page and its one part, which is all of it: the filters stand inside, kept while somebody is at them.

    query     the address as it was asked, for the refresh
    """

    results: Results
    methods: Mapping[str, str]
    alikes: Mapping[str, str]
    axes: Mapping[str, str]
    rows: Mapping[str, str]
    query: str
    drawings: DrawingsOfResults | None


@dataclass(frozen=True)
class ShotsPage:
    """The shots behind one number."""

    list: ShotList
    back: str


def query_of(request: Request) -> dict[str, list[str]]:
    """Field -> its values, in the order of the address."""
    found: dict[str, list[str]] = {}
    for name, value in request.query_params.multi_items():
        found.setdefault(name, []).append(value)
    return found


def _states(asked: Asked) -> dict[str, FieldState]:
    return {name: FieldState(asked.typed.get(name, ""), error=asked.problems.get(name, "")) for name in (*LABELS, "pool")}


def results_page(request: Request, results: Results) -> ResultsPage:
    asked = results.asked
    states = _states(asked)
    # What was left open is shown as it was settled: the page says which it is.
    states["at"] = FieldState(asked.typed.get("at") or results.settings.place, error=asked.problems.get("at", ""))
    return ResultsPage(
        results=results,
        choices=results.choices,
        heads_typed=asked.heads_typed,
        states=states,
        wrongs=tuple(Wrong(name, LABELS[name], asked.problems[name]) for name in LABELS if name in asked.problems),
        filters=FILTERS,
        heads=head_options(results.choices["head"]),
        throughs=THROUGHS,
        fairs=FAIRS,
        methods=METHODS,
        alikes=ALIKES,
        places=PLACES,
        axes={key: one.label for key, one in AXES.items()},
        rows={key: one.label for key, one in ROWS.items()},
        query=f"?{request.url.query}" if request.url.query else "",
        drawings=drawings_of(results, reader=reader_of(frame_for(request, title=""))),
    )


@router.get("/results", response_class=HTMLResponse)
def results(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """Outcomes by head form and energy band."""
    page = results_page(request, read_results(book, query_of(request), only_trial=seat.trial_id))
    frame = frame_for(request, title=page.results.finding.title, nav="results", wrong=bool(page.wrongs), live=True)
    return html("results/page.html", page, frame=frame, status=422 if page.wrongs else 200)


@router.get("/results/found", response_class=HTMLResponse)
def found(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """The same again, for a page that is open: the doorbell rang."""
    if not wants_part(request):
        return RedirectResponse("/results" + (f"?{request.url.query}" if request.url.query else ""), 303)
    page = results_page(request, read_results(book, query_of(request), only_trial=seat.trial_id))
    return part("results/_found.html", page, status=422 if page.wrongs else 200)


@router.get("/results/shots", response_class=HTMLResponse)
def shots_behind(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """The shots of one cell, or those left out for one reason."""
    listed = read_shot_list(book, query_of(request), only_trial=seat.trial_id)
    title = f"{listed.title}: {len(listed.shots)} shots" if len(listed.shots) != 1 else f"{listed.title}: 1 shot"
    page = ShotsPage(list=listed, back=listed.asked.settings.address())
    frame = frame_for(request, title=title, nav="results", wrong=bool(listed.why_none))
    return html("results/shots.html", page, frame=frame, status=422 if listed.why_none else 200)
