"""The cast that all tests share: a fresh book, a house around it, and the four who may come to its door.

    book       a new book in a folder of its own (Storage)
    house      the app of that book, with its three devices
    owner      the laptop that started the server
    archer     Wren's phone, let in to log
    viewer     Pip's phone, let in to look at the whole book
    stranger   a phone that nobody let in

The four are clients that keep cookies and send the right Host and Origin. They speak to the app without a network.
"""

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from fastapi import FastAPI
from hypothesis import settings as hypothesis_settings
from starlette.testclient import TestClient

from server.access.sessions import COOKIE, hash_of, named, new_token
from server.opening import open_book
from server.records import devices
from server.settings import BOOK_FILE, Settings
from server.storage import Storage

# No example fails for the time it takes: machines are noisy.
hypothesis_settings.register_profile("proofyard", deadline=None)
hypothesis_settings.load_profile("proofyard")

HOST = "127.0.0.1"
PORT = 8014
ADDRESS = f"http://{HOST}:{PORT}"
# What a developer's own machine may have set, and what a test must not depend on.
SCRUBBED = ("HTTP_PROXY", "HTTPS_PROXY", "ALL_PROXY", "NO_PROXY", "TZ", "LC_ALL", "LANG", "LANGUAGE", "XDG_DATA_HOME")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="run the long tests too: thousands of shots, killed servers, browsers")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "long: takes more than a second or two; run with --long")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    for item in items:
        if "long" in item.keywords:
            item.add_marker(pytest.mark.skip(reason="long: run with --long"))


@pytest.fixture(autouse=True)
def scrubbed_environment(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """No test sees this machine's settings, and none can reach the user's own books."""
    for name in [name for name in os.environ if name.startswith("PROOFYARD_") and name != "PROOFYARD_NEED_ALL"]:
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
    for name in ("chromium", "chromium-browser", "google-chrome", "chrome"):
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


@pytest.fixture(scope="session")
def empty_book_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book in today's form with nothing in it: made once, since migrating takes longer than most tests."""
    folder = tmp_path_factory.mktemp("empty-book")
    open_book(folder).close()
    return folder / BOOK_FILE


@pytest.fixture
def book(tmp_path: Path, empty_book_file: Path) -> Iterator[Storage]:
    """A new book of its own for each test."""
    folder = tmp_path / "book"
    folder.mkdir()
    shutil.copyfile(empty_book_file, folder / BOOK_FILE)
    storage = open_book(folder)
    with storage.write() as session:
        devices.make_book(session)
    yield storage
    storage.close()


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
            self.app, base_url=ADDRESS, headers={"Origin": ADDRESS}, raise_server_exceptions=raise_server_exceptions,
            follow_redirects=False,
        )  # fmt: skip
        if role in self.tokens:
            client.cookies.set(named(COOKIE, ADDRESS), self.tokens[role], domain=HOST)
        return client


CAST = {"owner": "Laptop", "archer": "Wren", "viewer": "Pip"}


@pytest.fixture
def house(book: Storage) -> House:
    from server.app import create_app

    settings = Settings(folder=book.path.parent, host=HOST, port=PORT)
    tokens = {role: new_token() for role in CAST}
    ids = {}
    with book.write() as session:
        for role, call_name in CAST.items():
            made = devices.add_device(session, call_name=call_name, role=role, session_hash=hash_of(tokens[role]))
            ids[role] = made.id
    return House(create_app(book, settings), book, settings, tokens, ids)


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
