"""The groups whose books are open: opened when somebody asks for one, closed after a long time without anybody, and when it is shut.

What goes wrong with one group's book is that group's alone: it is written to the log, whoever asks is told to come again, and it is
tried again after a while. All of this runs on the event loop's thread; what takes time runs in others.
"""

import asyncio
import logging
import time
from collections.abc import Callable
from contextlib import AsyncExitStack, suppress
from dataclasses import dataclass, field
from typing import Any

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool

from proofyard import owners_alone
from proofyard.access.connections import Connections
from proofyard.access.seats import new_token
from proofyard.app import create_app
from proofyard.assembled import OfAServer
from proofyard.exchange.photo_files import take_former
from proofyard.groups.places import Place
from proofyard.groups.reading import settings_of
from proofyard.groups.register import Register
from proofyard.live.page_workers import PageWorkers
from proofyard.live.workers_of_one import WorkersOfOne
from proofyard.opening import HeldFolder, open_book, refuse_damaged
from proofyard.settings import BOOK_FILE, Settings
from proofyard.storage import Storage

log = logging.getLogger("proofyard")

CLOSED_AFTER_S = 30 * 60.0  # without anybody; a page that listens for changes is somebody
TRIED_AGAIN_AFTER_S = 15.0
ANSWERS_END_WITHIN_S = 120.0  # a big download
STOP_WITHIN_S = 2.0


class LinksOfOne:
    """The owner's link of one group, kept in its row: the command makes it, the server takes it."""

    def __init__(self, register: Register, name: str) -> None:
        self._register, self._name = register, name

    def new(self) -> str:
        token = new_token()
        self._register.keep_link(self._name, token)
        return token

    def is_open(self, token: str) -> bool:
        return self._register.link_is_open(self._name, token)

    def use(self, token: str) -> bool:
        return self._register.use_link(self._name, token)


class ConnectionsOfOne:
    """The server's connections, of which one group hears its own."""

    def __init__(self, connections: Connections, name: str) -> None:
        self._connections, self._name = connections, name

    def __len__(self) -> int:
        return self._connections.of(self._name)

    def seated(self, key: object) -> None:
        self._connections.seated_in(self._name, key)

    def listens(self, key: object) -> None:
        self._connections.listens(key)


@dataclass(frozen=True)
class Read:
    """Where a page's book lies, as it goes to the process that makes the page."""

    place: Place
    demo: bool

    @property
    def name(self) -> str:
        return self.place.name


class CantOpen(Exception):
    """A group's book can't be opened now; the log says why."""

    def __init__(self, again_s: float) -> None:
        super().__init__(f"not now; again in {again_s:.0f} s")
        self.again_s = again_s


@dataclass
class Opened:
    """One group, open. in_hand: requests that are being answered, open streams too; asked_at: of the last one, by the clock of `time`."""

    app: FastAPI
    held: HeldFolder
    kept: AsyncExitStack
    in_hand: int = 0
    asked_at: float = field(default_factory=time.monotonic)


