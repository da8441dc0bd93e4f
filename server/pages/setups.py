"""Set-ups: which panel build stands on which stand at which distance, and where the chronograph is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, TheBook
from server.findings.to_pick import for_setup
from server.findings.when import day_words
from server.pages.corrections import save_correction
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import (
    FormOperations,
    body_of,
    form_fields,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.found import found
from server.pages.posted import Posted, base_rev
from server.records.ids import new_id
from server.records.trial import Session as Day
from server.records.trial import Setup
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

FIELDS = ("panel_build", "stand", "distance", "angle", "chronograph", "chronograph_at")


@dataclass(frozen=True, kw_only=True)
class SetupForm(FormPage):
    no_panels: bool


def _form(
    request: Request, book: Storage, day: Day, *, heading: str, action: str, save: str, typed: Mapping[str, Any],
    rev: int = 0, problems: Sequence[Problem] = (), keep: Sequence[str] = (),
) -> Response:
    with book.read() as session:
        options = for_setup(session, keep=keep)
    fields = form_fields(Setup, FIELDS, typed=typed, problems=problems, options=options)
    errors = wrongs(fields, problems, label="This set-up", at="panel_build")
    page = SetupForm(
        heading=heading, lead=f"{day_words(day.day)}{', ' + day.place if day.place else ''}", action=action, operation=new_id(), fields=fields,
        errors=errors, save=save, back=f"/sessions/{day.id}", unseen={"base_rev": str(rev)}, classes="form layout__words",
        no_panels=not options["panel_build"],
    )  # fmt: skip
    return form_answer(request, page, nav="trials", template="session/setup.html")


def _setup(book: Storage, session_id: str, setup_id: str) -> Setup:
    setup = found(book, Setup, setup_id)
    if setup.session_id != session_id:
        raise HTTPException(404, "This session has no such set-up.")
    return setup


@router.get("/sessions/{session_id}/setups", response_class=HTMLResponse)
def new_setup(request: Request, seat: ArcherSeat, book: TheBook, session_id: str) -> Response:
    day = found(book, Day, session_id)
    return _form(request, book, day, heading="A new set-up", action=f"/sessions/{day.id}/setups", save="Write it down", typed={"angle": "0"})


@router.post("/sessions/{session_id}/setups", response_class=HTMLResponse)
def make_setup(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Posted) -> Response:
    day = found(book, Day, session_id)
    body = body_of(form, Setup, FIELDS)
    operations = FormOperations(seat, operation_id(form))
    operations.new("setup", {**body, "session": session_id})
    if refused := operations.try_to_save(book):
        return _form(
            request, book, day, heading="A new set-up", action=f"/sessions/{day.id}/setups", save="Write it down", typed=body,
            problems=refused,
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
        request, book, found(book, Day, setup.session_id), heading="Correct this set-up", action=f"/sessions/{setup.session_id}/setups/{setup.id}",
        save="Correct it", typed=typed, rev=rev, problems=problems, keep=keep,
    )  # fmt: skip


@router.post("/sessions/{session_id}/setups/{setup_id}", response_class=HTMLResponse)
def take_setup_correction(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, setup_id: str, form: Posted) -> Response:
    setup, body = _setup(book, session_id, setup_id), body_of(form, Setup, FIELDS)
    if refused := save_correction(seat, book, form, setup, typed=body):
        return _correct(request, book, setup, typed=body, rev=base_rev(form), problems=refused)
    return RedirectResponse(f"/sessions/{session_id}#session-setups", 303)
