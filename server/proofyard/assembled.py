"""The app, put together: the book, who may do what, every page."""

import asyncio
import signal
import sys
import threading
import time
from collections.abc import AsyncIterator, Callable, Iterable, Iterator
from contextlib import asynccontextmanager, contextmanager, nullcontext, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any

from fastapi import FastAPI
from starlette.concurrency import run_in_threadpool
from starlette.middleware.gzip import GZipMiddleware
from starlette.types import ASGIApp, Receive, Scope, Send

from proofyard.access.connections import Connections, Counts, CountsRequests, Pace, Places, sweep_for_ever
from proofyard.access.door import Door, HeadWhereGet
from proofyard.access.gate import Gate, Links
from proofyard.access.hosts import own_addresses
from proofyard.access.proxy import AddressesBelow, BehindProxies, BelowPath, OwnCookies
from proofyard.answers.find.index import SearchIndex
from proofyard.api import changes, faults, holds, metrics, operations, snapshot, sound_levels
from proofyard.api import photos as sent_photos
from proofyard.api.v1 import interface
from proofyard.exchange.bring_in.held import HeldSheets
from proofyard.exchange.copies import Copies
from proofyard.live import cache_filler, stream
from proofyard.live.cache_filler import CacheFiller
from proofyard.live.doorbell import Doorbell
from proofyard.live.fits import AsksForFits, FitsToKeep
from proofyard.live.hands import FOR_LISTENERS, FOR_WORKING_OUT, Hands
from proofyard.live.holds import holds_of
from proofyard.live.page_workers import InWorkers, PageWorkers
from proofyard.live.workers_of_one import WorkersOfOne
from proofyard.opening import the_book
from proofyard.pages.another_bow import page as another_bow
from proofyard.pages.arrow import page as arrows
from proofyard.pages.arrow_damage import page as arrow_damage
from proofyard.pages.blunt import page as blunt
from proofyard.pages.bow import page as bows
from proofyard.pages.bring_in import page as bring_in
from proofyard.pages.compare import page as compare
from proofyard.pages.connected import https, join, phones, programs
from proofyard.pages.download import page as download
from proofyard.pages.fifty_percent import page as fifty_percent
from proofyard.pages.find import page as find
from proofyard.pages.frame import failures
from proofyard.pages.frame.assets import assets_router
from proofyard.pages.frame.being_made import still_being_made
from proofyard.pages.frame.rendering import assets
from proofyard.pages.home import guide, health, home, more, preferences
from proofyard.pages.kit import page as kit
from proofyard.pages.kit import quick_start
from proofyard.pages.measures import page as measures
from proofyard.pages.methods import page as methods
from proofyard.pages.notebook import page as notebook
from proofyard.pages.other_books import page as other_books
from proofyard.pages.panel import page as panels
from proofyard.pages.panel import photograph as photographs
from proofyard.pages.paper_log import plain_log, sheet, typed_in
from proofyard.pages.parts import page as parts
from proofyard.pages.photos import page as photos
from proofyard.pages.pool import page as pool
from proofyard.pages.protection import page as protection
from proofyard.pages.publish import page as publish
from proofyard.pages.range import day_sheet as range_day_sheet
from proofyard.pages.range import shell as range_shell
from proofyard.pages.range import worker as range_worker
from proofyard.pages.results import page as results
from proofyard.pages.session import page as sessions
from proofyard.pages.shot import page as shots
from proofyard.pages.shots import page as all_shots
from proofyard.pages.speeds import page as speeds
from proofyard.pages.speeds import tools as speed_tools
from proofyard.pages.trial import page as trials
from proofyard.pages.what_if import page as what_if
from proofyard.records import devices
from proofyard.records.notebook import latest_seq
from proofyard.records.phone_queue import PhoneQueues
from proofyard.settings import Settings
from proofyard.storage import Storage, StorageTrouble
from proofyard.warm_up import warm_up

ROUTERS = tuple(
    part.router
    for part in (
        home,
        join,
        phones,
        programs,
        https,
        preferences,
        more,
        trials,
        sessions,
        all_shots,
        find,
        shots,
        panels,
        arrows,
        kit,
        quick_start,
        speeds,
        speed_tools,
        bows,
        results,
        fifty_percent,
        another_bow,
        protection,
        pool,
        arrow_damage,
        measures,
        compare,
        what_if,
        blunt,
        methods,
        guide,
        download,
        publish,
        other_books,
        bring_in,
        notebook,
        health,
        plain_log,
        sheet,
        typed_in,
        range_day_sheet,
        photos,
        photographs,
        sent_photos,
        range_shell,
        range_worker,
        parts,
        operations,
        snapshot,
        changes,
        holds,
        sound_levels,
        faults,
        metrics,
        interface,
        stream,
    )
)

HEARD_EVERY_S = 20.0
TIDIED_EVERY_S = 10.0
MUCH_JOURNAL = 24_000_000  # bytes of the book's journal, from which on readers wait a moment for it
SWITCH_S = 0.001  # how long one thread may keep the others waiting: a save goes through a dozen such waits while others listen


