"""What stands before the groups of one server: it hands each request to the group that its path names, and to nobody else.

A group that there isn't and one that is shut are told alike, and neither costs anything: the rows are held in memory and read again every
few seconds. The first page says one sentence, and names those groups alone that somebody chose to show.
"""

import asyncio
import html
import logging
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from types import SimpleNamespace

import anyio.to_thread
from starlette.concurrency import run_in_threadpool
from starlette.routing import Router
from starlette.types import ASGIApp, Receive, Scope, Send

from proofyard.access.connections import Connections
from proofyard.access.door import NOT_OURS, STREAMS, with_headers
from proofyard.access.hosts import OwnAddresses, own_addresses
from proofyard.access.proxy import BehindProxies
from proofyard.assembled import serving_alone
from proofyard.groups.names import group_asked_for, path_of_group
from proofyard.groups.open_groups import CLOSED_AFTER_S, CantOpen, OpenGroups
from proofyard.groups.places import place_of
from proofyard.groups.register import Group, Register
from proofyard.groups.shares import Shares
from proofyard.live.page_workers import PageWorkers
from proofyard.settings import Settings, database
from proofyard.storage import StorageTrouble

log = logging.getLogger("proofyard")

LOOKS_EVERY_S = 2.0
MOST_IN_HAND = 96  # of all groups; each has its own limits besides
MOST_STREAMS = 384  # half of the connections that a server holds
TITLE = "Proofyard"
ONE_SENTENCE = "Groups of archers keep their books here. Open the link that your group’s owner gave you."
PAGE = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
    "<title>{title}</title></head><body><main><h1>{title}</h1><p>{sentence}</p>{groups}</main></body></html>"
)
NOT_FOUND = "Page not found. Check the address, or ask your group’s owner for the link."
NOT_NOW = "This book can’t be opened now. Nothing was lost: try again in a moment, and tell whoever keeps the server."
BUSY = "The server has its hands full with this group. Nothing was lost: try again in a moment."


class Front:
    """The app of a server with several groups.

    Beside it, for the command line: `state.gate.addresses` and `state.gate.connections`, as of the app of one book.
    """

    def __init__(
        self,
        register: Register,
        settings: Settings,
        *,
        workers: PageWorkers | None = None,
        addresses: Callable[[], list[str]] = own_addresses,
        looks_every_s: float = LOOKS_EVERY_S,
        closed_after_s: float = CLOSED_AFTER_S,
    ) -> None:
        self._register, self._settings, self._workers, self._looks_every_s = register, settings, workers, looks_every_s
        https, further = settings.certificate is not None, settings.https_port if settings.also_https else None
        own = OwnAddresses(
            host=settings.host, port=settings.port, names=settings.names, now=addresses, https=https, also_https=further, path=settings.path
        )
        self.state = SimpleNamespace(gate=SimpleNamespace(addresses=own, connections=Connections(proxies=settings.proxies)))
        self.opened = OpenGroups(
            register, settings, self.state.gate.connections, workers, addresses=addresses, closed_after_s=closed_after_s
        )
        self._kept_in = database()
        self._groups: Mapping[str, Group] = register.all()
        self._in_hand, self._streams = Shares(MOST_IN_HAND), Shares(MOST_STREAMS)
        self._router = Router(lifespan=lambda _: self.running())
        inside: ASGIApp = self._answer
        self._app = BehindProxies(inside, settings.proxies) if settings.proxies else inside

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._router(scope, receive, send)
        elif scope["type"] == "http":
            await self._app(scope, receive, send)
        else:
            await send({"type": "websocket.close", "code": 1008})

    @asynccontextmanager
    async def running(self) -> AsyncIterator[None]:
        """What the server does besides answering, from its start to its stop."""
        # A request in hand may hold a thread: with fewer of them, one group could take all.
        anyio.to_thread.current_default_thread_limiter().total_tokens = MOST_IN_HAND
        looking = asyncio.create_task(self._look_for_ever())
        try:
            async with serving_alone(self.state.gate.connections, self.opened.close_bells):
                yield
        finally:
            looking.cancel()
            await self.opened.close_all()
            if self._workers:
                await run_in_threadpool(self._workers.close)

    async def _look_for_ever(self) -> None:
        while True:
            await asyncio.sleep(self._looks_every_s)
            await self.look()

    async def look(self) -> None:
        """Read the rows again, and close what is shut or idle. While they can't be read, the groups that were known go on."""
        try:
            self._groups = await run_in_threadpool(self._register.all)
        except StorageTrouble as trouble:
            log.warning("The list of groups can't be read: %s", trouble)
        self.opened.close_idle(frozenset(name for name, group in self._groups.items() if group.is_open))

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        asked = group_asked_for(scope["path"], below=self._settings.path)
        group = self._groups.get(asked[0]) if asked else None
        if asked is None or group is None or not group.is_open:
            await self._say(scope, send)
            return
        name, rest = asked
        streams = rest == STREAMS
        shares = self._streams if streams else self._in_hand
        if not shares.begin(name):
            await _text(send, 503, BUSY, again_s=30 if streams else 2)
            return
        try:
            await self._hand_on(group, rest, scope, receive, send)
        finally:
            shares.end(name)

    async def _hand_on(self, group: Group, rest: str, scope: Scope, receive: Receive, send: Send) -> None:
        place = place_of(group, self._settings.folder, kept_in=self._kept_in, below=self._settings.path)
        try:
            found = await self.opened.begin(place)
        except CantOpen as cant:
            await _text(send, 503, NOT_NOW, again_s=int(cant.again_s) + 1)
            return
        try:
            if not scope["path"].startswith(place.path):  # a proxy took the server's own path off
                raw = self._settings.path.encode() + (scope.get("raw_path") or scope["path"].encode())
                scope = {**scope, "path": place.path + rest, "raw_path": raw}
            await found.app(scope, receive, send)
        finally:
            self.opened.end(found)

    async def _say(self, scope: Scope, send: Send) -> None:
        """The server's own pages: the first one, and that there is none."""
        named = dict(reversed(scope["headers"])).get(b"host", b"").decode("latin-1")
        https = scope.get("scheme") == "https"
        if not self.state.gate.addresses.allows(named, came_in_on=scope.get("server"), https=https):
            await _text(send, 400, NOT_OURS)
        elif scope["method"] in ("GET", "HEAD") and scope["path"] in ("/", self._settings.path, f"{self._settings.path}/"):
            await _send(send, 200, b"text/html; charset=utf-8", self._first_page().encode(), head=scope["method"] == "HEAD")
        else:
            await _text(send, 404, NOT_FOUND, head=scope["method"] == "HEAD")

    def _first_page(self) -> str:
        shown = [one for one in self._groups.values() if one.shown and one.is_open]
        links = "".join(
            f'<li><a href="{path_of_group(one.name, below=self._settings.path)}/">{html.escape(one.call_name)}</a></li>' for one in shown
        )
        groups = f"<ul>{links}</ul>" if links else ""
        return PAGE.format(title=TITLE, sentence=ONE_SENTENCE, groups=groups)


async def _text(send: Send, status: int, sentence: str, *, again_s: int | None = None, head: bool = False) -> None:
    await _send(send, status, b"text/plain; charset=utf-8", sentence.encode(), again_s=again_s, head=head)


async def _send(send: Send, status: int, kind: bytes, body: bytes, *, again_s: int | None = None, head: bool = False) -> None:
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode())]
    if again_s is not None:
        headers.append((b"retry-after", str(again_s).encode()))
    send = with_headers(send)
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": b"" if head else body})