class OpenGroups:
    """`make`: gives the app of an open book; another one only in tests."""

    def __init__(
        self,
        register: Register,
        settings: Settings,
        connections: Connections,
        workers: PageWorkers | None,
        *,
        addresses: Callable[[], list[str]] | None = None,
        closed_after_s: float = CLOSED_AFTER_S,
    ) -> None:
        self._register, self._settings, self._connections, self._workers = register, settings, connections, workers
        self._more = {"addresses": addresses} if addresses else {}
        self._closed_after_s = closed_after_s
        self._open: dict[str, Opened] = {}
        self._turns: dict[str, asyncio.Lock] = {}
        self._not_before: dict[str, float] = {}
        self._closing: dict[str, asyncio.Task[None]] = {}

    @property
    def names(self) -> frozenset[str]:
        """Of those that are open now."""
        return frozenset(self._open)

    def app_of(self, name: str) -> FastAPI:
        """The app of a group that is open."""
        return self._open[name].app

    async def begin(self, place: Place) -> Opened:
        """The group, opened if it isn't yet; it stays open until `end`.

        Raises
            CantOpen  its book can't be opened; others are not touched by it
        """
        async with self._turns.setdefault(place.name, asyncio.Lock()):
            found = self._open.get(place.name)
            if found is None:
                wait = self._not_before.get(place.name, 0.0) - time.monotonic()
                if wait > 0:
                    raise CantOpen(wait)
                try:
                    found = self._open[place.name] = await self._opened(place)
                except Exception as error:
                    self._not_before[place.name] = time.monotonic() + TRIED_AGAIN_AFTER_S
                    log.error("the book of group %s can't be opened: %s", place.name, error, exc_info=not _in_words(error))
                    raise CantOpen(TRIED_AGAIN_AFTER_S) from error
            found.in_hand += 1
            found.asked_at = time.monotonic()
            return found

    def end(self, found: Opened) -> None:
        found.in_hand -= 1
        found.asked_at = time.monotonic()

    async def _opened(self, place: Place) -> Opened:
        held, app = await run_in_threadpool(self._open_book, place)
        kept = AsyncExitStack()
        await kept.enter_async_context(app.router.lifespan_context(app))
        return Opened(app, held, kept)

    def _open_book(self, place: Place) -> tuple[HeldFolder, FastAPI]:
        held = HeldFolder(place.folder)
        try:
            if not place.database:
                refuse_damaged(place.folder / BOOK_FILE)
            owners_alone.mend(place.folder)
            storage = open_book(place.folder, address=place.database, photos=place.photos)
            try:
                take_former(place.folder)
                return held, self._app_of(place, storage)
            except BaseException:
                storage.close()
                raise
        except BaseException:
            held.let_go()
            raise

    def _app_of(self, place: Place, storage: Storage) -> FastAPI:
        workers = WorkersOfOne(self._workers, Read(place, demo=False)) if self._workers else None
        shared = OfAServer(LinksOfOne(self._register, place.name), ConnectionsOfOne(self._connections, place.name), workers)
        more: dict[str, Any] = self._more
        app = create_app(storage, settings_of(place, self._settings), names=self._settings.names, of_a_server=shared, **more)
        if workers:
            workers.place = Read(place, demo=app.state.demo)
        return app

    def close_idle(self, may_stay: frozenset[str]) -> None:
        """Begin to close those that nobody has asked for, and those that may not stay; the others go on."""
        now = time.monotonic()
        for name, one in list(self._open.items()):
            if name not in may_stay or (one.in_hand == 0 and now - one.asked_at > self._closed_after_s):
                closing = self._closing.get(name)
                if closing is None or closing.done():
                    self._closing[name] = asyncio.create_task(self.close(name))

    async def close(self, name: str, *, within_s: float = ANSWERS_END_WITHIN_S) -> None:
        """Close one group: its streams end, what is being answered is waited for, and then its book."""
        async with self._turns.setdefault(name, asyncio.Lock()):
            found = self._open.get(name)
            if found is None:
                return
            found.app.state.doorbell.close()
            until = time.monotonic() + within_s
            while found.in_hand and time.monotonic() < until:
                await asyncio.sleep(0.02)
            with suppress(Exception):  # it is closed as far as it can be; the others' turn comes
                await found.kept.aclose()
            with suppress(Exception):
                await run_in_threadpool(found.app.state.storage.end, within_s=within_s)
            found.held.let_go()
            del self._open[name]

    def close_bells(self) -> None:
        """End every open stream: the server stops."""
        for one in list(self._open.values()):
            one.app.state.doorbell.close()

    async def close_all(self) -> None:
        for name in list(self._open):
            await self.close(name, within_s=STOP_WITHIN_S)


def _in_words(error: Exception) -> bool:
    from proofyard.storage import StorageTrouble

    return isinstance(error, StorageTrouble)
