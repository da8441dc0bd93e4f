"""Who is asking, and whether they may: the seat that a request sits in, and what a route needs.

    owner     the laptop that started the server
    archer    a phone that was let in to log
    viewer    a phone that was let in to look, maybe at one trial only
    stranger  anyone else

No right comes from a network address.

A viewer may be let in to one trial only. Such a seat reaches the routes that name that trial, or a session or shot of
it, in their path (`trial_id`, `session_id`, `shot_id`); every other route refuses it unless it says ScopedViewerSeat,
and then the route itself shows no more than `may_see_trial` allows.
"""

import secrets
import threading
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from hashlib import sha256
from typing import Annotated

from fastapi import Depends, HTTPException, Request, Response
from starlette.concurrency import run_in_threadpool

from proofyard.records import devices, listing, shot, trial
from proofyard.storage import Storage, StorageTrouble

# The cookies that a phone shows, and what the book keeps of them: only their SHA-256.
#
# A phone that asks carries one cookie, a phone that is in carries another with a new secret: what somebody may have seen
# or planted before the letting in is worth nothing after it.

COOKIE = "proofyard_seat"
ASKING_COOKIE = "proofyard_ask"
COOKIE_LASTS_S = 400 * 24 * 3600  # browsers keep none longer


def new_token() -> str:
    """A secret of 192 random bits, as text for a cookie or a link."""
    return secrets.token_urlsafe(24)


def hash_of(token: str) -> bytes:
    """What the book keeps: whoever reads the book's file can't make the cookie from it."""
    return sha256(token.encode("utf-8", "replace")).digest()


def asking_hash_of(token: str) -> bytes:
    """The same for a phone that only asks, so that its cookie can never be shown as a seat's."""
    return hash_of("ask:" + token)


def program_hash_of(token: str) -> bytes:
    """The same for a program's token. A seat is asked for by what it is (`SeatBook.read`), so neither is ever taken for the other."""
    return hash_of("program:" + token)


def named(name: str, host: str, *, https: bool = False) -> str:
    """A cookie's name at a host with its port. Browsers don't part cookies by port, and a demo on another port must
    not put a phone out of the real book.

    Nor by scheme: over plain http none replaces a cookie that https gave, and a laptop that goes back to http could let
    no phone in again. The prefix makes a browser keep it for https and this host alone (cookie prefixes, RFC 6265bis)."""
    port = host.rpartition(":")[2]
    return f"{'__Host-' if https else ''}{name}{f'_{port}' if port.isdigit() else ''}"


def _named_at(request: Request, name: str) -> str:
    return named(name, request.headers.get("host", ""), https=request.url.scheme == "https")


def cookie_of(request: Request, name: str) -> str:
    """The secret that a browser shows at this address; empty if it shows none."""
    return request.cookies.get(_named_at(request, name), "")


def give_cookie(request: Request, response: Response, name: str, token: str, *, lasts_s: int = COOKIE_LASTS_S) -> None:
    """Hand a secret to a browser: for our pages only, out of reach of scripts; over https never without it."""
    secure = request.url.scheme == "https"
    response.set_cookie(_named_at(request, name), token, max_age=lasts_s, path="/", httponly=True, samesite="strict", secure=secure)


def take_cookie(request: Request, response: Response, name: str) -> None:
    """Have a browser forget a secret."""
    kept = _named_at(request, name)
    response.delete_cookie(kept, path="/", httponly=True, samesite="strict", secure=request.url.scheme == "https")


ORDER = ("stranger", "viewer", "archer", "owner")


@dataclass(frozen=True)
class Seat:
    """Who is asking. `trial_id` narrows a viewer to one trial; `program`: it showed a token, and sits only at the programs' interface."""

    role: str = "stranger"
    device_id: str | None = None
    call_name: str = ""
    letter: str | None = None
    trial_id: str | None = None
    program: bool = False

    def at_least(self, role: str) -> bool:
        return ORDER.index(self.role) >= ORDER.index(role)


STRANGER = Seat()


async def seat_of_request(request: Request) -> Seat:
    """`seat_of` for a route; async, since a plain function would be sent to another thread."""
    return seat_of(request)


def seat_of(request: Request) -> Seat:
    """The seat that the door found for this request (server/proofyard/access/door.py)."""
    return getattr(request.state, "seat", STRANGER)


def may_see_trial(seat: Seat, trial_id: str | None) -> bool:
    """Whether this seat may look at a trial: any that was let in, but for a viewer of another one."""
    return seat.at_least("viewer") and (seat.trial_id is None or seat.trial_id == trial_id)


def trial_of(storage: Storage, path: dict[str, str]) -> str | None:
    """The trial that a path's parameters lead to, by trial, session or shot; None if they lead to none."""
    if "trial_id" in path:
        return path["trial_id"]
    with storage.read() as session:
        session_id = path.get("session_id")
        if "shot_id" in path:
            loosed = listing.one(session, shot.Shot, path["shot_id"])
            shooting_end = loosed and listing.one(session, trial.ShootingEnd, loosed.shooting_end_id)
            setup = shooting_end and listing.one(session, trial.Setup, shooting_end.setup_id)
            session_id = setup.session_id if setup else None
        day = listing.one(session, trial.Session, session_id) if session_id else None
    return day.trial_id if day else None


