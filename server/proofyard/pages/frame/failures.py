"""Every failure that no page caught: as a page for a browser, as JSON for the phones' interface, in the same words.

An exception's own text is never shown. A fault of ours gets a short code that stands in the log beside what happened.
"""

import logging
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from types import MappingProxyType

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

from proofyard.access.problem import MEDIA_TYPE, FieldProblem, is_for_programs, problem, problem_bytes
from proofyard.access.seats import seat_of
from proofyard.book_file import tells_of_the_file
from proofyard.pages.frame.rendering import Frame, frame_for, html
from proofyard.records.fault_code import new_code as new_code
from proofyard.storage import BookFull, StorageTrouble, in_words

# When a page can't be had: the four voices of failure, each with what is safe now.


@dataclass(frozen=True)
class NotFound:
    """404: nothing there, or never was."""

    what: str = "It may have been typed wrong, or belong to another book."
    way: str = "/trials"
    way_words: str = "To the trials"


@dataclass(frozen=True)
class NotAllowed:
    """403: this phone may not do that; who may, and how to get there."""

    heading: str = "This phone may not do that"
    what: str = "Ask the owner to let it in: they see it under More, Phones."
    way: str = "/"
    way_words: str = "To the first page"


@dataclass(frozen=True)
class SomeoneElse:
    """409: someone else's change came first, or the thing is gone."""

    heading: str = "Someone else changed this first"
    what: str = "Nothing of theirs was overwritten. Look at what stands now, then decide."
    way: str = "/trials"
    way_words: str = "See what stands now"
    theirs: str = ""
    yours: str = ""


@dataclass(frozen=True)
class OurFault:
    """500: a short code that stands in the log too; never the exception's text."""

    code: str


TEMPLATES = {
    NotFound: ("oops/not_found.html", 404),
    NotAllowed: ("oops/not_allowed.html", 403),
    SomeoneElse: ("oops/someone_else.html", 409),
    OurFault: ("oops/our_fault.html", 500),
}


def trouble(what: NotFound | NotAllowed | SomeoneElse | OurFault, *, frame: Frame) -> HTMLResponse:
    """The page for one of the four, with its status, never kept by a browser."""
    template, status = TEMPLATES[type(what)]
    return html(template, what, frame=frame, status=status, headers={"Cache-Control": "no-store"})


log = logging.getLogger("proofyard")

NOT_JOINED = NotAllowed(
    heading="This phone has not joined yet",
    what="Ask to join, then have the owner let it in. If it was connected before, it was removed; or this is another browser or tab.",
    way="/join",
    way_words="Ask to join",
)
ONE_TRIAL = "This phone was let in to look at one trial. Ask the owner if you need to see more."
OWN_ONLY = "Only the owner’s laptop may do that. It is the one that the server was started on."
LOOK_ONLY = "This phone was let in to look, not to log. Ask the owner to let it in as an archer."
NO_TOKEN = "Send a token that holds: “Authorization: Bearer …”. The owner makes one under More, Programs."
LOOK_ONLY_PROGRAM = "This token, or this phone, may not do that. The owner sees under More, Programs what each may do."
OUR_FAULT = "The laptop could not do that, and it is not your doing. Code {}."
SAID = {
    404: "Page not found.",
    405: "That can’t be done at this address.",
    409: "Someone else changed this first. Look at what stands now, then decide.",
    413: "That is more than the laptop takes at once. Nothing was saved. Send less.",
    422: "Part of that could not be read.",
}


def install(app: FastAPI) -> None:
    """Have the app answer its failures with these."""
    app.add_exception_handler(HTTPException, on_refusal)
    app.add_exception_handler(RequestValidationError, on_unreadable)
    app.add_exception_handler(StorageTrouble, on_storage_trouble)
    app.add_exception_handler(ClientDisconnect, on_gone)
    app.add_exception_handler(Exception, on_fault)


def wants_json(request: Request) -> bool:
    return request.url.path.startswith(("/api/", "/live"))


NO_HEADERS: Mapping[str, str] = MappingProxyType({})


def as_problem(
    status: int, detail: str, headers: Mapping[str, str] = NO_HEADERS, *, fields: Iterable[FieldProblem] = (), fault: str = ""
) -> Response:
    """For a program (RFC 9457)."""
    content = problem_bytes(problem(status, detail, fields=fields, fault=fault))
    asks = {"WWW-Authenticate": "Bearer"} if status == 401 else {}
    return Response(content, status, {**asks, **headers}, MEDIA_TYPE)


