"""A published site opened from a disk, as somebody opens it who was handed it on a stick: Chromium and WebKit, with script and without."""

from __future__ import annotations

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page
from proofyard.assembled import app_without_door
from proofyard.publishing.choices import Choices
from proofyard.publishing.site import publish
from proofyard.settings import BOOK_FILE
from selenium.webdriver.common.by import By

from tests.browser.every_page import look
from tests.browser.webkit import not_here, webkit, webkit_driver
from tests.conftest import copied, missing

pytestmark = pytest.mark.slow  # the demo's site is five hundred pages
# One of each kind of page.
LOOKED_AT = (
    "index",
    "search",
    "trials",
    "results",
    "compare",
    "fifty-percent",
    "protection",
    "kit",
    "combinations",
    "guide",
    "methods/*",
    "shots/a40",
    "panels/*",
    "arrows/*",
    "bows/*",
    "sessions/*",
)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Path:
    folder = tmp_path_factory.mktemp("published")
    book = copied(demo_book_file, folder / "book") / BOOK_FILE
    to = folder / "a stick, with spaces & signs"  # a site works under any path
    with ThreadPoolExecutor(1) as beside:  # a browser that other tests opened keeps this thread's loop running
        beside.submit(publish, book, to, choices=Choices(licence="CC0-1.0"), make_app=app_without_door).result()
    return to


@pytest.fixture
def page(chromium: Browser) -> Iterator[Page]:
    with chromium.new_context(viewport={"width": 360, "height": 760}) as context:
        yield context.new_page()


def files(site: Path) -> list[Path]:
    return [sorted(site.glob(f"{name}.html"))[0] for name in LOOKED_AT]


def test_from_a_disk_nothing_is_blocked_or_missing_on_any_kind_of_page(site: Path, page: Page) -> None:
    said: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        said.append(message.text)

    page.on("console", heard)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("requestfailed", lambda request: said.append(request.url))
    for file in files(site):
        page.goto(file.as_uri())
        unseen = page.evaluate("[...document.querySelectorAll('use')].filter(one => one.checkVisibility() && !one.getBBox().width).length")
        assert unseen == 0, f"{file.name}: signs that draw nothing"
    assert said == []
    page.close()


def test_axe_has_nothing_against_any_kind_of_page_and_each_fits_a_phone(site: Path, page: Page) -> None:
    for file in files(site):
        page.goto(file.as_uri())
        for found in look(page, file.name):
            assert (found.too_wide, found.violations) == (0, ()), file.name


def test_without_script_every_page_says_the_same_and_the_search_page_lists_everything(site: Path, chromium: Browser) -> None:
    texts: list[list[str]] = []
    for script in (True, False):
        with chromium.new_context(java_script_enabled=script) as context:
            page, found = context.new_page(), []
            for file in files(site):
                page.goto(file.as_uri())
                found.append(re.sub(r"\s+", " ", page.locator("main").inner_text()))
            texts.append(found)
    search = LOOKED_AT.index("search")
    assert [a for n, a in enumerate(texts[0]) if n != search] == [b for n, b in enumerate(texts[1]) if n != search]
    assert texts[1][search].count("A40") >= 1 and len(texts[1][search]) > 10_000


def test_a_shot_is_found_by_words_and_opened(site: Path, page: Page) -> None:
    page.goto((site / "index.html").as_uri())
    page.get_by_role("link", name="Search").click()
    page.get_by_label("A label, a name, a day").fill("A40")
    assert re.fullmatch(r"[1-9]\d* found", page.locator("#found-told").inner_text())
    page.locator("#found li:visible a").filter(has_text=re.compile("^A40")).first.click()
    assert page.url.endswith("/shots/a40.html") and "A40" in page.locator("h1").inner_text()


def test_webkit_opens_it_from_a_disk_and_its_search_finds(site: Path) -> None:
    if lacks := not_here():
        missing(f"not installed: {', '.join(lacks)}")
    with webkit_driver() as driver, webkit(driver) as browser:
        for file in files(site):
            browser.get(file.as_uri())
            assert browser.find_element(By.TAG_NAME, "h1").text, file.name
            assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth"), file.name
            # A browser's own margin of a body is 8 px (HTML, 15.3.2, "The page"); the site's sheet has none.
            assert browser.execute_script("return getComputedStyle(document.body).margin") == "0px", f"{file.name}: its sheet was not read"
        browser.get((site / "search.html").as_uri())
        browser.find_element(By.ID, "find").send_keys("A40")
        assert re.fullmatch(r"[1-9]\d* found", browser.find_element(By.ID, "found-told").text)
