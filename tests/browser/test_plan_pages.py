"""A trial's plan and next shot in Chromium: at 360 px and on a desktop, by keyboard, without script, on paper, dark and in the sun."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, expect
from proofyard.records.plan_facts import plans_of
from proofyard.records.trial import Trial

from tests.browser.demo_yard import DemoYard
from tests.browser.every_page import violations


@pytest.fixture(scope="module")
def yard(demo_of_file: DemoYard) -> DemoYard:
    return demo_of_file


@pytest.fixture(scope="module")
def planned(yard: DemoYard) -> str:
    """The trial of the demo that has a plan; its rule is set, so that the next page has something to say."""
    from proofyard.records.listing import all_of

    with yard.server.book.read() as session:
        (plan,) = plans_of(session, [trial.id for trial in all_of(session, Trial)])
    return plan.plan.trial_id


def test_without_script_a_plan_is_made_shot_skipped_and_a_rule_set(yard: DemoYard, chromium: Browser, planned: str) -> None:
    context = yard.context(chromium, script=False)
    page = context.new_page()
    page.goto(f"{yard.address}/trials/{planned}/plan")
    skipped = page.locator("#plan-order .row--voided").count()
    page.locator("#plan-order").get_by_role("button", name=re.compile("^Skip planned shot")).first.click()
    expect(page.locator("#plan-order .row--voided")).to_have_count(skipped + 1)
    page.get_by_text("Heads, archers and spots in a random order").click()
    page.get_by_label("Shots for each").fill("2")
    page.get_by_label("Spots to aim at").uncheck()
    page.locator("[name=plan-panel_build]").select_option(index=1)
    page.get_by_role("button", name="Make the plan").click()
    # In the demo every arrow hit, or not: those that are to check can't be picked, so none is.
    summary = page.get_by_role("alert")
    expect(summary).to_contain_text("Choose the arrows that you will shoot")
    expect(page.get_by_label("Shots for each")).to_have_value("2")
    page.goto(f"{yard.address}/trials/{planned}/next")
    page.get_by_label("Energy of the next shot").select_option("up_and_down")
    page.get_by_role("button", name="Keep this rule").click()
    expect(page.get_by_text("counts over all energies mean nothing here")).to_be_visible()
    context.close()


def test_a_trials_page_and_a_days_show_what_the_rule_says(yard: DemoYard, chromium: Browser, planned: str) -> None:
    context = yard.context(chromium)
    page = context.new_page()
    page.goto(f"{yard.address}/trials/{planned}/next")
    if page.get_by_label("Energy of the next shot").is_hidden():
        page.get_by_text("Set the rule").click()
    page.get_by_label("Energy of the next shot").select_option("smallest_interval")
    page.get_by_role("button", name="Keep this rule").click()
    for address in (f"/trials/{planned}", ""):
        if address:
            page.goto(yard.address + address)
        else:
            page.locator("main a[href^='/sessions/']").first.click()
        expect(page.locator("#planning-next-said")).to_contain_text("when the line is clear")
        assert violations(page) == ()
    context.close()
