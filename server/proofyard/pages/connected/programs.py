"""The owner's page of programs: who is let in, to do what, until when; a token is shown once, when it is made."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.gate import Gate, TheGate
from proofyard.access.joining import wrong_with_name
from proofyard.access.problem import INTERFACE
from proofyard.access.programs import MOST_DAYS, SCOPES, USUAL_DAYS
from proofyard.access.seats import OwnerSeat, TheBook
from proofyard.pages.frame.failures import SomeoneElse, trouble
from proofyard.pages.frame.forms import FieldState, Wrong
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.records import devices, listing
from proofyard.records.book import Device
from proofyard.records.trial import Trial
from proofyard.storage import Storage
from proofyard.wording.when import ago_words, short_day_words

router = APIRouter()

MOST_OUTSIDE = 12
MAY = (("read", "Read"), ("log", "Read and log"))
NAMELESS = "Type what the program is called, for example Notebook on Wren’s laptop."
GONE = SomeoneElse(
    heading="That program is out already",
    what="Its token was removed before. Nothing was changed.",
    way="/programs",
    way_words="To the programs",
)


@dataclass(frozen=True)
class ProgramLine:
    """A program that is in, or was. `about`: what it may do, until when, when it was last heard."""

    id: str
    mark: str
    call_name: str
    about: str


@dataclass(frozen=True)
class NewToken:
    """A token that was made now, whose program it is, and a line to try it with."""

    call_name: str
    token: str
    example: str


@dataclass(frozen=True)
class ProgramsPage:
    """new: the token that was made by what was sent, never shown again; interface: where programs ask."""

    inside: tuple[ProgramLine, ...]
    outside: tuple[ProgramLine, ...]
    new: NewToken | None
    may: tuple[tuple[str, str], ...]
    trials: tuple[tuple[str, str], ...]
    interface: str
    call_name: FieldState = FieldState()
    scope: str = "read"
    trial: FieldState = FieldState()
    days: FieldState = FieldState(str(USUAL_DAYS))
    errors: tuple[Wrong, ...] = ()


@router.get("/programs", response_class=HTMLResponse)
def programs(request: Request, seat: OwnerSeat, book: TheBook, gate: TheGate) -> Response:
    """Who is in, and the form for one more."""
    return _shown(request, _page(request, book, gate))


@router.post("/programs", response_class=HTMLResponse)
def let_in(
    request: Request,
    seat: OwnerSeat,
    book: TheBook,
    gate: TheGate,
    call_name: Annotated[str, Form()] = "",
    scope: Annotated[str, Form()] = "",
    trial: Annotated[str, Form()] = "",
    days: Annotated[str, Form()] = str(USUAL_DAYS),
) -> Response:
    """Make a token. It stands in this answer and nowhere else."""
    assert seat.device_id is not None
    name = " ".join(call_name.split())
    scope = scope if scope in SCOPES else "read"
    page = _page(request, book, gate)
    wrongs = _wrongs(name, scope, trial, days, {one for one, _ in page.trials})
    if wrongs:
        said = {one.id: one.message for one in wrongs}
        again = replace(
            page,
            scope=scope,
            call_name=FieldState(call_name[:200], error=said.get("call_name", "")),
            trial=FieldState(trial[:40], error=said.get("trial", "")),
            days=FieldState(days[:40], error=said.get("days", "")),
            errors=wrongs,
        )
        return _shown(request, again)
    token = gate.programs.let_in(name, scope, days=int(days), by=seat.device_id, trial_id=trial or None)
    new = NewToken(name, token, f'curl -H "Authorization: Bearer {token}" {page.interface}/trials')
    return _shown(request, replace(_page(request, book, gate), new=new))


@router.post("/programs/{device_id}/remove")
def remove(request: Request, seat: OwnerSeat, gate: TheGate, device_id: str) -> Response:
    """End a token at once."""
    assert seat.device_id is not None
    if not gate.programs.remove(device_id, by=seat.device_id):
        return trouble(GONE, frame=frame_for(request, title="Programs", nav="more"))
    return RedirectResponse("/programs", 303)


def _shown(request: Request, page: ProgramsPage) -> Response:
    frame = frame_for(request, title="Programs", nav="more", wrong=len(page.errors))
    return html("programs/page.html", page, frame=frame, status=422 if page.errors else 200)


def _wrongs(name: str, scope: str, trial: str, days: str, trials: set[str]) -> tuple[Wrong, ...]:
    found = []
    if wrong := NAMELESS if not name else wrong_with_name(name):
        found.append(Wrong("call_name", "What the program is called", wrong))
    if trial and trial not in trials:
        found.append(Wrong("trial", "What it can see", "The book has no such trial. Choose one from the list."))
    elif trial and scope == "log":
        found.append(
            Wrong("trial", "What it can see", "A program that logs needs the whole book. Choose the whole book, or let it only read.")
        )
    text = days.strip()
    if not (text.isascii() and text.isdecimal() and len(text) <= 4 and 1 <= int(text) <= MOST_DAYS):
        found.append(Wrong("days", "For how many days", f"“{text[:40]}” is not a count of days. Type 1 to {MOST_DAYS}."))
    return tuple(found)


def _page(request: Request, book: Storage, gate: Gate) -> ProgramsPage:
    with book.read() as session:
        everyone = devices.devices(session, "program")
        trials = listing.all_of(session, Trial, voided=True)
    names = {one.id: one.question for one in trials}
    inside, out = (tuple(one for one in everyone if (one.role == "out") == gone) for gone in (False, True))
    return ProgramsPage(
        inside=_lines(inside, gate, names),
        outside=_lines(out[:MOST_OUTSIDE], gate, names),
        new=None,
        may=MAY,
        trials=tuple((one.id, one.question) for one in trials if one.voided_rev is None),
        interface=f"{request.url.scheme}://{request.headers.get('host', '')}{request.app.state.settings.path}{INTERFACE}",
    )


def _lines(some: Sequence[Device], gate: Gate, trials: dict[str, str]) -> tuple[ProgramLine, ...]:
    return tuple(ProgramLine(one.id, one.letter or "–", one.call_name, _about(one, gate, trials)) for one in some)


def _about(one: Device, gate: Gate, trials: dict[str, str]) -> str:
    if one.role == "out":
        return f"removed {short_day_words(one.removed_at)}" if one.removed_at else "removed"
    about = ["reads and logs" if one.role == "archer" else "reads"]
    if one.trial_id:
        about.append(f"sees one trial: {trials.get(one.trial_id, 'no longer there')}")
    ends = one.expires_at or 0
    about.append(f"ended {short_day_words(ends)}" if ends <= devices.now_ms() else f"until {short_day_words(ends)}")
    heard = max(one.heard_at or 0, gate.seats.heard_at(one.id) or 0)
    about.append(f"last used {ago_words(heard)}" if heard else "not used yet")
    return ", ".join(about)
