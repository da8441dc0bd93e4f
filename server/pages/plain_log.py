"""`/log`: a shot, and its reading if you like, on a plain form: for a phone whose script is off, or a laptop at the line."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse
from starlette.datastructures import FormData

from server.access.seats import ArcherSeat, Seat, TheBook
from server.findings import range_kit
from server.pages.forms import FormField, FormOperations, NotTaken, body_of, form_fields, nth_id, operation_id, wrongs
from server.pages.posted import Posted
from server.pages.range_shell import CAUTIONS
from server.pages.rendering import frame_for, html
from server.pages.shapes import FieldState, Wrong
from server.records import range_facts
from server.records.devices import now_ms
from server.records.ids import new_id
from server.records.listing import one
from server.records.shot import Shot, ShotReading
from server.records.speed import SpeedReading
from server.records.trial import Walk
from server.records.typed_values import Problem
from server.storage import Session

router = APIRouter()

LOOSE = ("archer", "bow_build", "arrow_build", "purpose", "short_draw")
READ = (
    "hit", "why", "x", "y", "way_in", "outcome_low", "outcome_high", "look_behind", "depth", "depth_bound", "depth_method",
    "arrow_did", "head_fate", "shaft_fate", "damage", "note",
)  # fmt: skip
SPEED_PREFIX, READING_PREFIX = "speed_", "reading_"
SHOT_PLACE = 1000  # the shot's own number among the ids that follow from the form's


@dataclass(frozen=True)
class PlainLog:
    """One form. `logged`: the label of the shot that was logged last; `ready`: there is a set-up to shoot at."""

    operation: str
    fields: Sequence[FormField]
    errors: Sequence[Wrong]
    caution: str
    logged: str
    ready: bool
    next_label: str


@router.get("/log")
def plain_log(request: Request, seat: ArcherSeat, book: TheBook, after: str = "") -> Response:
    """Empty, or with the choices of the shot that was logged last."""
    with book.read() as session:
        before = one(session, Shot, after[:36]) if after else None
        typed: dict[str, Any] = {"purpose": "counted"}
        if before is not None:
            walk = one(session, Walk, before.walk_id)
            typed |= {"archer": before.archer_id, "bow_build": before.bow_build_id, "setup": walk.setup_id if walk else ""}
        page = _page(session, seat, typed, logged=before.label if before else "")
    return html("log/page.html", page, frame=frame_for(request, title="Log a shot", nav="range"))


@router.post("/log")
def log_shot(request: Request, seat: ArcherSeat, book: TheBook, form: Posted) -> Response:
    """In the book, or the form again with what was typed."""
    operation = operation_id(form)
    shot_id = nth_id(operation, SHOT_PLACE)
    with book.read() as session:
        if one(session, Shot, shot_id) is not None:
            return _done(shot_id)  # a second tap, or a lost reply: it is in the book already
        asked = _asked(session, seat, form, operation, shot_id=shot_id)
    try:
        asked.save(book)
    except NotTaken as refusal:
        return _again(request, seat, book, form, problems=_problems(asked, refusal))
    return _done(shot_id)


def _done(shot_id: str) -> RedirectResponse:
    return RedirectResponse(f"/log?after={shot_id}", 303)


def _asked(session: Session, seat: Seat, form: FormData, operation: str, *, shot_id: str) -> FormOperations:
    """The operations of the form: a walk if none is open, the shot, its speed, its reading."""
    asked = FormOperations(seat, operation)
    setup = str(form.get("setup", ""))
    open_walks = [w for w in range_facts.walks_of(session, [setup]) if not w["struck"] and "at_butt_at" not in w["said"]]
    if open_walks and not form.get("new_walk"):
        walk = open_walks[-1]["id"]
    else:
        walk = asked.new("walk", {"setup": setup, "begun_at": now_ms()})
    label = _next_label(session, seat)
    body = {**body_of(form, Shot, LOOSE), "label": label, "walk": walk, "loosed_at": now_ms()}
    asked.put("shot", shot_id, {**body, "purpose": body.get("purpose") or "counted"})
    speed = str(form.get(f"{SPEED_PREFIX}value", ""))
    if speed.strip():
        asked.new("speed_reading", {"shot": shot_id, "value": speed, "method": "chronograph"})
    read = {name: value for name, value in body_of(form, ShotReading, READ, prefix=READING_PREFIX).items() if value not in ("", [], "no")}
    if read:
        asked.put("shot_reading", shot_id, {**read, **_place_known(read)})
    return asked


def _place_known(read: Mapping[str, Any]) -> dict[str, str]:
    return {"place_known": "yes"} if read.get("x") or read.get("y") else {}


def _next_label(session: Session, seat: Seat) -> str:
    return f"{seat.letter}{range_facts.where_it_stands(session, seat.device_id, seat.letter).highest_label + 1}"


def _problems(asked: FormOperations, refusal: NotTaken) -> list[Problem]:
    """Each problem under the name that its control has on this form."""
    prefixes = {"speed_reading": SPEED_PREFIX, "shot_reading": READING_PREFIX}
    found = []
    for op, answer in zip(asked.operations, refusal.answers, strict=True):
        for problem in answer.problems:
            name = "setup" if problem.field in ("walk", "setup") else problem.field or "setup"
            found.append(Problem(prefixes.get(op.noun, "") + name, problem.sentence))
    # Without its walk the shot is refused too; the reason that a person can mend is the walk's.
    return [p for p in found if not (p.field == "setup" and "no such record" in p.sentence)] or found


def _again(request: Request, seat: Seat, book: TheBook, form: FormData, *, problems: Sequence[Problem]) -> Response:
    typed: dict[str, Any] = {name: form.getlist(name) if len(form.getlist(name)) > 1 else form[name] for name in form}
    with book.read() as session:
        page = _page(session, seat, typed, problems=problems, operation=operation_id(form))
    return html("log/page.html", page, frame=frame_for(request, title="Log a shot", nav="range", wrong=True), status=422)


def _page(
    session: Session, seat: Seat, typed: Mapping[str, Any], *, problems: Sequence[Problem] = (), operation: str = "", logged: str = ""
) -> PlainLog:
    setups = range_facts.open_setups(session)
    bows = range_kit.bows_for_phone(range_facts.current_bows(session))
    arrows = range_kit.arrows_for_phone(session)
    options = {
        "setup": [(s.setup.id, f"{s.panel.name}, {s.day.day}, {s.trial.question}") for s in setups],
        "archer": range_facts.archers_here(session),
        "bow_build": [(b["build"], f"{b['weight']} lb, {b['name']}" if b["weight"] else b["name"]) for b in bows],
        "arrow_build": [(a["build"], _arrow_words(a)) for a in arrows if a["state"] != "not_sound"],
    }
    walk = form_fields(Walk, ["setup"], typed=typed, problems=problems, options=options)
    loose = form_fields(Shot, LOOSE, typed=typed, problems=problems, options=options)
    speed = _prefixed(SpeedReading, ["value"], SPEED_PREFIX, typed, problems=problems)
    read = _prefixed(ShotReading, READ, READING_PREFIX, typed, problems=problems)
    return PlainLog(
        operation=operation or new_id(),
        fields=[
            _heading("What was loosed"), *walk, *loose, *speed,
            FormField("new_walk", "This begins another walk", "tick", FieldState(typed=str(typed.get("new_walk", "")))),
            _heading("What it did, if you have read it"), *read,
        ],
        errors=wrongs([*walk, *loose, *speed, *read]),
        caution=CAUTIONS["line"],
        logged=logged,
        ready=bool(setups),
        next_label=_next_label(session, seat),
    )  # fmt: skip


def _heading(words: str) -> FormField:
    return FormField("", words, "heading")


def _arrow_words(arrow: Mapping[str, Any]) -> str:
    return f"{arrow['tag']}, {arrow['head'] or arrow['form']}" + (", to check" if arrow["state"] == "to_check" else "")


def _prefixed(
    table: Any, names: Sequence[str], prefix: str, typed: Mapping[str, Any], *, problems: Sequence[Problem]
) -> list[FormField]:
    """Controls whose names carry a prefix, filled and judged by what stands under that prefix."""
    cut = len(prefix)
    own = {name[cut:]: value for name, value in typed.items() if name.startswith(prefix)}
    wrong = [Problem(p.field[cut:], p.sentence) for p in problems if p.field.startswith(prefix)]
    return form_fields(table, names, typed=own, problems=wrong, prefix=prefix)
