"""The owner's page: the join code, who asks, who is in, and putting out."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, HTTPException, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from proofyard.access.gate import Gate, TheGate
from proofyard.access.joining import MOST_DAYS, JoinCode, agent_in_words, join_code
from proofyard.access.proxy import PROXIED
from proofyard.access.seats import OwnerSeat, TheBook
from proofyard.access.steady_address import Moved
from proofyard.pages.connected import join
from proofyard.pages.frame.failures import SomeoneElse, trouble
from proofyard.pages.frame.forms import FieldState, Wrong
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.records import devices, listing
from proofyard.records.book import Device
from proofyard.records.trial import Trial
from proofyard.records.unseen_signs import unseen_in
from proofyard.storage import Storage
from proofyard.wording.when import ago_words, short_day_words

router = APIRouter()

MOST_OUTSIDE = 12
EMPTY = FieldState()
WHY = "Enter the reason in a few words, for example: lost in the yard."
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
    address: str = ""


@dataclass(frozen=True)
class Crowd:
    """Several at the door: how many ask, and from which addresses most of them."""

    heading: str
    lead: str
    ids: tuple[str, ...]


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
    crowd: Crowd | None
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
        names = {trial.id: trial.question for trial in listing.all_of(session, Trial, voided=True)}
    out = [one for one in everyone if one.role == "out"]
    asked_by = "" if PROXIED in request.scope else request.headers.get("host", "")
    addresses = [gate.addresses.link(one, "/join") for one in gate.addresses.to_join(asked_by=asked_by)]
    if PROXIED in request.scope:  # phones come the way that the owner came
        path = request.app.state.settings.path
        addresses.insert(0, f"{request.url.scheme}://{request.headers.get('host', '')}{path}/join")
    asking = tuple(_asking(one, gate) for one in everyone if _asks(one))
    page = PhonesPage(
        asking=asking,
        crowd=_crowd(asking),
        inside=tuple(_inside(one, gate, names, own=seat.device_id) for one in everyone if one.role in ("owner", "archer", "viewer")),
        outside=tuple(_inside(one, gate, names) for one in out[:MOST_OUTSIDE]),
        more_outside=max(0, len(out) - MOST_OUTSIDE),
        code=join_code(addresses[0]) if addresses else None,
        others=tuple(addresses[1:]),
        moved=gate.steady.moved(),
    )
    if wants_part(request):
        return part("phones/_lists.html", page)
    return html("phones/page.html", page, frame=frame_for(request, title="Phones", nav="more", live=True))


def _asks(device: Device) -> bool:
    return device.role == "asking" and (device.expires_at or 0) > devices.now_ms()


def _asking(device: Device, gate: Gate) -> Asking:
    first, _, second = (device.words or "").partition(" ")
    agent, address = agent_in_words(device.agent), gate.joining.came_from(device.id)
    return Asking(device.id, device.call_name, first, second, ago_words(device.asked_at), agent, address)


def _crowd(asking: Sequence[Asking]) -> Crowd | None:
    if len(asking) < 2:
        return None
    counts = Counter(one.address for one in asking if one.address)
    said = [f"{count} from {address}" for address, count in counts.most_common(3)]
    rest = len(asking) - sum(count for _, count in counts.most_common(3))
    said += [f"{rest} from elsewhere"] if rest and said else []
    many = [address for address, count in counts.items() if count > 2]
    odd = " One phone asks once; many from one address are one machine that asks again and again." if many else ""
    lead = f"By address: {', '.join(said)}.{odd}" if said else "Where they asked from is no longer known: the server has been restarted."
    return Crowd("Refuse them all at once", lead, tuple(one.id for one in asking))


def _inside(device: Device, gate: Gate, trials: dict[str, str], *, own: str | None = None) -> Inside:
    mark = device.letter or "–"
    if device.role == "out":
        when = f" {short_day_words(device.removed_at)}" if device.removed_at else ""
        what = "removed" if device.let_in_at else "turned away"
        why = f": {device.removed_why}" if device.removed_why else ""
        return Inside(device.id, mark, device.call_name, f"{what}{when}{why}")
    about = [f"{device.role} since {short_day_words(device.let_in_at or device.asked_at)}"]
    if device.trial_id:
        about.append(f"sees one trial: {trials.get(device.trial_id, 'no longer there')}")
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
    request: Request,
    book: Storage,
    gate: Gate,
    device_id: str,
    *,
    trial: str = "",
    days: FieldState = EMPTY,
    reason: FieldState = EMPTY,
    errors: tuple[Wrong, ...] = (),
) -> Response:
    with book.read() as session:
        device = devices.device(session, device_id)
        trials: Sequence[Trial] = listing.all_of(session, Trial) if device is not None and _asks(device) else ()
    if device is None or device.kind != "phone":
        raise HTTPException(404)
    if not _asks(device) and device.role in ("asking", "out"):
        return trouble(GONE, frame=frame_for(request, title="Phones", nav="more"))
    page = OnePhonePage(
        asking=_asking(device, gate) if _asks(device) else None,
        inside=None if _asks(device) else _inside(device, gate, {}),
        trials=tuple((one.id, one.question) for one in trials),
        trial=FieldState(trial),
        days=days,
        reason=reason,
        errors=errors,
    )
    frame = frame_for(request, title=f"{device.call_name}’s phone", nav="more", wrong=len(errors))
    return html("phones/one.html", page, frame=frame, status=422 if errors else 200)


@router.post("/phones/refuse-all")
def refuse_all(seat: OwnerSeat, gate: TheGate, phone: Annotated[list[str], Form(max_length=100)]) -> Response:
    """Turn away all that the owner was shown, in one go."""
    assert seat.device_id is not None
    gate.joining.refuse_all(phone, by=seat.device_id)
    return RedirectResponse("/phones", 303)


@router.post("/phones/{device_id}/answer")
def answer_phone(
    request: Request,
    seat: OwnerSeat,
    book: TheBook,
    gate: TheGate,
    device_id: str,
    role: Annotated[str, Form()],
    trial: Annotated[str, Form()] = "",
    days: Annotated[str, Form()] = "",
) -> Response:
    """Let a phone in, or turn it away."""
    assert seat.device_id is not None
    if role not in ("archer", "viewer", "none"):
        raise HTTPException(422, "Let it in as archer or as viewer, or turn it away.")
    if role == "none":
        gate.joining.remove(device_id, by=seat.device_id, why="turned away: it showed other words")
        return RedirectResponse("/phones", 303)
    wrong = _wrong_days(days) or _wrong_trial(book, trial)
    if wrong:
        state = FieldState(days[:40], error=wrong.message if wrong.id == "days" else "")
        return _one_phone(request, book, gate, device_id, trial=trial, days=state, errors=(wrong,))
    let_in = gate.joining.let_in(device_id, role, by=seat.device_id, trial_id=trial or None, days=int(days) if days.strip() else None)
    if let_in is None:
        return trouble(GONE, frame=frame_for(request, title="Phones", nav="more"))
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
    return None if found is not None else Wrong("trial", "What it can see", "The book has no such trial. Choose one from the list.")


@router.post("/phones/{device_id}/remove")
def remove(
    request: Request, seat: OwnerSeat, book: TheBook, gate: TheGate, device_id: str, reason: Annotated[str, Form()] = ""
) -> Response:
    assert seat.device_id is not None
    why = " ".join(reason.split())
    unseen = unseen_in(why)
    if not why or len(why) > 200 or unseen:
        said = f"{len(why)} letters are too many. Use 200 at most." if len(why) > 200 else unseen or WHY
        return _one_phone(
            request, book, gate, device_id, reason=FieldState(reason[:1000], error=said), errors=(Wrong("reason", "Why", said),)
        )
    if device_id == seat.device_id:
        return join.out_of_the_book(request, seat, gate, why)
    if gate.joining.remove(device_id, by=seat.device_id, why=why) is None:
        return trouble(GONE, frame=frame_for(request, title="Phones", nav="more"))
    return RedirectResponse("/phones", 303)
