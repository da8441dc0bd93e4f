"""The masthead on one line, the second row that slides, the first page's heights, and the dent: measured in the browser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from proofyard.access.seats import COOKIE, named

from tests.browser.demo_yard import DemoYard
from tests.browser.every_page import look
from tests.browser.real_server import RealServer

HEIGHT = "document.documentElement.scrollHeight"
LINES = "links => new Set(links.map((one) => Math.round(one.getBoundingClientRect().top))).size"


@pytest.fixture
def page(demo_of_all: DemoYard, chromium: Browser) -> Iterator[Page]:
    context = demo_of_all.context(chromium, "owner", width=360, height=640)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("theme", ["paper", "sun", "dark"])
@pytest.mark.parametrize("path", ["/more", "/range", "/results", "/kit"])
def test_the_masthead_is_one_line_at_360_and_each_word_a_target(demo_of_all: DemoYard, page: Page, path: str, theme: str) -> None:
    page.context.add_cookies([{"name": "theme", "value": theme, "url": demo_of_all.address}])
    page.goto(demo_of_all.address + path)
    links = page.locator(".masthead a")
    assert links.count() == 6 if path == "/range" else 7
    assert links.evaluate_all(LINES) == 1
    boxes = [box for one in links.all() if (box := one.bounding_box())]
    assert all(box["height"] >= 44 for box in boxes) and boxes[-1]["x"] + boxes[-1]["width"] <= 360
    assert page.evaluate("document.documentElement.scrollWidth") == 360


def test_the_second_row_slides_by_itself_and_is_reached_by_keyboard(demo_of_all: DemoYard, page: Page) -> None:
    page.goto(demo_of_all.address + "/what-if")
    row = page.locator(".siblings")
    assert row.evaluate("one => one.scrollWidth > one.clientWidth") and page.evaluate("document.documentElement.scrollWidth") == 360
    last = row.get_by_role("link").last
    last.focus()
    expect(last).to_be_in_viewport()
    assert (last.bounding_box() or {"height": 0})["height"] >= 44


@pytest.mark.parametrize(("theme", "width", "most"), [("paper", 1280, 1400), ("paper", 390, 2600), ("sun", 390, 2700)])
def test_the_first_page_of_the_demo_is_short(demo_of_all: DemoYard, page: Page, theme: str, width: int, most: int) -> None:
    page.context.add_cookies([{"name": "theme", "value": theme, "url": demo_of_all.address}])
    page.set_viewport_size({"width": width, "height": 640})
    page.goto(demo_of_all.address + "/")
    assert page.evaluate(HEIGHT) <= most


@pytest.mark.parametrize(("width", "most"), [(1280, 910), (390, 1450)])
def test_the_five_steps_are_short_pass_axe_and_go_by_keyboard(real_server: RealServer, chromium: Browser, width: int, most: int) -> None:
    context = chromium.new_context(viewport={"width": width, "height": 640})
    cookie = named(COOKIE, real_server.address.removeprefix("http://"))
    context.add_cookies([{"name": cookie, "value": real_server.let_in("Laptop", "owner"), "url": real_server.address}])
    page = context.new_page()
    page.goto(real_server.address + "/")
    assert page.evaluate(HEIGHT) <= most
    expect(page.get_by_role("main").locator(".button--main")).to_have_count(1)
    found = look(page, "/", axe_at=(360, 1280), keys_at=(360,))
    assert [fault for one in found for fault in (*one.violations, *one.by_keyboard)] == []
    context.close()


def test_a_strip_stands_across_one_heavy_line_and_says_its_share(demo_of_all: DemoYard, page: Page) -> None:
    page.goto(demo_of_all.address + "/")
    strip = page.get_by_role("img", name="Leaf: 0 or 1 of 7 through", exact=False)
    expect(strip).to_be_visible()
    assert strip.locator(".heads__fill--open").count() == 1
    held, through = strip.locator(".heads__held").bounding_box(), strip.locator(".heads__through").bounding_box()
    assert held and through and held["x"] + held["width"] < through["x"]
    assert through["x"] - held["x"] - held["width"] >= 4


def test_units_chosen_in_the_foot_hold_on_every_page_and_lead_back(demo_of_all: DemoYard, page: Page) -> None:
    page.goto(demo_of_all.address + "/results?panel_type=plate-1.2")
    page.get_by_role("contentinfo").get_by_role("button", name="Inch, pound, fps").click()
    expect(page).to_have_url(demo_of_all.address + "/results?panel_type=plate-1.2")
    page.goto(demo_of_all.address + "/more")
    pressed = page.get_by_role("main").get_by_role("button", pressed=True)
    expect(pressed).to_contain_text("Inch, pound, fps")


def test_a_fold_shows_a_plus_at_the_right_edge_and_a_minus_once_open(demo_of_all: DemoYard, page: Page) -> None:
    page.goto(demo_of_all.address + "/parts")
    summary = page.locator("summary", has_text="What opens")
    sign = "one => getComputedStyle(one, '::after').content"
    assert summary.evaluate(sign) == '"+"'
    summary.focus()
    page.keyboard.press("Enter")
    assert summary.evaluate(sign) == '"–"'
    assert summary.evaluate("one => getComputedStyle(one).textDecorationLine") == "none"
    assert (summary.bounding_box() or {"height": 0})["height"] >= 44


# The rear face is the one heavy line.
def test_no_notice_field_or_list_wears_a_bar_at_its_left(demo_of_all: DemoYard, page: Page) -> None:
    bars = """all => all.filter((one) => parseFloat(getComputedStyle(one).borderInlineStartWidth) >= 2
      && parseFloat(getComputedStyle(one).borderInlineEndWidth) === 0 && !one.matches('input, [class*=face]'))
      .map((one) => one.className)"""
    for path in ("/parts", "/", "/kit", "/blunt", "/what-if", "/trials/{planned}/plan", "/trials/{thin plate}"):
        page.goto(demo_of_all.address + path.format_map(demo_of_all.called), timeout=20_000)
        assert page.locator("main :not(svg *)").evaluate_all(bars) == [], path


def test_captions_are_black_in_the_sun(demo_of_all: DemoYard, page: Page) -> None:
    page.context.add_cookies([{"name": "theme", "value": "sun", "url": demo_of_all.address}])
    page.goto(demo_of_all.address + "/")
    for caption in page.locator("main :is(small, .tools-quiet)").all():
        assert caption.evaluate("one => getComputedStyle(one).color") == "rgb(0, 0, 0)"
