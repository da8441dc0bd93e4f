"""Work that waits for one of a few threads: what is likely to take short goes first, and nothing is passed by for long."""

import heapq
import itertools
import threading
import time
from collections.abc import Callable, Hashable

PATIENCE = 2.0  # for each second that it is likely to take, a job lets those pass that come within so many seconds of it
UNKNOWN_S = 0.5  # a kind that was never done
FORGOTTEN_S = 30.0


class ShortestFirst:
    """At most so many jobs at once, each of a kind; how long a kind takes is learned from those done.

    A light page that came last shouldn't wait behind ten heavy ones. It passes them only for as long as they can bear:
    a job's place is the moment it came plus PATIENCE times the seconds that it is likely to take.

    Where several share the threads, a job of whoever took least of them lately goes before all of that: what one asks for, however
    much, costs the next one the job that is being done. What was taken counts half after FORGOTTEN_S.
    """

    def __init__(self, most: int, name: str) -> None:
        self._most, self._name = most, name
        self._waiting: dict[str, list[tuple[float, int, Hashable, Callable[[], float | None]]]] = {}
        self._taken: dict[str, tuple[float, float]] = {}  # by whose: seconds, and when they were counted
        self._seconds: dict[Hashable, float] = {}
        self._count = itertools.count()
        self._changed = threading.Condition()
        self._threads: list[threading.Thread] = []
        self._idle = 0
        self._closed = False

    def submit(self, kind: Hashable, job: Callable[[], float | None], *, whose: str = "") -> None:
        """`job` returns how long it took by itself, None if that tells nothing; it keeps its errors to itself.

        `whose`: who asks, where several share the threads.
        After `close`: an error.
        """
        with self._changed:
            if self._closed:
                raise RuntimeError("No more work is taken.")
            place = time.monotonic() + PATIENCE * self._seconds.get(kind, UNKNOWN_S)
            heapq.heappush(self._waiting.setdefault(whose, []), (place, next(self._count), kind, job))
            if self._idle < sum(map(len, self._waiting.values())) and len(self._threads) < self._most:
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
                whose, kind, job = self._next()
                counted = self.likely_s(kind)
                self._count_taken(whose, counted)  # now, or all threads would take one's jobs before the first is done
            took = job()
            with self._changed:
                self._count_taken(whose, (took or 0.0) - counted)
                if took is not None:
                    self._seconds[kind] = (self._seconds.get(kind, took) + took) / 2

    def _next(self) -> tuple[str, Hashable, Callable[[], float | None]]:
        whose = min(self._waiting, key=lambda one: (self._taken_lately(one), self._waiting[one][0][:2]))
        _, _, kind, job = heapq.heappop(self._waiting[whose])
        if not self._waiting[whose]:
            del self._waiting[whose]
        return whose, kind, job

    def _taken_lately(self, whose: str) -> float:
        seconds, at = self._taken.get(whose, (0.0, 0.0))
        return seconds * 0.5 ** ((time.monotonic() - at) / FORGOTTEN_S) if seconds else 0.0

    def _count_taken(self, whose: str, seconds: float) -> None:
        self._taken[whose] = (max(0.0, self._taken_lately(whose) + seconds), time.monotonic())

    def close(self) -> None:
        """What waits is still done; returns when all is."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        for thread in self._threads:
            thread.join()
