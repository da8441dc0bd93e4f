"""Fits of curves are kept beside the book (server/proofyard/views/kept_fits.py): whoever makes a page finds them,
and what it had to work out goes to the server, which alone writes.

A page worker sends it down the line that its page goes by. The server keeps it in its memory until the filler of what is kept
(cache_filler.py) has a moment.
"""

import threading
import time
from collections.abc import Callable
from contextvars import ContextVar

from starlette.types import ASGIApp, Receive, Scope, Send

from proofyard.kept_fits import FitsAsked, kept_by
from proofyard.records.cache_fits import keep_fits, kept_fit
from proofyard.storage import Storage, StorageTrouble

KEEPS = "proofyard.keeps"  # in the scope of a request: what is called with the fits that its page asked for
MOST_WAITING = 5_000  # fits: more than a page of any book asks for; what comes beyond is worked out again another time
A_COMMIT = 100  # fits
DAY_S = 86_400

# Who is told, in a worker, which fits a page asked for: the line to the server.
told_to: ContextVar[Callable[[FitsAsked], None] | None] = ContextVar("fits_told_to", default=None)


class AsksForFits:
    """Around an app: its pages find the fits that the book keeps, and whoever listens hears what each asked for."""

    def __init__(self, app: ASGIApp, book: Storage) -> None:
        self.app, self._book = app, book

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        with kept_by(self._kept) as fits:
            await self.app(scope, receive, send)
        tell = told_to.get()
        if fits and tell is not None:
            tell(fits)

    def _kept(self, name: str) -> str | None:
        try:
            with self._book.read() as session:
                return kept_fit(session, name)
        except StorageTrouble:  # the page that asks will say it, or needs no more of the book
            return None


class FitsToKeep:
    """What pages asked for, until it is stored."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._waiting = FitsAsked()

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
        names, asked = list(waiting.found), sorted(waiting.asked)
        day = int(time.time() // DAY_S)
        for first in range(0, max(len(names), len(asked)), A_COMMIT):
            began = time.monotonic()
            some = {name: waiting.found[name] for name in names[first : first + A_COMMIT]}
            with book.write(quietly=True) as session:
                keep_fits(session, some, asked=asked[first : first + A_COMMIT], day=day)
            pause(time.monotonic() - began)
        return len(names)
