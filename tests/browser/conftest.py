"""A real server on a real file, and phones: Chromium contexts of 360 by 740, each let in under its own name.

    real_server      .stop() and .start() on the same address, as a laptop sleeps
    shooting_yard    what stands in its book, ready to shoot
    phone            makes one more phone: page = phone("Wren")
"""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from server.access.sessions import COOKIE, hash_of, named, new_token
from server.app import create_app
from server.opening import open_book
from server.records import devices
from server.records.shot_facts import ShotFact, shot_facts
from server.settings import Settings
from server.storage import Storage
from tests import kit_for_tests as kit
from tests.conftest import missing

PHONE = {"width": 360, "height": 740}


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class RealServer:
    """uvicorn in a thread of its own, on a book in a folder of its own."""

    folder: Path
    port: int = field(default_factory=free_port)
    _server: uvicorn.Server | None = None
    _thread: threading.Thread | None = None
    app: Any = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def book(self) -> Storage:
        """The book as the server has it open; a stopped server has none."""
        storage: Storage = self.app.state.storage
        return storage

    def start(self) -> None:
        self.app = create_app(open_book(self.folder), Settings(self.folder, host="127.0.0.1", port=self.port))
        self._server = uvicorn.Server(
            uvicorn.Config(self.app, host="127.0.0.1", port=self.port, log_level="warning", timeout_graceful_shutdown=1)
        )
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        until = time.monotonic() + 20
        while not self._server.started:
            assert time.monotonic() < until and self._thread.is_alive(), "the server did not start"
            time.sleep(0.02)

    def stop(self) -> None:
        assert self._server is not None and self._thread is not None
        self.app.state.doorbell.close()  # open streams end first: in a thread the server hears no signal
        self._server.should_exit = True
        self._thread.join(timeout=20)
        assert not self._thread.is_alive(), "the server did not stop"

    def let_in(self, call_name: str, role: str = "archer") -> str:
        """A device that was let in; gives the secret of its cookie."""
        token = new_token()
        with self.book.write() as session:
            devices.add_device(session, call_name=call_name, role=role, session_hash=hash_of(token))
        return token


# One for each file, not for the session: while it is open this thread has a running loop, and other tests want none.
@pytest.fixture(scope="module")
def chromium(chromium_path: str | None) -> Iterator[Browser]:
    if chromium_path is None:
        missing("Chromium is not installed")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def real_server(tmp_path: Path) -> Iterator[RealServer]:
    server = RealServer(tmp_path / "book")
    server.folder.mkdir()
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
        """What the book has, by label, those struck through left out."""
        with self.book.read() as session:
            return sorted(fact.label for fact in shot_facts(session))

    def comes_to(self, label: str, **wanted: Any) -> ShotFact:
        """The shot as soon as the book has it like that: a phone saves on itself first, and says so at once."""
        until = time.monotonic() + 15
        while True:
            with self.book.read() as session:
                found = [fact for fact in shot_facts(session, struck=True) if fact.label == label]
            now = {name: getattr(found[0], name) for name in wanted} if found else {}
            if found and now == wanted:
                return found[0]
            assert time.monotonic() < until, f"{label} never came to {wanted}, it is {now}"
            time.sleep(0.1)

    def fact(self, label: str) -> ShotFact:
        with self.book.read() as session:
            found = [fact for fact in shot_facts(session, struck=True) if fact.label == label]
        assert len(found) == 1, f"{len(found)} shots are called {label}"
        return found[0]


@pytest.fixture
def shooting_yard(real_server: RealServer) -> ShootingYard:
    book = real_server.book
    real_server.let_in("Laptop", "owner")
    archers = {name: kit.archer(book, name) for name in ("Tallow", "Wren")}
    kit.bow(book, "Ash stave", marked_weight="82 lbf")
    kit.bow(book, "Yew stave", marked_weight="112 lbf")
    forms = {"7": "needle", "8": "stout", "9": "leaf", "10": "barbed"}
    arrows = {tag: kit.arrow(book, tag, form=form, masses=()) for tag, form in forms.items()}
    panel = kit.panel(book, "P3", outline="breastplate", thickness="1.6 mm")
    area = {"panel_build": panel.build, "reach": "6 mm"}
    kit.put(book, "panel_area", {**area, "sort": "ridge", "x": "0", "y": "180 mm", "to_x": "0", "to_y": "-180 mm"})
    kit.put(book, "panel_area", {**area, "sort": "aim", "name": "1", "x": "60 mm", "y": "60 mm"})
    opened = kit.open_trial(book, "Does the long needle get through 1.6 mm plate?")
    setup = kit.setup(book, opened.session, panel.build, stand_id=kit.stand(book), distance="14 m")
    return ShootingYard(real_server, archers, arrows, panel, opened.session, setup)


Phone = Callable[..., Page]


@pytest.fixture
def phone(chromium: Browser, real_server: RealServer) -> Iterator[Phone]:
    """A phone of its own: name, and whether script is on. Whatever its page logs as an error fails the test."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def make(call_name: str, *, script: bool = True, role: str = "archer", token: str = "") -> Page:
        context = chromium.new_context(viewport=PHONE, java_script_enabled=script, has_touch=True, is_mobile=True)  # type: ignore[arg-type]
        context.add_cookies([{"name": named(COOKIE, real_server.address), "value": token or real_server.let_in(call_name, role), "url": real_server.address}])
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(f"{call_name}: {error}"))
        page.on("console", lambda said: faults.append(f"{call_name}: {said.text}") if "Content Security Policy" in said.text else None)
        page.set_default_timeout(8000)
        contexts.append(context)
        return page

    yield make
    for context in contexts:
        context.close()
    assert not faults, faults
