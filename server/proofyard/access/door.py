"""What every request passes, and every answer: the first thing that a stranger meets and the last.

In order: is this address ours? are too many in hand? is a change asked for from our own page? who sits there?
Then the answer gets the headers that keep a browser from running, framing or guessing anything that isn't ours.
Plain ASGI, no request object: this runs for every request.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any

from fastapi import HTTPException
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from proofyard.access.gate import Gate
from proofyard.access.problem import MEDIA_TYPE, MOST_ASKED_A_MINUTE, is_for_programs, problem, problem_bytes
from proofyard.access.proxy import PROXIED
from proofyard.access.seats import COOKIE, STRANGER, Seat, named
from proofyard.storage import StorageTrouble

MOST_BODY = 1_000_000
LONGEST_TOKEN = 200
# Photos are bigger: one from a phone, and a form with a camera's card full of them; so is another book's package.
BIGGER_BODIES = {"/api/photos/": 20_000_000, "/photos": 100_000_000, "/other-books": 100_000_000, "/bring-in": 21_000_000}
SAFE = frozenset({"GET", "HEAD"})
FIRST_PAGE = "/"  # says to the owner that phones came to another address last time
STREAMS = "/live"  # stays open, and counts its own
LEFT_FOR_SAVES = 32  # of what may be in hand at once: who only looks must not keep out who saves
LEFT_BY_STRANGERS = 48
CSP = "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; img-src 'self' data: blob:"
HEADERS = (
    (b"content-security-policy", CSP.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=(), payment=(), usb=(), browsing-topics=()"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)
# A script or a sheet is no page: a browser reads only this of it. The rest is half a kilobyte for each that a phone fetches.
PARTS_OF_A_PAGE = (b"text/javascript", b"text/css")
HEADERS_OF_PARTS = ((b"x-content-type-options", b"nosniff"),)
NOT_OURS = "This laptop doesn’t answer to that address. Type the address as it stands on the owner’s Phones page."
FROM_ELSEWHERE = (
    "That came from another page or another address than this one, so nothing was changed. Open Proofyard’s own page and do it there."
)
TOO_MUCH = "That is more than the laptop takes at once ({} MB). Nothing was saved. Send less."
BUSY = "The laptop has its hands full. Nothing was lost: try again in a moment."
TOO_OFTEN = f"A program may ask {MOST_ASKED_A_MINUTE} times in a minute. Wait {{}} s, then go on."


@dataclass(frozen=True)
class Shown:
    """What a request shows to be let in: a phone's cookie, or a program's token."""

    secret: str
    program: bool


class Door:
    """Wraps the whole app, its fault pages too."""

    def __init__(self, app: ASGIApp, gate: Gate) -> None:
        self.app, self.gate = app, gate

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        send = with_headers(send)
        headers = dict(reversed(scope["headers"]))  # the first of each name counts
        refusal = self._refusal(scope, headers)
        if refusal is not None:
            await _say(scope, send, *refusal)
            return
        address = (scope.get("client") or ("", 0))[0]
        shown = shown_in(scope, headers)
        held = self.gate.seats.held(shown.secret, program=shown.program) if shown is not None else STRANGER
        if scope["path"] == STREAMS:
            self.gate.connections.listens(scope.get(PROXIED) or scope.get("client"))
            await self._seated(scope, headers, receive, send, shown=shown, held=held)
            return
        if not self.gate.in_hand.begin(address, leave=_left_for_others(scope, held)):
            await _say(scope, send, 503, BUSY, retry_after_s=2)
            return
        try:
            await self._seated(scope, headers, receive, send, shown=shown, held=held)
        finally:
            self.gate.in_hand.end(address)

    def _refusal(self, scope: Scope, headers: dict[bytes, bytes]) -> tuple[int, str] | None:
        host = headers.get(b"host", b"").decode("latin-1")
        https = scope.get("scheme") == "https"
        if not self.gate.addresses.allows(host, came_in_on=scope.get("server"), https=https):
            return 400, NOT_OURS
        if scope["method"] not in SAFE and bearer_in(scope["path"], headers) is None:
            # A page elsewhere can make a browser send our cookie, never a token.
            # No Origin at all is refused too: every browser sends one with a form or a fetch that isn't a GET.
            ours = f"{scope.get('scheme', 'http')}://{host.strip().lower()}".encode("latin-1")
            if headers.get(b"origin", b"").lower() != ours or headers.get(b"sec-fetch-site") in (b"cross-site", b"same-site"):
                return 403, FROM_ELSEWHERE
        length = headers.get(b"content-length", b"0")
        most = most_body(scope)
        if length.isdigit() and int(length) > most:
            return 413, TOO_MUCH.format(most // 1_000_000)
        return None

    async def _seated(
        self, scope: Scope, headers: dict[bytes, bytes], receive: Receive, send: Send, *, shown: Shown | None, held: Seat | None
    ) -> None:
        """On to the app with the seat of this cookie or token; one that isn't `held` yet is read from the book."""
        program = shown is not None and shown.program
        try:
            secret = shown.secret if shown is not None else ""
            seat: Seat = held if held is not None else await run_in_threadpool(self.gate.seats.read, secret, program=program)
        except StorageTrouble as trouble:
            if self.gate.trouble_page is None:
                await _say(scope, send, 503, str(trouble), retry_after_s=trouble.retry_after_s or 5)
            else:
                answer = await self.gate.trouble_page(Request(scope, receive), trouble)
                await answer(scope, receive, send)
            return
        # Whoever guesses at tokens is counted by address: one guess more must not be one more to remember.
        asking = seat.device_id or (scope.get("client") or ("", 0))[0]
        if program and (wait := self.gate.programs.must_wait_s(asking)):
            await _say(scope, send, 429, TOO_OFTEN.format(wait), retry_after_s=wait)
            return
        if seat.role == "archer" and not program and scope["path"].startswith("/api/"):
            host = headers.get(b"host", b"").decode("latin-1").strip().lower()
            https = scope.get("scheme") == "https"
            if PROXIED not in scope and self.gate.steady.is_new(host, https=https):
                await run_in_threadpool(self.gate.steady.remember, host, https)
        if seat.role != "stranger":
            self.gate.connections.seated(scope.get(PROXIED) or scope.get("client"))
        state: dict[str, Any] = scope.setdefault("state", {})
        state["seat"], state["role"] = seat, seat.role
        # Here, since the processes that make long pages have no gate to ask.
        tell = seat.role == "owner" and scope["path"] == FIRST_PAGE
        state["moved"] = await run_in_threadpool(self.gate.steady.moved) if tell else None
        await self.app(scope, at_most(receive, most_body(scope)), send)


