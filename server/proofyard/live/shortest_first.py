"""Work that waits for one of a few threads: what is likely to take short goes first, and nothing is passed by for long."""

import heapq
import itertools
import threading
import time
from collections.abc import Callable, Hashable

PATIENCE = 2.0  # for each second that it is likely to take, a job lets those pass that come within so many seconds of it
UNKNOWN_S = 0.5  # a kind that was never done


class ShortestFirst:
    """At most so many jobs at once, each of a kind; how long a kind takes is learned from those done.

    A light page that came last shouldn't wait behind ten heavy ones. It passes them only for as long as they can bear:
    a job's place is the moment it came plus PATIENCE times the seconds that it is likely to take.
    """

    def __init__(self, most: int, name: str) -> None:
        self._most, self._name = most, name
        self._waiting: list[tuple[float, int, Hashable, Callable[[], float | None]]] = []
        self._seconds: dict[Hashable, float] = {}
        self._count = itertools.count()
        self._changed = threading.Condition()
        self._threads: list[threading.Thread] = []
        self._idle = 0
        self._closed = False

    def submit(self, kind: Hashable, job: Callable[[], float | None]) -> None:
        """`job` returns how long it took by itself, None if that tells nothing; it keeps its errors to itself.

        After `close`: an error.
        """
        with self._changed:
            if self._closed:
                raise RuntimeError("No more work is taken.")
            place = time.monotonic() + PATIENCE * self._seconds.get(kind, UNKNOWN_S)
            heapq.heappush(self._waiting, (place, next(self._count), kind, job))
            if self._idle < len(self._waiting) and len(self._threads) < self._most:
                thread = threading.Thread(target=self._work, name=f"{self._name}-{len(self._threads)}", daemon=True)
                self._threads.append(thread)
                thread.start()
            self._changed.notify()

    def likely_s(self, kind: Hashable) -> float:
        """The seconds that a job of this kind is likely to take."""
        return self._seconds.get(kind, UNKNOWN_S)

    def _work(self) -> None:
        while True:
            with self._changed:
                self._idle += 1
                self._changed.wait_for(lambda: self._waiting or self._closed)
                self._idle -= 1
                if not self._waiting:
                    return
                _, _, kind, job = heapq.heappop(self._waiting)
            took = job()
            if took is not None:
                with self._changed:
                    self._seconds[kind] = (self._seconds.get(kind, took) + took) / 2

    def close(self) -> None:
        """What waits is still done; returns when all is."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        for thread in self._threads:
            thread.join()
