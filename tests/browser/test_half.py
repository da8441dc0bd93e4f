"""Energy to get through in Chromium: at 360 px and wide, by keyboard, without script, on paper, dark and in the sun."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.every_page import by_keyboard, look, violations

PAGES = (
    "/half", "/half?sort=plate-1.2&term=angle&term=near&term=way&tails=10,+50", "/half?through=depth&at=nowhere&tails=all",
    "/half?head=barbed", "/results?sort=plate-1.2", "/guide/energy-to-get-through",
)  # fmt: skip


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoYard]:
    with demo_yard(tmp_path_factory.mktemp("half") / "yard") as made:
        yield made


@pytest.mark.parametrize("address", PAGES)
def test_it_is_accessible_and_fits_a_phone(yard: DemoYard, chromium: Browser, address: str) -> None:
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + address)
    for details in page.locator("details").all():
        details.evaluate("one => one.open = true")
    found = look(page, address)
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    page.set_viewport_size({"width": 360, "height": 740})
    assert by_keyboard(page) == []
    context.close()


@pytest.mark.parametrize("theme", ["dark", "sun"])
def test_it_reads_in_the_dark_and_in_the_sun(yard: DemoYard, chromium: Browser, theme: str) -> None:
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + "/half")
    page.get_by_role("button", name=re.compile(theme, re.I)).click()
    expect(page.locator("html")).to_have_attribute("data-theme", theme)
    page.goto(yard.address + "/half")
    assert violations(page) == ()
    context.close()


def test_without_script_a_reader_goes_from_the_counts_to_the_curve_and_back(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer", script=False)
    page = context.new_page()
    page.goto(yard.address + "/results?sort=plate-1.2&edges=50,+70,+90,+130")
    page.locator("#results-half").click()
    expect(page.get_by_role("heading", name="On 1.2 mm one-piece plate")).to_be_visible()
    page.get_by_text("Showing:").click()
    page.locator("[name=term][value=angle]").check()
    page.locator("[name=tails]").fill("nonsense")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator("#tails-error")).to_contain_text("no list of percentages")
    expect(page.locator("[name=tails]")).to_have_value("nonsense")
    page.locator("[name=tails]").fill("20, 80")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator("[name=term][value=angle]")).to_be_checked()
    page.get_by_role("link", name="Every shot, and the counts").click()
    expect(page).to_have_url(re.compile(r"/results\?.*edges=50%2C\+70%2C\+90%2C\+130"))
    context.close()


def test_a_screen_reader_gets_the_picture_in_words_and_each_shot_as_a_link(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + "/half?sort=plate-1.2&head=stout")
    picture = page.get_by_role("group", name="Short stout: chance to get through, by energy")
    expect(picture).to_have_accessible_description(re.compile(r"^Short stout, 10 shots, 6 got through\. Half get through .* at [\d.]+"))
    assert picture.get_by_role("link").count() == 10
    expect(picture.get_by_role("link", name=re.compile(r"^\w+: [\d.]+\sJ, got through$"))).to_have_count(6)
    context.close()


def test_on_paper_the_curve_and_the_words_are_there_and_the_form_is_not(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer", width=794, height=1123)
    page = context.new_page()
    page.goto(yard.address + "/half?sort=plate-1.2")
    page.emulate_media(media="print")
    expect(page.locator(".chart__picture").first).to_be_visible()
    expect(page.locator("#half-form")).to_be_hidden()
    expect(page.get_by_text("By the standards’ rule").first).to_be_visible()
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0
    context.close()