def bearer_in(path: str, headers: Mapping[bytes, bytes]) -> str | None:
    """The token that a request shows at the programs' interface; empty where what it shows can be none; None: it shows nothing."""
    if b"authorization" not in headers or not is_for_programs(path):
        return None
    scheme, _, token = headers[b"authorization"].decode("latin-1").partition(" ")
    token = token.strip()
    return token if scheme.lower() == "bearer" and token.isascii() and 0 < len(token) <= LONGEST_TOKEN else ""


def shown_in(scope: Scope, headers: dict[bytes, bytes]) -> Shown | None:
    """What this request shows: a token where programs ask, and then no cookie; else a phone's cookie."""
    bearer = bearer_in(scope["path"], headers)
    if bearer is not None:
        return Shown(bearer, program=True)
    cookie = cookie_in(headers.get(b"cookie", b""), headers.get(b"host", b""), https=scope.get("scheme") == "https")
    return None if cookie is None else Shown(cookie, program=False)


def _left_for_others(scope: Scope, held: Seat | None) -> int:
    """How many places this request must leave: those who look leave some to those who save, strangers half of all."""
    if held is None or held.role == "stranger":
        return LEFT_BY_STRANGERS
    return LEFT_FOR_SAVES if scope["method"] in SAFE else 0


def most_body(scope: Scope) -> int:
    """How many bytes this path takes; the bigger ones only where a photo, a package or a sheet may come."""
    path, method = scope["path"], scope["method"]
    if method == "PUT" and path.startswith("/api/photos/"):
        return BIGGER_BODIES["/api/photos/"]
    return BIGGER_BODIES.get(path, MOST_BODY) if method == "POST" else MOST_BODY


def cookie_in(header: bytes, host: bytes, *, https: bool = False) -> str | None:
    """The seat's cookie out of a Cookie header."""
    if COOKIE.encode() not in header:
        return None
    try:
        found = SimpleCookie(header.decode("latin-1")).get(named(COOKIE, host.decode("latin-1"), https=https))
    except CookieError:
        return None
    return found.value if found is not None and 0 < len(found.value) <= 200 else None


def with_headers(send: Send) -> Send:
    """Add our headers to the answer, but for those that its route set itself."""

    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            there = list(message.get("headers", ()))
            named = {name.lower(): value for name, value in there}
            ours = HEADERS_OF_PARTS if named.get(b"content-type", b"").startswith(PARTS_OF_A_PAGE) else HEADERS
            message["headers"] = there + [pair for pair in ours if pair[0] not in named]
        await send(message)

    return guarded


def at_most(receive: Receive, most: int) -> Receive:
    """Stop a body that grows beyond its limit without having said so."""
    came = 0

    async def counted() -> Message:
        nonlocal came
        message = await receive()
        if message["type"] == "http.request":
            came += len(message.get("body", b""))
            if came > most:
                raise HTTPException(413, TOO_MUCH.format(most // 1_000_000))
        return message

    return counted


async def _say(scope: Scope, send: Send, status: int, sentence: str, *, retry_after_s: int | None = None) -> None:
    """A refusal in words, before any page is asked."""
    if is_for_programs(scope["path"]):
        body, kind = problem_bytes(problem(status, sentence)), MEDIA_TYPE.encode()
    elif scope["path"].startswith("/api/"):
        body, kind = json.dumps({"detail": sentence}, ensure_ascii=False).encode(), b"application/json"
    else:
        body, kind = sentence.encode(), b"text/plain; charset=utf-8"
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode())]
    if status == 413:
        headers.append((b"connection", b"close"))  # the rest of the body is not read
    if retry_after_s is not None:
        headers.append((b"retry-after", str(retry_after_s).encode()))
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


class HeadWhereGet:
    """Asks the app for a GET and lets the answer's status and headers through.

    The answer ends with its headers. A server tells whoever still writes after that, a stream of changes for instance,
    that nobody listens any more.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return
        ended = False

        async def head_alone(message: Message) -> None:
            nonlocal ended
            if ended:
                return
            await send(message)
            if message["type"] == "http.response.start":
                ended = True
                await send({"type": "http.response.body", "body": b"", "more_body": False})

        # a scope of its own: the server must go on knowing that it answers a HEAD
        await self.app({**scope, "method": "GET"}, receive, head_alone)
