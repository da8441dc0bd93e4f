"""A shot's page: its energy step by step, what was read, what was said before; correcting, striking, deciding."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from server.findings.pictures import PicturesOf, pictures_on_page
from server.findings.revision_words import typed_again
from server.findings.shot_page import ShotRead, read_shot
from server.pages import read_again, shot_correction
from server.pages.figures import reader_of
from server.pages.forms import FormOperations, nth_id, operation_id
from server.pages.posted import Posted
from server.pages.rendering import frame_for, html, part, wants_part
from server.pages.shapes import Column, FieldState, Step, Wrong
from server.records.ids import new_id
from server.records.listing import one
from server.records.nouns import TABLES
from server.records.range_facts import two_said
from server.storage import Storage

router = APIRouter()
router.include_router(shot_correction.router)
router.include_router(read_again.router)


@dataclass(frozen=True)
class ShotPage:
    """A shot in words, and the form that strikes it through or takes it back."""

    read: ShotRead
    steps_shown: Sequence[Step]
    doubt_columns: Sequence[Column]
    may_write: bool
    reason: FieldState
    errors: Sequence[Wrong]
    operation: str
    clash_operations: dict[str, str]
    again_operations: dict[str, str]
    pictures: PicturesOf
    picture_operation: str


def _page(request: Request, book: Storage, seat: Seat, shot_id: str, *, typed: str = "", said: str = "") -> ShotPage:
    reader = reader_of(frame_for(request, title=""))
    with book.read() as session:
        read = read_shot(session, shot_id, reader=reader)
        pictures = pictures_on_page(session, "shot", ids=shot_id, name=read.fact.label if read else "", back=f"/shots/{shot_id}")
    if read is None:
        raise HTTPException(404, "The book has no such shot. It may still be on a phone that has not sent it.")
    return ShotPage(
        read=read,
        steps_shown=[Step(s.words, s.value, s.plus_minus, s.note, s.href, s.href_words, s.last, s.method) for s in read.energy.steps] if read.energy else [],
        doubt_columns=(Column("Cause"), Column("Touches"), Column(f"± {read.energy.energy_unit}" if read.energy else "", number=True), Column("Share, %", number=True)),
        may_write=seat.at_least("archer"),
        reason=FieldState(typed=typed, error=said),
        errors=[Wrong("reason", "Why", said)] if said else [],
        operation=new_id(),
        clash_operations={clash.id: new_id() for clash in read.clashes},
        again_operations={one.reading_id: new_id() for one in read.again},
        pictures=pictures,
        picture_operation=new_id(),
    )


def _whole(request: Request, page: ShotPage) -> Response:
    frame = frame_for(request, title=f"Shot {page.read.fact.label}", nav="trials", live=True, wrong=bool(page.errors))
    return html("shot/page.html", page, frame=frame, status=422 if page.errors else 200)


@router.get("/shots/{shot_id}", response_class=HTMLResponse)
def shot(request: Request, seat: ViewerSeat, book: TheBook, shot_id: str) -> Response:
    page = _page(request, book, seat, shot_id)
    return part("shot/_record.html", page) if wants_part(request) else _whole(request, page)


@router.post("/shots/{shot_id}/strike", response_class=HTMLResponse)
def strike(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str, form: Posted) -> Response:
    """Strike it through, or take that back: either needs a reason, and both stay in the notebook."""
    reason, back = str(form.get("reason", "")).strip(), form.get("back") == "yes"
    operations = FormOperations(seat, operation_id(form))
    operations.strike("shot", shot_id, reason, back=back)
    if refused := operations.try_to_save(book):
        return _whole(request, _page(request, book, seat, shot_id, typed=reason, said=" ".join(p.sentence for p in refused)))
    return RedirectResponse(f"/shots/{shot_id}", 303)


def decide(book: Storage, seat: Seat, form: Any, *, clash_id: str) -> str:
    """Say again what was chosen: that settles a clash. Gives the page to go on to.

    Raises
        HTTPException  409 when somebody decided it first; 422 when no choice was made
    """
    with book.read() as session:
        clash = next((c for c in two_said(session, [str(noun) for noun in TABLES]) if c.id == clash_id), None)
        row = one(session, TABLES[clash.noun], clash.record_id) if clash else None
    if clash is None or row is None:
        raise HTTPException(409, "That has been decided already. Look at what stands now.")
    if form.get("choice") not in ("stands", "offered"):
        raise HTTPException(422, "Choose which of the two stands.")
    operations = FormOperations(seat, nth_id(operation_id(form), 0))
    operations.put(clash.noun, clash.record_id, typed_again(clash, str(form["choice"])), base_rev=row.rev, reason="two said different things")
    if refused := operations.try_to_save(book):
        raise HTTPException(409, " ".join(p.sentence for p in refused))
    return f"/shots/{clash.record_id}" if clash.noun in ("shot", "shot_reading") else "/notebook"


@router.post("/shots/{shot_id}/clashes/{clash_id}", response_class=HTMLResponse)
def decide_clash(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str, clash_id: str, form: Posted) -> Response:
    return RedirectResponse(decide(book, seat, form, clash_id=clash_id), 303)
