"""The range: one static page for line, butt and bench, without a word about who uses it, so that a phone may keep it.

What it shows comes from the phone's own store; the laptop is asked for news by script (server/proofyard/api).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ArcherSeat
from proofyard.pages.frame.forms import FormField, Option, form_fields
from proofyard.pages.frame.rendering import Frame, assets, render
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.trial import Incident

router = APIRouter()

A_WEEK = "private, max-age=604800"

# What is asked beyond the spot, where it went in and the outcome, in the order in which it is seen.
MORE = (
    ("Outcome, if the rear was not seen", ("outcome_high", "rear_check")),
    ("Depth", ("depth", "depth_bound", "depth_method", "reached", "back_face")),
    ("The arrow", ("arrow_did", "bounced", "head_fate", "shaft_fate")),
    ("The armour", ("touched_first", "plate", "layers", "angle", "damage")),
    ("How sure", ("certainty", "may_be_shot", "note")),
    ("Fair hit", ("fair_overrule", "fair_reason")),
)
# What corrects a shot: first where it belongs, since a shot at the wrong panel is what two set-ups bring.
OF_SHOT = ["shooting_end", "archer", "bow_build", "arrow_build", "purpose", "short_draw", "position", "note"]
CAUTIONS = {
    "line": "Eye protection on. Nobody in front of the line or near the panel. "
    "Shoot only arrows that you have flexed and found sound. The range officer’s word overrides this page.",
    "butt": "Walk forward only when all bows are down and the officer says so. "
    "Pull straight; nobody stands in line behind the nock. Torn plate and broken heads are sharp: wear gloves.",
    "bench": "Flex each arrow away from faces; eye protection on. If it is cracked, crushed or loose, retire it.",
}


@dataclass(frozen=True)
class Group:
    heading: str
    fields: Sequence[FormField]


@dataclass(frozen=True)
class RangeShell:
    """What the templates of the range need: the controls, made from the records' own meanings.

    hits, entry   how a shot ended; every place where it can go in, of which the script shows those of the construction
    more          groups of further controls of a reading
    shot          controls that correct a shot
    modules       addresses of the scripts that the first one imports, so that all are fetched at once
    https         a worker may keep this page on the phone (worker.py); over plain http no byte is spent on that
    """

    hits: Sequence[Option]
    entry: FormField
    why: FormField
    place: Sequence[FormField]
    more: Sequence[Group]
    shot: Sequence[FormField]
    incident: Sequence[FormField]
    cautions: dict[str, str]
    modules: Sequence[str]
    https: bool


def _typed_by_keypad(one: FormField) -> FormField:
    """A keypad of digits has no “≥”: whether a depth may be more is said by a key beside it."""
    return replace(one, hint="Along the shaft, arrow still in place.") if one.name == "depth" else one


def _named(one: FormField) -> FormField:
    """An end is of one set-up, and a set-up of one panel: all three are moved at once."""
    return replace(one, label="Panel, set-up and end") if one.name == "shooting_end" else one


def _context(*, https: bool) -> RangeShell:
    short = {"on_panel": "On panel", "partial": "Clipped", "missed": "Missed", "spoiled": "Spoiled"}
    whole = {one.value: one.words for one in form_fields(ShotReading, ["hit"])[0].options}
    names = [name for name in assets().urls if name.startswith("js/range/") and name != "js/range/shell.js"]
    return RangeShell(
        hits=[Option(value, words, unseen=f": {whole[value].lower()}") for value, words in short.items()],
        entry=form_fields(ShotReading, ["entry"])[0],
        why=form_fields(ShotReading, ["why"])[0],
        place=form_fields(ShotReading, ["x", "y"]),
        more=[Group(heading, [_typed_by_keypad(one) for one in form_fields(ShotReading, fields)]) for heading, fields in MORE],
        shot=[_named(one) for one in form_fields(Shot, OF_SHOT)],
        incident=form_fields(Incident, ["done"], prefix="incident_"),
        cautions=CAUTIONS,
        modules=[assets().urls[name] for name in names],
        https=https,
    )


@cache
def shell(demo: bool, *, https: bool) -> str:
    # An archer's masthead, whoever asks: the page is kept for a week and must not change with the reader.
    frame = Frame(title="Range", nav="line", role="archer", demo=demo, range=True, here="/range")
    return render("range/page.html", _context(https=https), frame=frame)


@router.get("/range", include_in_schema=False)
@router.get("/range/butt", include_in_schema=False)
@router.get("/range/bench", include_in_schema=False)
def range_page(request: Request, _: ArcherSeat) -> Response:
    """The same bytes at all three addresses."""
    demo = bool(getattr(request.app.state, "demo", False))
    return HTMLResponse(shell(demo, https=request.url.scheme == "https"), headers={"Cache-Control": A_WEEK})
