"""A trial's page and a day's are read at a glance: how high it may be with the demo, on a desktop and on a phone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.demo_yard import DemoYard
from tests.demo_for_tests import called


@pytest.mark.parametrize(("width", "most"), [(1280, 2500), (390, 4500)])
def test_the_third_trial_is_no_higher_than(chromium: Browser, demo_of_all: DemoYard, width: int, most: int) -> None:
    context = demo_of_all.context(chromium, "owner", width=width, height=900)
    page = context.new_page()
    with demo_of_all.server.book.read() as session:
        trial = called(session)["thick plate"]
    page.goto(f"{demo_of_all.address}/trials/{trial}")
    assert page.evaluate("document.documentElement.scrollHeight") <= most
    context.close()


@pytest.mark.parametrize(("width", "most"), [(1280, 3000), (390, 4500)])
@pytest.mark.parametrize("day", ["first day", "last day"])
def test_a_day_of_ten_ends_is_no_higher_than(chromium: Browser, demo_of_all: DemoYard, width: int, most: int, day: str) -> None:
    """The two newest ends stand open; an earlier one is a line that opens, without script too."""
    context = demo_of_all.context(chromium, "owner", width=width, height=900, script=False)
    page = context.new_page()
    with demo_of_all.server.book.read() as session:
        ids = called(session)
    page.goto(f"{demo_of_all.address}/sessions/{ids[day]}")
    assert page.evaluate("document.documentElement.scrollHeight") <= most
    ends = page.locator(".session__shooting_end .row, .session__earlier .row")
    assert page.locator(".session__shooting_end").count() == 2 and page.locator(".session__shooting_end .row").first.is_visible()
    assert not ends.last.is_visible()
    page.locator(".session__earlier > summary").last.click()
    expect(ends.last).to_be_visible()
    page.emulate_media(media="print")
    expect(page.locator(".session__earlier .row").first).to_be_visible()
    context.close()


def test_panels_after_the_second_are_folded_on_a_phone_alone(chromium: Browser, demo_of_all: DemoYard) -> None:
    context = demo_of_all.context(chromium, "owner", width=390, height=900)
    page = context.new_page()
    with demo_of_all.server.book.read() as session:
        trial = called(session)["thick plate"]
    page.goto(f"{demo_of_all.address}/trials/{trial}")
    last, summary = page.locator(".trial__panel").last, page.locator("#trial-panels-rest > summary")
    assert page.locator(".trial__panel").count() == 4
    expect(page.locator(".trial__panel").nth(1)).to_be_visible()
    expect(last).to_be_hidden()
    expect(summary).to_have_text("2 more: P7; P8")
    summary.click()
    expect(last).to_be_visible()
    summary.click()
    page.set_viewport_size({"width": 1280, "height": 900})
    expect(last).to_be_visible()
    expect(summary).to_be_hidden()
    tops = {one.evaluate("one => Math.round(one.getBoundingClientRect().top)") for one in page.locator(".trial__panel").all()}
    assert len(tops) == 1, "one row of four"
    page.set_viewport_size({"width": 390, "height": 900})
    page.emulate_media(media="print")
    expect(last).to_be_visible()
    context.close()
