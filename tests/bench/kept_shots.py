"""What keeping each shot costs and gives: a cold fill, saves beside it, and pages of the whole book beside plain SQL over the same rows.

    python -m tests.bench.kept_shots FOLDER [shots] [page,page]

FOLDER is outside the repository: the multiplied book is made there once and kept for the next run. What was kept in it is emptied first.
Pages: results, 50 % energies; both unless said. The first 50 % energies of 100,000 shots take some ten minutes.

Wanted at 100,000 shots: a cold fill in 60 s of processor and 400 MB; p95 of saves meanwhile at most 1.5 times that without; results and
50 % energies, warm, at most 3 times the plain SQL that groups the same rows. Warm is told twice: made anew after a shot was saved, by a
process that made one before, and asked again while nothing was changed, as the server answers then (`server/proofyard/live/kept_pages.py`).
"""

from __future__ import annotations

import asyncio
import resource
import sys
import threading
import time
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from proofyard.access.seats import Seat
from proofyard.answers.fifty_percent.page import read_fifty_percent
from proofyard.answers.results.page import read_results
from proofyard.assembled import app_that_reads, last_change
from proofyard.live.cache_filler import CacheFiller
from proofyard.live.kept_pages import KeptPages
from proofyard.live.page_workers import PageWorkers
from proofyard.opening import open_book
from proofyard.records.ids import new_id
from proofyard.settings import Settings
from proofyard.shots.cache import fill
from proofyard.storage import Storage
from sqlalchemy import text
from starlette.types import Message, Scope

from tests import kit_for_tests as kit
from tests.bench.pages_by_size import book_of

PAUSE_S = 0.02
ALONE_S = 5.0
TURNS = 3
# Counts and mean energies by head and band, and by head, panel type and half a joule: what results and 50 % energies rest on.
PLAIN = {
    "results": (
        "SELECT form, CAST(target_j / 20 AS INTEGER) AS band, fair_answer, count(*), sum(outcome_low >= 4), sum(outcome_high >= 4), "
        "avg(target_j), avg(target_u_j) FROM cache_shot WHERE stale = 0 AND voided = 0 AND purpose = 'counted' GROUP BY 1, 2, 3"
    ),
    "50 % energies": (
        "SELECT form, construction, thickness_m, CAST(target_j * 2 AS INTEGER) AS energy, count(*), sum(outcome_low >= 4), "
        "sum(outcome_high >= 4) FROM cache_shot WHERE stale = 0 AND voided = 0 AND purpose = 'counted' AND fair_answer = 'fair' "
        "GROUP BY 1, 2, 3, 4"
    ),
}


ADDRESSES = {"results": "/results", "50 % energies": "/fifty-percent"}


@dataclass
class Kept:
    """What one run showed. saves: milliseconds, without and beside a fill; warm: page -> (its s of processor, plain SQL's).

    again  page -> s of processor of the whole page, asked again while nothing was changed
    """

    shots: int = 0
    fill_cpu_s: float = 0.0
    most_mb: float = 0.0
    alone: list[float] = field(default_factory=list)
    beside: list[float] = field(default_factory=list)
    beside_s: float = 0.0
    warm: dict[str, tuple[float, float]] = field(default_factory=dict)
    again: dict[str, float] = field(default_factory=dict)


def share(times: list[float], part: float) -> float:
    return sorted(times)[int(part * (len(times) - 1))] if times else float("nan")


def emptied(book: Storage) -> None:
    with book.write(quietly=True) as session:
        session.execute(text("DELETE FROM cache_shot"))
        session.execute(text("DELETE FROM cache_state"))


def saves(book: Storage, until: Callable[[], bool]) -> list[float]:
    """One who saves a shot, waits a moment, and saves the next: how long each took."""
    with book.read() as session:
        end, bow, arrow, archer = session.execute(
            text(
                "SELECT shooting_end_id, bow_build_id, arrow_build_id, archer_id FROM shot "
                "JOIN shooting_end ON shooting_end.id = shooting_end_id JOIN setup ON setup.id = setup_id "
                "JOIN session ON session.id = session_id JOIN trial ON trial.id = trial_id "
                "WHERE trial.state = 'open' ORDER BY shot.id DESC LIMIT 1"
            )
        ).one()
    took = []
    while not until():
        began = time.perf_counter()
        body = {"label": "", "shooting_end": end, "bow_build": bow, "arrow_build": arrow, "archer": archer, "purpose": "counted"}
        kit.put(book, "shot", {**body, "label": f"A{new_id()[-4:]}"})
        took.append(1000 * (time.perf_counter() - began))
        time.sleep(PAUSE_S)
    return took


