"""The app, put together: the book, who may do what, every page."""

import asyncio
import signal
import sys
import threading
from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import asynccontextmanager, suppress
from types import FrameType
from typing import Any

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import ASGIApp

from server.access.door import Door
from server.access.gate import Gate
from server.access.hosts import own_addresses
from server.api import changes, holds, operations, snapshot, sound_levels
from server.api import pictures as sent_pictures
from server.exchange.copies import Copies
from server.findings.warm_up import warm_up
from server.live import stream
from server.live.doorbell import Doorbell
from server.live.hands import FOR_LISTENERS, FOR_WORKING_OUT, Hands
from server.live.holds import Holds
from server.pages import (
    blow_behind,
    bows,
    compare,
    download,
    failures,
    guide,
    half_through,
    health,
    home,
    incidents,
    join,
    kit,
    methods,
    notebook,
    panels,
    parts,
    phones,
    photographs,
    pictures,
    plain_log,
    preferences,
    quick_start,
    range_card,
    range_shell,
    results,
    sessions,
    sheet,
    shots,
    speed_tools,
    speeds,
    trials,
    typed_in,
    what_if,
)
from server.pages.assets import assets_router
from server.pages.rendering import assets
from server.records import devices
from server.records.phone_queue import PhoneQueues
from server.settings import Settings
from server.storage import Storage

ROUTERS = tuple(
    part.router
    for part in (
        home, join, phones, preferences, trials, sessions, shots, panels, kit, quick_start, speeds, speed_tools, bows, results, half_through, compare, what_if, blow_behind, methods, guide, download,
        notebook, health, plain_log, sheet, typed_in, incidents, range_card, pictures, photographs, sent_pictures, range_shell, parts, operations, snapshot, changes, holds, sound_levels, stream,
    )
)  # fmt: skip

HEARD_EVERY_S = 20.0
SWITCH_S = 0.001  # how long one thread may keep the others waiting: a save goes through a dozen such waits while others listen


class Proofyard(FastAPI):
    """FastAPI with our door around all of it, the pages of faults too."""

    def build_middleware_stack(self) -> ASGIApp:
        return Door(super().build_middleware_stack(), self.state.gate)


def create_app(
    storage: Storage, settings: Settings, *, names: Iterable[str] = (), addresses: Callable[[], list[str]] = own_addresses
) -> FastAPI:
    """The app of one open book. The caller keeps the folder held; the storage is closed when the app stops.

    names      further names and addresses that this laptop is reached by; the first one stands in the join code
    addresses  this laptop's addresses, asked for whenever they are shown

    Beside the app, for the command line: `app.state.gate.owner_link()` gives the path of a new one-time owner link,
    `app.state.gate.addresses.to_join()` the addresses for phones, and `app.state.doorbell.close()` ends open streams.
    """
    bell = Doorbell(storage)

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        sys.setswitchinterval(SWITCH_S)
        threading.Thread(target=warm_up, name="warm-up", daemon=True).start()
        hearing = asyncio.create_task(write_heard_now_and_then(app.state.gate))
        app.state.copies.begin()
        with BellBeforeExit(bell):
            yield
        bell.close()
        hearing.cancel()
        await run_in_threadpool(app.state.copies.end)
        app.state.gate.seats.write_heard(quiet_s=0.0)
        await run_in_threadpool(app.state.phone_queues.close)
        app.state.listening.close()
        app.state.working_out.close()
        storage.close()

    app = Proofyard(title="Proofyard", openapi_url=None, docs_url=None, redoc_url=None, lifespan=lifespan)
    with storage.write() as session:
        book = devices.make_book(session, demo=settings.demo)
        demo = bool(book.demo)
    app.state.storage = storage
    app.state.settings = settings
    app.state.demo = demo
    app.state.doorbell = bell
    app.state.holds = Holds()
    app.state.told_alike = snapshot.ToldAlike()
    app.state.phone_queues, app.state.listening = PhoneQueues(storage), Hands("listening", FOR_LISTENERS)
    app.state.working_out = Hands("working-out", FOR_WORKING_OUT)
    app.state.copies = Copies(storage, also_to=settings.also_to)
    app.state.gate = Gate(storage, settings, names=names, now=addresses)
    app.state.gate.seats.when_changed(bell.ring)
    failures.install(app)
    # Pages and the phones' state of the book, a fifth as long; what is packed already and the live stream go as they are.
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    for router in (assets_router(assets()), *ROUTERS):
        app.include_router(router)
    return app


async def write_heard_now_and_then(gate: Gate) -> None:
    while True:
        await asyncio.sleep(HEARD_EVERY_S)
        await run_in_threadpool(gate.seats.write_heard)


class BellBeforeExit:
    """Ends open streams when the server is told to stop.

    The server waits for open answers before it tells the app to stop, so the app has to hear the signal itself: it
    puts its hand before the server's, and takes it away again.
    """

    def __init__(self, bell: Doorbell) -> None:
        self._bell = bell
        self._before: dict[int, Any] = {}

    def __enter__(self) -> None:
        if threading.current_thread() is not threading.main_thread():
            return  # only the main thread may listen to signals; whoever runs a server elsewhere closes the bell itself
        for number in (signal.SIGINT, signal.SIGTERM):
            before = signal.getsignal(number)
            if callable(before):
                self._before[number] = before
                signal.signal(number, self._hand(before))

    def _hand(self, before: Callable[[int, FrameType | None], Any]) -> Callable[[int, FrameType | None], None]:
        def on_signal(number: int, frame: FrameType | None) -> None:
            self._bell.close()
            before(number, frame)

        return on_signal

    def __exit__(self, *_: object) -> None:
        for number, before in self._before.items():
            with suppress(ValueError):
                signal.signal(number, before)
