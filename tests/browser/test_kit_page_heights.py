"""All kit on one page: how high it may be on a phone with the demo, and that what is folded there stands elsewhere."""

from __future__ import annotations

from playwright.sync_api import Browser, expect

from tests.browser.demo_yard import DemoYard

MOST_ON_A_PHONE = 3000


def test_many_of_a_kind_are_folded_on_a_phone_and_stand_open_where_there_is_room(chromium: Browser, demo_of_all: DemoYard) -> None:
    context = demo_of_all.context(chromium, "owner", width=390, height=900)
    page = context.new_page()
    page.goto(f"{demo_of_all.address}/kit")
    arrow, summary = page.locator("#kit-many-arrow .row").first, page.locator("#kit-many-arrow > summary")
    assert page.evaluate("document.documentElement.scrollHeight") <= MOST_ON_A_PHONE
    expect(arrow).to_be_hidden()
    expect(summary).to_contain_text("15 arrows")
    summary.click()
    expect(arrow).to_be_visible()
    summary.click()
    page.set_viewport_size({"width": 1280, "height": 900})
    expect(arrow).to_be_visible()
    expect(summary).to_be_hidden()
    page.set_viewport_size({"width": 390, "height": 900})
    expect(arrow).to_be_hidden()
    page.emulate_media(media="print")
    expect(arrow).to_be_visible()
    context.close()
