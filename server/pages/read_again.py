"""A hit read by a second person, who did not see what the first had said; and striking such a reading through."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, TheBook
from server.pages.corrections import with_blank
from server.pages.form_page import FormPage, form_answer
from server.pages.forms import FormField, FormOperations, body_of, form_fields, operation_id, wrongs
from server.pages.posted import Posted
from server.records.archer import Archer
from server.records.ids import new_id
from server.records.listing import all_of, belonging
from server.records.shot import WAYS_IN, SecondReading
from server.records.shot_facts import ShotFact, shot_facts
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

FIELDS = ("read_by", "outcome_low", "outcome_high", "way_in", "depth", "note")
LEAD = (
    "Fill this in from the panel alone, without looking at what was read before: it isn’t shown here. The count keeps the first reading; "
    "the two together show how sure a reading is."
)


def _form(request: Request, book: Storage, shot_id: str, *, typed: Mapping[str, Any], problems: Sequence[Problem] = ()) -> Response:
    fact, archers = _asked(book, shot_id)
    fields = with_blank(form_fields(SecondReading, FIELDS, typed=typed, problems=problems, options={"read_by": archers}))
    fields = [_of_this_construction(field, fact) for field in fields]
    errors = wrongs(fields, problems, label="This reading", at="read_by")
    page = FormPage(
        f"Read {fact.label} again", LEAD, f"/shots/{shot_id}/read-again", new_id(), fields, errors, "Write it down", f"/shots/{shot_id}",
        classes="form layout__words",
    )  # fmt: skip
    return form_answer(request, page, nav="trials")


def _asked(book: Storage, shot_id: str) -> tuple[ShotFact, list[tuple[str, str]]]:
    with book.read() as session:
        facts = shot_facts(session, shot_id=shot_id)
        archers = [(one.id, one.call_name) for one in all_of(session, Archer, retired=False)]
    if not facts:
        raise HTTPException(404, "The book has no such shot. It may still be on a phone that has not sent it.")
    return facts[0], archers


def _of_this_construction(field: FormField, fact: ShotFact) -> FormField:
    if field.name == "outcome_high":
        return replace(field, label="What it did, or")
    ways = WAYS_IN.get(fact.construction or "", {})
    if field.name != "way_in" or not ways:
        return field
    return replace(field, options=tuple(one for one in field.options if one.value in ways or not one.value))


@router.get("/shots/{shot_id}/read-again", response_class=HTMLResponse)
def read_again(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str) -> Response:
    return _form(request, book, shot_id, typed={})


@router.post("/shots/{shot_id}/read-again", response_class=HTMLResponse)
def take_second_reading(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str, form: Posted) -> Response:
    body = body_of(form, SecondReading, FIELDS)
    operations = FormOperations(seat, operation_id(form))
    operations.new("second_reading", {**body, "shot": shot_id})
    if refused := operations.try_to_save(book):
        return _form(request, book, shot_id, typed=body, problems=refused)
    return RedirectResponse(f"/shots/{shot_id}#shot-again", 303)


@router.post("/shots/{shot_id}/read-again/{second_reading_id}/strike", response_class=HTMLResponse)
def strike_second_reading(request: Request, seat: ArcherSeat, book: TheBook, shot_id: str, second_reading_id: str, form: Posted) -> Response:
    """A slip is struck through with its reason, and stays in the notebook."""
    with book.read() as session:
        if second_reading_id not in {one.id for one in belonging(session, SecondReading, "shot_id", shot_id)}:
            raise HTTPException(404, "This shot has no such second reading, or it is struck through already.")
    operations = FormOperations(seat, operation_id(form))
    operations.strike("second_reading", second_reading_id, str(form.get("reason", "")).strip())
    if refused := operations.try_to_save(book):
        raise HTTPException(422, " ".join(problem.sentence for problem in refused))
    return RedirectResponse(f"/shots/{shot_id}#shot-again", 303)
