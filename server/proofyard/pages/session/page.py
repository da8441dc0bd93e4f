"""Sessions: a new day, its cautions ticked one by one, its set-ups, its ends' order, its incidents."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.seats import ArcherSeat, ScopedViewerSeat, TheBook, ViewerSeat
from proofyard.answers.film.page import FilmLine, film_lines
from proofyard.answers.session.close_of_day import CloseOfDay, Word, close_of_day
from proofyard.answers.session.page import IncidentList, SessionRead, incident_list, read_session
from proofyard.answers.speeds.drawings import day_speeds_drawn
from proofyard.charts.figure import Figure
from proofyard.pages.day import page as day_page
from proofyard.pages.film import page as film_page
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Form, FormPage, Sent, form_page, form_routes, tried
from proofyard.pages.frame.forms import FieldState, FormOperations, Posted, Wrong, base_rev, nth_id, operation_id, query_of
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.pages.session import claim, setups
from proofyard.records.ids import new_id
from proofyard.records.trial import CAUTIONS, Incident, Trial
from proofyard.records.trial import Session as Day
from proofyard.views.address import AskedPage, asked_page_of
from proofyard.wording.when import today

router = APIRouter()
router.include_router(setups.router)
router.include_router(claim.router)
router.include_router(day_page.router)
router.include_router(film_page.router)

DAY_FIELDS = ("day", "place", "officer", "present", "temperature", "humidity", "pressure", "weather", "note")
INCIDENT_FIELDS = ("what", "shot", "distance", "done")
OF_A_DAY: Mapping[str, Any] = MappingProxyType({"nav": "trials", "label": "This session", "classes": WORDS})


@dataclass(frozen=True)
class IncidentsPage:
    read: IncidentList
    reader: str
    asked: AskedPage


@dataclass(frozen=True)
class SessionPage:
    """A day, and its small forms: cautions, an incident, the order of an end."""

    read: SessionRead
    reader: str
    may_write: bool
    incident: FormPage
    errors: Sequence[Wrong]
    caution_operation: str
    order_operations: Mapping[str, str]
    order_typed: Mapping[str, FieldState]
    close: CloseOfDay
    speeds: Figure | None
    films: Sequence[FilmLine]


@form_routes(router, "/trials/{trial_id}/sessions/new")
def new_session(asked: Asked, trial_id: str) -> Form:
    trial = asked.found(Trial, trial_id)
    return Form(
        heading="A new session",
        lead=f"One day of: {trial.question}",
        back=f"/trials/{trial_id}",
        after=f"/sessions/{asked.nth_id()}",
        blocks=[Block(table=Day, names=DAY_FIELDS, typed={"day": today()}, fixed={"trial": trial_id}, blank=True)],
        **OF_A_DAY,
    )


@form_routes(router, "/sessions/{session_id}/correct")
def correct_session(asked: Asked, session_id: str) -> Form:
    day = asked.found(Day, session_id)
    return Form(
        heading="Correct this session",
        lead="Its history is kept.",
        back=f"/sessions/{session_id}",
        blocks=[Block(table=Day, names=DAY_FIELDS, row=day, blank=True)],
        **OF_A_DAY,
    )


def _incident(session_id: str, shots: Mapping[str, str]) -> Form:
    """No time in it: the same form sent twice must say the same. The book knows when it heard of it."""
    block = Block(
        table=Incident,
        names=INCIDENT_FIELDS,
        fixed={"session": session_id},
        options={"shot": list(shots.items())},
        prefix="incident-",
        blank=True,
    )
    return Form(blocks=[block])


def _page(asked: Asked, session_id: str, *, sent: Sent | None = None, order: Mapping[str, FieldState] | None = None) -> SessionPage:
    reader = asked.reader
    with asked.book.read() as session:
        read = read_session(session, session_id, reader=reader)
        if read is None:
            raise HTTPException(404, "The book has no such session.")
        close = close_of_day(session, session_id, day=read.day.day, facts=read.facts, words=_words(asked.request))
        films = film_lines(session, session_id)
        speeds = day_speeds_drawn(read.speeds, read.facts, name=read.heading, reader=reader)
    incident = form_page(asked, _incident(session_id, read.labels), sent)
    errors = [*incident.errors] + [
        Wrong(f"order-{key}", read.labels.get(key, "Order"), state.error) for key, state in (order or {}).items() if state.error
    ]
    return SessionPage(
        read=read,
        reader=reader,
        may_write=asked.seat.at_least("archer"),
        incident=incident,
        errors=errors,
        caution_operation=new_id(),
        order_operations={shooting_end.shooting_end_id: new_id() for shooting_end in read.shooting_ends},
        order_typed=order or {},
        close=close,
        speeds=speeds,
        films=films,
    )


def _words(request: Request) -> dict[str, Word]:
    """What each phone said last of what it holds."""
    said = request.app.state.holds.all().values()
    return {one.device_id: Word(one.at, one.unsent, one.photos_unsent, one.needs, one.agrees, one.lacks) for one in said}


def _whole(request: Request, page: SessionPage) -> Response:
    frame = frame_for(request, title=page.read.heading, nav="trials", live=True, wrong=len(page.errors))
    return html("session/page.html", page, frame=frame, status=422 if page.errors else 200)


@router.get("/sessions/{session_id}", response_class=HTMLResponse)
def session(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    return _whole(request, _page(Asked(request, seat, book), session_id))


@router.get("/sessions/{session_id}/shots", response_class=HTMLResponse)
def session_shots(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    """The ends alone, for a page that heard of a change; the whole page for anybody else."""
    page = _page(Asked(request, seat, book), session_id)
    return part("session/_shots.html", page) if wants_part(request) else _whole(request, page)


@router.get("/sessions/{session_id}/cautions", response_class=HTMLResponse)
def session_cautions(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    """The cautions alone, for a page that heard of a tick on another phone."""
    page = _page(Asked(request, seat, book), session_id)
    return part("session/_cautions.html", page) if wants_part(request) else _whole(request, page)


@router.get("/sessions/{session_id}/close-of-day", response_class=HTMLResponse)
def session_close_of_day(request: Request, seat: ViewerSeat, book: TheBook, session_id: str) -> Response:
    """Whether the phones are in, for a page that heard of a change."""
    page = _page(Asked(request, seat, book), session_id)
    return part("session/_close_of_day.html", page) if wants_part(request) else _whole(request, page)


@router.post("/sessions/{session_id}/cautions", response_class=HTMLResponse)
def tick(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Posted) -> Response:
    """Each tick is an operation of its own; those ticked already, by whichever phone, stay as they are."""
    page = _page(Asked(request, seat, book, form), session_id)
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
    asked = Asked(request, seat, book, form)
    asked.found(Day, session_id)
    sent = tried(asked, _incident(session_id, {}))
    if sent.problems:
        return _whole(request, _page(asked, session_id, sent=sent))
    return RedirectResponse(f"/sessions/{session_id}#session-incidents", 303)


@router.post("/sessions/{session_id}/order", response_class=HTMLResponse)
def say_order(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, form: Posted) -> Response:
    """The place of each shot in its end; an empty box says that nobody knows."""
    asked = Asked(request, seat, book, form)
    page = _page(asked, session_id)
    shooting_end = next((w for w in page.read.shooting_ends if w.shooting_end_id == form.get("shooting_end")), None)
    if shooting_end is None:
        raise HTTPException(404, "This session has no such end.")
    typed = {shot.shot_id: str(form.get(f"order-{shot.shot_id}", "")).strip() for shot in shooting_end.ask}
    states = {
        key: FieldState(text, error=error) for (key, text), error in zip(typed.items(), _order_errors(list(typed.values())), strict=True)
    }
    if any(state.error for state in states.values()):
        return _whole(request, _page(asked, session_id, order=states))
    operations = asked.operations()
    for shot in shooting_end.ask:
        if typed[shot.shot_id] != ("" if shot.position is None else str(shot.position)):
            rev = base_rev(form, f"rev-{shot.shot_id}")
            operations.put("shot", shot.shot_id, {"position": typed[shot.shot_id]}, base_rev=rev)
    if refused := operations.try_to_save(book):
        first, said = shooting_end.ask[0].shot_id, " ".join(p.sentence for p in refused)
        states[first] = FieldState(typed[first], error=said)
        return _whole(request, _page(asked, session_id, order=states))
    return RedirectResponse(f"/sessions/{session_id}#session-shots", 303)


def _order_errors(typed: Sequence[str]) -> list[str]:
    """By each box what is wrong with it: 1 for the first arrow, each place once."""
    errors = []
    for text in typed:
        if text and not (text.isascii() and text.isdigit() and 1 <= int(text[:6]) <= 99):
            errors.append(f"“{text[:20]}” is not a number in the order. Enter 1 for the first arrow, 2 for the second.")
        elif text and sum(other == text for other in typed) > 1:
            errors.append(f"{text} stands twice. Two arrows can’t both be number {text}; leave both empty if nobody knows.")
        else:
            errors.append("")
    return errors


@router.get("/incidents", response_class=HTMLResponse)
def all_incidents(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader) -> Response:
    """A viewer of one trial sees that trial's."""
    asked = asked_page_of(query_of(request))
    with book.read() as session:
        read = incident_list(session, only_trial=seat.trial_id, page=asked.page)
    return html("incidents/page.html", IncidentsPage(read, reader, asked), frame=frame_for(request, title="Incidents", nav="more"))
