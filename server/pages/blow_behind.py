"""The blow behind: what a shot that did not come through left on the wearer's side. Everything is in the address."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from server.access.seats import ScopedViewerSeat, TheBook
from server.findings.blow.ask import BODIES
from server.findings.blow.cautions import CAUTIONS
from server.findings.blow.page import Blow, read_blow
from server.findings.blow.table import PrintedTold, blow_cells, printed_told
from server.pages.figures import counted, reader_of
from server.pages.forms import UNIT_WORDS
from server.pages.rendering import frame_for, html
from server.pages.results import query_of
from server.pages.shapes import Column, FieldState, Step, Wrong
from server.quantities import unit_for_reader

router = APIRouter()

LABELS = {"trial": "Trial", "panel": "Panel", "shot": "Shot", "body": "Whose chest", "body_mass": "Body mass", "width": "Width of the blow", "after": "Speed of the arrow afterwards"}


@dataclass(frozen=True)
class BlowPage:
    """The page. `rows`: (address, cells) of each shot, the label first; `outside`: rows of what lies outside the criterion's data."""

    blow: Blow
    cautions: tuple[str, ...]
    states: Mapping[str, FieldState]
    wrongs: tuple[Wrong, ...]
    bodies: Mapping[str, str]
    length_unit: str
    length_words: str
    table_columns: tuple[Column, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    steps_shown: tuple[Step, ...]
    outside: tuple[tuple[str, str, str], ...]
    left_out: tuple[str, ...]
    cant: tuple[str, ...]
    printed: PrintedTold
    ask_open: bool
    all_href: str
    asks_after: bool
    may_write: bool


def blow_page(blow: Blow, *, reader: str, may_write: bool) -> BlowPage:
    energy, momentum, length = (unit_for_reader(one, reader) for one in ("energy", "momentum", "length"))
    told = blow.picked
    return BlowPage(
        blow=blow,
        cautions=CAUTIONS,
        states={name: FieldState(blow.asked.typed[name], error=blow.problems.get(name, "")) for name in LABELS},
        wrongs=tuple(Wrong(name, LABELS[name], sentence) for name, sentence in blow.problems.items()),
        bodies=BODIES,
        length_unit="mm",
        length_words=UNIT_WORDS.get("mm", ""),
        table_columns=(
            Column("Shot"), Column("Panel"), Column("What it did"), Column(f"Struck with, {energy}", True), Column(f"Momentum, {momentum}", True),
            Column(f"Went on in the panel, {energy}", True), Column(f"Back pushed in, {length}", True), Column("Criterion, illustrative", True),
        ),
        rows=tuple((blow.asked.address(shot=row.fact.shot_id, after=""), blow_cells(row, reader=reader)) for row in blow.rows),
        steps_shown=tuple(Step(s.words, s.value, s.plus_minus, s.note, s.href, s.href_words, s.last, s.method) for s in told.steps) if told else (),
        outside=tuple((one.words, one.here, one.tried) for one in told.criterion.outside) if told and told.criterion else (),
        left_out=_left_out(blow),
        cant=tuple(f"{counted(n, 'shot')}: {why}" for why, n in blow.cant),
        printed=printed_told(),
        # A first look asks; what was found comes first once there is something.
        ask_open=bool(blow.problems) or not blow.asked_for,
        all_href=blow.asked.address(shot="", after="", trial=blow.trial.id if blow.trial else ""),
        asks_after="after" in blow.problems or bool(told and told.left),
        may_write=may_write,
    )  # fmt: skip


def _left_out(blow: Blow) -> tuple[str, ...]:
    counts = (
        (blow.through, "whose point came behind: that is no blunt blow"), (blow.no_rung, "that nobody gave a rung"), (blow.unread, "not read yet"),
        (blow.more, "further down a long list: pick a panel, or take them from the download"),
    )  # fmt: skip
    return tuple(f"{counted(n, 'shot')} {words}" for n, words in counts if n)


@router.get("/blow-behind", response_class=HTMLResponse)
def blow_behind(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """Of a trial, a panel or one shot: what went on behind, with its cautions."""
    reader = reader_of(frame_for(request, title=""))
    page = blow_page(read_blow(book, query_of(request), reader=reader, only_trial=seat.trial_id), reader=reader, may_write=seat.at_least("archer"))
    frame = frame_for(request, title=page.blow.heading or "The blow behind", nav="results", wrong=bool(page.wrongs))
    return html("blow/page.html", page, frame=frame, status=422 if page.wrongs else 200)
