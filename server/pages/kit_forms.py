"""A record of kit is made, copied, or corrected. A correction is a revision; a change to the thing itself is a new build."""

from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from server.access.seats import ArcherSeat, TheBook
from server.pages.corrections import save_correction
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import (
    FormField,
    FormOperations,
    NotTaken,
    body_of,
    form_fields,
    heading,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.kit_nouns import HEAD_FIRST, KitNoun
from server.pages.kit_records import address, builds_of, called, options_for, the_noun, the_record
from server.pages.posted import Posted, base_rev
from server.pages.rendering import part, wants_part
from server.records.ids import new_id
from server.records.listing import NAMED_BY, name_of, one
from server.records.typed_values import Problem
from server.storage import Session, Storage

router = APIRouter()

BUILD = "build-"  # before the names of the first build's fields, where a form fills a record and its build
# A panel's construction decides which fields are asked, an instrument's sort the units of its accuracy.
REFRESHES = {("panel", "construction"): "Show its fields", ("instrument", "sort"): "Show its units"}
WHY = FormField("reason", "Why", "text", hint="May stay empty. For example: typed 53 for 35.")


def _fields(
    session: Session, kind: KitNoun, typed: dict[str, Any], *, refresh: str, problems: list[list[Problem]] | None = None, first: bool = False
) -> list[FormField]:
    """The controls of a record, and of its first build when both are made at once."""
    said = [*(problems or []), [], []]
    made = form_fields(kind.table, kind.asks, typed=typed, problems=said[0], options=options_for(session, kind.table, kind.names))
    refreshing = [
        replace(one, refresh=refresh, refresh_words=REFRESHES[kind.noun, one.name]) if (kind.noun, one.name) in REFRESHES else one
        for one in made
    ]
    if first and kind.build and kind.first_asks:
        typed_build = {name.removeprefix(BUILD): value for name, value in typed.items() if name.startswith(BUILD)}
        refreshing.append(heading("Its first build"))
        refreshing += form_fields(
            kind.build, kind.first_asks, typed=typed_build, problems=said[1], prefix=BUILD,
            options=options_for(session, kind.build, kind.first_asks),
        )  # fmt: skip
    return refreshing


def _posted(form: FormData, kind: KitNoun) -> dict[str, Any]:
    """What was typed, by the names of the controls."""
    typed = body_of(form, kind.table, kind.names)
    if kind.build:
        typed |= {BUILD + name: value for name, value in body_of(form, kind.build, kind.first_asks, prefix=BUILD).items()}
    return typed


def _new_page(
    request: Request, storage: Storage, kind: KitNoun, typed: dict[str, Any], *,
    operation: str, problems: list[list[Problem]] | None = None, copy_of: str = "",
) -> HTMLResponse:  # fmt: skip
    with storage.read() as session:
        fields = _fields(session, kind, typed, refresh=f"/kit/{kind.noun}/new/fields", problems=problems, first=True)
    errors = wrongs(fields, [one for some in problems or [] for one in some])
    article = "An" if kind.one[0] in "aeiou" else "A"
    page = FormPage(
        heading=f"{article} {kind.one} like {copy_of}" if copy_of else f"{article} new {kind.one}".replace("An new", "A new"),
        lead="Give it its own name, and change what differs." if copy_of else "Only the name is needed now. The rest may come later.",
        action=f"/kit/{kind.noun}/new", operation=operation, fields=fields, errors=errors, save=f"Save the {kind.one}",
        back="/kit", caution=HEAD_FIRST if kind.noun == "arrow" else "",
    )  # fmt: skip
    return form_answer(request, page, nav="kit")


@router.get("/kit/{noun}/new")
def new(request: Request, seat: ArcherSeat, storage: TheBook, noun: str) -> HTMLResponse:
    return _new_page(request, storage, the_noun(noun), {}, operation=new_id())


@router.get("/kit/{noun}/{record_id}/copy")
def copy(request: Request, seat: ArcherSeat, storage: TheBook, noun: str, record_id: str) -> HTMLResponse:
    """A new one that begins as another is: all but its name, its head, and what was read of it."""
    kind = the_noun(noun)
    with storage.read() as session:
        row = the_record(session, kind, record_id)
        typed = {name: value for name, value in shown_body(row).items() if name in kind.names}
        found = builds_of(session, kind, record_id)
        build = one(session, kind.build, found[0].build_id) if kind.build and found else None
        if build is not None:
            shown = shown_body(build)
            # One real head sits on one shaft, so a copied arrow is without.
            typed |= {BUILD + name: shown[name] for name in kind.first_asks if name != "head"}
        name = name_of(row)
    typed[NAMED_BY.get(kind.noun, "name")] = ""
    return _new_page(request, storage, kind, typed, operation=new_id(), copy_of=name)


@router.post("/kit/{noun}/new/fields")
def new_fields(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str) -> HTMLResponse:
    """The same form with the fields that fit what was chosen; nothing is saved."""
    kind = the_noun(noun)
    typed = _posted(form, kind)
    if not wants_part(request):
        return _new_page(request, storage, kind, typed, operation=operation_id(form))
    return _part(storage, kind, typed, refresh=f"/kit/{kind.noun}/new/fields", first=True)


def _part(storage: Storage, kind: KitNoun, typed: dict[str, Any], *, refresh: str, first: bool) -> HTMLResponse:
    with storage.read() as session:
        fields = _fields(session, kind, typed, refresh=refresh, first=first)
    page = FormPage("", "", "", "", fields, [], "", "")
    return part("forms/_fields.html", page, said="The fields fit what you chose.")


@router.post("/kit/{noun}/new")
def make(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str) -> Response:
    kind = the_noun(noun)
    typed, operations = _posted(form, kind), FormOperations(seat, operation_id(form))
    record_id = operations.new(kind.noun, _filled({name: typed.get(name) for name in kind.names}))
    if kind.build:
        first = _filled({name: typed.get(BUILD + name) for name in kind.first_asks})
        work = {"work": "first"} if kind.noun == "panel" else {}
        operations.new(kind.build_noun, {kind.noun: record_id, "number": "1", **work, **first})
    try:
        operations.save(storage)
    except NotTaken as error:
        return _new_page(request, storage, kind, typed, operation=operations.operation, problems=operations.problems_of(error))
    return RedirectResponse(address(kind, record_id), 303)


def _filled(body: dict[str, Any]) -> dict[str, Any]:
    """A new record says nothing of the boxes that stayed empty."""
    return {name: value for name, value in body.items() if value not in (None, "", [], "no")}


def _correct_page(
    request: Request, storage: Storage, kind: KitNoun, record_id: str, *, typed: dict[str, Any] | None = None,
    form: FormData | None = None, problems: list[Problem] | None = None,
) -> HTMLResponse:  # fmt: skip
    with storage.read() as session:
        row = the_record(session, kind, record_id)
        shown = typed if typed is not None else shown_body(row)
        fields = _fields(session, kind, shown, refresh=address(kind, record_id, "correct/fields"), problems=[problems or []])
        name = called(kind, row)
    # It stays the revision that its sender saw, so that what others said since is not taken for theirs.
    rev = base_rev(form) if form is not None else row.rev
    why = replace(WHY, state=replace(WHY.state, typed=str(form.get("reason", "")) if form else ""))
    errors = wrongs(fields, problems or [])
    page = FormPage(
        heading=f"Correct {name}", action=address(kind, record_id, "correct"),
        lead="For what was written down wrong. If the thing itself changed, leave this and " + ("make a new build." if kind.build else "copy it."),
        operation=operation_id(form) if form is not None else new_id(), fields=[*fields, why], errors=errors,
        save="Save the correction", back=address(kind, record_id), unseen={"base_rev": str(rev)},
    )  # fmt: skip
    return form_answer(request, page, nav="kit")


@router.get("/kit/{noun}/{record_id}/correct")
def correct(request: Request, seat: ArcherSeat, storage: TheBook, noun: str, record_id: str) -> HTMLResponse:
    return _correct_page(request, storage, the_noun(noun), record_id)


@router.post("/kit/{noun}/{record_id}/correct/fields")
def correct_fields(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str, record_id: str) -> HTMLResponse:
    kind = the_noun(noun)
    typed = body_of(form, kind.table, kind.names)
    if wants_part(request):
        return _part(storage, kind, typed, refresh=address(kind, record_id, "correct/fields"), first=False)
    return _correct_page(request, storage, kind, record_id, typed=typed, form=form)


@router.post("/kit/{noun}/{record_id}/correct")
def take_correction(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str, record_id: str) -> Response:
    kind = the_noun(noun)
    typed = body_of(form, kind.table, kind.names)
    with storage.read() as session:
        row = the_record(session, kind, record_id)
    refused = save_correction(seat, storage, form, row, typed=typed)
    if refused:
        return _correct_page(request, storage, kind, record_id, typed=typed, form=form, problems=refused)
    return RedirectResponse(address(kind, record_id), 303)
