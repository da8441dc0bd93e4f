"""Pages that take long to work out, made in processes of their own, so that the threads which serve phones stay free.

One interpreter runs one thread at a time: ten people who leaf through results would each take their turn between two
saves. A worker is the same app without a door. It gets a request that the door has let through, with the seat that the
door found, and asks that seat's rights as the app itself would; it opens the book to read and can't write.

Workers are made when somebody opens a page on which such pages are asked for, run behind everything else, end after a
while without work or when they have grown, and one that dies is replaced. Short pages go first.
"""

import asyncio
import contextlib
import logging
import multiprocessing
import re
import threading
import time
from collections.abc import Callable, Hashable, Iterator
from functools import partial
from typing import TYPE_CHECKING, Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from proofyard.how_far import HowFar
from proofyard.kept_fits import FitsAsked
from proofyard.live.fits import KEEPS
from proofyard.live.kept_pages import KeptPages
from proofyard.live.left_pages import HEARS, LeftPages, opened_by_a_person
from proofyard.live.page_worker import serve_pages
from proofyard.live.shortest_first import UNKNOWN_S, ShortestFirst

if TYPE_CHECKING:
    from proofyard.live.workers_of_one import WorkersOfOne

log = logging.getLogger("proofyard")

SAFE = frozenset({"GET", "HEAD"})
ONE = "[^/]+"
# What reads many shots, or draws. Pages that a phone needs while it shoots are not among them.
LONG = re.compile(
    "/|/(results|fifty-percent|protection|pool|another-bow|arrow-damage|measures|compare)(/.*)?"
    "|/download/[a-z_]+[.]csv|/shots([.]csv)?"
    f"|/combinations(/{ONE})?|/kit|/what-if|/blunt|/bows/{ONE}"
    f"|/(panels|arrows|shots)/{ONE}|/(panels|combinations|sessions)/{ONE}/drawings/.*"
    f"|/api/v1/(shots|results|fifty-percent|comparisons|kit/{ONE}|shots/{ONE}|trials/{ONE})"
    f"|/trials/(?!new$){ONE}|/trials/{ONE}/plan|/trials/{ONE}/report([.](html|csv))?|/sessions/{ONE}/day"
)
# Where long pages are asked for: while somebody looks at one of these, a worker gets ready.
NEAR = re.compile(f"/|/trials|/sessions/{ONE}|/notebook|/download|/more")
ID_LENGTH = 36
GROUP = "proofyard.group"  # in the scope of a request: where the book of its group lies, on a server that has several
# Of a request, what its answer may depend on; the rest is this process's own.
CARRIED = (
    "type",
    "asgi",
    "http_version",
    "method",
    "scheme",
    "path",
    "raw_path",
    "query_string",
    "root_path",
    "headers",
    "client",
    "server",
    GROUP,
)
MOST_SECONDS = 600.0  # a page of the biggest books; a worker that says nothing for so long is taken for dead
ENDS_WITHIN_S = 1.0
TRIES = 2
HELD_S = 10.0  # how long pages wait, at most, while the book's journal is emptied


class WorkerLost(Exception):
    """Two workers died over one page."""


class _Worker:
    """One process and the line to it."""

    def __init__(self, make_app: Callable[[], Any]) -> None:
        self.has_worked = False
        spawn = multiprocessing.get_context("spawn")  # a fork would take along locks that other threads hold
        self.line, theirs = spawn.Pipe()
        self.process = spawn.Process(target=serve_pages, args=(theirs, make_app), name="pages", daemon=True)
        try:
            self.process.start()
        finally:
            theirs.close()

    def ask(self, scope: dict[str, Any], tell: Callable[[Message | HowFar | FitsAsked], None]) -> float | None:
        """Seconds of processor, once all of the answer came; None if the worker died before its first word."""
        began = False
        self.has_worked = True
        try:
            self.line.send(scope)
            while self.line.poll(MOST_SECONDS):
                message = self.line.recv()
                if isinstance(message, float):
                    return message
                began = began or not isinstance(message, HowFar)
                tell(message)
        except (EOFError, OSError):
            pass
        if began:
            raise WorkerLost  # half of an answer is out: it can't be begun again
        return None

    def end(self, *, at_once: bool = False) -> None:
        self.line.close()  # a worker whose line ends, ends
        if not at_once:
            self.process.join(ENDS_WITHIN_S)
        if self.process.is_alive():
            self.process.kill()
        self.process.join(ENDS_WITHIN_S)


