"""Pages that take long, which whoever asked may leave: the work goes on, and the page is there when they look again.

A browser that waits for a minute looks broken, and what stands between (a phone that sleeps, a proxy of a server) gives up before.
So after some seconds the browser gets a page that says how far the work is and looks again by itself. Scripts, programs and files
wait as before: they can make nothing of such a page.
"""

import asyncio
import contextlib
import hashlib
import time
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field

from starlette.types import Message, Receive, Scope, Send

from proofyard.how_far import HowFar

PATIENCE_S = 15.0  # a judgement: longer than most pages take on a busy laptop, shorter than anything between gives up
LOOKED_AGAIN_S = 2.0  # how long one who looks again is kept, in case that it is done just now
KEPT_S = 300.0  # how long a page that is done waits for whoever asked, and one that is not for somebody to look
MOST_KEPT = 24
MOST_KEPT_EACH = 6  # of one browser: it may have some windows open


HEARS = "proofyard.hears"  # in the scope of a request: what is called with how far the work for it is


@dataclass(frozen=True)
class BeingMade:
    """What the page of waiting says: seconds since it was asked for, and what such a page took before, if any was made.

    parts  the last that was heard of the work itself; None: nothing yet
    """

    so_far_s: float
    likely_s: float | None
    parts: HowFar | None = None


@dataclass
class _Kept:
    who: str
    likely_s: float | None
    begun: float = field(default_factory=time.monotonic)
    looked: float = field(default_factory=time.monotonic)
    lookers: int = 0
    left: bool = False
    parts: HowFar | None = None
    messages: list[Message] = field(default_factory=list)
    unwanted: asyncio.Event = field(default_factory=asyncio.Event)
    work: asyncio.Task[None] | None = None

    @property
    def done(self) -> bool:
        return self.work is not None and self.work.done()


class LeftPages:
    """Answers that are being made, by who asked for what.

    make     makes an answer, as the app does
    likely   seconds that such an answer took before; None: none was made
    waiting  answers with the page that says so; what it says is the request's state `being_made`
    """

    def __init__(
        self,
        make: Callable[[Scope, Receive, Send], Awaitable[None]],
        likely: Callable[[Scope], float | None],
        waiting: Callable[[Scope, Receive, Send], Awaitable[None]],
        *,
        patience_s: float = PATIENCE_S,
    ) -> None:
        self._make, self._likely, self._waiting, self._patience_s = make, likely, waiting, patience_s
        self._kept: dict[bytes, _Kept] = {}

    async def answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        """The answer if it comes soon, the page of waiting if not. Raises what making it raises."""
        self._let_go()
        key, who = _asked_for(scope)
        kept = self._kept.get(key)
        if kept is None:
            if len(self._kept) >= MOST_KEPT or sum(one.who == who for one in self._kept.values()) >= MOST_KEPT_EACH:
                await self._make(scope, receive, send)
                return
            kept = self._kept[key] = self._begin(scope, who)
        await self._look(key, kept, scope, receive, send)

    def _begin(self, scope: Scope, who: str) -> _Kept:
        kept = _Kept(who, self._likely(scope))

        async def hear() -> Message:
            await kept.unwanted.wait()
            return {"type": "http.disconnect"}

        async def keep(message: Message) -> None:
            kept.messages.append(message)

        def heard(parts: HowFar) -> None:
            kept.parts = parts

        async def work() -> None:
            await self._make({**scope, HEARS: heard}, hear, keep)

        kept.work = asyncio.create_task(work())
        return kept

    async def _look(self, key: bytes, kept: _Kept, scope: Scope, receive: Receive, send: Send) -> None:
        kept.lookers += 1
        gone = asyncio.create_task(_gone(receive))
        try:
            assert kept.work is not None
            patience = LOOKED_AGAIN_S if kept.left else self._patience_s
            await asyncio.wait({kept.work, gone}, timeout=patience, return_when=asyncio.FIRST_COMPLETED)
        finally:
            gone.cancel()
            kept.lookers -= 1
            kept.looked = time.monotonic()
        if kept.done:
            self._kept.pop(key, None)
            kept.work.result()
            for message in kept.messages:
                await send(message)
        elif gone.done() and not gone.cancelled():
            if not kept.left and not kept.lookers:  # nobody was told that it goes on
                self._drop(key, kept)
        else:
            kept.left = True
            said = BeingMade(time.monotonic() - kept.begun, kept.likely_s, kept.parts)
            await self._waiting({**scope, "state": {**scope.get("state", {}), "being_made": said}}, receive, send)

    def _let_go(self) -> None:
        """Of what nobody looked for any more."""
        for key, kept in list(self._kept.items()):
            if not kept.lookers and time.monotonic() - kept.looked > KEPT_S:
                self._drop(key, kept)

    def _drop(self, key: bytes, kept: _Kept) -> None:
        self._kept.pop(key, None)
        kept.unwanted.set()
        if kept.work is not None:
            kept.work.add_done_callback(_nobody_asks)

    async def close(self) -> None:
        """Nobody waits any more: the server ends."""
        for key, kept in list(self._kept.items()):
            self._drop(key, kept)
            if kept.work is not None:
                kept.work.cancel()
                with contextlib.suppress(asyncio.CancelledError, Exception):
                    await kept.work


def opened_by_a_person(scope: Scope) -> bool:
    """Whether somebody who was let in opens a page in a browser: no script of it, no program, and no file."""
    headers = dict(scope["headers"])
    return (
        getattr(scope["state"].get("seat"), "device_id", None) is not None
        and scope["method"] == "GET"
        and b"text/html" in headers.get(b"accept", b"")
        and b"hx-request" not in headers
        and "." not in scope["path"].rpartition("/")[2]
        and not scope["path"].startswith("/api/")
    )


def _asked_for(scope: Scope) -> tuple[bytes, str]:
    """The same page asked for by the same browser, and a sign of the browser."""
    headers = dict(scope["headers"])
    who = hashlib.sha256(headers.get(b"cookie", b"")).hexdigest()
    parts = (scope["path"].encode(), scope.get("query_string", b""), headers.get(b"accept-encoding", b""), who.encode())
    return hashlib.sha256(b"\0".join(parts)).digest(), who


async def _gone(receive: Receive) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass


def _nobody_asks(work: asyncio.Task[None]) -> None:
    """What became of it is nobody's business; asked here, so that nobody is told of an error that was never looked at."""
    if not work.cancelled():
        work.exception()
