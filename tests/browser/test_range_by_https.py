"""The range's page on https: kept by the phone's own worker, it opens without the laptop, also after a restart of the phone.

Chromium is told which key to trust (as a phone is told to trust the authority): with a fault of the certificate that somebody
clicked away no browser runs a worker. A restart is a new process of Chromium on the same profile.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import BrowserContext, Page, Playwright, expect
from proofyard.access.seats import COOKIE, named
from proofyard.authority import certify
from proofyard.settings import Settings

from tests.browser.conftest import PHONE, ShootingYard
from tests.browser.range_hands import Hand
from tests.browser.real_server import RealServer
from tests.conftest import copied, missing

pytestmark = pytest.mark.slow

KEPT = """async () => Object.fromEntries(await Promise.all((await caches.keys()).map(async (name) =>
  [name, (await (await caches.open(name)).keys()).map((one) => new URL(one.url).pathname)])))"""


@pytest.fixture
def real_server(tmp_path: Path, empty_book_file: Path) -> Iterator[RealServer]:
    """The server of `shooting_yard`, by https."""
    certify(tmp_path / "certified", has=[], also=[])
    server = RealServer(copied(empty_book_file, tmp_path / "book"), certificate=Settings(tmp_path / "certified").own_https.pair)
    server.start()
    yield server
    if server._thread is not None and server._thread.is_alive():
        server.stop()


Start = Callable[[], Page]


@pytest.fixture
def start(tmp_path: Path, playwright: Playwright, chromium_path: str | None, real_server: RealServer) -> Iterator[Start]:
    """Switch the phone on: one profile, a new Chromium each time."""
    if chromium_path is None:
        missing("Chromium is not installed")
    assert real_server.certificate
    leaf = x509.load_pem_x509_certificate(real_server.certificate.shown.read_bytes())
    key = leaf.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    trusts = f"--ignore-certificate-errors-spki-list={base64.b64encode(sha256(key).digest()).decode()}"
    on: list[BrowserContext] = []

    def switched_on() -> Page:
        while on:
            on.pop().close()
        options: dict[str, Any] = {"viewport": PHONE, "has_touch": True, "is_mobile": True}
        context = playwright.chromium.launch_persistent_context(
            tmp_path / "profile", executable_path=chromium_path, args=["--no-sandbox", trusts], **options
        )
        on.append(context)
        page = context.pages[0]
        page.set_default_timeout(20_000)  # a new Chromium, TLS and all files of the page: slow where others work beside it
        return page

    yield switched_on
    while on:
        on.pop().close()


def let_in(page: Page, server: RealServer) -> str:
    token = server.let_in("Wren")
    name = named(COOKIE, server.address, https=True)
    page.context.add_cookies([{"name": name, "value": token, "url": server.address, "secure": True, "expires": 4_000_000_000}])
    return token


def kept(page: Page) -> dict[str, list[str]]:
    """What the worker keeps, once it has all of it."""
    page.wait_for_function("navigator.serviceWorker.ready")
    page.wait_for_function("async () => (await caches.keys()).length === 1 && Boolean(await caches.match('/range'))")
    found: dict[str, list[str]] = page.evaluate(KEPT)
    return found


def test_the_page_opens_without_the_laptop_and_after_a_restart_and_the_shots_come_into_the_book(
    start: Start, shooting_yard: ShootingYard
) -> None:
    server = shooting_yard.server
    page = start()
    let_in(page, server)
    wren = Hand(page, server.address).open().ready()
    first = wren.loose()
    shooting_yard.comes_to(first)
    (files,) = kept(page).values()
    assert "/range" in files and all(one == "/range" or one.startswith("/static/") for one in files), "nothing that anybody logged"

    server.stop()
    page.reload()
    page.reload()  # the second is a page of the worker's own
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    second = wren.loose()

    again = start()
    hand = Hand(again, server.address)
    for place in ("/range/butt", "/range"):
        hand.open(place)
    third = hand.loose()
    expect(again.locator("[data-slot=words]").first).to_contain_text("on this phone only")

    server.start()
    for label in (first, second, third):
        shooting_yard.comes_to(label)
    assert shooting_yard.labels() == sorted([first, second, third])


def test_the_laptop_is_asked_first_so_that_a_removed_phone_hears_of_it_and_another_book_is_another_page(
    start: Start, shooting_yard: ShootingYard, tmp_path: Path, empty_book_file: Path
) -> None:
    server = shooting_yard.server
    page = start()
    let_in(page, server)
    Hand(page, server.address).open()
    (before,) = kept(page)
    page.context.clear_cookies()
    answer = page.reload()  # by its address alone the browser's own copy would do, as on plain http
    assert answer is not None and answer.status in (401, 403), answer.status

    server.stop()
    server.folder = copied(empty_book_file, tmp_path / "other")
    server.start()
    with server.book.write() as session:
        from proofyard.records import devices

        book = devices.the_book(session)
        assert book is not None
        book.book_id = "another"
    let_in(page, server)
    Hand(page, server.address).open()
    page.wait_for_function(
        "async (before) => { const names = await caches.keys(); return names.length === 1 && names[0] !== before; }", arg=before
    )


def test_on_https_too_the_page_is_small_enough_for_a_field(start: Start, shooting_yard: ShootingYard) -> None:
    page = start()
    let_in(page, shooting_yard.server)
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    sizes: list[float] = []
    session.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    Hand(page, shooting_yard.server.address).open()
    page.wait_for_timeout(1500)
    print(f"{sum(sizes):.0f} bytes by https")
    assert 10_000 < sum(sizes) <= 101_000
    assert re.match("https://", page.url)
