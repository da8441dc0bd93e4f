"""The range's page behind a reverse proxy, below a path: a shot is logged and comes into the book, and nothing is asked elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, expect
from proofyard.access.seats import COOKIE, named

from tests.access.test_proxy import PATH, proxied
from tests.browser.conftest import PHONE, ShootingYard
from tests.browser.range_hands import Hand
from tests.browser.real_server import RealServer
from tests.conftest import copied
from tests.faults.a_real_server import HERE

pytestmark = pytest.mark.slow


@pytest.fixture
def real_server(tmp_path: Path, empty_book_file: Path) -> Iterator[RealServer]:
    """The server of `shooting_yard`, behind a proxy that hands the path on."""
    server = RealServer(copied(empty_book_file, tmp_path / "book"), behind={"proxies": (HERE,), "path": PATH})
    server.start()
    yield server
    if server._thread is not None and server._thread.is_alive():
        server.stop()


def test_a_shot_is_logged_and_read_below_the_path(chromium: Browser, shooting_yard: ShootingYard) -> None:
    with proxied(shooting_yard.server.port, speaks="http") as front:
        outside = f"http://{HERE}:{front}"
        context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
        try:
            token = shooting_yard.server.let_in("Wren")
            context.add_cookies([{"name": named(COOKIE, f"{HERE}:{front}"), "value": token, "domain": HERE, "path": PATH}])
            page = context.new_page()
            page.set_default_timeout(8000)
            asked: list[str] = []
            page.on("request", lambda request: asked.append(request.url))
            wren = Hand(page, outside + PATH).open().ready()
            label = wren.loose()
            shooting_yard.comes_to(label)
            page.get_by_role("link", name="Butt").tap()
            expect(page).to_have_url(f"{outside}{PATH}/range#butt")
            page.reload()
            expect(page.get_by_role("heading", level=1)).to_be_visible()
            assert len(asked) > 40
            assert [one for one in asked if not urlsplit(one).path.startswith(f"{PATH}/")] == []
        finally:
            context.close()
