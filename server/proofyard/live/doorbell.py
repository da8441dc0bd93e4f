"""Tells every open stream that the book changed. It carries no news, only "look": what changed is asked for by number."""

import asyncio
import threading

from starlette.concurrency import run_in_threadpool

from proofyard.records import notebook
from proofyard.storage import Storage

MOST_STREAMS = 40


class Ear:
    """One open stream's way of hearing the bell: an event on that stream's own loop."""

    def __init__(self) -> None:
        self.loop = asyncio.get_running_loop()
        self.rang = asyncio.Event()


class Doorbell:
    """Rung from whichever thread has committed; heard on the event loop."""

    def __init__(self, storage: Storage) -> None:
        self._storage = storage
        self._lock = threading.Lock()
        self._ears: set[Ear] = set()
        self._rings = 0
        self._seq: tuple[int, int] | None = None  # (rings when it was read, number of the last change)
        self._reading: tuple[asyncio.AbstractEventLoop, int, asyncio.Task[int]] | None = None
        self.closing = False
        storage.after_commit(self.ring)
        storage.hear_others(self.ring)

    def ring(self) -> None:
        """Wake all who listen. Safe from any thread, and from a signal's handler."""
        self._rings += 1
        for ear in tuple(self._ears):
            try:
                ear.loop.call_soon_threadsafe(ear.rang.set)
            except RuntimeError:  # that loop has ended, and its stream with it
                self._ears.discard(ear)

    def close(self) -> None:
        """The server stops: every stream ends now, so that nobody waits for them."""
        self.closing = True
        self.ring()

    def open_ear(self) -> Ear | None:
        """A new listener; None when as many listen as may, or the server stops."""
        with self._lock:
            if self.closing or len(self._ears) >= MOST_STREAMS:
                return None
            ear = Ear()
            self._ears.add(ear)
            return ear

    def close_ear(self, ear: Ear) -> None:
        self._ears.discard(ear)

    @property
    def listening(self) -> int:
        return len(self._ears)

    async def latest(self) -> int:
        """The number of the last change; one reading serves all who were woken by the same ring."""
        rings, known = self._rings, self._seq
        if known is not None and known[0] == rings:
            return known[1]
        loop = asyncio.get_running_loop()
        reading = self._reading
        if reading is None or reading[:2] != (loop, rings) or reading[2].done():
            # All who were woken come here at once: the first one reads, the others wait for it.
            reading = self._reading = (loop, rings, loop.create_task(run_in_threadpool(self._read)))
        seq = await asyncio.shield(reading[2])
        self._seq = (rings, seq)
        return seq

    def _read(self) -> int:
        with self._storage.read() as session:
            return notebook.latest_seq(session)
