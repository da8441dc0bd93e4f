"""The range: one static page for line, butt and bench, without a word about who uses it, so that a phone may keep it.

What it shows comes from the phone's own store; the laptop is asked for news by script (server/api).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse

from server.access.seats import ArcherSeat
from server.pages.forms import FormField, form_fields
from server.pages.rendering import Frame, assets, render
from server.pages.shapes import Option
from server.records.shot import Shot, ShotReading
from server.records.trial import Incident

router = APIRouter()

A_WEEK = "private, max-age=604800"

# What is asked beyond spot, way in and rung, in the order in which it is seen.
MORE = (
    ("The rung, where the rear was not seen", ("outcome_high", "look_behind")),
    ("How deep", ("depth", "depth_bound", "depth_method", "reached", "back_face")),
    ("The arrow", ("arrow_did", "bounced", "head_fate", "shaft_fate")),
    ("The armour", ("touched_first", "plate", "layers", "angle", "damage")),
    ("How sure", ("certainty", "may_be_shot", "note")),
    ("Fair hit", ("fair_overrule", "fair_reason")),
)
CAUTIONS = {
    "line": "Eyes covered, nobody forward, none near the panel. Only arrows flexed and found sound. "
    "The range officer comes before this page.",
    "butt": "Forward only when every bow is down. Pull straight, nobody behind the nock. "
    "Opened plate and broken heads cut.",
    "bench": "Flex each arrow away from faces, eyes covered. Cracked, crushed or loose: it does not fly again.",
}


@dataclass(frozen=True)
class Group:
    heading: str
    fields: Sequence[FormField]


@dataclass(frozen=True)
class RangeShell:
    """What the templates of the range need: the controls, made from the records' own meanings.

    hits, ways    how a loose ended; every way in, of which the script shows those of the construction
    more          groups of further controls of a reading
    loose         controls that correct a loose
    modules       addresses of the scripts that the first one imports, so that all are fetched at once
    """

    hits: Sequence[Option]
    ways: FormField
    why: FormField
    place: Sequence[FormField]
    more: Sequence[Group]
    loose: Sequence[FormField]
    incident: Sequence[FormField]
    cautions: dict[str, str]
    modules: Sequence[str]


def _context() -> RangeShell:
    short = {"fair_target": "Struck", "partial": "Clipped", "missed": "Missed", "spoiled": "Spoiled"}
    whole = {one.value: one.words for one in form_fields(ShotReading, ["hit"])[0].options}
    names = [name for name in assets().names() if name.startswith("js/range/") and name != "js/range/shell.js"]
    return RangeShell(
        hits=[Option(value, words, unseen=f": {whole[value].lower()}") for value, words in short.items()],
        ways=form_fields(ShotReading, ["way_in"])[0],
        why=form_fields(ShotReading, ["why"])[0],
        place=form_fields(ShotReading, ["x", "y"]),
        more=[Group(heading, form_fields(ShotReading, fields)) for heading, fields in MORE],
        loose=form_fields(Shot, ["archer", "bow_build", "arrow_build", "purpose", "short_draw", "position", "note"]),
        incident=form_fields(Incident, ["done"], prefix="incident_"),
        cautions=CAUTIONS,
        modules=[assets().url(name) for name in names],
    )


@cache
def _shell(demo: bool) -> str:
    # An archer's masthead, whoever asks: the page is kept for a week and must not change with the reader.
    frame = Frame(title="Range", nav="line", role="archer", demo=demo, range=True, here="/range")
    return render("range/page.html", _context(), frame=frame)


@router.get("/range", include_in_schema=False)
@router.get("/range/butt", include_in_schema=False)
@router.get("/range/bench", include_in_schema=False)
def range_page(request: Request, _: ArcherSeat) -> Response:
    """The same bytes at all three addresses."""
    demo = bool(getattr(request.app.state, "demo", False))
    return HTMLResponse(_shell(demo), headers={"Cache-Control": A_WEEK})
