"""What if: the same armour otherwise, by the shots of the book and by printed rules. Everything is in the address."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from server.access.seats import ScopedViewerSeat, TheBook
from server.findings.view_settings import THROUGHS
from server.findings.what_if.ask import BASES, CHANGES, SECOND, STEELS
from server.findings.what_if.page import WhatIf, read_what_if
from server.pages.figures import reader_of
from server.pages.forms import UNIT_WORDS
from server.pages.rendering import frame_for, html
from server.pages.results import query_of
from server.pages.shapes import FieldState, Wrong
from server.pages.what_if_shown import Shown, armour_facts, shown_of
from server.quantities import KINDS
from server.records.arrow import FORMS

router = APIRouter()

ABOUT = {
    "panel": "Armour", "basis": "Start from", "head": "Head", "through": "Through means", "steel_now": "Its steel is now",
    "energy": "Energy of a shot to ask about",
}  # fmt: skip
PLACES = {"": "", SECOND: ", second"}


@dataclass(frozen=True)
class ChangeBox:
    """One field of a what-if. `unit` and its words beside the box; `control`: number, text or select."""

    name: str
    label: str
    control: str
    hint: str
    unit: str
    unit_words: str
    state: FieldState


@dataclass(frozen=True)
class WhatIfPage:
    """The page. `first` and `second`: the fields of the two what-ifs, those that a rule of this armour takes."""

    what: WhatIf
    shown: tuple[Shown, ...]
    heading: str
    states: Mapping[str, FieldState]
    wrongs: tuple[Wrong, ...]
    first: tuple[ChangeBox, ...]
    second: tuple[ChangeBox, ...]
    second_open: bool
    more_open: bool
    plated: bool
    heads: Mapping[str, str]
    throughs: Mapping[str, str]
    bases: Mapping[str, str]
    steels: Mapping[str, str]
    panel_href: str
    now: list[tuple[str, str]]
    ask_open: bool
    ask_words: str


def _boxes(what: WhatIf, prefix: str) -> tuple[ChangeBox, ...]:
    made = what.armour.construction if what.armour else None
    boxes = []
    for one in CHANGES:
        name = prefix + one.name
        typed = what.asked.typed[name]
        if made not in one.made and not typed:
            continue
        kind = KINDS.get(one.kind)
        unit = "" if kind is None else {"deg": "°"}.get(kind.unit, kind.unit)
        control = {"hardness": "text", "steel_sort": "select"}.get(one.kind, "number")
        state = FieldState(typed, error=what.problems.get(name, ""))
        boxes.append(ChangeBox(name, one.label, control, one.hint, unit, UNIT_WORDS.get(kind.unit, "") if kind else "", state))
    return tuple(boxes)


def what_if_page(what: WhatIf, *, reader: str) -> WhatIfPage:
    asked, problems = what.asked, what.problems
    labels = ABOUT | {prefix + one.name: one.label + PLACES[prefix] for prefix in ("", SECOND) for one in CHANGES}
    told = [one for one in what.answers if one.told]
    if told:
        heading = f"{told[0].letter}: {told[0].title_words}" if len(what.answers) > 1 else told[0].title_words
    elif what.answers:
        heading = "It can’t be told"
    else:
        heading = f"What if {what.armour.panel.name} had been otherwise?" if what.armour else "What if the armour had been otherwise?"
    more = ("basis", "head", "through", "steel_now", "energy")
    return WhatIfPage(
        what=what,
        shown=tuple(shown_of(one, reader=reader) for one in what.answers),
        heading=heading,
        states={name: FieldState(asked.typed[name], error=problems.get(name, "")) for name in ABOUT},
        wrongs=tuple(Wrong(name, labels[name], sentence) for name, sentence in problems.items()),
        first=_boxes(what, ""),
        second=_boxes(what, SECOND),
        second_open=asked.second.any_typed,
        more_open=any(asked.typed[name] or name in problems for name in more),
        plated=bool(what.armour and what.armour.plated),
        heads=FORMS,
        throughs={key: words for key, words in THROUGHS.items() if key != "depth"},
        bases={key: words for key, words in BASES.items() if key},
        steels=STEELS,
        panel_href=f"/panels/{what.armour.build.id}" if what.armour else "",
        now=armour_facts(what.armour, reader=reader) if what.armour else [],
        # A first look asks; an answer comes first once there is one.
        ask_open=bool(problems) or not any(one.changed for one in told),
        ask_words=_ask_words(what, any(one.changed for one in told)),
    )


def _ask_words(what: WhatIf, answered: bool) -> str:
    if what.armour is None:
        return "Which armour?"
    return "Change something else, or set a second beside it" if answered else "Change one thing, or several"


@router.get("/what-if", response_class=HTMLResponse)
def what_if(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Any:
    """One or two changes of an armour, answered from the shots that were shot at it or from printed rules."""
    reader = reader_of(frame_for(request, title=""))
    page = what_if_page(read_what_if(book, query_of(request), reader=reader, only_trial=seat.trial_id), reader=reader)
    frame = frame_for(request, title=page.heading, nav="results", wrong=bool(page.wrongs))
    return html("what_if/page.html", page, frame=frame, status=422 if page.wrongs else 200)
