"""Comparisons in Chromium: one pair and many, at 360 px, by keyboard, without script, on paper, dark and in the sun."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.demo_yard import DemoYard


@pytest.fixture(scope="module")
def yard(demo_of_all: DemoYard) -> DemoYard:
    return demo_of_all


def test_without_script_two_heads_are_picked_and_compared(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer", script=False)
    page = context.new_page()
    page.goto(yard.address + "/results")
    page.get_by_role("link", name="1.2 mm one-piece plate").click()
    page.locator(".results__way", has_text="Compare").click()
    page.get_by_text("Showing:").click()
    for head in ("needle", "short_bodkin"):
        page.locator(f"[name=of][value={head}]").check()
    page.get_by_role("button", name="Show", exact=True).click()
    assert "of=needle" in page.url and "of=short_bodkin" in page.url and "panel_type=plate-1.2" in page.url
    expect(page.locator("#on-plate-1_2-pair-1 > summary")).to_contain_text("Long needle bodkin against short bodkin")
    page.locator("#on-plate-1_2-figures > summary").click()
    expect(page.locator("#on-plate-1_2-more")).to_contain_text("Corrected")
    page.locator("#compare-each > summary").click()
    page.locator(".results__tile").first.click()
    assert "/shots/" in page.url
    context.close()
