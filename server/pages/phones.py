"""The owner's page: the join code, who asks, who is in, and putting out."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from server.access.agents import agent_in_words
from server.access.gate import Gate, TheGate
from server.access.join_code import JoinCode, join_code
from server.access.joining import MOST_DAYS
from server.access.seats import OwnerSeat, TheBook
from server.access.steady_address import Moved
from server.findings.when import ago_words, short_day_words
from server.pages import join
from server.pages.oops import SomeoneElse, trouble
from server.pages.rendering import frame_for, html, part, wants_part
from server.pages.shapes import FieldState, Wrong
from server.records import devices, listing
from server.records.book import Device
from server.records.trial import Trial
from server.storage import Storage

router = APIRouter()

MOST_OUTSIDE = 12
EMPTY = FieldState()
GONE = SomeoneElse(
    heading="That phone no longer asks",
    what="It was answered already, it asked again, or 15 minutes went by. Nothing was changed.",
    way="/phones",
    way_words="To the phones",
)


@dataclass(frozen=True)
class Asking:
    """A phone at the door."""

    id: str
    call_name: str
    first: str
    second: str
    asked: str
    agent: str


@dataclass(frozen=True)
class Inside:
    """A phone that is in, or was. own: the one that looks at this page."""

    id: str
    mark: str
    call_name: str
    about: str
    own: bool = False


@dataclass(frozen=True)
class PhonesPage:
    """code: of the first address; others: further ones; moved: last time's address is not this laptop's any more."""

    asking: tuple[Asking, ...]
    inside: tuple[Inside, ...]
    outside: tuple[Inside, ...]
    more_outside: int
    code: JoinCode | None
    others: tuple[str, ...]
    moved: Moved | None


@dataclass(frozen=True)
class OnePhonePage:
    """One phone: letting it in to look (asking), or putting it out (inside)."""

    asking: Asking | None = None
    inside: Inside | None = None
    trials: tuple[tuple[str, str], ...] = ()
    trial: FieldState = FieldState()
    days: FieldState = FieldState()
    reason: FieldState = FieldState()
    errors: tuple[Wrong, ...] = ()


@router.get("/phones")
def phones(request: Request, seat: OwnerSeat, book: TheBook, gate: TheGate) -> HTMLResponse:
    with book.read() as session:
        everyone = devices.devices(session)
        names = {trial.id: trial.question for trial in listing.all_of(session, Trial, struck=True)}
    out = [one for one in everyone if one.role == "out"]
    addresses = [f"http://{one}/join" for one in gate.addresses.to_join(asked_by=request.headers.get("host", ""))]
    page = PhonesPage(
        asking=tuple(_asking(one) for one in everyone if _asks(one)),
        inside=tuple(_inside(one, gate, names, own=seat.device_id) for one in everyone if one.role in ("owner", "archer", "viewer")),
        outside=tuple(_inside(one, gate, names) for one in out[:MOST_OUTSIDE]),
        more_outside=max(0, len(out) - MOST_OUTSIDE),
        code=join_code(addresses[0]) if addresses else None,
        others=tuple(addresses[1:]),
        moved=gate.steady.moved(),
    )
    if wants_part(request):
        return part("phones/_lists.html", page)
    return html("phones/page.html", page, frame=frame_for(request, title="Phones", nav="phones", live=True))


def _asks(device: Device) -> bool:
    return device.role == "asking" and (device.expires_at or 0) > devices.now_ms()


def _asking(device: Device) -> Asking:
    first, _, second = (device.words or "").partition(" ")
    return Asking(device.id, device.call_name, first, second, ago_words(device.asked_at), agent_in_words(device.agent))


def _inside(device: Device, gate: Gate, trials: dict[str, str], *, own: str | None = None) -> Inside:
    mark = device.letter or "–"
    if device.role == "out":
        when = f" {short_day_words(device.put_out_at)}" if device.put_out_at else ""
        what = "put out" if device.let_in_at else "turned away"
        why = f": {device.put_out_why}" if device.put_out_why else ""
        return Inside(device.id, mark, device.call_name, f"{what}{when}{why}")
    about = [f"{device.role} since {short_day_words(device.let_in_at or device.asked_at)}"]
    if device.trial_id:
        about.append(f"looks at one trial: {trials.get(device.trial_id, 'no longer there')}")
    if device.expires_at:
        ended = device.expires_at <= devices.now_ms()
        about.append(f"ended {short_day_words(device.expires_at)}" if ended else f"until {short_day_words(device.expires_at)}")
    heard = max(device.heard_at or 0, gate.seats.heard_at(device.id) or 0)
    about.append(f"heard {ago_words(heard)}" if heard else "not heard yet")
    if device.id == own:
        about.append("this browser")
    return Inside(device.id, mark, device.call_name, ", ".join(about), device.id == own)


@router.get("/phones/{device_id}")
def one_phone(request: Request, _: OwnerSeat, book: TheBook, gate: TheGate, device_id: str) -> Response:
    return _one_phone(request, book, gate, device_id)


def _one_phone(
    request: Request, book: Storage, gate: Gate, device_id: str, *, trial: str = "", days: FieldState = EMPTY,
    reason: FieldState = EMPTY, errors: tuple[Wrong, ...] = (),
) -> Response:
    with book.read() as session:
        device = devices.device(session, device_id)
        trials: Sequence[Trial] = listing.all_of(session, Trial) if device is not None and _asks(device) else ()
    if device is None:
        raise HTTPException(404)
    if not _asks(device) and device.role in ("asking", "out"):
        return trouble(GONE, frame=frame_for(request, title="Phones", nav="phones"))
    page = OnePhonePage(
        asking=_asking(device) if _asks(device) else None,
        inside=None if _asks(device) else _inside(device, gate, {}),
        trials=tuple((one.id, one.question) for one in trials),
        trial=FieldState(trial), days=days, reason=reason, errors=errors,
    )  # fmt: skip
    frame = frame_for(request, title=f"{device.call_name}’s phone", nav="phones", wrong=bool(errors))
    return html("phones/one.html", page, frame=frame, status=422 if errors else 200)


@router.post("/phones/{device_id}/answer")
def answer_phone(
    request: Request, seat: OwnerSeat, book: TheBook, gate: TheGate, device_id: str, role: Annotated[str, Form()],
    trial: Annotated[str, Form()] = "", days: Annotated[str, Form()] = "",
) -> Response:
    """Let a phone in, or turn it away."""
    assert seat.device_id is not None
    if role not in ("archer", "viewer", "none"):
        raise HTTPException(422, "Let it in as archer or as viewer, or turn it away.")
    if role == "none":
        gate.joining.put_out(device_id, by=seat.device_id, why="turned away: it showed other words")
        return RedirectResponse("/phones", 303)
    wrong = _wrong_days(days) or _wrong_trial(book, trial)
    if wrong:
        state = FieldState(days[:40], error=wrong.message if wrong.id == "days" else "")
        return _one_phone(request, book, gate, device_id, trial=trial, days=state, errors=(wrong,))
    let_in = gate.joining.let_in(
        device_id, role, by=seat.device_id, trial_id=trial or None, days=int(days) if days.strip() else None
    )
    if let_in is None:
        return trouble(GONE, frame=frame_for(request, title="Phones", nav="phones"))
    return RedirectResponse("/phones", 303)


def _wrong_days(days: str) -> Wrong | None:
    text = days.strip()
    if not text or (text.isascii() and text.isdigit() and len(text) <= 4 and 1 <= int(text) <= MOST_DAYS):
        return None
    return Wrong("days", "For how many days", f"“{text[:40]}” is not a count of days. Type 1 to {MOST_DAYS}, or leave it empty.")


def _wrong_trial(book: Storage, trial_id: str) -> Wrong | None:
    if not trial_id:
        return None
    with book.read() as session:
        found = listing.one(session, Trial, trial_id)
    return None if found is not None else Wrong("trial", "What it may look at", "The book has no such trial. Pick one from the list.")


@router.post("/phones/{device_id}/put-out")
def put_out(
    request: Request, seat: OwnerSeat, book: TheBook, gate: TheGate, device_id: str, reason: Annotated[str, Form()] = ""
) -> Response:
    assert seat.device_id is not None
    why = " ".join(reason.split())
    if not why or len(why) > 200:
        said = f"{len(why)} letters are too many. Use 200 at most." if why else "Say why, in a few words, for example: lost in the yard."
        return _one_phone(
            request, book, gate, device_id, reason=FieldState(reason[:1000], error=said), errors=(Wrong("reason", "Why", said),)
        )
    if device_id == seat.device_id:
        return join.out_of_the_book(request, seat, gate, why)
    if gate.joining.put_out(device_id, by=seat.device_id, why=why) is None:
        return trouble(GONE, frame=frame_for(request, title="Phones", nav="phones"))
    return RedirectResponse("/phones", 303)
