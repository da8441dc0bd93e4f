"""Every page of the table, a test for each check: it fits, axe, by keyboard, in the dark and the sun, on paper, without script."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.demo_yard import DemoYard
from tests.browser.every_page import CONTRAST, look, violations
from tests.browser.pages_of_the_demo import PAGES, Shown

A4_AT_96 = 718  # the width of A4 between the margins of print.css, in CSS pixels
OPENED = "all => all.forEach((one) => { one.open = true; })"

SEEN = """(all, wanted) => all.filter((one) => {
  const box = one.getBoundingClientRect();
  return (one.checkVisibility() && box.width > 0 && box.height > 0 && getComputedStyle(one).visibility === 'visible') === wanted;
}).map((one) => one.outerHTML.slice(0, 100))"""

# What would be cut off at the side of the sheet: it reaches over the edge, or hides part of what it holds.
CUT = """width => [...document.querySelectorAll('main *')]
  .filter(one => one.checkVisibility() && !one.closest('svg, .tools-unseen, details:not([open])')
  && (one.getBoundingClientRect().right > width + 1
    || (one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).overflowX !== 'visible')))
  .map(one => one.outerHTML.slice(0, 120))"""


def picked(which: str) -> list[object]:
    """All pages; those whose row does not ask for this check wait for --long."""
    return [pytest.param(one, id=one.name, marks=() if getattr(one, which) else pytest.mark.long) for one in PAGES]


@dataclass
class Looked:
    """The demo as one looks at it. Pages that are looked at alike share a browser's profile: a new one begins a process of its own."""

    demo: DemoYard
    chromium: Browser
    profiles: dict[tuple[int, bool, str], BrowserContext] = field(default_factory=dict)

    @contextmanager
    def opened(self, shown: Shown, *, width: int = 360, folded: bool = False, script: bool = True, theme: str = "") -> Iterator[Page]:
        if (width, script, theme) not in self.profiles:
            self.profiles[width, script, theme] = made = self.demo.context(self.chromium, width=width, script=script)
            if theme:
                made.add_cookies([{"name": "theme", "value": theme, "url": self.demo.address}])
        page = self.profiles[width, script, theme].new_page()
        page.goto(self.demo.address + shown.address.format_map(self.demo.called))
        if shown.folded and not folded:
            page.locator("details").evaluate_all(OPENED)
        try:
            yield page
        finally:
            page.close()


@pytest.fixture(scope="module")
def looked(demo_of_all: DemoYard, chromium: Browser) -> Iterator[Looked]:
    made = Looked(demo_of_all, chromium)
    yield made
    for profile in made.profiles.values():
        profile.close()


def seen(page: Page, selector: str, visible: bool) -> list[str]:
    """How those begin that can be seen, or those that can't: asked of all at once, since a question to the browser takes its time."""
    found: list[str] = page.locator(selector).evaluate_all(SEEN, visible)
    return found


# Each page that any other check picks; a page's further views (a wrong address, another setting) wait for --long.
EACH_PAGE = [
    pytest.param(one, id=one.name, marks=() if one.lights or one.plain or one.paper or one.form else pytest.mark.long) for one in PAGES
]


@pytest.mark.parametrize("shown", EACH_PAGE)
def test_it_fits_a_phone_axe_has_nothing_against_it_and_it_goes_by_keyboard(looked: Looked, shown: Shown) -> None:
    with looked.opened(shown) as page:
        found = look(page, shown.address, keys_at=(360,))
        assert [fault for one in found for fault in (*one.violations, *one.by_keyboard)] == []
        assert [one.too_wide for one in found] == [0, 0]


@pytest.mark.long
@pytest.mark.parametrize("shown", PAGES, ids=lambda one: one.name)
def test_axe_has_nothing_against_it_on_a_desktop_and_it_goes_by_keyboard_there(looked: Looked, shown: Shown) -> None:
    with looked.opened(shown, width=1280) as page:
        found = look(page, shown.address, axe_at=(1280,), keys_at=(1280,))
        assert [fault for one in found for fault in (*one.violations, *one.by_keyboard)] == []


@pytest.mark.slow
@pytest.mark.parametrize("theme", ["dark", pytest.param("sun", marks=pytest.mark.long)])
@pytest.mark.parametrize("shown", picked("lights"))
def test_it_reads_in_the_dark_and_in_the_sun(looked: Looked, shown: Shown, theme: str) -> None:
    with looked.opened(shown, theme=theme) as page:
        expect(page.locator("html")).to_have_attribute("data-theme", theme)
        assert violations(page, CONTRAST) == ()


@pytest.mark.parametrize("shown", picked("paper"))
def test_on_paper_nothing_is_cut_off_no_key_is_printed_and_what_counts_is_there(looked: Looked, shown: Shown) -> None:
    with looked.opened(shown, width=A4_AT_96, folded=True) as page:
        page.emulate_media(media="print")
        assert page.evaluate(CUT, A4_AT_96) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= A4_AT_96
        fields = () if shown.form else ("input:not([type=hidden])",)
        for gone in (".masthead__nav", "nav", ".button", *fields, *shown.gone):
            assert seen(page, gone, True) == [], gone
        for there in ("h1", *shown.paper):
            expect(page.locator(there).first).to_be_visible()
            assert seen(page, there, False) == [], there
        assert page.evaluate("getComputedStyle(document.body).color") in ("rgb(26, 28, 30)", "rgb(0, 0, 0)")
        sheets = page.pdf(format="A4")
        assert sheets.startswith(b"%PDF-") and shown.sheets[0] <= len(re.findall(rb"/Type\s*/Page[^s]", sheets)) <= shown.sheets[1]


@pytest.mark.parametrize("shown", picked("plain"))
def test_without_script_it_says_the_same(looked: Looked, shown: Shown) -> None:
    said = []
    for script in (True, False):
        with looked.opened(shown, folded=True, script=script) as page:
            said.append(re.sub(r"\s+", " ", page.get_by_role("main").inner_text()))
    if shown.scripted:
        assert "Script is off." not in said[0] and "Script is off. This page needs its script." in said[1]
    else:
        assert said[0] == said[1] and len(said[0]) > 200
