"""One phone in two groups of one server: what it logs in one is in that group's book and on that group's pages, and nowhere else."""

from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from proofyard import cli
from proofyard.access.seats import COOKIE, named
from proofyard.groups.front import Front
from proofyard.groups.register import open_register
from proofyard.records.shot_facts import shot_facts
from proofyard.serving import listening_socket, ports_of, server_of
from proofyard.settings import Settings
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.browser.conftest import PHONE
from tests.browser.range_hands import Hand
from tests.faults.a_real_server import HERE
from tests.groups_for_tests import Served, begun_in

pytestmark = pytest.mark.slow


@pytest.fixture
def groups(tmp_path: Path, empty_book_file: Path) -> Iterator[tuple[Served, int]]:
    """Two groups behind a real port."""
    for name in ("oak", "elm"):
        assert cli.main(["group", "add", name, "--data", str(tmp_path)]) == 0
        begun_in(tmp_path, name, empty_book_file)
    with contextlib.closing(listening_socket(HERE, 0)) as listener, contextlib.closing(open_register(tmp_path)) as register:
        settings = Settings(tmp_path, host=HERE, port=listener.getsockname()[1])
        front = Front(register, settings, addresses=lambda: [])
        server = server_of(front, ports_of(front, settings, listener, None))
        thread = threading.Thread(target=lambda: asyncio.run(server.serve()), daemon=True)
        thread.start()
        until = time.monotonic() + 20
        while not server.started:
            assert thread.is_alive() and time.monotonic() < until
            time.sleep(0.02)
        yield Served(front, tmp_path), settings.port
        front.opened.close_bells()
        server.should_exit = True
        thread.join(20)
        assert not thread.is_alive()


def labels(book: Storage) -> list[str]:
    with book.read() as session:
        return sorted(fact.label for fact in shot_facts(session))


def laid_out(book: Storage) -> None:
    kit.archer(book, "Wren")
    kit.bow(book, "Yew stave", marked_weight="112 lbf")
    kit.arrow(book, "7", masses=())
    opened = kit.open_trial(book)
    kit.setup(book, opened.session, kit.panel(book, "P3").build, stand_id=kit.stand(book), distance="14 m")


def stores(page: Page) -> set[str]:
    found: list[str] = page.evaluate("indexedDB.databases().then((all) => all.map((one) => one.name))")
    return set(found)


def test_a_phone_in_two_groups_keeps_their_shots_apart(chromium: Browser, groups: tuple[Served, int]) -> None:
    served, port = groups
    at = f"http://{HERE}:{port}"
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
    try:
        page = context.new_page()
        page.set_default_timeout(8000)
        for name in ("oak", "elm"):
            page.goto(f"{at}/g/{name}/join")
            laid_out(served.book(name))
            token = served.let_in(name, "archer")
            cookie = f"{name}.{named(COOKIE, f'{HERE}:{port}')}"
            context.add_cookies([{"name": cookie, "value": token, "domain": HERE, "path": f"/g/{name}"}])
        oak = Hand(page, f"{at}/g/oak").open().ready()
        page.route("**/g/oak/api/ops", lambda route: route.abort())  # out of reach: the shot waits on the phone
        label = oak.loose()
        elm = Hand(page, f"{at}/g/elm").open().ready()
        assert stores(page) == {"proofyard of oak", "proofyard of elm"}
        mine = elm.loose()
        until = time.monotonic() + 15
        while labels(served.book("elm")) != [mine]:
            assert time.monotonic() < until, labels(served.book("elm"))
            time.sleep(0.1)
        assert labels(served.book("oak")) == [], "what waits for oak was not sent to elm, nor to oak from elm's page"
        page.unroute("**/g/oak/api/ops")
        Hand(page, f"{at}/g/oak").open()
        until = time.monotonic() + 15
        while labels(served.book("oak")) != [label]:
            assert time.monotonic() < until, labels(served.book("oak"))
            time.sleep(0.1)
        assert labels(served.book("elm")) == [mine]
    finally:
        context.close()
