"""A real server on a real file, and phones: Chromium contexts of 360 by 740, each let in under its own name.

real_server      .stop() and .start() on the same address, as a laptop sleeps
shooting_yard    what stands in its book, ready to shoot
phone            makes one more phone: page = phone("Wren")
demo_of_all      the served demo, one for all tests that only read it
demo_of_file     the served demo, one for the tests of a file that write into it
"""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright
from proofyard.access.seats import COOKIE, named
from proofyard.records.book import Revision
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.storage import Storage
from sqlalchemy import func, select

from tests import kit_for_tests as kit
from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.real_server import RealServer
from tests.conftest import copied, missing

PHONE = {"width": 360, "height": 740}


class OneChromium:
    """One browser for all files of this folder that a process runs one after another."""

    def __init__(self) -> None:
        self._kept = ExitStack()
        self._play: Playwright | None = None
        self._browser: Browser | None = None

    def play(self) -> Playwright:
        if self._play is None:
            self._play = self._kept.enter_context(sync_playwright())
        return self._play

    def opened(self, path: str) -> Browser:
        if self._browser is None or not self._browser.is_connected():
            self._browser = self.play().chromium.launch(executable_path=path, args=["--no-sandbox"])
            self._kept.callback(self._browser.close)
        return self._browser

    def close(self) -> None:
        self._play = self._browser = None
        self._kept.close()


ONE_CHROMIUM = OneChromium()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(item: pytest.Item, nextitem: pytest.Item | None) -> Generator[None]:
    """Chromium goes before a test elsewhere begins: while it is open this thread has a running loop, and other tests want none."""
    try:
        return (yield)
    finally:
        if nextitem is None or Path(__file__).parent not in nextitem.path.parents:
            ONE_CHROMIUM.close()


@pytest.fixture(scope="module")
def playwright() -> Playwright:
    """For tests that launch a Chromium of their own."""
    return ONE_CHROMIUM.play()


@pytest.fixture(scope="module")
def chromium(chromium_path: str | None) -> Browser:
    if chromium_path is None:
        missing("Chromium is not installed")
    assert chromium_path is not None
    return ONE_CHROMIUM.opened(chromium_path)


@pytest.fixture(scope="session")
def demo_of_all(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[DemoYard]:
    """One served demo for every test that only reads: at the end nothing may have been written."""
    with demo_yard(copied(demo_book_file, tmp_path_factory.mktemp("demo") / "read-only")) as served:
        for role in ("owner", "archer", "viewer"):
            served.token(role)
        before = written(served.server.book)
        yield served
        assert written(served.server.book) == before, "a test wrote into the demo that all tests read: it needs demo_of_file"


def written(book: Storage) -> int:
    with book.read() as session:
        return int(session.execute(select(func.count()).select_from(Revision)).scalar_one())


@pytest.fixture(scope="module")
def demo_of_file(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[DemoYard]:
    """A served demo for the tests of one file, which write into it."""
    with demo_yard(copied(demo_book_file, tmp_path_factory.mktemp("demo") / "own")) as served:
        yield served


@pytest.fixture
def real_server(tmp_path: Path, empty_book_file: Path) -> Iterator[RealServer]:
    server = RealServer(copied(empty_book_file, tmp_path / "book"))
    server.start()
    yield server
    if server._thread is not None and server._thread.is_alive():
        server.stop()


@dataclass(frozen=True)
class ShootingYard:
    """Two archers, two bows, four arrows, a plate with a ridge and an aim spot, a day with its cautions ticked."""

    server: RealServer
    archers: dict[str, str]
    arrows: dict[str, kit.Arrow]
    panel: kit.Panel
    session: str
    setup: str

    @property
    def book(self) -> Storage:
        return self.server.book

    def labels(self) -> list[str]:
        """What the book has, by label, those crossed out left out."""
        with self.book.read() as session:
            return sorted(fact.label for fact in shot_facts(session))

    def comes_to(self, label: str, **wanted: Any) -> ShotFact:
        """The shot as soon as the book has it like that: a phone saves on itself first, and says so at once."""
        until = time.monotonic() + 15
        while True:
            with self.book.read() as session:
                found = [fact for fact in shot_facts(session, voided=True) if fact.label == label]
            now = {name: getattr(found[0], name) for name in wanted} if found else {}
            if found and now == wanted:
                return found[0]
            assert time.monotonic() < until, f"{label} never came to {wanted}, it is {now}"
            time.sleep(0.1)

    def fact(self, label: str) -> ShotFact:
        with self.book.read() as session:
            found = [fact for fact in shot_facts(session, voided=True) if fact.label == label]
        assert len(found) == 1, f"{len(found)} shots are called {label}"
        return found[0]


@pytest.fixture
def shooting_yard(real_server: RealServer) -> ShootingYard:
    book = real_server.book
    real_server.let_in("Laptop", "owner")
    archers = {name: kit.archer(book, name) for name in ("Tallow", "Wren")}
    kit.bow(book, "Ash stave", marked_weight="82 lbf")
    kit.bow(book, "Yew stave", marked_weight="112 lbf")
    forms = {"7": "needle", "8": "short_bodkin", "9": "leaf", "10": "barbed"}
    arrows = {tag: kit.arrow(book, tag, form=form, masses=()) for tag, form in forms.items()}
    panel = kit.panel(book, "P3", outline="breastplate", thickness="1.6 mm")
    area = {"panel_build": panel.build, "reach": "6 mm"}
    kit.put(book, "panel_area", {**area, "sort": "ridge", "x": "0", "y": "180 mm", "to_x": "0", "to_y": "-180 mm"})
    kit.put(book, "panel_area", {**area, "sort": "aim", "name": "1", "x": "60 mm", "y": "60 mm"})
    opened = kit.open_trial(book, "Does the long needle bodkin get through 1.6 mm plate?")
    setup = kit.setup(book, opened.session, panel.build, stand_id=kit.stand(book), distance="14 m")
    return ShootingYard(real_server, archers, arrows, panel, opened.session, setup)


Phone = Callable[..., Page]


@pytest.fixture
def phone(chromium: Browser, real_server: RealServer) -> Iterator[Phone]:
    """A phone of its own: name, and whether script is on. Whatever its page logs as an error fails the test, but for one
    whose errors are what is tested."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def make(call_name: str, *, script: bool = True, role: str = "archer", token: str = "", faulty: bool = False) -> Page:
        context = chromium.new_context(viewport=PHONE, java_script_enabled=script, has_touch=True, is_mobile=True)
        context.add_cookies(
            [
                {
                    "name": named(COOKIE, real_server.address),
                    "value": token or real_server.let_in(call_name, role),
                    "url": real_server.address,
                }
            ]
        )
        page = context.new_page()
        if not faulty:
            page.on("pageerror", lambda error: faults.append(f"{call_name}: {error.stack or error}"))
        page.on("console", lambda said: faults.append(f"{call_name}: {said.text}") if "Content Security Policy" in said.text else None)
        page.set_default_timeout(8000)
        contexts.append(context)
        return page

    yield make
    for context in contexts:
        context.close()
    assert not faults, faults