@dataclass(frozen=True)
class OfAServer:
    """What the app of a group shares with those of other groups, or is given by the server that has them all.

    links        where its owner's link is kept
    connections  those of the server, of which it is told its own alone
    workers      its part of the processes that make long pages
    """

    links: Links
    connections: Places
    workers: WorkersOfOne | None


class Proofyard(FastAPI):
    """FastAPI with our door around all of it, the pages of faults too; around that, HEAD."""

    def build_middleware_stack(self) -> ASGIApp:
        inside = Door(super().build_middleware_stack(), self.state.gate)
        return outermost(HeadWhereGet(CountsRequests(inside, self.state.counts)), self.state.settings)


def outermost(app: ASGIApp, settings: Settings) -> ASGIApp:
    """What is there behind a reverse proxy alone: everything within speaks with the phone as if it came by itself."""
    if settings.group:
        app = OwnCookies(app, settings.group)
    if settings.path:
        app = BelowPath(app, settings.path)
    if settings.group:
        return app  # the proxies stand before the server of all groups
    return BehindProxies(app, settings.proxies) if settings.proxies else app


def create_app(
    storage: Storage,
    settings: Settings,
    *,
    names: Iterable[str] = (),
    addresses: Callable[[], list[str]] = own_addresses,
    page_workers: int = 0,
    of_a_server: OfAServer | None = None,
) -> FastAPI:
    """The app of one open book. The caller keeps the folder held; the storage is closed when the app stops.

    names      further names and addresses that this laptop is reached by; the first one stands in the join code
    addresses  this laptop's addresses, asked for whenever they are shown
    page_workers  processes that make long pages; 0: they are made here
    of_a_server   for one group of several: then signals and connections are the server's to look after

    Beside the app, for the command line: `app.state.gate.owner_link()` gives the path of a new one-time owner link,
    `app.state.gate.addresses.to_join()` the addresses for phones, and `app.state.doorbell.close()` ends open streams.
    """
    bell = Doorbell(storage)

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        alone = serving_alone(app.state.gate.connections, bell.close) if of_a_server is None else nullcontext()
        async with alone:
            await begin(app, storage)
            yield
        await end(app, storage, bell)

    with storage.write() as session:
        demo = bool(devices.make_book(session, demo=settings.demo).demo)
    app = Proofyard(title="Proofyard", openapi_url=None, docs_url=None, redoc_url=None, lifespan=lifespan)
    put_together(app, storage, settings, demo=demo)
    app.state.doorbell, app.state.counts = bell, Counts(lambda: app.routes)
    app.state.holds = holds_of(storage)
    app.state.told_alike = snapshot.ToldAlike()
    app.state.faults_told = Pace(faults.MOST_EACH_MINUTE, 60.0)
    app.state.phone_queues, app.state.listening = PhoneQueues(storage), Hands("listening", FOR_LISTENERS)
    app.state.copies = Copies(storage, also_to=settings.also_to)
    links, connections = (of_a_server.links, of_a_server.connections) if of_a_server else (None, None)
    app.state.gate = Gate(storage, settings, names=names, now=addresses, links=links, connections=connections)
    app.state.gate.trouble_page = failures.on_storage_trouble
    app.state.gate.seats.when_changed(bell.ring)
    app.state.app_to_publish, app.state.page_workers = app_without_door, None
    workers: PageWorkers | WorkersOfOne | None = of_a_server.workers if of_a_server else None
    if page_workers:
        workers = PageWorkers(partial(app_that_reads, storage.path, settings, demo=demo), page_workers)
    if workers:
        send_long_pages_to(workers, app, storage, settings)
    return app


def send_long_pages_to(workers: PageWorkers | WorkersOfOne, app: FastAPI, storage: Storage, settings: Settings) -> None:
    app.state.page_workers, storage.read_elsewhere = workers, lambda: workers.busy > 0
    app.state.fits_to_keep = FitsToKeep()
    waiting = AddressesBelow(still_being_made, settings.path) if settings.path else still_being_made
    app.add_middleware(InWorkers, workers=workers, waiting=waiting, stands=partial(last_change, storage), keeps=app.state.fits_to_keep.note)


def last_change(storage: Storage) -> int:
    """The number of the book's last change: while it is the same, every page made of records is the same."""
    with storage.read() as session:
        return latest_seq(session)


@asynccontextmanager
async def serving_alone(connections: Connections, close_bells: Callable[[], None]) -> AsyncIterator[None]:
    """What a server does once, however many books it has: silent connections are closed, and open streams end before it stops."""
    sys.setswitchinterval(SWITCH_S)
    sweeping = asyncio.create_task(sweep_for_ever(connections))
    with BellBeforeExit(close_bells):
        yield
    sweeping.cancel()


