"""Groups of shots compared, and whether an earlier hit nearby matters. Everything is in the address; no script is needed."""

from collections.abc import Mapping
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from server.access.seats import ScopedViewerSeat, TheBook
from server.findings.axes import AXES, PLACES
from server.findings.view_settings import ALIKES, FAIRS, FILTERS, METHODS, THROUGHS, Asked, Choices
from server.live.hands import Hands
from server.pages.rendering import frame_for, html
from server.pages.results import LABELS, ViewFields, head_options, query_of
from server.pages.shapes import Column, FieldState, Option, Wrong

if TYPE_CHECKING:
    from server.findings.comparison.page import CompareFindings
    from server.findings.comparison.worn_spots import WornSpots

router = APIRouter()

OWN_LABELS = {"by": "Compare", "of": "Which of them", "first": "The question before the first shot"}
COULD_COLUMNS = (Column("Pair"), Column("At"), Column("By itself"), Column("Among all that is asked here"))
TEST_COLUMNS = (
    Column("Pair"), Column("Question"), Column("p at best", True), Column("p", True), Column("p among all", True), Column("Comes to"),
)  # fmt: skip

WEAR_COLUMNS = (Column("Near an earlier hit", True), Column("Fair", True))


@dataclass(frozen=True)
class ComparedFields(ViewFields):
    """Those of both pages here."""

    methods: Mapping[str, str]
    axes: Mapping[str, str]
    alikes: Mapping[str, str]


@dataclass(frozen=True)
class ComparePage(ComparedFields):
    """The page of comparisons. `kinds`, `offered`, `pairs`: the answers of its own controls."""

    compare: "CompareFindings"
    labels: Mapping[str, str]
    kinds: Mapping[str, str]
    offered: tuple[Option, ...]
    pairs: Mapping[str, str]
    could_columns: tuple[Column, ...]
    could_rows: tuple[tuple[str, ...], ...]
    test_columns: tuple[Column, ...]
    question_rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class WearPage(ComparedFields):
    """Fair against near an earlier hit. It has no choice of fairness: that is what it asks about."""

    wear: "WornSpots"
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]


def _fields(asked: Asked, choices: Choices, *, own: Mapping[str, str], problems: Mapping[str, str]) -> dict[str, Any]:
    labels, wrong = {**own, **LABELS}, {**asked.problems, **problems}
    states = {name: FieldState(asked.typed.get(name, ""), error=wrong.get(name, "")) for name in (*labels, "pool")}
    states["at"] = FieldState(asked.typed.get("at") or asked.settings.place, error=wrong.get("at", ""))
    return {
        "choices": choices,
        "heads_typed": asked.heads_typed,
        "states": states,
        "wrongs": tuple(Wrong(name, labels[name], wrong[name]) for name in labels if name in wrong),
        "filters": FILTERS,
        "heads": head_options(choices["head"]),
        "throughs": THROUGHS,
        "fairs": FAIRS,
        "places": PLACES,
        "methods": METHODS,
        "alikes": ALIKES,
        "axes": {key: one.label for key, one in AXES.items()},
    }


def _compared(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    from server.findings.comparison.kinds import KINDS
    from server.findings.comparison.page import (
        read_comparison,  # late: it loads numpy, which the start need not wait for
    )

    found = read_comparison(book, query_of(request), only_trial=seat.trial_id)
    asked = found.compare
    fields = _fields(found.asked, found.choices, own=OWN_LABELS, problems=asked.problems)
    first = FieldState(asked.first, error=asked.problems.get("first", ""))
    page = ComparePage(
        **{**fields, "states": {**fields["states"], "by": FieldState(asked.kind.key, error=asked.problems.get("by", "")), "first": first}},
        compare=found,
        labels=OWN_LABELS,
        kinds={key: one.label for key, one in KINDS.items()},
        offered=tuple(Option(row.key, row.words, glyph=row.glyph) for row in asked.offered),
        pairs={**asked.pairs, "none": "No pair was asked about beforehand"},
        could_columns=COULD_COLUMNS,
        could_rows=tuple(astuple(one) for one in found.could),
        test_columns=TEST_COLUMNS,
        question_rows=tuple(astuple(one) for one in found.questions),
    )
    frame = frame_for(request, title=f"Compare: {found.finding.title}", nav="results", wrong=bool(page.wrongs))
    return html("compare/page.html", page, frame=frame, status=422 if page.wrongs else 200)


def _worn(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    from server.findings.comparison.worn_spots import read_worn_spots  # late, as above

    found = read_worn_spots(book, query_of(request), only_trial=seat.trial_id)
    page = WearPage(**{**_fields(found.asked, found.choices, own={}, problems={}), "fairs": {}}, wear=found, columns=(Column(f"Energy, {found.unit}"), *WEAR_COLUMNS), rows=found.rows)
    frame = frame_for(request, title=f"Earlier hits: {found.title}", nav="results", wrong=bool(page.wrongs))
    return html("compare/wear.html", page, frame=frame, status=422 if page.wrongs else 200)


@router.get("/compare", response_class=HTMLResponse)
async def compare(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    """Heads, panels, days, archers, bows: two or more groups at like energy. On the thread of its own, as all long reckoning."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_compared, request, seat, book)


@router.get("/compare/wear", response_class=HTMLResponse)
async def worn_spots(request: Request, seat: ScopedViewerSeat, book: TheBook) -> HTMLResponse:
    """Does an earlier hit nearby matter? Fair hits against those near one."""
    hands: Hands = request.app.state.working_out
    return await hands.do(_worn, request, seat, book)
