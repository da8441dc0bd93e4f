"""What to mind, in Chromium: on a phone, by keyboard, without script, on paper, dark and in the sun; a hit read again."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.demo_yard import DemoYard
from tests.browser.every_page import by_keyboard, violations


@pytest.fixture(scope="module")
def yard(demo_of_file: DemoYard) -> DemoYard:
    return demo_of_file


def test_three_caveats_are_open_and_the_rest_is_folded(yard: DemoYard, chromium: Browser) -> None:
    """What the demo's two days can't carry: its words are in the reviewed text of results."""
    context = yard.context(chromium, "viewer")
    page = context.new_page()
    page.goto(yard.address + "/results")
    lines = page.locator(".caveats__one > summary")
    assert lines.count() > 3
    assert len([one for one in lines.all() if one.is_visible()]) == 3, "the rest is folded"
    page.get_by_role("link", name="Table", exact=True).click()
    assert page.locator(".results__note", has_text="if correlated by 0.2").count() > 1
    context.close()


@pytest.mark.parametrize("script", [True, False])
def test_a_caveat_leads_to_the_shots_that_it_rests_on(yard: DemoYard, chromium: Browser, script: bool) -> None:
    context = yard.context(chromium, "viewer", script=script)
    page = context.new_page()
    page.goto(yard.address + "/results")
    page.locator(".caveats__one > summary").first.click()
    link = page.locator(".caveats__shots a").first
    label = link.text_content() or ""
    link.click()
    expect(page).to_have_url(re.compile("/shots/"))
    expect(page.locator("h1")).to_contain_text(label)
    context.close()


def test_a_hit_is_read_again_by_keyboard_on_a_phone(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "archer")
    page = context.new_page()
    page.goto(f"{yard.address}/shots/{yard.ids['shot_id'][0]}/read-again")
    assert by_keyboard(page) == []
    page.get_by_label("Read by").select_option(label="Tallow")
    page.locator('input[name="outcome_low"][value="3"]').focus()
    page.keyboard.press("Space")
    page.get_by_label("Note").focus()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"/shots/[^/]+#shot-again$"))
    expect(page.get_by_text("Cross out Tallow’s reading")).to_be_visible()
    assert violations(page) == ()
    context.close()
