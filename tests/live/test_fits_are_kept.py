"""Fits that a page had to work out are kept, and read back they make the same page, byte for byte. What was not asked for longest goes."""

from __future__ import annotations

import asyncio
import hashlib
import re
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from proofyard.access.seats import Seat
from proofyard.answers.fifty_percent import told
from proofyard.assembled import app_that_reads
from proofyard.kept_fits import FitsAsked
from proofyard.live.cache_filler import _scope
from proofyard.live.fits import KEEPS, FitsToKeep, KnownFits, told_to
from proofyard.live.page_workers import PageWorkers
from proofyard.publishing.choices import Choices, Replaced
from proofyard.publishing.withheld_copy import copy_withheld
from proofyard.records.cache_fits import fits_after, keep_fits
from proofyard.settings import BOOK_FILE, Settings
from proofyard.storage import Storage
from proofyard.views import curve, kept_fits, pair_comparison
from sqlalchemy import text
from starlette.types import Message

from tests.conftest import HOST, PORT, copied
from tests.live.apps_of_workers import abreast
from tests.statements_for_tests import statements

PAGES = ("/fifty-percent?tails=25,75", "/compare", "/protection")
# Counted as FORMULAS is: the figures of every fit that the demo's pages ask for, to seven digits; what is nearly 0 is rounding.
FITS_OF_THE_DEMO = {3: "2e7d8e25dfa75189"}


def forgotten() -> None:
    """As a process that has fitted nothing yet."""
    held: tuple[Any, ...] = (curve._fitted, curve._widened, curve._band, told._tail_point)
    for one in (*held, pair_comparison._compared, pair_comparison._ends, pair_comparison._slope):
        one.cache_clear()


@pytest.fixture(autouse=True)
def _none_left_to_other_tests() -> Iterator[None]:
    """One test here reads fits that it spoilt, and this process would hold them."""
    yield
    forgotten()


def scope_of(address: str) -> dict[str, Any]:
    path, _, query = address.partition("?")
    return {**_scope(path, query.encode()), "state": {"seat": Seat("owner")}}


async def body(answer: Any, address: str, **more: Any) -> bytes:
    said: list[Message] = []

    async def hear() -> Message:
        await asyncio.Event().wait()
        raise AssertionError("nothing more is asked")

    async def send(message: Message) -> None:
        said.append(message)

    await answer({**scope_of(address), **more}, hear, send)
    assert said[0]["status"] == 200, address
    return b"".join(one.get("body", b"") for one in said[1:])


@contextmanager
def heard() -> Iterator[list[FitsAsked]]:
    found: list[FitsAsked] = []
    was = told_to.set(found.append)
    try:
        yield found
    finally:
        told_to.reset(was)


def made(book: Storage, addresses: tuple[str, ...] = PAGES) -> tuple[list[bytes], FitsAsked]:
    """These pages by a process that knows no fit, and what they asked for."""
    forgotten()
    app = app_that_reads(book.path, Settings(book.path.parent, HOST, PORT), demo=True)
    every = FitsAsked()
    with closing(app.state.storage), heard() as fits:
        pages = [asyncio.run(body(app, address)) for address in addresses]
    for one in fits:
        every.found.update(one.found)
        every.asked |= one.asked
    return pages, every


def stored(book: Storage, fits: FitsAsked) -> int:
    waiting = FitsToKeep()
    waiting.note(fits)
    return waiting.store(book)