async def on_refusal(request: Request, error: Exception) -> Response:
    """401 to 503 that a route or the framework raised."""
    assert isinstance(error, HTTPException)
    status, headers = error.status_code, dict(error.headers or {})
    said = error.detail if error.detail and error.detail != HTTPStatus(status).phrase else ""
    if status < 400:
        return Response(status_code=status, headers=headers)
    if is_for_programs(request.url.path):
        refused = NO_TOKEN if status == 401 else LOOK_ONLY_PROGRAM if status == 403 else SAID.get(status, "That could not be done.")
        return as_problem(status, said or refused, headers)
    if wants_json(request):
        words = said or (_refused(request).what if status in (401, 403) else SAID.get(status, "That could not be done."))
        return JSONResponse({"detail": words}, status, headers)
    answer = _page(request, status, said)
    answer.headers.update(headers)
    return answer


def _refused(request: Request) -> NotAllowed:
    seat = seat_of(request)
    if seat.role == "stranger":
        return NOT_JOINED
    if seat.trial_id is not None:
        return NotAllowed(what=ONE_TRIAL, way=f"/trials/{seat.trial_id}", way_words="To that trial")
    return NotAllowed(what=LOOK_ONLY if seat.role == "viewer" else OWN_ONLY, way="/trials", way_words="To the trials")


def _page(request: Request, status: int, said: str) -> Response:
    if status in (401, 403):
        refused = _refused(request)
        return _sentence_page(request, status, refused.heading, said or refused.what, refused.way, refused.way_words)
    if status == 404:
        return trouble(NotFound(said) if said else NotFound(), frame=frame_for(request, title="Not found"))
    if status == 409:
        return trouble(SomeoneElse(what=said) if said else SomeoneElse(), frame=frame_for(request, title="Changed by someone else"))
    return _sentence_page(request, status, "That was not taken", said or SAID.get(status, "That could not be done."))


def _sentence_page(
    request: Request, status: int, heading: str, what: str, way: str = "/", way_words: str = "To the first page"
) -> Response:
    page = NotAllowed(heading=heading, what=what, way=way, way_words=way_words)
    return html("oops/not_allowed.html", page, frame=frame_for(request, title=heading), status=status)


async def on_unreadable(request: Request, error: Exception) -> Response:
    """An address that can't be is one where nothing stands; a body or query that can't be read is said to be so."""
    assert isinstance(error, RequestValidationError)
    places = [tuple(map(str, fault["loc"])) for fault in error.errors()]
    if any(place[:1] == ("path",) for place in places):
        return await on_refusal(request, HTTPException(404))
    names = ", ".join(dict.fromkeys(".".join(place[1:]) for place in places if len(place) > 1))
    said = f"{SAID[422]} Look at: {names}." if names else SAID[422]
    if is_for_programs(request.url.path):
        told = [FieldProblem(".".join(place[1:]), fault["msg"]) for place, fault in zip(places, error.errors(), strict=True)]
        return as_problem(422, said, fields=told)
    if wants_json(request):
        return JSONResponse({"detail": said, "fields": [".".join(place[1:]) for place in places]}, 422)
    return _sentence_page(request, 422, "That could not be read", said)


async def on_storage_trouble(request: Request, error: Exception) -> Response:
    """The book's file can't be read or written now: its own sentence, and when to come again."""
    assert isinstance(error, StorageTrouble)
    status = 507 if isinstance(error, BookFull) else 503
    headers = {"Retry-After": str(error.retry_after_s)} if error.retry_after_s else {}
    log.warning("%s %s: %s", request.method, request.url.path, error)
    if is_for_programs(request.url.path):
        return as_problem(status, str(error), headers)
    if wants_json(request):
        return JSONResponse({"detail": str(error)}, status, headers)
    answer = _sentence_page(request, status, "Nothing was saved" if request.method == "POST" else "The book can’t be read now", str(error))
    answer.headers.update(headers)
    return answer


async def on_gone(request: Request, _: Exception) -> Response:
    """A phone walked out of reach in the middle of what it sent: no fault of ours, and nobody hears this answer."""
    log.info("%s %s: the line was cut before all had come", request.method, request.url.path)
    return Response(status_code=400)


async def on_fault(request: Request, error: Exception) -> Response:
    """Ours. Trouble with the file that surfaces outside of a save is told as such."""
    file_trouble = in_words(error) if tells_of_the_file(error) else None
    if file_trouble is not None:
        return await on_storage_trouble(request, file_trouble)
    code = new_code()
    log.error("fault %s at %s %s", code, request.method, request.url.path, exc_info=error)
    if is_for_programs(request.url.path):
        return as_problem(500, OUR_FAULT.format(code), fault=code)
    if wants_json(request):
        return JSONResponse({"detail": OUR_FAULT.format(code), "code": code}, 500)
    return trouble(OurFault(code), frame=frame_for(request, title="A fault of ours"))
