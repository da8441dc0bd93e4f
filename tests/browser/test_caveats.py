"""What to mind, in Chromium: on a phone, by keyboard, without script, on paper, dark and in the sun; a hit read again."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.every_page import by_keyboard, look, violations


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoYard]:
    with demo_yard(tmp_path_factory.mktemp("caveats") / "yard") as made:
        yield made


def caveats(page: Page) -> list[str]:
    """The titles in the order that a reader meets them."""
    return page.locator(".caveats li > b").all_text_contents()


def addresses(yard: DemoYard) -> dict[str, str]:
    return {
        "results": "/results", "trial": f"/trials/{yard.ids['trial_id'][0]}", "session": f"/sessions/{yard.ids['session_id'][0]}",
        "shot": f"/shots/{yard.ids['shot_id'][0]}", "again": f"/shots/{yard.ids['shot_id'][0]}/read-again",
    }  # fmt: skip


@pytest.mark.parametrize("name", ["results", "trial", "session", "shot", "again"])
def test_a_page_with_its_caveats_open_is_accessible_and_fits_a_phone(yard: DemoYard, chromium: Browser, name: str) -> None:
    context = yard.context(chromium)
    page = context.new_page()
    page.goto(yard.address + addresses(yard)[name])
    for fold in page.locator(".caveats__more > summary").all() + page.locator(".caveats__shots > summary").all():
        if fold.is_visible():
            fold.click()
    found = look(page, addresses(yard)[name])
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    context.close()


def test_the_demo_says_what_its_two_days_cannot_carry(yard: DemoYard, chromium: Browser) -> None:
    """Its hard heads were there on the second day only, a bow lost weight between the days, and each cell is one arrow’s."""
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + "/results")
    titles = caveats(page)
    assert titles[:2] == ["Hardness and day go together.", "The bow changed."]
    assert "One arrow, bow or panel carries a count." in titles
    shown = [one for one in page.locator(".caveats li > b").all() if one.is_visible()]
    assert len(shown) == 3, "the rest is folded"
    assert page.locator(".results__note", has_text="if alike to 0.2").count() > 3
    context.close()


@pytest.mark.parametrize("script", [True, False])
def test_a_caveat_leads_to_the_shots_that_it_rests_on(yard: DemoYard, chromium: Browser, script: bool) -> None:
    context = yard.context(chromium, "viewer", script=script)
    page = context.new_page()
    page.goto(yard.address + "/results")
    page.locator(".caveats__shots > summary").first.click()
    link = page.locator(".caveats__shots a").first
    label = link.text_content() or ""
    link.click()
    expect(page).to_have_url(re.compile("/shots/"))
    expect(page.locator("h1")).to_contain_text(label)
    context.close()


def test_a_hit_is_read_again_by_keyboard_on_a_phone(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "archer")
    page = context.new_page()
    page.goto(yard.address + addresses(yard)["again"])
    assert by_keyboard(page) == []
    page.get_by_label("Read by").select_option(label="Tallow")
    page.locator('input[name="outcome_low"][value="3"]').focus()
    page.keyboard.press("Space")
    page.get_by_label("Note").focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"/shots/[^/]+#shot-again$"))
    expect(page.get_by_text("Strike Tallow’s reading through")).to_be_visible()
    assert violations(page) == ()
    context.close()


@pytest.mark.parametrize("theme", ["dark", "sun"])
def test_caveats_read_in_the_dark_and_in_the_sun(yard: DemoYard, chromium: Browser, theme: str) -> None:
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + "/results")
    page.get_by_role("button", name=re.compile(theme, re.I)).click()
    expect(page.locator("html")).to_have_attribute("data-theme", theme)
    page.goto(yard.address + addresses(yard)["trial"])
    assert violations(page) == ()
    context.close()


def test_on_paper_all_caveats_stand_unfolded_and_no_list_of_shots(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer", width=1000)
    page = context.new_page()
    page.goto(yard.address + "/results")
    page.emulate_media(media="print")
    assert page.locator(".caveats__shots").first.is_hidden()
    folded = page.locator(".caveats__more li > b")
    assert folded.count() >= 2
    # Folded on screen; on paper nobody can unfold it.
    assert all(folded.nth(n).evaluate("one => one.checkVisibility({contentVisibilityAuto: true}) && one.getBoundingClientRect().height > 0") for n in range(folded.count()))
    context.close()
