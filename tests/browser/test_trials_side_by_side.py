"""What changed since last time? Asked of the demo in Chromium as a new user would, by keyboard, on paper, without script, on a phone."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlalchemy import select

from server.records.trial import Session as Day
from server.records.trial import Trial
from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.every_page import by_keyboard, look

CHANGED = "Changed for every shot: the sort of panel and the day with its weather"


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoYard]:
    with demo_yard(tmp_path_factory.mktemp("beside") / "yard") as made:
        yield made


@pytest.fixture(scope="module")
def trials(yard: DemoYard) -> list[str]:
    with yard.server.book.read() as session:
        return list(session.execute(select(Trial.id).order_by(Trial.id)).scalars())


@pytest.fixture(scope="module")
def days(yard: DemoYard) -> list[str]:
    with yard.server.book.read() as session:
        return list(session.execute(select(Day.id).where(Day.day < "2026-11-01").order_by(Day.day, Day.id)).scalars())


def page_of(yard: DemoYard, chromium: Browser, role: str = "viewer", **more: object) -> Page:
    return yard.context(chromium, role, **more).new_page()  # type: ignore[arg-type]


@pytest.mark.parametrize("script", [True, False])
def test_a_new_user_finds_out_what_changed_since_last_time(yard: DemoYard, chromium: Browser, script: bool) -> None:
    """Two presses from the list of trials, and the first screen answers; the rest says what that can't tell."""
    page = page_of(yard, chromium, script=script)
    page.goto(yard.address + "/trials")
    page.get_by_role("link", name="Is 1.6 mm plate enough").click()
    page.get_by_role("link", name="what changed since").click()
    heading = page.get_by_role("heading", level=1)
    expect(heading).to_have_text(CHANGED)
    lead = page.locator(".layout__lead").inner_text()
    assert "For some shots only: the hardness of the heads, the arrows themselves and who shot which bow." in lead
    assert "By what was measured: weight of Bracken 112 at the draw." in lead
    main = page.get_by_role("main").inner_text()
    for words in ("1.2\u00a0mm one-piece plate", "1.6\u00a0mm one-piece plate", "50 to 55\u00a0HRC (7)", "12\u00a0°C", "8\u00a0°C", "493.8\u00a0N", "471.5\u00a0N"):
        assert words in main, words
    assert "these shots can’t tell which" in main
    page.get_by_role("link", name="Count like with like").click()
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
    expect(page.get_by_role("heading", level=1)).to_have_text(CHANGED)
    page.context.close()


@pytest.mark.parametrize("query", ["", "?trial=none", "?edges=low", "?alike=yes&fair=any"])
def test_side_by_side_is_accessible_and_fits_a_phone(yard: DemoYard, chromium: Browser, query: str) -> None:
    page = page_of(yard, chromium)
    page.goto(yard.address + "/trials/compare" + query)
    found = look(page, query)
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    page.set_viewport_size({"width": 360, "height": 740})
    assert by_keyboard(page) == []
    page.context.close()


def test_on_a_phone_the_columns_stand_one_under_the_other(yard: DemoYard, chromium: Browser) -> None:
    page = page_of(yard, chromium)
    page.goto(yard.address + "/trials/compare")
    row = page.locator(".beside__table tbody tr").first

    def boxes() -> list[dict[str, float]]:
        return [box for cell in row.locator("td").all() if (box := cell.bounding_box()) is not None]

    one, other = boxes()
    assert other["y"] >= one["y"] + one["height"] - 1 and abs(one["x"] - other["x"]) < 1
    page.set_viewport_size({"width": 1280, "height": 900})
    one, other = boxes()
    assert abs(one["y"] - other["y"]) < 1 and other["x"] > one["x"] + 100
    page.context.close()


@pytest.mark.parametrize("theme", ["dark", "sun"])
def test_it_can_be_read_in_every_light(yard: DemoYard, chromium: Browser, theme: str) -> None:
    page = page_of(yard, chromium)
    page.context.add_cookies([{"name": "theme", "value": theme, "url": yard.address}])
    page.goto(yard.address + "/trials/compare")
    assert page.locator("html").get_attribute("data-theme") == theme
    assert [fault for one in look(page, theme, axe_at=(360,)) for fault in one.violations] == []
    page.context.close()


def test_a_trial_that_follows_is_begun_without_script(yard: DemoYard, chromium: Browser, trials: list[str]) -> None:
    page = page_of(yard, chromium, "archer", script=False)
    page.goto(yard.address + f"/trials/{trials[1]}")
    page.get_by_role("link", name="Start one that follows").click()
    question = page.get_by_label("The question")
    expect(question).to_have_value("Does riveted mail over linen, or laced scale, stop what plate lets through?")
    question.fill("")
    page.get_by_role("button", name="Write it down").click()
    assert page.title().startswith("Error: ")
    question.fill("Does laced scale stop the hardened needle?")
    page.get_by_label("First day", exact=True).fill("2026-11-07")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Does laced scale stop the hardened needle?")
    expect(page.get_by_text("Changed from the trial before")).to_be_visible()
    expect(page.get_by_text("not open yet: 0 of 5 cautions ticked")).to_be_visible()
    page.context.close()


def test_the_evening_is_one_sheet_and_says_what_is_owed(yard: DemoYard, chromium: Browser, days: list[str]) -> None:
    page = page_of(yard, chromium, width=1100)
    for day in days:
        page.goto(yard.address + f"/sessions/{day}/evening")
        sheet = page.pdf(prefer_css_page_size=True)
        assert sheet.count(b"/Type /Page\n") + sheet.count(b"/Type /Page ") == 1, page.title()
    owed = page.get_by_role("region", name="What the bench still owes").inner_text()
    assert "Not read yet" in owed and "Look behind on the bench" in owed and "speeds to read of Wren with Lent bow" in owed
    found = look(page, "evening")
    assert [fault for one in found for fault in one.violations] == [] and [one.too_wide for one in found] == [0, 0]
    page.context.close()


def test_a_comparison_on_paper_has_no_form_and_cuts_no_row(yard: DemoYard, chromium: Browser) -> None:
    page = page_of(yard, chromium, width=1100)
    page.goto(yard.address + "/trials/compare")
    page.emulate_media(media="print")
    for unseen in ("#trial-comparison-filters", ".beside__jump"):
        expect(page.locator(unseen)).to_be_hidden()
    expect(page.locator(".beside__table").first).to_be_visible()
    assert page.locator(".beside__table").first.evaluate("one => getComputedStyle(one).breakInside") == "avoid"
    page.context.close()
