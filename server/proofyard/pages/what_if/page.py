"""What if: the same armour otherwise, by the shots of the book and by printed rules. Everything is in the address."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.what_if.ask import CHANGES, SECOND
from proofyard.answers.what_if.page import WhatIf, read_what_if
from proofyard.pages.charts.files import Sheet, drawn_file, parted
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.forms import FormField, Wrong, controls_of, query_of, wrongs
from proofyard.pages.frame.rendering import asked_page
from proofyard.wording.reasons.said import said

router = APIRouter()

CAUTION = "Panels on a stand. Nothing here certifies armour or says that anyone would be safe. Never try it on anyone."


@dataclass(frozen=True)
class WhatIfPage:
    """The answer, and its form. `first` and `second`: the fields of the two what-ifs, those that a rule of this armour takes."""

    what: WhatIf
    reader: str
    controls: Mapping[str, FormField]
    wrongs: Sequence[Wrong]
    first: tuple[FormField, ...]
    second: tuple[FormField, ...]
    second_open: bool
    more_open: bool


def _boxes(what: WhatIf, prefix: str, controls: Mapping[str, FormField]) -> tuple[FormField, ...]:
    """The changes that a rule of this armour takes, and any that were typed none the less."""
    made = what.armour.construction if what.armour else None
    return tuple(controls[prefix + one.name] for one in CHANGES if made in one.made or what.asked.typed[prefix + one.name])


def what_if_page(what: WhatIf, *, reader: str) -> WhatIfPage:
    asked, problems = what.asked, what.problems
    controls = controls_of(asked, problems, choices={"panel": what.panels, "panel_type": what.types})
    more = ("panel_type", "basis", "head", "through", "steel_now", "energy")
    return WhatIfPage(
        what=what,
        reader=reader,
        controls=controls,
        wrongs=wrongs(controls.values()),
        first=_boxes(what, "", controls),
        second=_boxes(what, SECOND, controls),
        second_open=asked.second.any_typed,
        more_open=any(asked.typed[name] or name in problems for name in more),
    )


@router.get("/what-if", response_class=HTMLResponse)
def what_if(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader) -> Any:
    """One or two changes of an armour, answered from the shots that were shot at it or from printed rules."""
    page = what_if_page(read_what_if(book, query_of(request), reader=reader, only_trial=seat.trial_id), reader=reader)
    title = f"What if the armour were different? {said(page.what.finding, reader)}".strip()
    return asked_page(request, "what_if/page.html", page, title=title)


@router.get("/what-if/drawings/{drawing}", response_class=Response)
def what_if_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader, drawing: str) -> Response:
    """The chart of an answer as a file, for the same address: what A and B are, and the page's caution, go with it."""
    name, ending = parted(drawing)
    what = read_what_if(book, query_of(request), reader=reader, only_trial=seat.trial_id)
    sheet = Sheet(what.drawing, (what.drawing.words, CAUTION)) if what.drawing and name == "what-if" else None
    return drawn_file(request, sheet, name, ending)
