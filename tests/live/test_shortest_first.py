"""Who waits for a thread is served the short ones first, and nobody is passed by for ever."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator

import pytest
from proofyard.live.shortest_first import PATIENCE, ShortestFirst

HEAVY_S = 0.3


class Bench:
    """One thread that can be kept busy, and what it did in which order."""

    def __init__(self) -> None:
        self.work = ShortestFirst(1, "test")
        self.done: list[str] = []
        self._free = threading.Event()

    def job(self, name: str, seconds: float = 0.0) -> Callable[[], float | None]:
        def run() -> float | None:
            self.done.append(name)
            return seconds

        return run

    def keep_busy(self) -> None:
        begun = threading.Event()

        def wait() -> float | None:
            begun.set()
            self._free.wait(10)
            return None

        self._free.clear()
        self.work.submit("busy", wait)
        assert begun.wait(5)

    def let_go(self) -> None:
        self._free.set()

    def wait_for(self, number: int) -> None:
        until = time.monotonic() + 10
        while len(self.done) < number and time.monotonic() < until:
            time.sleep(0.01)


@pytest.fixture
def bench() -> Iterator[Bench]:
    made = Bench()
    made.work.submit("heavy", made.job("learned heavy", HEAVY_S))
    made.work.submit("light", made.job("learned light"))
    made.wait_for(2)
    made.done.clear()
    yield made
    made.let_go()
    made.work.close()


def test_a_light_job_that_came_last_passes_heavy_ones(bench: Bench) -> None:
    assert bench.work.likely_s("heavy") >= HEAVY_S > bench.work.likely_s("light")
    bench.keep_busy()
    for name in ("heavy 1", "heavy 2", "heavy 3"):
        bench.work.submit("heavy", bench.job(name))
    bench.work.submit("light", bench.job("light"))
    bench.let_go()
    bench.wait_for(4)
    assert bench.done == ["light", "heavy 1", "heavy 2", "heavy 3"]


def test_a_heavy_job_is_passed_only_by_those_that_come_soon_after_it(bench: Bench) -> None:
    bench.keep_busy()
    bench.work.submit("heavy", bench.job("heavy"))
    time.sleep(PATIENCE * bench.work.likely_s("heavy") + 0.05)
    bench.work.submit("light", bench.job("light"))
    bench.let_go()
    bench.wait_for(2)
    assert bench.done == ["heavy", "light"]


def test_what_waits_at_the_end_is_done_and_no_more_is_taken(bench: Bench) -> None:
    bench.keep_busy()
    bench.work.submit("light", bench.job("light"))
    bench.let_go()
    bench.work.close()
    assert bench.done == ["light"]
    with pytest.raises(RuntimeError):
        bench.work.submit("light", bench.job("late"))
