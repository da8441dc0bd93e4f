"""Results: the answer first, heads by energy band; and the ways on from it, a page each. Everything is in the address."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ScopedViewerSeat, Seat, TheBook
from proofyard.answers.claims.page import read_claim
from proofyard.answers.claims.read import ClaimRead
from proofyard.answers.results.arrows import ArrowRow, arrows_of
from proofyard.answers.results.drawings import DrawingsOfResults, DrawnHead, drawings_of, drawn_heads
from proofyard.answers.results.first_page import FirstPage, first_page_of
from proofyard.answers.results.listed_shots import ShotList, read_shot_list
from proofyard.answers.results.page import Results, read_results
from proofyard.pages.frame.forms import FormField, Wrong, asked_again, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.records.trial import OUTCOME_WORDS
from proofyard.storage import Storage
from proofyard.views.arrow_fates import HEADINGS
from proofyard.views.settings import FILTERS, Filter, ViewSettings
from proofyard.wording.reasons.said import said

router = APIRouter()

# The pages that lead on from the first one, and the two answers of their own, in the order of the row.
WAYS: Mapping[str, str] = MappingProxyType(
    {"shares": "Shares", "every-shot": "Every shot", "depth": "Depth", "arrows": "Arrows", "left-out": "Left out", "table": "Table"}
)
BEYOND = (("/fifty-percent", "50\N{NO-BREAK SPACE}% energy"), ("/compare", "Compare"))


@dataclass(frozen=True)
class ViewFields:
    """The controls of a view, as the part that several pages share takes them: results, comparisons, 50 % energies.

    controls   by setting: what was asked, and what is wrong with it
    filters    those whose answers come from the data, in the order in which they stand; one that only some books need is left out
               where it offers no choice
    """

    controls: Mapping[str, FormField]
    filters: tuple[FormField, ...]
    wrongs: Sequence[Wrong]


def view_fields(controls: Mapping[str, FormField], offered: Sequence[Filter] = FILTERS) -> dict[str, Any]:
    """The fields of ViewFields. offered: the filters of this page, each shown where there is something to choose."""
    asked = [(one, controls[one.name]) for one in offered]
    filters = tuple(field for one, field in asked if one.always or len(field.options) > 1 or field.state.typed)
    return {"controls": controls, "filters": filters, "wrongs": wrongs(controls.values())}


@dataclass(frozen=True)
class Lead:
    """A link that is or isn't where the reader is."""

    words: str
    href: str
    here: bool = False


@dataclass(frozen=True)
class ResultsPage(ViewFields):
    """What all pages of results have: their tabs and their ways on. The filters stand inside, kept while somebody is at them.

    here      the page's own path
    query     the address as it was asked, for the refresh
    tabs      the panel types, of which one is shown; ways: the row of pages that lead on
    """

    results: Results
    here: str
    query: str
    tabs: tuple[Lead, ...]
    ways: tuple[Lead, ...]
    outcome_words: tuple[str, ...] = field(kw_only=True, default=tuple(OUTCOME_WORDS))


@dataclass(frozen=True)
class First(ResultsPage):
    """`claim`: of the one trial that is shown, with its answer, which comes first."""

    first: FirstPage
    claim: ClaimRead | None


@dataclass(frozen=True)
class Drawn(ResultsPage):
    """`drawings` None: no shot is counted."""

    drawings: DrawingsOfResults | None


@dataclass(frozen=True)
class EveryShot(ResultsPage):
    heads: tuple[DrawnHead, ...]


@dataclass(frozen=True)
class Arrows(ResultsPage):
    headings: tuple[str, ...]
    rows: tuple[ArrowRow, ...]


@dataclass(frozen=True)
class ShotsPage:
    """The shots behind one number."""

    list: ShotList


def _common(request: Request, seat: Seat, book: Storage, here: str, *, reader: str) -> dict[str, Any]:
    """The fields of ResultsPage."""
    results = read_results(book, query_of(request), only_trial=seat.trial_id, reader=reader)
    settings = results.settings
    again = settings.address("")
    ways = [Lead(words, f"/results/{key}{again}", here == f"/results/{key}") for key, words in WAYS.items()]
    controls = controls_of(results.asked)
    controls["panel_type"] = replace(controls["panel_type"], blank="The one that was hit most")
    return {
        **view_fields(controls),
        "results": results,
        "here": here,
        "query": asked_again(request),
        "tabs": tuple(
            Lead(words, _of_type(settings, value, here), value == settings.only.get("panel_type")) for value, words in results.types.items()
        ),
        "ways": (*ways, *(Lead(words, path + again) for path, words in BEYOND)),
    }


def _of_type(settings: ViewSettings, panel_type: str, path: str) -> str:
    return replace(settings, only={**settings.only, "panel_type": panel_type}).address(path)


def _first(request: Request, seat: Seat, book: Storage, *, reader: str) -> First:
    common = _common(request, seat, book, "/results", reader=reader)
    found: Results = common["results"]
    claim = read_claim(found.claim, found.trial_shots) if found.claim else None
    return First(**common, first=first_page_of(found), claim=claim)


@router.get("/results", response_class=HTMLResponse)
def results(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """Heads by energy band at one panel type, and what was counted."""
    frame = frame_for(request, title="Results", nav="results", live=True)
    page = _first(request, seat, book, reader=frame.reader)
    frame = replace(frame, title=f"Results: {said(page.results.finding.title)}", wrong=len(page.wrongs))
    return html("results/page.html", page, frame=frame, status=422 if page.wrongs else 200)


@router.get("/results/found", response_class=HTMLResponse)
def found(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """The same again, for a page that is open: the doorbell rang."""
    if not wants_part(request):
        return RedirectResponse("/results" + asked_again(request), 303)
    page = _first(request, seat, book, reader=frame_for(request, title="Results").reader)
    return part("results/_found.html", page, status=422 if page.wrongs else 200)


@router.get("/results/shots", response_class=HTMLResponse)
def shots_behind(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """The shots of one cell, or those left out for one reason."""
    listed = read_shot_list(book, query_of(request), reader=frame_for(request, title="").reader, only_trial=seat.trial_id)
    frame = frame_for(request, title=listed.heading, nav="results", wrong=bool(listed.wrong))
    return html("results/shots.html", ShotsPage(listed), frame=frame, status=422 if listed.wrong else 200)


@router.get("/results/{way}", response_class=HTMLResponse)
def way_on(request: Request, seat: ScopedViewerSeat, book: TheBook, way: str) -> Any:
    """A page that leads on: the whole of it, or for htmx its one part, where the doorbell rang."""
    if way not in WAYS:
        raise HTTPException(404, "The results have no such page.")
    frame = frame_for(request, title=f"{WAYS[way]}, results", nav="results", live=True)
    page = _way(way, _common(request, seat, book, f"/results/{way}", reader=frame.reader))
    status = 422 if page.wrongs else 200
    name = way.replace("-", "_")
    if wants_part(request):
        return part(f"results/_{name}.html", page, status=status)
    return html(f"results/{name}.html", page, frame=replace(frame, wrong=bool(page.wrongs)), status=status)


def _way(way: str, common: Mapping[str, Any]) -> ResultsPage:
    found = common["results"]
    if way in ("shares", "depth"):
        return Drawn(**common, drawings=drawings_of(found))
    if way == "every-shot":
        return EveryShot(**common, heads=drawn_heads(found))
    return Arrows(**common, headings=HEADINGS, rows=arrows_of(found)) if way == "arrows" else ResultsPage(**common)
