"""What each page asks and weighs as the book grows: statements, rows fetched, processor time, bytes.

    python -m tests.bench.pages_by_size FOLDER [shots,shots,…] [word that pages must hold]

FOLDER is outside the repository: the multiplied books (multiplied.py) are made there once and kept for the next run. The address of
a page names the same trial, panel, arrow and shot in every book, so a page of these shows the same at any size. Processor time is that
of this process: the median of five turns after one that isn't counted, the books asked in turn, so that what else the machine does
falls on all alike; a page of more than 20 s is made once. Rows are those that SQLite handed over, counted in a turn of their own.

Wanted: a page of one trial, session, panel, arrow or shot takes at 100,000 shots at most 1.5 times its processor time at 1,000, and
at most 1.2 times the rows; no page above 300 KB.
"""

from __future__ import annotations

import re
import shutil
import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.app import create_app
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.shot_facts import shot_facts
from proofyard.settings import BOOK_FILE, Settings
from proofyard.storage import Storage
from sqlalchemy import Engine, event
from starlette.testclient import TestClient

from tests.bench.multiplied import multiply
from tests.bench.page_statements import counted

HOST = "127.0.0.1"
ADDRESS = f"http://{HOST}:8014"
SIZES = (1_000, 10_000, 100_000)
TURNS = 5
LONG_S = 20.0
SCOPED = (
    "/trials/{trial}",
    "/trials/{trial}/plan",
    "/trials/{trial}/kit",
    "/trials/{trial}/next",
    "/trials/{trial}/follow",
    "/trials/{trial}/report",
    "/trials/{trial}/report.html",
    "/trials/{trial}/report.html?photos=no",
    "/trials/{trial}/report.csv",
    "/sessions/{session}",
    "/sessions/{session}/day",
    "/sessions/{session}/shots",
    "/sessions/{session}/cautions",
    "/sessions/{session}/close-of-day",
    "/sessions/{session}/claim",
    "/shots/{shot}",
    "/shots?trial={trial}",
    "/shots.csv?trial={trial}",
    "/panels/{panel_build}",
    "/arrows/{arrow}",
    "/combinations/{combination}",
    "/results?trial={trial}",
    "/results/shots?trial={trial}",
    "/fifty-percent?trial={trial}",
    "/blunt?trial={trial}",
    "/compare?trial={trial}",
    "/notebook?noun=shot&record={shot}",
    "/range-day-sheet?session={session}",
)
WHOLE = (
    "/",
    "/trials",
    "/trials/compare",
    "/shots",
    "/photos",
    "/kit",
    "/combinations",
    "/combinations/new",
    "/combinations/several",
    "/incidents",
    "/bows/{bow_build}",
    "/speeds/frames",
    "/claims",
    "/notebook",
    "/health",
    "/download",
    "/log",
    "/range",
    "/api/range?form=2",
    "/api/changes?since=0",
    "/results",
    "/results/shots",
    "/compare",
    "/blunt",
    "/fifty-percent",
    "/what-if?panel={panel_build}&thickness=1.2+mm",
    "/arrow-damage",
    "/measures",
    "/protection",
)


@dataclass(frozen=True)
class Page:
    """One page of one book. rows: fetched; cpu_s: of this process; sent: bytes before they are packed."""

    page: str
    status: int
    statements: int
    rows: int
    cpu_s: float
    sent: int


def book_of(keep: Path, shots: int) -> Path:
    """The folder of a book of so many shots, made if it isn't there yet."""
    folder = keep / f"{shots}-shots"
    if not (folder / BOOK_FILE).exists():
        from seed_demo import fill

        making = keep / f"{shots}-being-made"
        shutil.rmtree(making, ignore_errors=True)
        making.mkdir(parents=True)
        with closing(open_book(making)) as book:
            fill(book)
        multiply(making / BOOK_FILE, shots)
        making.rename(folder)
    return folder


@dataclass(frozen=True)
class Asked:
    """A book with an owner's browser before it, and the ids that the addresses of its pages hold."""

    get: Callable[[str], Any]
    ids: dict[str, str]

    def address(self, page: str) -> str:
        return re.sub(r"\{(\w+)\}", lambda found: self.ids[found[1]], page)


def opened(folder: Path, until: ExitStack) -> Asked:
    token = new_token()
    book = until.enter_context(closing(open_book(folder)))
    with book.write() as session:
        devices.make_book(session)
        devices.add_device(session, call_name="Laptop", role="owner", session_hash=hash_of(token))
    client = TestClient(
        create_app(book, Settings(folder, HOST, 8014)), base_url=ADDRESS, headers={"Origin": ADDRESS}, follow_redirects=False
    )
    client.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
    return Asked(lambda address: client.get(address), _one_of_each(book))


def measure(books: Sequence[Asked], page: str) -> list[Page]:
    """One page of each book, asked in turn."""
    spent: list[list[float]] = [[] for _ in books]
    for turn in range(TURNS + 1):
        for one, times in zip(books, spent, strict=True):
            if times and times[0] > LONG_S:
                continue
            began = time.process_time()
            one.get(one.address(page))
            took = time.process_time() - began
            if turn or took > LONG_S:
                times.append(took)
    return [_page(page, one, statistics.median(times)) for one, times in zip(books, spent, strict=True)]


def _page(page: str, one: Asked, cpu_s: float) -> Page:
    with counted() as asked, rows_counted() as rows:
        answer = one.get(one.address(page))
    return Page(page, answer.status_code, len(asked), rows[0], cpu_s, len(answer.content))


def _one_of_each(book: Storage) -> dict[str, str]:
    """A shot of the demo's own trials, and all that it belongs to: the same in every book that was made of the demo."""
    with book.read() as session:
        first = session.connection().exec_driver_sql("SELECT id FROM trial ORDER BY rowid LIMIT 1").scalar_one()
        shot = next(one for one in shot_facts(session, trial_id=str(first)) if one.read)
    mine = {name: getattr(shot, f"{name}_id") for name in ("trial", "session", "shot", "panel_build", "arrow", "combination", "bow_build")}
    return mine


@contextmanager
def rows_counted() -> Iterator[list[int]]:
    """How many rows are handed over meanwhile, as the only item."""
    rows = [0]

    def seen(_cursor: object, row: tuple[object, ...]) -> tuple[object, ...]:
        rows[0] += 1
        return row

    def note(_connection: object, cursor: Any, *_: object) -> None:
        cursor.row_factory = seen

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield rows
    finally:
        event.remove(Engine, "before_cursor_execute", note)


if __name__ == "__main__":
    keep = Path(sys.argv[1])
    sizes = [int(one) for one in sys.argv[2].split(",")] if len(sys.argv) > 2 else list(SIZES)
    wanted = [page for page in (*SCOPED, *WHOLE) if len(sys.argv) < 4 or sys.argv[3] in page]
    print("   shots stmts     rows    cpu ms       KB  page, and how many times the processor time and rows of the first size")
    with ExitStack() as until:
        books = [opened(book_of(keep, size), until) for size in sizes]
        for page in wanted:
            found = measure(books, page)
            for size, one in zip(sizes, found, strict=True):
                grown = f"{one.cpu_s / found[0].cpu_s:6.1f} x {one.rows / max(found[0].rows, 1):6.1f} x"
                figures = f"{one.statements:5d} {one.rows:8d} {one.cpu_s * 1000:9.1f} {one.sent / 1000:8.1f}"
                print(f"{size:8d} {figures}  {grown}  {one.status}  {one.page}", flush=True)