class PageWorkers:
    """At most so many workers; whoever comes then waits.

    make_app  what a worker calls to get its app: it is sent to another process, so it must be importable by name
    """

    def __init__(self, make_app: Callable[[], Any], most: int) -> None:
        self._make_app = make_app
        self._most = most
        self._threads = ShortestFirst(most, "pages")
        self._lock = threading.Lock()
        self._idle: list[_Worker] = []
        self._all: set[_Worker] = set()
        self._closed = False
        self._at_work = 0
        self.left: LeftPages | None = None  # set by whoever sends people here
        self._may_begin = threading.Event()
        self._may_begin.set()

    async def answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Have a worker answer a request.

        Raises
            WorkerLost  two workers died over it
            OSError     no worker can be made on this machine now
        """
        loop = asyncio.get_running_loop()
        said: asyncio.Queue[Message | HowFar | FitsAsked | BaseException | None] = asyncio.Queue()
        gone = threading.Event()

        def tell(what: Message | HowFar | FitsAsked | BaseException | None) -> None:
            loop.call_soon_threadsafe(said.put_nowait, what)

        carried = {name: scope[name] for name in CARRIED if name in scope} | {"state": dict(scope["state"])}
        watching = asyncio.create_task(_watch(receive, gone))
        whose = getattr(scope.get(GROUP), "name", "")
        self._threads.submit(kind_of(scope), partial(self._work, carried, tell, gone), whose=whose)
        self.make_ready(self._most)
        try:
            while (what := await said.get()) is not None:
                if isinstance(what, BaseException):
                    raise what
                if isinstance(what, HowFar):
                    scope.get(HEARS, _nobody)(what)
                elif isinstance(what, FitsAsked):
                    scope.get(KEEPS, _nobody)(what)
                else:
                    await send(what)
        finally:
            gone.set()
            watching.cancel()

    def _work(
        self, scope: dict[str, Any], tell: Callable[[Message | HowFar | FitsAsked | BaseException | None], None], gone: threading.Event
    ) -> float | None:
        took = None
        try:
            self._may_begin.wait(HELD_S)
            if not gone.is_set():  # nobody waits for it any more: the next one's turn
                took = self._ask(scope, tell)
            tell(None)
        except BaseException as error:  # it belongs to whoever waits for the answer
            with contextlib.suppress(RuntimeError):  # the server is closed: nobody waits any more
                tell(error)
        return took

    def likely_s(self, scope: Scope) -> float | None:
        """The seconds that such a page took, of those made since the start; None: none was."""
        found = self._threads.likely_s(kind_of(scope))
        return None if found == UNKNOWN_S else found

    def make_ready(self, wanted: int) -> None:
        """Have so many workers, at work or ready; returns at once, since one takes a second or two to get ready."""
        if len(self._all) < wanted or not all(worker.process.is_alive() for worker in list(self._idle)):
            threading.Thread(target=self._make_ready, args=(wanted,), name="pages-ready", daemon=True).start()

    def _make_ready(self, wanted: int) -> None:
        with self._lock:
            dead = [worker for worker in self._idle if not worker.process.is_alive()]
            self._idle = [worker for worker in self._idle if worker not in dead]
            self._all.difference_update(dead)
            with contextlib.suppress(OSError):  # whoever asks for a page is told
                while len(self._all) < min(wanted, self._most) and not self._closed:
                    worker = _Worker(self._make_app)
                    self._all.add(worker)
                    self._idle.append(worker)

    @property
    def made(self) -> int:
        """How many workers there are, at work or ready or about to be."""
        return len(self._all)

    @property
    def busy(self) -> int:
        """How many make a page now."""
        return self._at_work

    @contextlib.contextmanager
    def held(self) -> Iterator[bool]:
        """No page is begun meanwhile; whether those that were begun are done."""
        self._may_begin.clear()
        try:
            until = time.monotonic() + HELD_S
            while self.busy and time.monotonic() < until:
                time.sleep(0.02)
            yield self.busy == 0
        finally:
            self._may_begin.set()

    def _ask(self, scope: dict[str, Any], tell: Callable[[Message | HowFar | FitsAsked], None]) -> float:
        for left in reversed(range(TRIES)):
            worker = self._one(fresh=not left)
            took = None
            try:
                took = worker.ask(scope, tell)
            finally:
                with self._lock:
                    self._at_work -= 1
                self._back(worker, took is not None)
            if took is not None:
                return took
            if self._closed:
                break  # it was ended, with all others
            log.warning("a worker ended over %s; %s", scope["path"], "another is asked" if left else "given up")
        raise WorkerLost

    def _one(self, *, fresh: bool) -> _Worker:
        """A worker for the next page; fresh: one that has made no page yet, for a page that a worker died over."""
        with self._lock:
            if self._closed:
                raise WorkerLost
            worker = self._out_of_idle(fresh=fresh)
            if worker is None:
                # Within the lock: closing must find every worker that was begun.
                worker = _Worker(self._make_app)
                self._all.add(worker)
            self._at_work += 1
            return worker

    def _out_of_idle(self, *, fresh: bool) -> _Worker | None:
        """One that is ready. Meanwhile another may have been made ready in the place of the one that died: no page needs two."""
        for worker in reversed(self._idle.copy()):
            alive = worker.process.is_alive()
            if alive and fresh and worker.has_worked:
                continue
            self._idle.remove(worker)
            if alive:
                return worker
            self._all.discard(worker)
        return None

    def _back(self, worker: _Worker, whole: bool) -> None:
        with self._lock:
            if whole and not self._closed:
                self._idle.append(worker)
                return
            self._all.discard(worker)
        worker.end(at_once=True)

    async def forget_left_pages(self) -> None:
        """Nobody comes back for a page: the server ends."""
        if self.left:
            await self.left.close()

    def close(self) -> None:
        """End every worker, also one that is at work. After this the book can be closed: nobody else has it open."""
        with self._lock:
            self._closed = True
            ending, self._idle = list(self._all), []
        for worker in ending:
            worker.end(at_once=True)
        self._threads.close()


def kind_of(scope: Scope) -> tuple[str, bool]:
    """Pages that take about as long as each other: the same page of another record, of one trial or of the whole book."""
    parts = ["ID" if len(part) == ID_LENGTH else part for part in scope["path"].split("/")]
    return "/".join(parts), b"trial=" in scope.get("query_string", b"")


def _nobody(_: HowFar | FitsAsked) -> None:
    """Waits on a page that says how far it is, or keeps what it found."""


async def _watch(receive: Receive, gone: threading.Event) -> None:
    while (await receive())["type"] != "http.disconnect":
        pass
    gone.set()


class InWorkers:
    """Sends what takes long to the workers, everything else on. `stands`: as `KeptPages` takes it; `keeps`: hears of fits."""

    def __init__(
        self,
        app: ASGIApp,
        workers: "PageWorkers | WorkersOfOne",
        waiting: ASGIApp,
        stands: Callable[[], Hashable] | None = None,
        keeps: Callable[[FitsAsked], None] | None = None,
    ) -> None:
        self.app, self.workers, self._keeps = app, workers, keeps or _nobody
        self.make = KeptPages(workers.answer, stands).answer if stands else workers.answer
        self.left = workers.left = LeftPages(self.make, workers.likely_s, waiting)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        # Whoever starts the laptop lands on the first page: it waits for no process that is only being made.
        first = scope["type"] == "http" and scope["path"] == "/" and not self.workers.made
        if first or scope["type"] != "http" or scope["method"] not in SAFE or not LONG.fullmatch(scope["path"]):
            if scope["type"] == "http" and NEAR.fullmatch(scope["path"]):
                self.workers.make_ready(1)
            await self.app(scope, receive, send)
            return
        try:
            answer = self.left.answer if opened_by_a_person(scope) else self.make
            await answer({**scope, KEEPS: self._keeps}, receive, send)
        except OSError as error:
            log.warning("no worker could be begun (%s), so %s is made here", error, scope["path"])
            await self.app(scope, receive, send)