def beside_a_fill(book: Storage) -> tuple[list[float], float]:
    """Saves while a worker fills an empty cache, and how long that took."""
    emptied(book)
    workers = PageWorkers(partial(app_that_reads, book.path, Settings(book.path.parent), demo=True), 1)
    began = time.monotonic()
    filling = threading.Thread(target=lambda: asyncio.run(CacheFiller(book, workers).look()))
    filling.start()
    try:
        found = saves(book, lambda: not filling.is_alive())
    finally:
        filling.join()
        workers.close()
    return found, time.monotonic() - began


def one_saved(book: Storage) -> None:
    """A shot more, so that no page is as it was."""
    saves(book, partial(next, iter((False, True))))


def cpu_s(work: Callable[[], object], *, between: Callable[[], object] = lambda: None) -> float:
    """The least of some turns, after one that isn't counted. between: what happens before each, and isn't counted either"""
    spent = []
    for _ in range(TURNS + 1):
        between()
        began = time.process_time()
        work()
        spent.append(time.process_time() - began)
    return min(spent[1:])


def asked_again(book: Storage, path: str) -> float:
    """Of a whole page, once it was made, as the server answers the next who asks."""
    app = app_that_reads(book.path, Settings(book.path.parent), demo=True)
    pages = KeptPages(app, partial(last_change, book))
    asked: Scope = {"type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET", "scheme": "http", "path": path}
    scope: Scope = {**asked, "raw_path": path.encode(), "query_string": b"", "root_path": "", "headers": [], "client": None, "server": None}
    sent: list[Message] = []

    async def hear() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Message) -> None:
        sent.append(message)

    async def both() -> float:
        for first in (True, False):
            began = time.process_time()
            sent.clear()
            await pages.answer({**scope, "state": {"seat": Seat("owner")}}, hear, send)
            assert first or sent[0]["status"] == 200, sent[0]
        return time.process_time() - began

    try:
        return asyncio.run(both())
    finally:
        app.state.storage.close()


def _grouped(book: Storage, statement: str) -> None:
    with book.read() as session:
        session.execute(text(statement)).all()


def measure(folder: Path, *, alone_s: float = ALONE_S, pages: Iterable[str] = tuple(PLAIN)) -> Kept:
    found = Kept()
    with closing(open_book(folder)) as book:
        emptied(book)
        began = time.process_time()
        found.shots = fill(book)
        found.fill_cpu_s = time.process_time() - began
        found.most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform == "linux" else 1024**2)
        reads: dict[str, Callable[[], object]] = {
            "results": lambda: read_results(book, {}),
            "50 % energies": lambda: read_fifty_percent(book, {}, reader="metric"),
        }
        for name in pages:
            found.warm[name] = cpu_s(reads[name], between=partial(one_saved, book)), cpu_s(partial(_grouped, book, PLAIN[name]))
            found.again[name] = asked_again(book, ADDRESSES[name])
        until = time.monotonic() + alone_s
        found.alone = saves(book, lambda: time.monotonic() > until)
        found.beside, found.beside_s = beside_a_fill(book)
    return found


def main(folder: str, shots: str = "100000", pages: str = ",".join(PLAIN)) -> None:
    found = measure(book_of(Path(folder), int(shots)), pages=pages.split(","))
    print(
        f"{found.shots} shots kept in {found.fill_cpu_s:.1f} s of processor, {1000 * found.fill_cpu_s / found.shots:.2f} ms each; ", end=""
    )
    print(f"the most memory {found.most_mb:.0f} MB")
    for name, (page, plain) in found.warm.items():
        print(f"{name}, warm: {page:.2f} s of processor, plain SQL over the same rows {plain:.3f} s, {page / plain:.1f} times", end="; ")
        print(f"asked again while nothing was changed: {1000 * found.again[name]:.1f} ms, {found.again[name] / plain:.2f} times")
    for words, times in (("alone", found.alone), (f"beside a fill of {found.beside_s:.0f} s", found.beside)):
        print(f"saves {words}: {len(times)}, p50 {share(times, 0.5):.1f} ms, p95 {share(times, 0.95):.1f} ms, max {max(times):.1f} ms")


if __name__ == "__main__":
    main(*sys.argv[1:])
