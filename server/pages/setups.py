"""Set-ups: which panel build stands on which stand at which distance, and where the chronograph is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, TheBook
from server.findings.to_pick import for_setup
from server.findings.when import day_words
from server.pages.corrections import only_changed, shown_then
from server.pages.forms import (
    FormField,
    FormOperations,
    NotTaken,
    body_of,
    form_fields,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html
from server.pages.shapes import Wrong
from server.records.ids import new_id
from server.records.listing import one
from server.records.notebook import revisions_of
from server.records.trial import Session as Day
from server.records.trial import Setup
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

FIELDS = ("panel_build", "stand", "distance", "angle", "chronograph", "chronograph_at")


@dataclass(frozen=True)
class SetupForm:
    heading: str
    lead: str
    action: str
    back: str
    act: str
    fields: Sequence[FormField]
    errors: Sequence[Wrong]
    operation: str
    base_rev: int
    no_panels: bool


def _form(
    request: Request, book: Storage, day: Day, *, heading: str, action: str, act: str, typed: Mapping[str, Any],
    rev: int = 0, problems: Sequence[Problem] = (), keep: Sequence[str] = (),
) -> Response:
    with book.read() as session:
        options = for_setup(session, keep=keep)
    fields = form_fields(Setup, FIELDS, typed=typed, problems=problems, options=options)
    errors = wrongs(fields) + [Wrong("panel_build", "This set-up", p.sentence) for p in problems if p.field not in FIELDS]
    page = SetupForm(
        heading, f"{day_words(day.day)}{', ' + day.place if day.place else ''}", action, f"/sessions/{day.id}", act, fields, errors,
        new_id(), rev, not options["panel_build"],
    )  # fmt: skip
    return html("session/setup.html", page, frame=frame_for(request, title=heading, nav="trials", wrong=bool(errors)), status=422 if errors else 200)


def _day(book: Storage, session_id: str) -> Day:
    with book.read() as session:
        day = one(session, Day, session_id)
    if day is None:
        raise HTTPException(404, "The book has no such session.")
    return day


def _setup(book: Storage, session_id: str, setup_id: str) -> Setup:
    with book.read() as session:
        setup = one(session, Setup, setup_id)
    if setup is None or setup.session_id != session_id:
        raise HTTPException(404, "This session has no such set-up.")
    return setup


@router.get("/sessions/{session_id}/setups", response_class=HTMLResponse)
def new_setup(request: Request, seat: ArcherSeat, book: TheBook, session_id: str) -> Response:
    day = _day(book, session_id)
    return _form(request, book, day, heading="A new set-up", action=f"/sessions/{day.id}/setups", act="Write it down", typed={"angle": "0"})


@router.post("/sessions/{session_id}/setups", response_class=HTMLResponse)
def make_setup(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Posted) -> Response:
    day = _day(book, session_id)
    body = body_of(form, Setup, FIELDS)
    operations = FormOperations(seat, operation_id(form))
    operations.new("setup", {**body, "session": session_id})
    try:
        operations.save(book)
    except NotTaken as fault:
        return _form(
            request, book, day, heading="A new set-up", action=f"/sessions/{day.id}/setups", act="Write it down", typed=body,
            problems=fault.problems,
        )  # fmt: skip
    return RedirectResponse(f"/sessions/{session_id}#session-setups", 303)


@router.get("/sessions/{session_id}/setups/{setup_id}", response_class=HTMLResponse)
def correct_setup(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, setup_id: str) -> Response:
    setup = _setup(book, session_id, setup_id)
    return _correct(request, book, setup, typed=shown_body(setup), rev=setup.rev)


def _correct(
    request: Request, book: Storage, setup: Setup, *, typed: Mapping[str, Any], rev: int, problems: Sequence[Problem] = ()
) -> Response:
    keep = [key for key in (setup.panel_build_id, setup.stand_id, setup.chronograph_id) if key]
    return _form(
        request, book, _day(book, setup.session_id), heading="Correct this set-up", action=f"/sessions/{setup.session_id}/setups/{setup.id}",
        act="Correct it", typed=typed, rev=rev, problems=problems, keep=keep,
    )  # fmt: skip


@router.post("/sessions/{session_id}/setups/{setup_id}", response_class=HTMLResponse)
def take_setup_correction(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, setup_id: str, form: Posted) -> Response:
    setup, rev = _setup(book, session_id, setup_id), base_rev(form)
    body = body_of(form, Setup, FIELDS)
    with book.read() as session:
        shown = shown_then(Setup, setup, revisions_of(session, "setup", setup_id), base_rev=rev)
    operations = FormOperations(seat, operation_id(form))
    changed = only_changed(Setup, body, shown)
    if changed:
        operations.put("setup", setup_id, changed, base_rev=rev)
    try:
        operations.save(book)
    except NotTaken as fault:
        return _correct(request, book, setup, typed=body, rev=rev, problems=fault.problems)
    return RedirectResponse(f"/sessions/{session_id}#session-setups", 303)