@pytest.fixture(scope="module")
def of_the_demo(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> tuple[list[bytes], FitsAsked]:
    """The demo's pages with nothing kept, and the fits that they asked for."""
    folder = copied(demo_book_file, tmp_path_factory.mktemp("fits") / "demo")
    with closing(Storage(folder / BOOK_FILE)) as book:
        return made(book)


def test_kept_fits_make_the_same_pages_and_nothing_is_fitted_again(demo_book: Storage, of_the_demo: tuple[list[bytes], FitsAsked]) -> None:
    heard_bell: list[str] = []
    demo_book.after_commit(lambda: heard_bell.append("rang"))
    plain, fits = of_the_demo
    assert len(fits.found) > 20
    assert stored(demo_book, fits) == len(fits.found)
    assert not heard_bell, "nobody is told: nothing that anybody said has changed"
    again, second = made(demo_book)
    assert again == plain
    assert not second.found, "nothing is fitted again"
    assert second.asked >= set(fits.found) - fits.asked
    with demo_book.write(quietly=True) as session:
        session.execute(text("DELETE FROM cache_fit"))
    assert made(demo_book)[0] == plain, "emptying it changes no page"


def test_what_is_kept_is_what_a_page_shows(demo_book: Storage, of_the_demo: tuple[list[bytes], FitsAsked]) -> None:
    """Else the test above would hold of a table that nobody reads."""
    plain, fits = of_the_demo
    stored(demo_book, fits)
    with demo_book.write(quietly=True) as session:
        session.execute(text("UPDATE cache_fit SET said = replace(said, '0.95', '0.5')"))
        session.execute(
            text("UPDATE cache_fit SET said = '[null,null,{\"1\":[\"no_shots\",[]]}]' WHERE said LIKE '%profile likelihood%null]'")
        )
    assert made(demo_book, PAGES[:1])[0] != plain[:1]


def test_what_was_not_asked_for_longest_goes(book: Storage) -> None:
    with book.write() as session:
        keep_fits(session, {"a": "1", "b": "2", "c": "3"}, asked=(), day=1)
        keep_fits(session, {}, asked=("a",), day=5)
        keep_fits(session, {"d": "4", "a": "1"}, asked=(), day=6, most=3)
        assert fits_after(session, 0) == [(1, "a", "1"), (3, "c", "3"), (4, "d", "4")]


def test_what_was_asked_for_again_on_a_day_is_not_marked_again(book: Storage) -> None:
    waiting = FitsToKeep()
    for found, asked in (({"a": "1"}, set()), ({"b": "2"}, {"a"})):
        waiting.note(FitsAsked(found, asked))
        waiting.store(book)
    waiting.note(FitsAsked({}, {"a", "b"}))
    with statements(book) as said:
        assert waiting.store(book) == 0
    assert not said


def test_a_process_reads_what_came_since_it_looked_and_nothing_twice(book: Storage) -> None:
    known = KnownFits(book)
    with book.write() as session:
        keep_fits(session, {"a": "1", "b": "2"}, asked=(), day=1)
    known.look()
    assert (known.said("a"), known.said("b"), known.said("c")) == ("1", "2", None)
    with book.write() as session:
        keep_fits(session, {"c": "3"}, asked=(), day=1)
        session.execute(text("UPDATE cache_fit SET said = 'read again' WHERE name = 'a'"))
    with statements(book) as said:
        known.look()
    assert len(said) == 1
    assert (known.said("a"), known.said("c")) == ("1", "3")


def test_a_copy_without_names_holds_no_fit(demo_book: Storage, tmp_path: Path, of_the_demo: tuple[list[bytes], FitsAsked]) -> None:
    stored(demo_book, of_the_demo[1])
    (tmp_path / "to publish").mkdir()
    copy = copy_withheld(demo_book.path, tmp_path / "to publish", choices=Choices(), replaced=Replaced())
    with closing(Storage(copy)) as other, other.read() as session:
        assert session.execute(text("SELECT count(*) FROM cache_fit")).scalar_one() == 0


def test_another_fit_has_another_number(of_the_demo: tuple[list[bytes], FitsAsked]) -> None:
    fits = of_the_demo[1].found.values()
    figures = sorted(re.sub(r"-?\d+\.\d+(?:e-?\d+)?", lambda one: f"{round(float(one.group()), 9):.7g}", said) for said in fits)
    found = hashlib.sha256("\n".join(figures).encode()).hexdigest()[:16]
    assert {kept_fits.FITTED: found} == FITS_OF_THE_DEMO, "figures changed: count FITTED in server/proofyard/views/kept_fits.py up by one"


@pytest.mark.slow
def test_a_worker_sends_what_it_fitted_and_the_next_one_finds_it(demo_book: Storage) -> None:
    def by_a_new_worker() -> tuple[bytes, FitsAsked]:
        make_app = partial(abreast, partial(app_that_reads, demo_book.path, Settings(demo_book.path.parent, HOST, PORT), demo=True))
        workers, told_here = PageWorkers(make_app, 1), FitsAsked()

        def note(fits: FitsAsked) -> None:
            told_here.found.update(fits.found)
            told_here.asked.update(fits.asked)

        try:
            return asyncio.run(body(workers.answer, "/fifty-percent", **{KEEPS: note})), told_here
        finally:
            workers.close()

    page, fits = by_a_new_worker()
    assert fits.found
    stored(demo_book, fits)
    again, second = by_a_new_worker()
    assert again == page
    assert second.asked and not second.found
