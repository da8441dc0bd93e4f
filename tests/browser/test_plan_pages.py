"""A trial's plan and next shot in Chromium: at 360 px and on a desktop, by keyboard, without script, on paper, dark and in the sun."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from server.records.plan_facts import plans_of
from server.records.trial import Trial
from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.every_page import by_keyboard, look, violations


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoYard]:
    with demo_yard(tmp_path_factory.mktemp("plans") / "yard") as made:
        yield made


@pytest.fixture(scope="module")
def planned(yard: DemoYard) -> str:
    """The trial of the demo that has a plan; its rule is set, so that the next page has something to say."""
    from server.records.listing import all_of

    with yard.server.book.read() as session:
        (plan,) = plans_of(session, [trial.id for trial in all_of(session, Trial)])
    return plan.plan.trial_id


@pytest.mark.parametrize("page_of", ["plan", "plan?share=90&other=30&width=40&shots=7", "next"])
def test_the_pages_are_accessible_and_fit_a_phone(yard: DemoYard, chromium: Browser, planned: str, page_of: str) -> None:
    context = yard.context(chromium)
    page = context.new_page()
    address = f"/trials/{planned}/{page_of}"
    page.goto(yard.address + address)
    for one in page.locator("details").all():
        one.evaluate("one => { one.open = true; }")
    found = look(page, address)
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(yard.address + address)
    assert by_keyboard(page) == []
    context.close()


@pytest.mark.parametrize("theme", ["dark", "sun"])
def test_a_plan_reads_in_the_dark_and_in_the_sun(yard: DemoYard, chromium: Browser, planned: str, theme: str) -> None:
    context = yard.context(chromium)
    page = context.new_page()
    page.goto(f"{yard.address}/trials/{planned}/plan")
    page.get_by_role("button", name=re.compile(theme, re.I)).click()
    expect(page.locator("html")).to_have_attribute("data-theme", theme)
    page.goto(f"{yard.address}/trials/{planned}/plan")
    assert violations(page) == ()
    context.close()


def test_on_paper_the_order_spots_and_cautions_stand_and_no_form_does(yard: DemoYard, chromium: Browser, planned: str) -> None:
    context = yard.context(chromium)
    page = context.new_page()
    page.goto(f"{yard.address}/trials/{planned}/plan")
    page.emulate_media(media="print")
    expect(page.get_by_text("never that you may shoot")).to_be_visible()
    expect(page.locator("#plan-order .row")).to_have_count(6)
    assert page.locator("#plan-order .row").first.is_visible() and page.locator("#plan-drawing .panel__picture").is_visible()
    assert page.locator(".button:visible").count() == 0
    assert page.get_by_role("heading", name=re.compile("Plan another order")).is_hidden()
    context.close()


def test_without_script_a_plan_is_made_shot_skipped_and_a_rule_set(yard: DemoYard, chromium: Browser, planned: str) -> None:
    context = yard.context(chromium, script=False)
    page = context.new_page()
    page.goto(f"{yard.address}/trials/{planned}/plan")
    skipped = page.locator("#plan-order .row--struck").count()
    page.locator("#plan-order").get_by_role("button", name=re.compile("^Skip planned shot")).first.click()
    expect(page.locator("#plan-order .row--struck")).to_have_count(skipped + 1)
    page.get_by_text("Heads, archers and spots in a random order").click()
    page.get_by_label("Shots for each of them").fill("2")
    page.get_by_label("Spots to aim at").uncheck()
    page.locator("[name=plan-panel_build]").select_option(index=1)
    page.get_by_role("button", name="Make the order").click()
    # In the demo every arrow was struck, or not: those that are to check can't be picked, so none is.
    summary = page.get_by_role("alert")
    expect(summary).to_contain_text("Pick the arrows that you will shoot")
    expect(page.get_by_label("Shots for each of them")).to_have_value("2")
    page.goto(f"{yard.address}/trials/{planned}/next")
    page.get_by_label("The next shot’s energy").select_option("up_and_down")
    page.get_by_role("button", name="Keep this rule").click()
    expect(page.get_by_text("counts over all energies mean nothing here")).to_be_visible()
    context.close()


def test_a_trials_page_and_a_days_show_what_the_rule_says(yard: DemoYard, chromium: Browser, planned: str) -> None:
    context = yard.context(chromium)
    page = context.new_page()
    page.goto(f"{yard.address}/trials/{planned}/next")
    if page.get_by_label("The next shot’s energy").is_hidden():
        page.get_by_text("Set the rule").click()
    page.get_by_label("The next shot’s energy").select_option("narrow_the_half")
    page.get_by_role("button", name="Keep this rule").click()
    for address in (f"/trials/{planned}", ""):
        if address:
            page.goto(yard.address + address)
        else:
            page.locator("main a[href^='/sessions/']").first.click()
        expect(page.locator("#next-shot-said")).to_contain_text("when the line is clear")
        assert violations(page) == ()
    context.close()
