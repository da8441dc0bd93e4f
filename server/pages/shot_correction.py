"""Correcting a shot: what was loosed, what was read and its own speed, in one form; only what was changed is sent on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, TheBook
from server.findings.to_pick import for_shot
from server.pages.corrections import only_changed, shown_then, with_blank
from server.pages.forms import (
    FormField,
    FormOperations,
    NotTaken,
    body_of,
    form_fields,
    nth_id,
    operation_id,
    shown_body,
    wrongs,
)
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html
from server.pages.shapes import Wrong
from server.pages.speed_corrections import worked_out_again
from server.records.ids import new_id
from server.records.listing import belonging, one
from server.records.notebook import revisions_of
from server.records.shot import WAYS_IN, Shot, ShotReading
from server.records.shot_facts import ShotFact, shot_facts
from server.records.speed import SpeedReading
from server.records.typed_values import Problem
from server.storage import Session, Storage

router = APIRouter()


@dataclass(frozen=True)
class Piece:
    """One of the records that the form fills; `prefix` keeps their fields apart ("note" stands in two)."""

    noun: str
    table: Any
    prefix: str
    names: tuple[str, ...]


LOOSE = Piece(
    "shot", Shot, "", ("archer", "bow_build", "arrow_build", "purpose", "short_draw", "aim", "walk", "position", "note")
)  # fmt: skip
SPEED = Piece("speed_reading", SpeedReading, "speed-", ("value", "left_out_reason"))
READING = Piece(
    "shot_reading", ShotReading, "reading-",
    (
        "hit", "why", "x", "y", "place_known", "touched_first", "way_in", "plate", "layers", "angle", "outcome_low", "outcome_high",
        "look_behind", "depth", "depth_bound", "depth_method", "reached", "back_face", "arrow_did", "bounced", "head_fate",
        "shaft_fate", "damage", "may_be_shot", "certainty", "fair_overrule", "fair_reason", "note",
    ),
)  # fmt: skip
PIECES = (LOOSE, SPEED, READING)


@dataclass(frozen=True)
class Held:
    """A shot with its three records as they stand; speed and reading may not be there yet."""

    fact: ShotFact
    rows: Mapping[str, Any]
    options: Mapping[str, Sequence[tuple[str, str]]]


@dataclass(frozen=True)
class CorrectionPage:
    label: str
    action: str
    back: str
    fields: Sequence[FormField]
    errors: Sequence[Wrong]
    operation: str
    revs: Mapping[str, int]
    elsewhere: tuple[str, str] | None  # address and words: where its speed is better put right


def _held(book: Storage, shot_id: str) -> Held:
    with book.read() as session:
        facts = shot_facts(session, struck=True, shot_id=shot_id)
        if not facts:
            raise HTTPException(404, "The book has no such shot. It may still be on a phone that has not sent it.")
        speeds = belonging(session, SpeedReading, "shot_id", shot_id)
        rows = {"shot": one(session, Shot, shot_id), "shot_reading": one(session, ShotReading, shot_id), "speed_reading": speeds[0] if speeds else None}
        return Held(facts[0], rows, for_shot(session, facts[0]))


def _form(
    request: Request, held: Held, typed: Mapping[str, Mapping[str, Any]], *, revs: Mapping[str, int], problems: Mapping[str, Sequence[Problem]] = {}
) -> Response:
    fields: list[FormField] = []
    errors: list[Wrong] = []
    for piece in PIECES:
        mine = problems.get(piece.noun, ())
        made = form_fields(piece.table, piece.names, typed=typed[piece.noun], problems=mine, options=held.options, prefix=piece.prefix)
        fields += [_narrowed(one, held.fact) for one in with_blank(made)]
        errors += [Wrong(f"{piece.prefix}{piece.names[0]}", "This shot", p.sentence) for p in mine if p.field not in piece.names]
    page = CorrectionPage(
        held.fact.label, f"/shots/{held.fact.shot_id}/correct", f"/shots/{held.fact.shot_id}", fields, wrongs(fields) + errors, new_id(), revs,
        worked_out_again(held.rows["speed_reading"]),
    )  # fmt: skip
    frame = frame_for(request, title=f"Correct shot {held.fact.label}", nav="trials", wrong=bool(page.errors))
    return html("shot/correct.html", page, frame=frame, status=422 if page.errors else 200)


def _narrowed(field: FormField, fact: ShotFact) -> FormField:
    """Only the ways in that this construction has, and a label of its own for what stands twice in the form."""
    if field.name in ("reading-way_in", "reading-touched_first"):
        ways = WAYS_IN.get(fact.construction or "", {})
        kept = tuple(o for o in field.options if not ways or o.value in ways or o.value == field.state.typed)
        return replace(field, options=kept)
    labels = {
        "note": "Note on the loosing", "reading-note": "Note on the reading", "speed-value": "Speed read on this shot",
        "speed-left_out_reason": "That speed is left out because", "reading-outcome_high": "What it did, or",
    }  # fmt: skip
    return replace(field, label=labels[field.name]) if field.name in labels else field


@router.get("/shots/{shot_id}/correct", response_class=HTMLResponse)
def correct_shot(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str) -> Response:
    held = _held(book, shot_id)
    typed = {noun: shown_body(row) if row is not None else {} for noun, row in held.rows.items()}
    return _form(request, held, typed, revs={noun: row.rev if row is not None else 0 for noun, row in held.rows.items()})


@router.post("/shots/{shot_id}/correct", response_class=HTMLResponse)
def take_correction(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str, form: Posted) -> Response:
    """All or nothing. A form of the two phones' doing: what the other changed meanwhile stands beside it."""
    held = _held(book, shot_id)
    revs = {piece.noun: base_rev(form, f"rev-{piece.noun}") for piece in PIECES}
    bodies = {piece.noun: body_of(form, piece.table, piece.names, prefix=piece.prefix) for piece in PIECES}
    operations = FormOperations(seat, operation_id(form))
    asked: list[str] = []
    with book.read() as session:
        for piece in PIECES:
            changed = only_changed(piece.table, bodies[piece.noun], _shown(session, piece, held, revs[piece.noun]))
            if changed:
                _ask(operations, piece, held, changed, rev=revs[piece.noun], reason=str(form.get("reason", "")).strip())
                asked.append(piece.noun)
    try:
        operations.save(book)
    except NotTaken as fault:
        problems = {noun: answer.problems for noun, answer in zip(asked, fault.answers, strict=False)}
        return _form(request, held, bodies, revs=revs, problems=problems)
    return RedirectResponse(f"/shots/{shot_id}", 303)


def _shown(session: Session, piece: Piece, held: Held, rev: int) -> dict[str, Any]:
    row = held.rows[piece.noun]
    return {} if row is None else shown_then(piece.table, row, revisions_of(session, piece.noun, row.id), base_rev=rev)


def _ask(operations: FormOperations, piece: Piece, held: Held, changed: dict[str, Any], *, rev: int, reason: str) -> None:
    shot_id, row = held.fact.shot_id, held.rows[piece.noun]
    if piece.noun != "speed_reading":
        operations.put(piece.noun, shot_id, changed, base_rev=rev, reason=reason or None)
        return
    first = {**changed, "shot": shot_id, "method": "chronograph"}
    # A speed that this very form made before its answer got lost is made again, which the book knows for the same.
    if row is None or (rev == 0 and row.id == nth_id(operations.operation, 2 * len(operations.operations))):
        operations.new("speed_reading", first)
    else:
        operations.put("speed_reading", row.id, changed, base_rev=rev, reason=reason or None)
