"""The door from outside: asking to join, waiting for the owner, and the owner's own link."""

from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.gate import Gate, TheGate
from proofyard.access.joining import MOST_NAME, NotNow, wrong_with_name
from proofyard.access.seats import ASKING_COOKIE, COOKIE, AnySeat, ScopedViewerSeat, Seat, cookie_of, give_cookie, take_cookie
from proofyard.access.steady_address import Moved
from proofyard.pages.frame.forms import FieldState, Wrong
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.pages.home.home import first_page
from proofyard.records import devices
from proofyard.records.book import Device
from proofyard.wording.when import ago_words

router = APIRouter()

ENDED = "The owner turned this phone away or removed it, or nobody answered within 15 minutes. You can ask again."
ASKING_LASTS_S = 3600  # longer than the request itself, so that the phone can be told how it ended


@dataclass(frozen=True)
class JoinPage:
    """The form of a stranger. notice_words: how an earlier request ended; moved: phones came to another address last time."""

    call_name: FieldState = FieldState()
    errors: tuple[Wrong, ...] = ()
    notice_words: str = ""
    moved: Moved | None = None


@dataclass(frozen=True)
class WaitingPage:
    """What a phone shows until it is let in."""

    call_name: str
    first: str
    second: str
    asked: str


@dataclass(frozen=True)
class OwnerPage:
    """The owner's link, before it is used. action: where its button leads."""

    is_open: bool
    action: str


@dataclass(frozen=True)
class LeavePage:
    """Before a browser gives up its seat. back: where it stays in."""

    call_name: str
    role: str
    back: str


@router.get("/join")
def join(request: Request, seat: AnySeat, gate: TheGate) -> Response:
    """The form, the two words, or on to where this phone belongs."""
    token = cookie_of(request, ASKING_COOKIE)
    if seat.role != "stranger":
        return _go(request, "/range" if seat.role == "archer" else first_page(seat))
    claim = gate.joining.claim(token) if token else None
    if claim is not None:
        # Given again as often as it is asked for, until the phone has sat down: an answer may be lost on the way.
        answer = _go(request, "/range" if claim.role == "archer" else "/")
        give_cookie(request, answer, COOKIE, claim.token)
        return answer
    waiting = gate.joining.waiting(token) if token else None
    if waiting is not None:
        return _waiting(request, waiting)
    if not token:
        return html("join/page.html", JoinPage(moved=gate.steady.moved()), frame=frame_for(request, title="Ask to join"))
    if wants_part(request):
        return _go(request, "/join")
    answer = html("join/page.html", JoinPage(notice_words=ENDED, moved=gate.steady.moved()), frame=frame_for(request, title="Ask to join"))
    take_cookie(request, answer, ASKING_COOKIE)
    return answer


def _go(request: Request, where: str) -> Response:
    if wants_part(request):
        return Response(headers={"HX-Redirect": where})
    return RedirectResponse(where, 303)


def _waiting(request: Request, device: Device) -> HTMLResponse:
    first, _, second = (device.words or "").partition(" ")
    page = WaitingPage(device.call_name, first, second, ago_words(device.asked_at))
    if wants_part(request):
        return part("join/_waiting.html", page)
    return html("join/waiting.html", page, frame=frame_for(request, title="Waiting to be let in"))


@router.post("/join")
def ask(request: Request, seat: AnySeat, gate: TheGate, call_name: Annotated[str, Form()] = "") -> Response:
    """Put this phone among those that ask."""
    if seat.role != "stranger":
        return RedirectResponse(first_page(seat), 303)
    name = " ".join(call_name.split())
    wrong = wrong_with_name(name)
    if wrong:
        return _again(request, gate, FieldState(call_name[: MOST_NAME * 4], error=wrong))
    address = request.client.host if request.client else ""
    try:
        token = gate.joining.ask(
            name, agent=request.headers.get("user-agent", ""), address=address, earlier=cookie_of(request, ASKING_COOKIE) or None
        )
    except NotNow as not_now:
        answer = _again(request, gate, FieldState(call_name, error=not_now.sentence), status=429)
        answer.headers["Retry-After"] = str(not_now.retry_after_s)
        return answer
    waits = RedirectResponse("/join", 303)
    give_cookie(request, waits, ASKING_COOKIE, token, lasts_s=ASKING_LASTS_S)
    return waits


def _again(request: Request, gate: Gate, state: FieldState, *, status: int = 422) -> HTMLResponse:
    page = JoinPage(state, (Wrong("call_name", "Call name", state.error),), moved=gate.steady.moved())
    return html("join/page.html", page, frame=frame_for(request, title="Ask to join", wrong=True), status=status)


@router.get("/owner/{token}")
def owner_link(request: Request, _: AnySeat, gate: TheGate, token: str) -> HTMLResponse:
    """One button. Opening the link changes nothing, since a browser may fetch it before a person does."""
    page = OwnerPage(gate.links.is_open(token), f"/owner/{token}")
    frame = replace(frame_for(request, title="The owner’s link"), here="/")  # the link stands in no form but its own
    return html("join/owner.html", page, frame=frame, status=200 if page.is_open else 404)


@router.post("/owner/{token}")
def be_owner(request: Request, seat: AnySeat, gate: TheGate, token: str) -> Response:
    if not gate.links.use(token):
        return owner_link(request, seat, gate, token)
    held = gate.joining.make_owner(
        call_name=seat.call_name or devices.LAPTOP, agent=request.headers.get("user-agent", ""), device_id=seat.device_id
    )
    answer = RedirectResponse("/", 303)
    give_cookie(request, answer, COOKIE, held)
    return answer


@router.get("/leave")
def leaving(request: Request, seat: ScopedViewerSeat) -> HTMLResponse:
    """One button, after what it does: a link alone must not end a seat."""
    page = LeavePage(seat.call_name, seat.role, first_page(seat))
    return html("join/leave.html", page, frame=frame_for(request, title="Leave this book"))


@router.post("/leave")
def leave(request: Request, seat: ScopedViewerSeat, gate: TheGate) -> Response:
    """Give up this browser's own seat."""
    return out_of_the_book(request, seat, gate)


def out_of_the_book(request: Request, seat: Seat, gate: Gate, why: str = "left") -> Response:
    assert seat.device_id is not None
    gate.joining.remove(seat.device_id, by=seat.device_id, why=why)
    answer = RedirectResponse("/join", 303)
    take_cookie(request, answer, COOKIE)
    take_cookie(request, answer, ASKING_COOKIE)
    return answer
