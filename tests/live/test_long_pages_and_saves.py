"""Long pages give way to the book: they wait while its journal is emptied, and a save that they stopped says so."""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from proofyard import assembled, book_file, storage
from proofyard.assembled import tidy
from proofyard.live.page_workers import PageWorkers, kind_of
from proofyard.records.ids import new_id
from proofyard.storage import BookBusy, Durability, Storage

from tests import kit_for_tests as kit

pytestmark = pytest.mark.slow

READS_S = 0.6


class SlowPage:
    """An app of one page that reads the book for a while."""

    def __init__(self, book: str) -> None:
        self.state = self
        self.storage = Storage(Path(book), writes=False)

    def warm_up(self) -> None:
        pass

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        with self.storage.read() as session:
            session.connection().exec_driver_sql("SELECT count(*) FROM archer").fetchone()
            time.sleep(READS_S)
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b"read"})


@pytest.fixture
def workers(book: Storage) -> Iterator[PageWorkers]:
    made = PageWorkers(partial(SlowPage, str(book.path)), 2)
    yield made
    made.close()


def ask(workers: PageWorkers) -> float:
    """The seconds that one page took."""

    async def go() -> None:
        said: list[Any] = []

        async def send(message: Any) -> None:
            said.append(message)

        await workers.answer({"path": "/slow", "state": {}}, asyncio.Event().wait, send)
        assert said[0]["status"] == 200

    began = time.monotonic()
    asyncio.run(go())
    return time.monotonic() - began


def in_threads(number: int, work: Callable[[], object]) -> list[threading.Thread]:
    threads = [threading.Thread(target=work) for _ in range(number)]
    for thread in threads:
        thread.start()
    return threads


def wait_till(true: Callable[[], object], seconds: float = 20) -> None:
    until = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < until
        time.sleep(0.01)


def test_no_page_is_begun_while_the_book_is_held_and_all_are_answered_after(workers: PageWorkers) -> None:
    ask(workers)
    begun = in_threads(1, partial(ask, workers))
    wait_till(lambda: workers.busy > 0)
    took: list[float] = []
    with workers.held() as free:
        assert free and not workers.busy, "the page that was begun is waited for"
        waiting = in_threads(2, lambda: took.append(ask(workers)))
        time.sleep(2 * READS_S)
        assert not workers.busy and took == []
    for thread in begun + waiting:
        thread.join(20)
    assert len(took) == 2 and min(took) > 2 * READS_S


def test_a_grown_journal_is_emptied_although_readers_leave_no_gap(
    book: Storage, workers: PageWorkers, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert assembled.MUCH_JOURNAL <= 64_000_000
    if not kit_is_in_wal(book):
        pytest.skip("this SQLite's book has no such journal")
    stop = threading.Event()

    def read_on() -> None:
        while not stop.is_set():
            ask(workers)

    held: list[bool] = []

    @contextlib.contextmanager
    def seen() -> Iterator[bool]:
        with PageWorkers.held(workers) as free:
            held.append(free)
            yield free

    monkeypatch.setattr(workers, "held", seen)
    readers = in_threads(4, read_on)
    try:
        ask(workers)
        for turn in range(200):  # as often as a gap is found by chance, once more
            if held:
                break
            for number in range(60):
                kit.put(book, "bow", {"name": f"Bow {turn} {number}", "note": new_id() * 40})
            assert book.journal_bytes() > 200_000
            monkeypatch.setattr(assembled, "MUCH_JOURNAL", 10**9)
            tidy(book, workers)
            assert not held, "below the bound no page waits"
            kit.put(book, "bow", {"name": f"Bow {turn}"})
            monkeypatch.setattr(assembled, "MUCH_JOURNAL", 1)
            assert tidy(book, workers) and book.journal_bytes() == 0
        assert held == [True], "readers left gaps, so nobody was made to wait"
    finally:
        stop.set()
        for thread in readers:
            thread.join(20)


def kit_is_in_wal(book: Storage) -> bool:
    kit.archer(book, "Wren")
    return book.journal_bytes() > 0


@pytest.fixture
def older(tmp_path: Path, book: Storage, monkeypatch: pytest.MonkeyPatch) -> Iterator[Storage]:
    """The book as a machine without the newer SQLite has it: a reader holds up a commit."""
    book.close()
    monkeypatch.setattr(storage, "durability_here", lambda: Durability("DELETE", "EXTRA", "for this test"))
    monkeypatch.setattr(storage, "WAIT_FOR_LOCK_MS", 200)
    made = Storage(book.path)
    with made.write():
        pass  # who writes opens it first, as when it is served: who only reads can't leave the newer journal
    yield made
    made.close()


def test_with_the_older_journal_our_own_readers_are_not_taken_for_another_program(older: Storage) -> None:
    kit.archer(older, "Wren")
    with older.read() as session:
        session.connection().exec_driver_sql("SELECT count(*) FROM archer").fetchone()
        with pytest.raises(BookBusy, match="The book is being read for other pages. Nothing was saved") as said:
            _save(older, "Tallow")
        assert said.value.retry_after_s
    _save(older, "Tallow")


@pytest.mark.parametrize(("ours", "words"), [(True, "The book is being read for other pages"), (False, "Another program holds the book")])
def test_a_reader_outside_is_ours_only_while_a_worker_is_at_work(older: Storage, ours: bool, words: str) -> None:
    kit.archer(older, "Wren")
    older.read_elsewhere = lambda: ours
    other = book_file.connect(older.path)
    try:
        other.execute("BEGIN")
        other.execute("SELECT count(*) FROM archer").fetchone()
        with pytest.raises(BookBusy, match=words):
            _save(older, "Tallow")
    finally:
        other.close()


def _save(book: Storage, name: str) -> None:
    with book.write() as session:
        session.connection().exec_driver_sql("UPDATE archer SET call_name = ?", (name,))


def test_pages_that_take_as_long_are_of_one_kind() -> None:
    def kind(path: str, query: bytes = b"") -> object:
        return kind_of({"path": path, "query_string": query})

    assert kind("/trials/" + new_id()) == kind("/trials/" + new_id()) != kind("/trials/" + new_id() + "/plan")
    assert kind("/results", b"trial=1") != kind("/results") == kind("/results", b"form=needle")
