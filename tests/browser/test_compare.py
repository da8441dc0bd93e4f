"""Comparisons in Chromium: one pair and many, at 360 px, by keyboard, without script, on paper, dark and in the sun."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.every_page import by_keyboard, look, violations

PAIR = "/compare?sort=plate-1.2&of=needle&of=stout"
PAGES = (
    PAIR, "/compare?sort=plate-1.2", "/compare?by=panel&head=needle", "/compare?by=trial", "/compare/wear?sort=plate-1.2",
    "/compare?by=colour&of=needle&edges=low&first=a~b",
)  # fmt: skip


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoYard]:
    with demo_yard(tmp_path_factory.mktemp("compare") / "yard") as made:
        yield made


@pytest.mark.parametrize("address", PAGES)
def test_a_comparison_is_accessible_and_fits_a_phone(yard: DemoYard, chromium: Browser, address: str) -> None:
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + address)
    found = look(page, address)
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    page.set_viewport_size({"width": 360, "height": 740})
    assert by_keyboard(page) == []
    context.close()


@pytest.mark.parametrize("theme", ["dark", "sun"])
def test_a_comparison_reads_in_the_dark_and_in_the_sun(yard: DemoYard, chromium: Browser, theme: str) -> None:
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + PAIR)
    page.get_by_role("button", name=re.compile(theme, re.I)).click()
    expect(page.locator("html")).to_have_attribute("data-theme", theme)
    page.goto(yard.address + PAIR)
    assert violations(page) == ()
    context.close()


def test_without_script_two_heads_are_picked_and_compared(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer", script=False)
    page = context.new_page()
    page.goto(yard.address + "/results")
    page.locator("#results-compare").click()
    page.get_by_role("link", name="1.2 mm one-piece plate").click()
    page.get_by_text("Showing:").click()
    for head in ("needle", "stout"):
        page.locator(f"[name=of][value={head}]").check()
    page.locator("[name=first]").select_option("")
    page.get_by_role("button", name="Show", exact=True).click()
    assert "of=needle" in page.url and "of=stout" in page.url and "sort=plate-1.2" in page.url
    expect(page.locator("#compare-pairs summary")).to_have_text("Long needle against Short stout")
    expect(page.locator("#compare-could")).to_contain_text("could tell")
    page.locator(".results__tile").first.click()
    assert "/shots/" in page.url
    context.close()


def test_a_comparison_prints_whole(yard: DemoYard, chromium: Browser) -> None:
    """Folded pairs are open on paper; no key, no menu, nothing cut off at the side."""
    context = yard.context(chromium, "viewer", width=718, height=1000)  # A4 less its margins, at 96 dots an inch
    page = context.new_page()
    page.goto(yard.address + "/compare?sort=plate-1.2")
    page.emulate_media(media="print")
    for gone in (".masthead__nav", "[name=edges]"):
        assert [one for one in page.locator(gone).all() if one.is_visible()] == [], gone
    for there in ("h1", "#compare-could", "#compare-forest", "#compare-pairs", "#compare-tests-table"):
        expect(page.locator(there).first).to_be_visible()
    for pair in page.locator("#compare-pairs details").all():
        assert pair.locator("li").first.evaluate("one => one.checkVisibility()")
    cut = """all => all.filter((one) => one.getClientRects().length && one.getBoundingClientRect().right > innerWidth + 1)
        .map((one) => one.outerHTML.slice(0, 100))"""
    assert page.locator("main *").evaluate_all(cut) == []
    assert page.pdf(format="A4").startswith(b"%PDF-")
    context.close()