def needs(role: str, *, narrows_itself: bool = False) -> Callable[[Request], Awaitable[Seat]]:
    """A dependency that lets a request in from a role upwards: 401 for a stranger, 403 for too small a role.

    narrows_itself  the route is open to a viewer of one trial, and takes care of what it shows
    """

    async def seat(request: Request) -> Seat:
        found = seat_of(request)
        if not found.at_least(role):
            raise HTTPException(401 if found.role == "stranger" else 403)
        if found.trial_id is not None and not narrows_itself:
            reached = await run_in_threadpool(trial_of, the_storage(request), dict(request.path_params))
            if not may_see_trial(found, reached):
                raise HTTPException(403)
        return found

    return seat


async def the_book(request: Request) -> Storage:
    return the_storage(request)


def the_storage(request: Request) -> Storage:
    storage: Storage = request.app.state.storage
    return storage


AnySeat = Annotated[Seat, Depends(seat_of_request)]
ViewerSeat = Annotated[Seat, Depends(needs("viewer"))]
ScopedViewerSeat = Annotated[Seat, Depends(needs("viewer", narrows_itself=True))]
ArcherSeat = Annotated[Seat, Depends(needs("archer"))]
OwnerSeat = Annotated[Seat, Depends(needs("owner"))]
TheBook = Annotated[Storage, Depends(the_book)]


# From a cookie to a seat, without asking the book each time; and when each phone was last heard.
#
# What is held is forgotten at once when a role changes. `heard` is kept in memory and written now and then, when nobody
# saves, so that a phone that only looks costs the book nothing.

MOST_HELD = 512
WRITE_EVERY_MS = 60_000
QUIET_S = 5.0


@dataclass(frozen=True)
class Held:
    """A seat as it was read, and when it ends by itself."""

    seat: Seat
    expires_at: int | None = None

    def now(self) -> Seat:
        return STRANGER if self.expires_at is not None and devices.now_ms() >= self.expires_at else self.seat


def _key_of(token: str, *, program: bool) -> tuple[bool, bytes]:
    return program, program_hash_of(token) if program else hash_of(token)


class SeatBook:
    """The seats of one book."""

    def __init__(self, storage: Storage) -> None:
        self._storage = storage
        self._held: dict[tuple[bool, bytes], Held] = {}
        self._turn = 0  # counts the forgettings, so that a read that began before one is not kept after it
        self._lock = threading.Lock()
        self._heard: dict[str, int] = {}
        self._written: dict[str, int] = {}
        self._saved_at = 0.0
        self._when_changed: list[Callable[[], None]] = []
        storage.after_commit(self._saved)

    def _saved(self) -> None:
        self._saved_at = time.monotonic()

    def held(self, token: str, *, program: bool = False) -> Seat | None:
        """The seat of a cookie, or of a program's token, if it is known already; None: `read` it."""
        found = self._held.get(_key_of(token, program=program))
        return None if found is None else self._note(found.now())

    def read(self, token: str, *, program: bool = False) -> Seat:
        """The same, out of the book."""
        key, turn = _key_of(token, program=program), self._turn
        with self._storage.read() as session:
            device = devices.device_of_session(session, key[1])
            if device is None or device.role not in ("owner", "archer", "viewer") or (device.kind == "program") != program:
                found = Held(STRANGER)
            else:
                seat = Seat(device.role, device.id, device.call_name, device.letter, device.trial_id, program)
                found = Held(seat, device.expires_at)
        with self._lock:
            if turn == self._turn:
                if len(self._held) >= MOST_HELD:
                    self._held.clear()
                self._held[key] = found
        return self._note(found.now())

    def seat_of(self, token: str) -> Seat:
        """The seat of a cookie, wherever it is known."""
        return self.held(token) or self.read(token)

    def forget(self) -> None:
        """A role changed: every cookie is looked up again, and whoever holds a stream open is told to look."""
        with self._lock:
            self._turn += 1
            self._held.clear()
        for listener in self._when_changed:
            listener()

    def when_changed(self, listener: Callable[[], None]) -> None:
        """Call this after roles changed, from the thread that changed them."""
        self._when_changed.append(listener)

    def _note(self, seat: Seat) -> Seat:
        if seat.device_id is not None:
            self._heard[seat.device_id] = time.time_ns() // 1_000_000
        return seat

    def heard_at(self, device_id: str) -> int | None:
        """When a phone was last heard, as far as this server's memory goes."""
        return self._heard.get(device_id)

    def write_heard(self, *, quiet_s: float = QUIET_S) -> int:
        """Write down who was heard, unless somebody has saved within `quiet_s`; how many lines were written.

        It comes a minute later rather than stand in the way of a save.
        """
        if time.monotonic() - self._saved_at < quiet_s:
            return 0
        due = {key: at for key, at in list(self._heard.items()) if at - self._written.get(key, 0) >= WRITE_EVERY_MS}
        if not due:
            return 0
        try:
            with self._storage.write() as session:
                for device_id, at in due.items():
                    devices.heard(session, device_id, at)
        except StorageTrouble:
            return 0  # worth nothing next to a shot: the next round tries again
        self._written.update(due)
        return len(due)
