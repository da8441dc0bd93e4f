"""The 50 % energy in Chromium: at 360 px and wide, by keyboard, without script, on paper, dark and in the sun."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.demo_yard import DemoYard


@pytest.fixture(scope="module")
def yard(demo_of_all: DemoYard) -> DemoYard:
    return demo_of_all


def test_without_script_a_reader_goes_from_the_counts_to_the_curve_and_back(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer", script=False)
    page = context.new_page()
    page.goto(yard.address + "/results?panel_type=plate-1.2&edges=50,+70,+90,+130")
    page.locator(".results__way", has_text="energy").click()
    expect(page.get_by_role("heading", name="On 1.2 mm one-piece plate")).to_be_visible()
    page.get_by_text("Showing:").click()
    page.locator("[name=term][value=angle]").check()
    page.locator("[name=tails]").fill("nonsense")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator("#tails-error")).to_contain_text("not a list of percentages")
    expect(page.locator("[name=tails]")).to_have_value("nonsense")
    page.locator("[name=tails]").fill("20, 80")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator("[name=term][value=angle]")).to_be_checked()
    page.get_by_role("link", name="The counts", exact=True).click()
    expect(page).to_have_url(re.compile(r"/results\?.*edges=50%2C\+70%2C\+90%2C\+130"))
    context.close()


def test_a_screen_reader_gets_the_drawing_in_words_and_each_shot_as_a_link(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + "/fifty-percent?panel_type=plate-1.2&head=short_bodkin")
    chart = page.get_by_role("group", name="Short bodkin: chance to get through, by energy")
    expect(chart).to_have_accessible_description(re.compile(r"^Short bodkin, 10 shots, 6 got through\. The 50.% energy of .* is [\d.]+"))
    assert chart.get_by_role("link").count() == 10
    expect(chart.get_by_role("link", name=re.compile(r"^\w+: [\d.]+\sJ, got through$"))).to_have_count(6)
    context.close()
