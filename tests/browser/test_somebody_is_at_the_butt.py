"""While one phone is at the butt, every other line says so in the largest type and asks before it logs a shot."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.browser.range_hands import Hand

Phone = Callable[..., Page]
SIZES = """[...document.querySelectorAll('main *')].filter((one) => one.checkVisibility())
  .map((one) => parseFloat(getComputedStyle(one).fontSize))"""


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address).open().ready()


@pytest.fixture
def tallow(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Tallow"), shooting_yard.server.address).open().ready("Tallow")


def stopped(hand: Hand, words: str) -> None:
    expect(hand.page.get_by_role("alert").get_by_role("heading", level=1)).to_have_text(re.compile(rf"^\s*Nobody shoots\.\s*{words}"))


def test_the_other_line_stops_till_they_are_back(wren: Hand, tallow: Hand) -> None:
    wren.loose()
    tallow.page.mouse.wheel(0, 900)
    tallow.page.wait_for_timeout(300)
    wren.tap("We’re at the butt")
    stopped(tallow, r"Wren is at the butt since \d\d:\d\d\.")
    expect(tallow.page.get_by_text("Nobody shoots.")).to_be_in_viewport(ratio=1)
    page = tallow.page
    expect(page.get_by_role("button", name="Loosed", exact=True)).to_have_count(0)
    expect(page.get_by_role("group", name="Arrow")).to_have_count(0)
    assert violations(page) == () and page.evaluate("document.documentElement.scrollWidth") <= 360
    sizes = page.evaluate(SIZES)
    biggest = page.locator(".range__nobody > :first-child").evaluate("(one) => parseFloat(getComputedStyle(one).fontSize)")
    assert biggest == max(sizes)
    wren.page.get_by_role("link", name="Line").tap()
    stopped(wren, "You are at the butt since")
    wren.tap("We’re back")
    expect(page.get_by_role("button", name="Loosed", exact=True)).to_be_visible()
    expect(wren.page.get_by_role("button", name="Loosed", exact=True)).to_be_visible()
    tallow.loose()


def test_a_shot_all_the_same_is_asked_about_each_time(wren: Hand, tallow: Hand, shooting_yard: ShootingYard) -> None:
    wren.loose()
    wren.tap("We’re at the butt")
    stopped(tallow, "Wren is at the butt")
    tallow.tap("Log a shot all the same")
    expect(tallow.page.get_by_role("alert")).to_contain_text("Is everybody back, and nobody in front of the line?")
    tallow.tap("Cancel")
    tallow.tap("Log a shot all the same")
    tallow.tap(re.compile(r"^Log [A-Z]1 all the same$"))
    label = tallow.loose()
    stopped(tallow, "Wren is at the butt")
    tallow.in_the_book()
    assert shooting_yard.fact(label)


def test_both_at_the_butt_and_one_back_still_stops(wren: Hand, tallow: Hand) -> None:
    wren.loose()
    wren.tap("We’re at the butt")
    stopped(tallow, "Wren is at the butt")
    tallow.tap("We’re at the butt")
    wren.page.get_by_role("link", name="Line").tap()
    stopped(wren, "You and Tallow are at the butt")
    wren.tap("We’re back")
    stopped(wren, "Tallow is at the butt")
    wren.tap("Log a shot all the same")
    wren.tap("Tallow is back")
    expect(wren.page.get_by_role("button", name="Loosed", exact=True)).to_be_visible()
    expect(tallow.page.get_by_role("button", name="To the line")).to_have_count(0)  # a reading is open there


def test_without_the_laptop_the_line_says_that_it_can_t_know(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.loose()
    wren.in_the_book()
    expect(wren.page.get_by_text("can’t know whether somebody is at the butt")).to_be_hidden()
    wren.page.context.set_offline(True)
    expect(wren.page.get_by_text("can’t know whether somebody is at the butt. Look before you shoot.")).to_be_visible(timeout=15_000)
    wren.page.context.set_offline(False)
    kit.archer(shooting_yard.book, "Another")
    expect(wren.page.get_by_text("can’t know whether somebody is at the butt")).to_be_hidden(timeout=15_000)


def test_at_the_butt_without_the_laptop_the_phone_says_that_the_others_can_t_know(wren: Hand) -> None:
    wren.loose()
    wren.in_the_book()
    wren.page.context.set_offline(True)
    expect(wren.page.get_by_text("can’t know whether somebody is at the butt")).to_be_visible(timeout=15_000)
    wren.tap("We’re at the butt")
    wren.page.get_by_role("link", name="Line").tap()
    stopped(wren, "You are at the butt")
    expect(wren.page.get_by_role("alert")).to_contain_text("the other phones can’t know. Tell the line.")
    expect(wren.page.get_by_text("can’t know whether somebody is at the butt")).to_be_hidden()
