"""What changed since last time? Asked of the demo in Chromium as a new user would, by keyboard, on paper, without script, on a phone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Trial
from sqlalchemy import select

from tests.browser.demo_yard import DemoYard
from tests.browser.every_page import look

CHANGED = "Changed for every shot: the panel type and the day with its weather"


@pytest.fixture(scope="module")
def yard(demo_of_file: DemoYard) -> DemoYard:
    return demo_of_file


@pytest.fixture(scope="module")
def trials(yard: DemoYard) -> list[str]:
    with yard.server.book.read() as session:
        return list(session.execute(select(Trial.id).order_by(Trial.id)).scalars())


@pytest.fixture(scope="module")
def days(yard: DemoYard) -> list[str]:
    with yard.server.book.read() as session:
        return list(session.execute(select(Day.id).where(Day.day < "2026-11-01").order_by(Day.day, Day.id)).scalars())


def page_of(yard: DemoYard, chromium: Browser, role: str = "viewer", **more: object) -> Page:
    return yard.context(chromium, role, **more).new_page()


@pytest.mark.parametrize("script", [True, False])
def test_a_new_user_finds_out_what_changed_since_last_time(yard: DemoYard, chromium: Browser, script: bool) -> None:
    """Two presses from the list of trials, and the first screen answers. What it says: its reviewed text."""
    page = page_of(yard, chromium, script=script)
    page.goto(yard.address + "/trials")
    page.get_by_role("link", name="Is 1.6 mm plate enough").click()
    page.get_by_role("link", name="what changed since").click()
    expect(page.locator("main")).to_contain_text(CHANGED)
    page.get_by_role("link", name="Count only shots that are alike").click()
    expect(page.get_by_text("14 not alike")).to_be_visible()
    page.context.close()


def test_others_are_picked_and_counted_in_another_way_by_keyboard_alone(yard: DemoYard, chromium: Browser, trials: list[str]) -> None:
    page = page_of(yard, chromium, width=1280, height=900)
    page.goto(yard.address + "/trials/compare")
    page.locator("#trial-comparison-filters > summary").focus()
    page.keyboard.press("Enter")
    page.locator(f"input[name='trial'][value='{trials[1]}']").focus()
    page.keyboard.press("Space")
    page.locator("#edges").focus()
    page.keyboard.type("60, 90, 130")
    page.keyboard.press("Enter")
    expect(page.get_by_role("columnheader", name="Trial 2").first).to_be_visible()
    assert all(f"trial={one}" in page.url for one in trials) and "edges=60" in page.url
    assert "Panel K1" in page.locator("main").inner_text() and "re-laced" in page.locator("main").inner_text()
    page.go_back()
    expect(page.locator("main")).to_contain_text(CHANGED)
    page.context.close()


def test_on_a_phone_the_columns_stand_one_under_the_other(yard: DemoYard, chromium: Browser) -> None:
    page = page_of(yard, chromium)
    page.goto(yard.address + "/trials/compare")
    row = page.locator(".trial-comparison__table tbody tr").first

    def boxes() -> list[dict[str, float]]:
        return [box for cell in row.locator("td").all() if (box := cell.bounding_box()) is not None]

    one, other = boxes()
    assert other["y"] >= one["y"] + one["height"] - 1 and abs(one["x"] - other["x"]) < 1
    page.set_viewport_size({"width": 1280, "height": 900})
    one, other = boxes()
    assert abs(one["y"] - other["y"]) < 1 and other["x"] > one["x"] + 100
    page.context.close()


def test_a_trial_that_follows_is_begun_without_script(yard: DemoYard, chromium: Browser, trials: list[str]) -> None:
    page = page_of(yard, chromium, "archer", script=False)
    page.goto(yard.address + f"/trials/{trials[1]}")
    page.get_by_role("link", name="Start a follow-up trial").click()
    question = page.get_by_label("The question")
    expect(question).to_have_value("Does riveted mail over linen, or laced scale, stop what plate lets through?")
    question.fill("")
    page.get_by_role("button", name="Save").click()
    assert " to check, " in page.title()
    question.fill("Does laced scale stop the hardened needle?")
    page.get_by_role("textbox", name="First day").fill("2026-11-07")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Does laced scale stop the hardened needle?")
    page.locator("#trial-before > summary").click()
    expect(page.get_by_text("Changed from the trial before")).to_be_visible()
    expect(page.get_by_text("not open yet: 0 of 5 cautions ticked")).to_be_visible()
    page.context.close()


def test_the_day_is_one_sheet_and_says_what_is_still_to_do(yard: DemoYard, chromium: Browser, days: list[str]) -> None:
    page = page_of(yard, chromium, width=1100)
    for day in days:
        page.goto(yard.address + f"/sessions/{day}/day")
        sheet = page.pdf(prefer_css_page_size=True)
        assert sheet.count(b"/Type /Page\n") + sheet.count(b"/Type /Page ") == 1, page.title()
    to_do = page.get_by_role("region", name="Still to do on the bench").inner_text()
    assert "Not read yet" in to_do and "Check from behind on the bench" in to_do and "read speeds of Wren with Lent bow" in to_do
    found = look(page, "day")
    assert [fault for one in found for fault in one.violations] == [] and [one.too_wide for one in found] == [0, 0]
    page.context.close()


def test_a_comparison_on_paper_has_no_form_and_cuts_no_row(yard: DemoYard, chromium: Browser) -> None:
    page = page_of(yard, chromium, width=1100)
    page.goto(yard.address + "/trials/compare")
    page.emulate_media(media="print")
    for unseen in ("#trial-comparison-filters", ".trial-comparison__jump"):
        expect(page.locator(unseen)).to_be_hidden()
    expect(page.locator(".trial-comparison__table").first).to_be_visible()
    assert page.locator(".trial-comparison__table").first.evaluate("one => getComputedStyle(one).breakInside") == "avoid"
    page.context.close()
