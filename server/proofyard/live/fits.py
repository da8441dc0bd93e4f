"""Fits of curves are kept beside the book (server/proofyard/views/kept_fits.py): whoever makes a page finds them,
and what it had to work out goes to the server, which alone writes.

A page worker sends it down the line that its page goes by. The server keeps it in its memory until the filler of what is kept
(cache_filler.py) has a moment. A page asks for a hundred fits and more: so a worker reads all of them once, and before each page those
that came since, which is one statement.
"""

import contextlib
import threading
import time
from collections.abc import Callable
from contextvars import ContextVar

from starlette.concurrency import run_in_threadpool
from starlette.types import ASGIApp, Receive, Scope, Send

from proofyard.kept_fits import FitsAsked, kept_by
from proofyard.records.cache_fits import MOST_FITS, fits_after, keep_fits
from proofyard.storage import Storage, StorageTrouble

KEEPS = "proofyard.keeps"  # in the scope of a request: what is called with the fits that its page asked for
MOST_WAITING = 5_000  # fits: more than a page of any book asks for; what comes beyond is worked out again another time
A_COMMIT = 100  # fits
DAY_S = 86_400

# Who is told, in a worker, which fits a page asked for: the line to the server.
told_to: ContextVar[Callable[[FitsAsked], None] | None] = ContextVar("fits_told_to", default=None)


class KnownFits:
    """What a process has read of the fits that a book keeps. A fit never becomes wrong, so what was read holds."""

    def __init__(self, book: Storage) -> None:
        self._book, self._lock = book, threading.Lock()
        self._said: dict[str, str] = {}
        self._latest = 0

    def look(self) -> None:
        """Read those that came since the last look."""
        with self._lock:
            if len(self._said) > 2 * MOST_FITS:  # the book has let go of half of them
                self._said, self._latest = {}, 0
            with contextlib.suppress(StorageTrouble), self._book.read() as session:  # the page that is made next says it better
                for one in fits_after(session, self._latest):
                    self._said[one.name], self._latest = one.said, one.number

    def said(self, name: str) -> str | None:
        return self._said.get(name)


class AsksForFits:
    """Around the app of a worker: its pages find the fits that the book keeps, and whoever is told hears what each asked for.

    What the server makes by itself keeps nothing and finds nothing: long pages are not made there.
    """

    def __init__(self, app: ASGIApp, book: Storage) -> None:
        self.app, self._known = app, KnownFits(book)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        tell = told_to.get()
        if scope["type"] != "http" or tell is None:
            await self.app(scope, receive, send)
            return
        await run_in_threadpool(self._known.look)
        with kept_by(self._known.said) as fits:
            await self.app(scope, receive, send)
        if fits:
            tell(fits)


class FitsToKeep:
    """What pages asked for, until it is stored."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._waiting = FitsAsked()
        self._marked: tuple[int, set[str]] = 0, set()  # the day, and what the book knows to have been asked for on it

    def note(self, fits: FitsAsked) -> None:
        with self._lock:
            self._waiting.asked |= fits.asked
            for name, said in fits.found.items():
                if len(self._waiting.found) < MOST_WAITING:
                    self._waiting.found[name] = said

    def store(self, book: Storage, *, pause: Callable[[float], object] = lambda took_s: None) -> int:
        """Keep them, in small commits; how many were new. `pause`: called after each with how long it took."""
        with self._lock:
            waiting, self._waiting = self._waiting, FitsAsked()
        day = int(time.time() // DAY_S)
        marked = self._marked[1] if self._marked[0] == day else set[str]()
        names, asked = list(waiting.found), sorted(waiting.asked - marked)
        for first in range(0, max(len(names), len(asked)), A_COMMIT):
            began = time.monotonic()
            some = {name: waiting.found[name] for name in names[first : first + A_COMMIT]}
            with book.write(quietly=True) as session:
                keep_fits(session, some, asked=asked[first : first + A_COMMIT], day=day)
            pause(time.monotonic() - began)
        self._marked = day, {*marked, *names, *asked}
        return len(names)
