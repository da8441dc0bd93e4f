"""A shot's page: its energy step by step, what was read, what was said before; correcting, striking, deciding."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from proofyard.answers.film.page import ShotInFilm, shot_in_films
from proofyard.answers.photos.page import PhotosOf, photos_on_page
from proofyard.answers.shot.page import ShotRead, read_shot
from proofyard.pages.film import shot_cards
from proofyard.pages.frame.form_page import Asked
from proofyard.pages.frame.forms import FieldState, FormOperations, Posted, Wrong, nth_id, operation_id
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.pages.shot import correction as shot_correction
from proofyard.pages.shot import second_reading as read_again
from proofyard.records.ids import new_id
from proofyard.records.listing import belonging, one
from proofyard.records.nouns import TABLES
from proofyard.records.range_facts import two_said
from proofyard.records.shot import SecondReading
from proofyard.storage import Storage
from proofyard.wording.revisions import typed_again

NO_REASON = FieldState()
NOTHING_TYPED: Mapping[str, FieldState] = MappingProxyType({})

router = APIRouter()
router.include_router(shot_correction.router)
router.include_router(read_again.router)
router.include_router(shot_cards.router)


@dataclass(frozen=True)
class ShotPage:
    """A shot in words, and the form that crosses it out or takes it back."""

    read: ShotRead
    reader: str
    may_write: bool
    reason: FieldState
    errors: Sequence[Wrong]
    operation: str
    clash_operations: dict[str, str]
    again_operations: dict[str, str]
    again_reasons: Mapping[str, FieldState]
    photos: PhotosOf
    photo_operation: str
    films: Sequence[ShotInFilm]


def _page(
    request: Request,
    book: Storage,
    seat: Seat,
    shot_id: str,
    *,
    reason: FieldState = NO_REASON,
    again: Mapping[str, FieldState] = NOTHING_TYPED,
) -> ShotPage:
    reader = frame_for(request, title="").reader
    said = {"reason": reason} | {f"reason-{key}": one for key, one in again.items()}
    with book.read() as session:
        read = read_shot(session, shot_id, reader=reader, only_trial=seat.trial_id)
        films = shot_in_films(session, read.fact.session_id, shot_id) if read and read.filmed else ()
        photos = photos_on_page(session, "shot", ids=shot_id, name=read.fact.label if read else "", back=f"/shots/{shot_id}")
    if read is None:
        raise HTTPException(404, "The book has no such shot. It may still be on a phone that has not sent it.")
    return ShotPage(
        read=read,
        reader=reader,
        may_write=seat.at_least("archer"),
        reason=reason,
        errors=[Wrong(name, "Why", one.error) for name, one in said.items() if one.error],
        operation=new_id(),
        clash_operations={clash.id: new_id() for clash in read.clashes},
        again_operations={one.reading_id: new_id() for one in read.again},
        again_reasons={one.reading_id: again.get(one.reading_id, FieldState()) for one in read.again},
        photos=photos,
        photo_operation=new_id(),
        films=films,
    )


def _whole(request: Request, page: ShotPage) -> Response:
    frame = frame_for(request, title=f"Shot {page.read.fact.label}", nav="trials", live=True, wrong=len(page.errors))
    return html("shot/page.html", page, frame=frame, status=422 if page.errors else 200)


@router.get("/shots/{shot_id}", response_class=HTMLResponse)
def shot(request: Request, seat: ViewerSeat, book: TheBook, shot_id: str) -> Response:
    page = _page(request, book, seat, shot_id)
    return part("shot/_record.html", page) if wants_part(request) else _whole(request, page)


@router.post("/shots/{shot_id}/cross-out", response_class=HTMLResponse)
def void(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str, form: Posted) -> Response:
    """Cross it out, or take that back: either needs a reason, and both stay in the notebook."""
    said = Asked(request, seat, book, form).crossed_out("shot", shot_id)
    return _whole(request, _page(request, book, seat, shot_id, reason=said)) if said.error else RedirectResponse(f"/shots/{shot_id}", 303)


@router.post("/shots/{shot_id}/read-again/{second_reading_id}/cross-out", response_class=HTMLResponse)
def void_second_reading(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str, second_reading_id: str, form: Posted) -> Response:
    """A slip is crossed out with its reason, and stays in the notebook."""
    with book.read() as session:
        if second_reading_id not in {one.id for one in belonging(session, SecondReading, "shot_id", shot_id)}:
            raise HTTPException(404, "This shot has no such second reading, or it is crossed out already.")
    said = Asked(request, seat, book, form).crossed_out("second_reading", second_reading_id)
    if said.error:
        return _whole(request, _page(request, book, seat, shot_id, again={second_reading_id: said}))
    return RedirectResponse(f"/shots/{shot_id}#shot-again", 303)


def decide(book: Storage, seat: Seat, form: Any, *, clash_id: str) -> str:
    """Say again what was chosen: that settles a clash. Gives the page to go on to.

    Raises
        HTTPException  409 when somebody decided it first; 422 when no choice was made
    """
    with book.read() as session:
        clash = next((c for c in two_said(session, [str(noun) for noun in TABLES]) if c.id == clash_id), None)
        row = one(session, TABLES[clash.noun], clash.record_id) if clash else None
    if clash is None or row is None:
        raise HTTPException(409, "That has been decided already. See the value now.")
    if form.get("choice") not in ("stands", "offered"):
        raise HTTPException(422, "Choose which of the two to keep.")
    operations = FormOperations(seat, nth_id(operation_id(form), 0))
    operations.put(clash.noun, clash.record_id, typed_again(clash, str(form["choice"])), base_rev=row.rev, reason="two different values")
    if refused := operations.try_to_save(book):
        raise HTTPException(409, " ".join(p.sentence for p in refused))
    return f"/shots/{clash.record_id}" if clash.noun in ("shot", "shot_reading") else "/notebook"


@router.post("/shots/{shot_id}/clashes/{clash_id}", response_class=HTMLResponse)
def decide_clash(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str, clash_id: str, form: Posted) -> Response:
    return RedirectResponse(decide(book, seat, form, clash_id=clash_id), 303)
