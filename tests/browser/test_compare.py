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


def test_on_a_desktop_the_chart_stands_beside_what_the_pairs_show(yard: DemoYard, chromium: Browser) -> None:
    """Not half a page of chart with nothing on its right. A family and the chart begin on one line, and share the width."""
    context = yard.context(chromium, "viewer", width=1280, height=900)
    page = context.new_page()
    page.goto(yard.address + "/compare")
    pairs, chart = page.locator(".compare__family").first.bounding_box(), page.locator("#compare-counts").bounding_box()
    assert pairs and chart
    assert abs(pairs["y"] - chart["y"]) < 2 and pairs["x"] + pairs["width"] < chart["x"]
    assert pairs["width"] + chart["width"] > 1000
    context.close()


@pytest.mark.parametrize("address", ["/results/depth", "/arrow-damage"])
def test_a_page_of_one_chart_has_its_ways_on_beside_it(yard: DemoYard, chromium: Browser, address: str) -> None:
    context = yard.context(chromium, "viewer", width=1280, height=900)
    page = context.new_page()
    page.goto(yard.address + address)
    chart, aside = page.locator(".chart").first.bounding_box(), page.locator(".results__aside").bounding_box()
    assert chart and aside
    assert aside["x"] > chart["x"] + chart["width"] and aside["y"] <= chart["y"] and aside["width"] > 500
    context.close()
