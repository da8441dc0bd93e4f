"""Sessions: a new day, its cautions ticked one by one, its set-ups, its walks' order, its incidents."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from server.charts.speeds_in_order import SpeedsInOrder
from server.findings.close_of_day import CloseOfDay, Word, close_of_day
from server.findings.drawing_of_speeds import day_speeds_drawn
from server.findings.session_page import SessionRead, read_session
from server.findings.when import today
from server.pages import evenings, setups
from server.pages.corrections import save_correction, with_blank
from server.pages.figures import fact, reader_of
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
from server.pages.found import found
from server.pages.posted import Posted, base_rev
from server.pages.rendering import frame_for, html, part, wants_part
from server.pages.shapes import FieldState, Wrong
from server.records.ids import new_id
from server.records.trial import CAUTIONS, Incident, Trial
from server.records.trial import Session as Day
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()
router.include_router(setups.router)
router.include_router(evenings.router)

DAY_FIELDS = ("day", "place", "officer", "present", "temperature", "humidity", "pressure", "weather", "note")
INCIDENT_FIELDS = ("what", "shot", "distance", "done")


@dataclass(frozen=True)
class SessionPage:
    """A day, and its small forms: cautions, an incident, the order of a walk."""

    read: SessionRead
    about: Sequence[tuple[str, str]]
    may_write: bool
    fields: Sequence[FormField]
    errors: Sequence[Wrong]
    operation: str
    caution_operation: str
    order_operations: Mapping[str, str]
    order_typed: Mapping[str, FieldState]
    incident_open: bool
    close: CloseOfDay
    speeds: SpeedsInOrder | None


def _day_form(
    request: Request, *, heading: str, lead: str, action: str, back: str, save: str, typed: Mapping[str, Any],
    rev: int = 0, problems: Sequence[Problem] = (),
) -> Response:
    fields = with_blank(form_fields(Day, DAY_FIELDS, typed=typed, problems=problems))
    errors = wrongs(fields, problems, label="This session", at="day")
    page = FormPage(
        heading, lead, action, new_id(), fields, errors, save, back, unseen={"base_rev": str(rev)}, classes="form layout__words"
    )
    return form_answer(request, page, nav="trials")


def _new(request: Request, trial: Trial, *, typed: Mapping[str, Any], problems: Sequence[Problem] = ()) -> Response:
    return _day_form(
        request, heading="A new session", lead=f"One day of: {trial.question}", action=f"/trials/{trial.id}/sessions/new",
        back=f"/trials/{trial.id}", save="Write it down", typed=typed, problems=problems,
    )  # fmt: skip


@router.get("/trials/{trial_id}/sessions/new", response_class=HTMLResponse)
def new_session(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str) -> Response:
    return _new(request, found(book, Trial, trial_id), typed={"day": today()})


@router.post("/trials/{trial_id}/sessions/new", response_class=HTMLResponse)
def make_session(request: Request, seat: ArcherSeat, book: TheBook, trial_id: str, form: Posted) -> Response:
    trial = found(book, Trial, trial_id)
    body = body_of(form, Day, DAY_FIELDS)
    operations = FormOperations(seat, operation_id(form))
    session_id = operations.new("session", {**body, "trial": trial_id})
    if refused := operations.try_to_save(book):
        return _new(request, trial, typed=body, problems=refused)
    return RedirectResponse(f"/sessions/{session_id}", 303)


def _page(
    request: Request, book: Storage, seat: Seat, session_id: str, *, incident: Mapping[str, Any] | None = None,
    problems: Sequence[Problem] = (), order: Mapping[str, FieldState] | None = None,
) -> SessionPage:
    reader = reader_of(frame_for(request, title=""))
    with book.read() as session:
        read = read_session(session, session_id, reader=reader)
        if read is None:
            raise HTTPException(404, "The book has no such session.")
        close = close_of_day(session, session_id, day=read.day.day, facts=read.facts, words=_words(request))
        speeds = day_speeds_drawn(session, read.facts, name=read.heading, reader=reader)
    fields = with_blank(
        form_fields(Incident, INCIDENT_FIELDS, typed=incident, problems=problems, options={"shot": list(read.shots_by_id.items())}, prefix="incident-")
    )
    errors = wrongs(fields)
    errors += [Wrong(f"order-{key}", read.shots_by_id.get(key, "Order"), state.error) for key, state in (order or {}).items() if state.error]
    names = ("officer", "present", "temperature", "humidity", "pressure", "weather", "note")
    labels = ("Range officer", "There", "Air", "Humidity", "Air pressure", "Weather", "Note")
    about = [(label, fact(read.day, name, reader)) for label, name in zip(labels, names, strict=True)]
    return SessionPage(
        read=read, about=about, may_write=seat.at_least("archer"), fields=fields, errors=errors, operation=new_id(),
        caution_operation=new_id(), order_operations={walk.walk_id: new_id() for walk in read.walks},
        order_typed=order or {}, incident_open=bool(problems), close=close, speeds=speeds,
    )  # fmt: skip


def _words(request: Request) -> dict[str, Word]:
    """What each phone said last of what it holds."""
    said = request.app.state.holds.all().values()
    return {one.device_id: Word(one.at, one.unsent, one.pictures_unsent, one.needs, one.agrees, one.lacks) for one in said}


def _whole(request: Request, page: SessionPage) -> Response:
    frame = frame_for(request, title=page.read.heading, nav="trials", live=True, wrong=bool(page.errors))
    return html("session/page.html", page, frame=frame, status=422 if page.errors else 200)


@router.get("/sessions/{session_id}", response_class=HTMLResponse)
def session(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    return _whole(request, _page(request, book, seat, session_id))


@router.get("/sessions/{session_id}/shots", response_class=HTMLResponse)
def session_shots(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    """The walks alone, for a page that heard of a change; the whole page for anybody else."""
    page = _page(request, book, seat, session_id)
    return part("session/_shots.html", page) if wants_part(request) else _whole(request, page)


@router.get("/sessions/{session_id}/cautions", response_class=HTMLResponse)
def session_cautions(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    """The cautions alone, for a page that heard of a tick on another phone."""
    page = _page(request, book, seat, session_id)
    return part("session/_cautions.html", page) if wants_part(request) else _whole(request, page)


@router.get("/sessions/{session_id}/close-of-day", response_class=HTMLResponse)
def session_close_of_day(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    """Whether the phones are in, for a page that heard of a change."""
    page = _page(request, book, seat, session_id)
    return part("session/_close_of_day.html", page) if wants_part(request) else _whole(request, page)


@router.post("/sessions/{session_id}/cautions", response_class=HTMLResponse)
def tick(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Posted) -> Response:
    """Each tick is an operation of its own; those ticked already, by whichever phone, stay as they are."""
    page = _page(request, book, seat, session_id)
    ticked = {caution.key for caution in page.read.cautions if caution.ticked}
    for nth, key in enumerate(CAUTIONS):
        if key in form.getlist("caution") and key not in ticked:
            # Two phones that tick the same at once, or one form sent twice, mean the same record.
            operations = FormOperations(seat, nth_id(operation_id(form), nth))
            operations.put("caution_tick", nth_id(session_id, nth), {"session": session_id, "caution": key})
            operations.save(book)
    return RedirectResponse(f"/sessions/{session_id}#session-cautions", 303)


@router.post("/sessions/{session_id}/incidents", response_class=HTMLResponse)
def add_incident(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Posted) -> Response:
    found(book, Day, session_id)
    body = body_of(form, Incident, INCIDENT_FIELDS, prefix="incident-")
    operations = FormOperations(seat, operation_id(form))
    # No time in it: the same form sent twice must say the same. The book knows when it heard of it.
    operations.new("incident", {**body, "session": session_id})
    if refused := operations.try_to_save(book):
        return _whole(request, _page(request, book, seat, session_id, incident=body, problems=refused))
    return RedirectResponse(f"/sessions/{session_id}#session-incidents", 303)


@router.post("/sessions/{session_id}/order", response_class=HTMLResponse)
def say_order(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Posted) -> Response:
    """The place of each shot in its walk; an empty box says that nobody knows."""
    page = _page(request, book, seat, session_id)
    walk = next((w for w in page.read.walks if w.walk_id == form.get("walk")), None)
    if walk is None:
        raise HTTPException(404, "This session has no such walk.")
    typed = {shot.shot_id: str(form.get(f"order-{shot.shot_id}", "")).strip() for shot in walk.ask}
    states = {key: FieldState(text, error=error) for (key, text), error in zip(typed.items(), _order_errors(list(typed.values())), strict=True)}
    if any(state.error for state in states.values()):
        return _whole(request, _page(request, book, seat, session_id, order=states))
    operations = FormOperations(seat, operation_id(form))
    for shot in walk.ask:
        if typed[shot.shot_id] != ("" if shot.position is None else str(shot.position)):
            rev = base_rev(form, f"rev-{shot.shot_id}")
            operations.put("shot", shot.shot_id, {"position": typed[shot.shot_id]}, base_rev=rev)
    if refused := operations.try_to_save(book):
        first, said = walk.ask[0].shot_id, " ".join(p.sentence for p in refused)
        return _whole(request, _page(request, book, seat, session_id, order={first: FieldState(typed[first], error=said)}))
    return RedirectResponse(f"/sessions/{session_id}#session-shots", 303)


def _order_errors(typed: Sequence[str]) -> list[str]:
    """By each box what is wrong with it: 1 for the first arrow, each place once."""
    errors = []
    for text in typed:
        if text and not (text.isascii() and text.isdigit() and 1 <= int(text[:6]) <= 99):
            errors.append(f"“{text[:20]}” is no place in a walk. Type 1 for the first arrow, 2 for the second.")
        elif text and sum(other == text for other in typed) > 1:
            errors.append(f"{text} stands twice. Two arrows can’t both be number {text}; leave both empty if nobody knows.")
        else:
            errors.append("")
    return errors


@router.get("/sessions/{session_id}/correct", response_class=HTMLResponse)
def correct_session(request: Request, seat: ArcherSeat, book: TheBook, session_id: str) -> Response:
    day = found(book, Day, session_id)
    return _correct(request, day, typed=shown_body(day), rev=day.rev)


def _correct(
    request: Request, day: Day, *, typed: Mapping[str, Any], rev: int, problems: Sequence[Problem] = ()
) -> Response:
    return _day_form(
        request, heading="Correct this session", lead="What it said before is kept.", action=f"/sessions/{day.id}/correct",
        back=f"/sessions/{day.id}", save="Correct it", typed=typed, rev=rev, problems=problems,
    )  # fmt: skip


@router.post("/sessions/{session_id}/correct", response_class=HTMLResponse)
def take_session_correction(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Posted) -> Response:
    day, body = found(book, Day, session_id), body_of(form, Day, DAY_FIELDS)
    if refused := save_correction(seat, book, form, day, typed=body):
        return _correct(request, day, typed=body, rev=base_rev(form), problems=refused)
    return RedirectResponse(f"/sessions/{session_id}", 303)
