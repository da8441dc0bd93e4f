"""Pages that many shots go into, as they were made, for as long as the book stands as it stood when they were.

The server keeps them, in its memory: its workers come and go, and what one of them made another need not make again. Whether the
book stands as it stood is asked of the book for every page, by the number of the last change. So a page that is kept is the page
that would be made, and a change that anybody saved, here or at another server, is in the next one.
"""

import contextlib
import re
from collections import OrderedDict
from collections.abc import Awaitable, Callable, Hashable

from starlette.concurrency import run_in_threadpool
from starlette.requests import cookie_parser
from starlette.types import Message, Receive, Scope, Send

from proofyard.access.seats import STRANGER, Seat
from proofyard.storage import StorageTrouble

# What rests on the records and on nothing else: no clock, no picture, nobody's name who looks.
OF_RECORDS = re.compile("/(results|fifty-percent|compare|protection|measures|arrow-damage|blunt)(/.*)?")
MOST_BYTES = 16_000_000
MOST_OF_A_PAGE = 1_000_000
# Of a request, what no page looks at. All else that it says tells one page from another.
NOT_LOOKED_AT = re.compile(
    rb"cookie|user-agent|referer|accept-language|cache-control|pragma|connection|keep-alive|dnt|upgrade-insecure-requests|priority|sec-.*"
)
LOOKED_AT_COOKIES = ("theme", "units")

Make = Callable[[Scope, Receive, Send], Awaitable[None]]


class KeptPages:
    """Answers of `make`, kept.

    stands  asked of the book: the same as before if every page is the same as before
    """

    def __init__(self, make: Make, stands: Callable[[], Hashable], *, most_bytes: int = MOST_BYTES) -> None:
        self._make, self._stands, self._most_bytes = make, stands, most_bytes
        self._as_of: Hashable = None
        self._kept: OrderedDict[Hashable, list[Message]] = OrderedDict()
        self._bytes = 0

    async def answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        """As `make` answers. Raises what that raises."""
        key = asked_for(scope)
        before = None if key is None else await self._standing()
        if key is None or before is None:
            await self._make(scope, receive, send)
            return
        if before != self._as_of:
            self._as_of, self._bytes = before, 0
            self._kept.clear()
        kept = self._kept.get(key)
        if kept is not None:
            self._kept.move_to_end(key)
            for message in kept:
                await send(message)
            return
        said: list[Message] = []

        async def note(message: Message) -> None:
            said.append(message)
            await send(message)

        await self._make(scope, receive, note)
        # It was made of the book as it stood at some moment since: of that state, if both ends of the time are of it.
        if _is_whole(said) and self._as_of == before == await self._standing():
            self._keep(key, said)

    async def _standing(self) -> Hashable:
        """None: the book can't be asked now, which whoever makes the page says better."""
        with contextlib.suppress(StorageTrouble):
            return await run_in_threadpool(self._stands)
        return None

    def _keep(self, key: Hashable, said: list[Message]) -> None:
        size = _size(said)
        if size > MOST_OF_A_PAGE or key in self._kept:
            return
        self._kept[key] = said
        self._bytes += size
        while self._bytes > self._most_bytes:
            self._bytes -= _size(self._kept.popitem(last=False)[1])


def asked_for(scope: Scope) -> Hashable:
    """What tells this request's page from another; None for one that isn't kept."""
    if scope["method"] != "GET" or not OF_RECORDS.fullmatch(scope["path"]):
        return None
    seat: Seat = scope["state"].get("seat", STRANGER)
    said = tuple(sorted((name, value) for name, value in scope["headers"] if not NOT_LOOKED_AT.fullmatch(name)))
    return (
        *(scope.get(name) for name in ("scheme", "path", "query_string", "root_path")),
        *(seat.role, seat.trial_id, seat.program),
        said,
        _cookies(scope),
    )


def _cookies(scope: Scope) -> tuple[str, ...]:
    """What a reader chose for this phone."""
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        if name == b"cookie":
            found.update(cookie_parser(value.decode("latin-1")))
    return tuple(found.get(name, "") for name in LOOKED_AT_COOKIES)


def _is_whole(said: list[Message]) -> bool:
    """Whether it is a page, all of it, and for anybody in such a seat."""
    if not said or said[0].get("status") != 200 or any(name.lower() == b"set-cookie" for name, _ in said[0].get("headers", ())):
        return False
    return len(said) > 1 and said[-1]["type"] == "http.response.body" and not said[-1].get("more_body", False)


def _size(said: list[Message]) -> int:
    return sum(len(one.get("body", b"")) for one in said)
