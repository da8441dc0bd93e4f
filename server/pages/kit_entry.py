"""One entry looked at again: corrected, left out with a reason and taken back, struck through."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from server.access.seats import ArcherSeat, TheBook
from server.findings.revision_words import Told, told
from server.pages.corrections import save_correction
from server.pages.figures import reader_of
from server.pages.forms import (
    FormField,
    FormOperations,
    form_fields,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.kit_endings import reason_field
from server.pages.kit_entries import entry_words
from server.pages.kit_forms import WHY
from server.pages.kit_parts import Whose, entry_asks, posted_entry, whose
from server.pages.kit_records import linked_names, options_for
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html
from server.pages.shapes import Wrong
from server.records.columns import Noun
from server.records.ids import new_id
from server.records.listing import one
from server.records.notebook import revisions_of
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

# Two forms stand on this page, so the second one's fields are told apart.
STRIKE = "strike-"


@dataclass(frozen=True)
class EntryPage:
    """One entry with the form that corrects it, the form that strikes it, and what it said before."""

    heading: str
    lead: str
    back: str
    action: str
    operation: str
    unseen: dict[str, str]
    fields: list[FormField]
    errors: list[Wrong]
    struck: bool
    strike_action: str
    strike_operation: str
    strike_field: FormField
    revisions: Sequence[Told]
    elsewhere: tuple[str, str] | None = None  # address and words: where it is better put right


def _entry(storage: Storage, noun: str, record_id: str, key: str, entry_id: str) -> tuple[Whose, Noun]:
    """The entry and whose it is; 404 where it is another's."""
    with storage.read() as session:
        at = whose(session, noun, record_id, key)
        row = one(session, at.part.table, entry_id)
        owner = getattr(row, "record_id" if at.part.link == "record" else f"{at.part.link}_id", None)
        if row is None or owner is None:
            raise HTTPException(404)
        return (whose(session, noun, record_id, key, build_id=owner) if at.part.of_build else at), row


def _page(
    request: Request, storage: Storage, at: Whose, row: Noun, *, operation: str = "",
    typed: dict[str, Any] | None = None, hidden: dict[str, str] | None = None, reason: str = "",
    problems: list[Problem] | None = None, strike_reason: str = "", strike_problem: str = "",
) -> HTMLResponse:  # fmt: skip
    part = at.part
    with storage.read() as session:
        linked = linked_names(session, [part.table])
        lines = revisions_of(session, part.noun, row.id)
        options = options_for(session, part.table, part.asks)
    asks = entry_asks(part)
    fields = form_fields(
        part.table, asks, typed={**part.fixed, **(typed if typed is not None else shown_body(row))}, problems=problems or [], options=options
    )
    fields.append(replace(WHY, state=replace(WHY.state, typed=reason)))
    struck = row.struck_rev is not None
    field = replace(reason_field(strike_reason, strike_problem, "typed twice"), name=STRIKE + "reason")
    errors = wrongs(fields, problems or []) + wrongs([field])
    words, _ = entry_words(part, row, reader_of(frame_for(request, title="")), linked=linked)
    page = EntryPage(
        heading=f"{part.heading}: {words}", lead=f"Of {at.name}." + (" It is struck through." if struck else ""), back=at.here,
        action=f"{at.address}/{row.id}", operation=operation or new_id(),
        unseen=hidden or {"base_rev": str(row.rev)}, fields=fields, errors=errors, struck=struck,
        strike_action=f"{at.address}/{row.id}/strike", strike_operation=new_id(), strike_field=field,
        revisions=told(lines, linked),
    )  # fmt: skip
    frame = frame_for(request, title=page.heading, nav="kit", wrong=bool(errors))
    return html("kit/entry.html", page, frame=frame, status=422 if errors else 200)


@router.get("/kit/{noun}/{record_id}/{key}/{entry_id}")
def entry(request: Request, seat: ArcherSeat, storage: TheBook, noun: str, record_id: str, key: str, entry_id: str) -> HTMLResponse:
    at, row = _entry(storage, noun, record_id, key, entry_id)
    return _page(request, storage, at, row)


@router.post("/kit/{noun}/{record_id}/{key}/{entry_id}")
def correct_entry(
    request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str, record_id: str, key: str, entry_id: str
) -> Response:
    at, row = _entry(storage, noun, record_id, key, entry_id)
    typed = posted_entry(form, at.part)
    problems = save_correction(seat, storage, form, row, typed=typed)
    if problems:
        hidden = {"base_rev": str(base_rev(form))}
        return _page(
            request, storage, at, row, operation=operation_id(form), typed=typed, hidden=hidden,
            reason=str(form.get("reason", "")), problems=problems,
        )  # fmt: skip
    return RedirectResponse(at.here, 303)


@router.post("/kit/{noun}/{record_id}/{key}/{entry_id}/strike")
def strike_entry(
    request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, noun: str, record_id: str, key: str, entry_id: str
) -> Response:
    at, row = _entry(storage, noun, record_id, key, entry_id)
    reason = str(form.get(STRIKE + "reason", "")).strip()
    operations = FormOperations(seat, operation_id(form))
    operations.strike(at.part.noun, row.id, reason, back=form.get("back") == "yes")
    if refused := operations.try_to_save(storage):
        said = " ".join(problem.sentence for problem in refused)
        return _page(request, storage, at, row, strike_reason=reason, strike_problem=said)
    return RedirectResponse(at.here, 303)


