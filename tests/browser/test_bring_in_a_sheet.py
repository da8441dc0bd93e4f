"""A person who has never seen the page brings last year's spreadsheet in: how many presses that takes, and what comes of a mistake."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.demo_yard import DemoYard
from tests.browser.test_four_presses import Presses
from tests.pages.test_bring_in_page import LAST_YEAR

pytestmark = pytest.mark.slow

MOST = 7  # from the first page to the batch; an answer picked from a list is a press, what is typed is none


@pytest.fixture(params=[1280, 390])
def hand(demo_of_file: DemoYard, chromium: Browser, request: pytest.FixtureRequest) -> Iterator[Presses]:
    context = demo_of_file.context(chromium, "owner", width=request.param, height=900)
    page = context.new_page()
    page.goto(demo_of_file.address + "/")
    yield Presses(page)
    context.close()


def test_bring_last_years_spreadsheet_in_and_cross_it_out(hand: Presses) -> None:
    page = hand.page
    hand.press(page.get_by_role("navigation", name="Main").get_by_role("link", name="Data"))
    hand.press(page.locator("#siblings").get_by_role("link", name="Bring in", exact=True))
    hand.press(page.get_by_text("Shots", exact=True))
    page.get_by_label("The file").set_input_files({"name": "last-year.csv", "mimeType": "text/csv", "buffer": LAST_YEAR.encode()})
    hand.count += 1  # choosing the file
    hand.press(page.get_by_role("button", name="Look at it"))
    expect(page.get_by_text("2 rows can’t be read yet.")).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.get_by_label("“stuck” means").select_option(label="Opened (3)")
    hand.count += 1
    page.locator("#cell-6-7").fill("173 fps")
    hand.press(page.get_by_role("button", name=re.compile("^Bring in")))
    expect(page.get_by_role("heading", level=1)).to_have_text("Shots from last-year.csv")
    expect(page.get_by_text("This batch is in the book.")).to_be_visible()
    assert hand.count <= MOST
    page.get_by_label("Why").fill("the wrong year")
    hand.press(page.get_by_role("button", name="Cross out this batch"))
    expect(page.get_by_text("This batch is crossed out")).to_be_visible()
