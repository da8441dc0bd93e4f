"""A reading or a series of a pairing looked at again: corrected, left out with a reason and taken back, struck through."""

from dataclasses import replace
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from server.access.seats import ArcherSeat, TheBook
from server.findings.revision_words import told
from server.findings.speed_without_chronograph import inputs_typed
from server.pages.corrections import save_correction
from server.pages.forms import (
    FormOperations,
    body_of,
    form_fields,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.kit_endings import reason_field
from server.pages.kit_entry import STRIKE, EntryPage
from server.pages.kit_forms import WHY
from server.pages.kit_records import linked_names, options_for
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html
from server.pages.speed_tools import TOOLS
from server.records.columns import Noun
from server.records.ids import new_id
from server.records.listing import one
from server.records.notebook import revisions_of
from server.records.speed import SpeedReading, SpeedSeries
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

# What may be corrected, by the word in the address: table, fields, heading.
CORRECTED: dict[str, tuple[type[Noun], tuple[str, ...], str]] = {
    "readings": (SpeedReading, ("value", "uncertainty", "left_out_reason"), "A speed reading"),
    "series": (SpeedSeries, ("instrument", "stood_at", "day", "air_temperature", "note"), "A series of readings"),
}


def _found(storage: Storage, what: str, pairing_id: str, record_id: str) -> Noun:
    """The reading or series, if it is this pairing's; 404 otherwise."""
    if what not in CORRECTED:
        raise HTTPException(404)
    with storage.read() as session:
        row: Any = one(session, CORRECTED[what][0], record_id)
        series = one(session, SpeedSeries, row.series_id) if isinstance(row, SpeedReading) and row.series_id else row
    if row is None or getattr(series, "pairing_id", None) != pairing_id:
        raise HTTPException(404)
    found: Noun = row
    return found


def worked_out_again(row: Any) -> tuple[str, str] | None:
    """Where a reading by frames or sound is put right from what was counted; None for what kept nothing."""
    if not isinstance(row, SpeedReading) or row.method not in TOOLS or not inputs_typed(row.inputs):
        return None
    return f"/speeds/{row.method}?again={row.id}", "Work it out again from what was counted" if row.method == "frames" else "Work it out again from the recording’s moments"


def _page(
    request: Request, storage: Storage, what: str, pairing_id: str, row: Noun, *, operation: str = "",
    typed: dict[str, Any] | None = None, unseen: dict[str, str] | None = None, reason: str = "",
    problems: list[Problem] | None = None, strike_reason: str = "", strike_problem: str = "",
) -> HTMLResponse:  # fmt: skip
    table, asks, title = CORRECTED[what]
    with storage.read() as session:
        linked = linked_names(session, [table])
        lines = revisions_of(session, str(table.__tablename__), row.id)
        options = options_for(session, table, asks)
    fields = form_fields(table, asks, typed=typed if typed is not None else shown_body(row), problems=problems or [], options=options)
    fields.append(replace(WHY, state=replace(WHY.state, typed=reason)))
    field = replace(reason_field(strike_reason, strike_problem, "typed twice"), name=STRIKE + "reason")
    errors = wrongs(fields, problems or []) + wrongs([field])
    here, back = f"/pairings/{pairing_id}/{what}/{row.id}", f"/pairings/{pairing_id}"
    struck = row.struck_rev is not None
    lead = "It is struck through." if struck else "Say why it is left out and it no longer counts; empty that box and it counts again." if what == "readings" else "Where it stood, and what it was read with."
    page = EntryPage(
        heading=title, lead=lead, back=back, action=here, operation=operation or new_id(),
        unseen=unseen or {"base_rev": str(row.rev)}, fields=fields, errors=errors, struck=struck,
        strike_action=f"{here}/strike", strike_operation=new_id(), strike_field=field,
        revisions=told(lines, linked), elsewhere=worked_out_again(row),
    )  # fmt: skip
    frame = frame_for(request, title=title, nav="kit", wrong=bool(errors))
    return html("kit/entry.html", page, frame=frame, status=422 if errors else 200)


@router.get("/pairings/{pairing_id}/{what}/{record_id}")
def look(request: Request, seat: ArcherSeat, storage: TheBook, pairing_id: str, what: str, record_id: str) -> HTMLResponse:
    return _page(request, storage, what, pairing_id, _found(storage, what, pairing_id, record_id))


@router.post("/pairings/{pairing_id}/{what}/{record_id}")
def correct(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, pairing_id: str, what: str, record_id: str) -> Response:
    row = _found(storage, what, pairing_id, record_id)
    table, asks, _ = CORRECTED[what]
    typed = body_of(form, table, asks)
    problems = save_correction(seat, storage, form, row, typed=typed)
    if problems:
        unseen = {"base_rev": str(base_rev(form))}
        return _page(
            request, storage, what, pairing_id, row, operation=operation_id(form), typed=typed, unseen=unseen,
            reason=str(form.get("reason", "")), problems=problems,
        )  # fmt: skip
    return RedirectResponse(f"/pairings/{pairing_id}", 303)


@router.post("/pairings/{pairing_id}/{what}/{record_id}/strike")
def strike(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, pairing_id: str, what: str, record_id: str) -> Response:
    row = _found(storage, what, pairing_id, record_id)
    reason = str(form.get(STRIKE + "reason", "")).strip()
    operations = FormOperations(seat, operation_id(form))
    operations.strike(str(CORRECTED[what][0].__tablename__), row.id, reason, back=form.get("back") == "yes")
    if refused := operations.try_to_save(storage):
        said = " ".join(problem.sentence for problem in refused)
        return _page(request, storage, what, pairing_id, row, strike_reason=reason, strike_problem=said)
    return RedirectResponse(f"/pairings/{pairing_id}", 303)
