"""A change to the thing itself is a new build: another head, another string, another lacing. Earlier shots keep theirs."""

from dataclasses import replace
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from server.access.seats import ArcherSeat, TheBook
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import (
    FormField,
    FormOperations,
    body_of,
    form_fields,
    nth_id,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.kit_nouns import HEAD_FIRST, KitNoun
from server.pages.kit_records import address, builds_of, called, options_for, the_noun, the_record
from server.pages.posted import Posted
from server.records.ids import new_id
from server.records.kit_facts import BuildFact
from server.records.listing import one
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

WORK_WANTED = {
    "bow": "Say what was changed, for example: new linen string.",
    "arrow": "Say what was done, for example: reground.",
    "panel": "Pick what was done.",
}


def _built(noun: str) -> KitNoun:
    kind = the_noun(noun)
    if kind.build is None:
        raise HTTPException(404)
    return kind


def _fields(kind: KitNoun, typed: dict[str, Any], options: Any, problems: list[Problem]) -> list[FormField]:
    assert kind.build is not None
    made = form_fields(kind.build, kind.build_asks, typed=typed, problems=problems, options=options)
    # "As first made" is what a new build is not.
    return [replace(f, options=tuple(o for o in f.options if o.value != "first")) if f.name == "work" else f for f in made]


def _page(
    request: Request, storage: Storage, kind: KitNoun, record_id: str, *,
    operation: str, typed: dict[str, Any] | None = None, number: int | None = None, problems: list[Problem] | None = None,
) -> HTMLResponse:  # fmt: skip
    assert kind.build is not None
    with storage.read() as session:
        name = called(kind, the_record(session, kind, record_id))
        found = builds_of(session, kind, record_id)
        if typed is None:
            build = one(session, kind.build, found[0].build_id) if found else None
            shown = shown_body(build) if build else {}
            # What was done, and what is read anew, begin empty; the rest is as it was.
            typed = {key: shown.get(key, "") for key in kind.build_asks if key in ("head", "string", "string_mass", "brace_height")}
        fields = _fields(kind, typed, options_for(session, kind.build, kind.build_asks), problems or [])
    number = number or next_number(found)
    errors = wrongs(fields, problems or [])
    page = FormPage(
        heading=f"{name[:1].upper()}{name[1:]}, a new build",
        lead=f"For when {kind.rebuilt_when}: this is a new thing, build {number}. Shots with build {number - 1} stay as they were. {kind.rebuilt_note}",
        action=address(kind, record_id, "rebuild"), operation=operation, fields=fields, errors=errors, save=f"Save build {number}",
        back=address(kind, record_id), unseen={"number": str(number)},
        caution=HEAD_FIRST if kind.noun == "arrow" else "",
    )  # fmt: skip
    return form_answer(request, page, nav="kit")


def next_number(found: list[BuildFact]) -> int:
    return max((build.number for build in found), default=0) + 1


@router.get("/kit/{noun}/{record_id}/rebuild")
def rebuild(request: Request, seat: ArcherSeat, storage: TheBook, noun: str, record_id: str) -> HTMLResponse:
    return _page(request, storage, _built(noun), record_id, operation=new_id())


@router.post("/kit/{noun}/{record_id}/rebuild")
def save_build(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str, record_id: str) -> Response:
    kind = _built(noun)
    assert kind.build is not None
    typed, operation = body_of(form, kind.build, kind.build_asks), operation_id(form)
    with storage.read() as session:
        the_record(session, kind, record_id)
        found = builds_of(session, kind, record_id)
    number = str(form.get("number", ""))
    held = int(number) if number.isascii() and number.isdigit() and len(number) < 6 else next_number(found)
    problems = [] if str(typed.get("work") or "").strip() else [Problem("work", WORK_WANTED[kind.noun])]
    # The same form sent twice finds its own build; anyone else's of that number came in between.
    if any(build.number >= held and build.build_id != nth_id(operation, 0) for build in found):
        problems.append(Problem("", f"Somebody made build {held} in the meantime. Look at it; if yours is another one, save this as build {next_number(found)}."))
        held = next_number(found)
    operations = FormOperations(seat, operation)
    if not problems:
        body = {name: value for name, value in typed.items() if value not in ("", [])}
        operations.new(kind.build_noun, {kind.noun: record_id, "number": str(held), **body})
        problems = operations.try_to_save(storage)
        if not problems:
            return RedirectResponse(address(kind, record_id), 303)
    return _page(request, storage, kind, record_id, operation=operation, typed=typed, number=held, problems=problems)