async def begin(app: FastAPI, storage: Storage) -> None:
    """What an open book does by itself."""
    threading.Thread(target=get_ready, args=(app,), name="warm-up", daemon=True).start()
    app.state.by_itself = [
        asyncio.create_task(write_heard_now_and_then(app.state.gate)),
        asyncio.create_task(tidy_now_and_then(storage, app.state.page_workers)),
    ]
    app.state.cache_filler = CacheFiller(storage, app.state.page_workers, app.state.fits_to_keep) if app.state.page_workers else None
    if app.state.cache_filler:
        app.state.cache_filler.begin()
    app.state.copies.begin()


async def end(app: FastAPI, storage: Storage, bell: Doorbell) -> None:
    bell.close()
    for task in app.state.by_itself:
        task.cancel()
    if app.state.cache_filler:
        await app.state.cache_filler.close()
    await run_in_threadpool(app.state.copies.end)
    app.state.gate.seats.write_heard(quiet_s=0.0)
    await run_in_threadpool(app.state.phone_queues.close)
    app.state.listening.close()
    app.state.working_out.close()
    if app.state.page_workers:
        await app.state.page_workers.forget_left_pages()
        await run_in_threadpool(app.state.page_workers.close)  # before the book: the last to let go of it is its writer
    storage.close()


def put_together(app: FastAPI, storage: Storage, settings: Settings, *, demo: bool) -> None:
    """What the app and its workers share: the book, every page, how failures are told."""
    app.state.storage, app.state.settings, app.state.demo = storage, settings, demo
    app.state.search = SearchIndex(storage)
    app.state.held_sheets = HeldSheets()
    app.state.working_out = Hands("working-out", FOR_WORKING_OUT)
    failures.install(app)
    if settings.path:
        app.add_middleware(AddressesBelow, path=settings.path)  # within the next: a packed page can't be read
    # Pages and the phones' state of the book, a fifth as long; what is packed already and the live stream go as they are.
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    for router in (assets_router(assets()), *ROUTERS):
        app.include_router(router)


def app_that_reads(book: Path, settings: Settings, *, demo: bool) -> FastAPI:
    """The app of a worker: the same pages with the same questions after the seat, on a book that it can't write.

    It has no door: who asks comes with the request, as the server's own door found it.
    """
    app = FastAPI(title="Proofyard", openapi_url=None, docs_url=None, redoc_url=None)
    storage = the_book(book.parent, writes=False, address=settings.database, photos=settings.photos)
    put_together(app, storage, settings, demo=demo)
    app.add_middleware(AsksForFits, book=storage)
    app.include_router(cache_filler.router)
    app.state.warm_up = warm_up
    return app


@contextmanager
def app_without_door(book: Path) -> Iterator[ASGIApp]:
    """The app on a book of its own, to be asked within this process: who asks stands in the request, and nobody else can reach it."""
    storage = Storage(book)
    app = create_app(storage, Settings(book.parent))
    inside = FastAPI.build_middleware_stack(app)

    async def answer(scope: Scope, receive: Receive, send: Send) -> None:
        scope["app"] = app
        await inside(scope, receive, send)

    try:
        yield answer
    finally:
        storage.close()


def get_ready(app: FastAPI) -> None:
    """What takes a second or more to load or to make, while nobody waits. A server that is told to stop meanwhile just stops."""
    warm_up()
    with suppress(Exception):  # whoever searches makes it again, and hears of what is wrong
        if not app.state.doorbell.closing:  # a group's book may be closed while its server goes on
            app.state.search.make_ready()


async def write_heard_now_and_then(gate: Gate) -> None:
    while True:
        await asyncio.sleep(HEARD_EVERY_S)
        await run_in_threadpool(gate.seats.write_heard)


async def tidy_now_and_then(storage: Storage, workers: PageWorkers | WorkersOfOne | None) -> None:
    while True:
        await asyncio.sleep(TIDIED_EVERY_S)
        with suppress(StorageTrouble):  # a save will say it
            await run_in_threadpool(tidy, storage, workers)


def tidy(storage: Storage, workers: PageWorkers | WorkersOfOne | None) -> bool:
    """Empty the book's journal while nobody reads or saves; where readers never leave a gap and it has grown, make one."""
    if storage.tidy() or storage.journal_bytes() < MUCH_JOURNAL:
        return True
    with workers.held() if workers else nullcontext(True):
        for _ in range(50):
            if storage.tidy():
                return True
            time.sleep(0.02)
    return False


class BellBeforeExit:
    """Ends open streams when the server is told to stop.

    The server waits for open answers before it tells the app to stop, so the app has to hear the signal itself: it
    puts its hand before the server's, and takes it away again.
    """

    def __init__(self, close_bells: Callable[[], None]) -> None:
        self._close_bells = close_bells
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
            self._close_bells()
            before(number, frame)

        return on_signal

    def __exit__(self, *_: object) -> None:
        for number, before in self._before.items():
            with suppress(ValueError):
                signal.signal(number, before)
