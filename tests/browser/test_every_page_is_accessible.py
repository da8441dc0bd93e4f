"""Every page that the app's routes give, with the demo in it: axe, width, titles, keyboard. And pages of what went wrong."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.demo_yard import DemoYard
from tests.browser.every_page import Look, by_keyboard, look
from tests.browser.pages_of_the_demo import PAGES


@pytest.fixture(scope="module")
def yard(demo_of_file: DemoYard) -> DemoYard:
    def fail() -> None:
        raise RuntimeError("planted, so that the page of our own faults is looked at too")

    demo_of_file.server.app.get("/planted-fault")(fail)
    return demo_of_file


def ready(page: Page, address: str) -> None:
    page.goto(address)
    page.locator("h1").first.wait_for()
    expect(page.get_by_role("heading", name="Waiting for the laptop")).to_have_count(0)  # the range's first breath


@pytest.fixture(scope="module")
def looks(yard: DemoYard, chromium: Browser) -> list[Look]:
    """A page of every route of the owner, looked at once at each width. What the table has is held there to axe and keyboard."""
    return looked_at(yard, chromium, yard.pages(one_a_route=True), thorough=False)


def looked_at(yard: DemoYard, chromium: Browser, pages: list[str], *, thorough: bool) -> list[Look]:
    context = yard.context(chromium)
    page = context.new_page()
    found = []
    in_table = {one.address.format_map(yard.called) for one in PAGES}
    for address in pages:
        ready(page, yard.address + address)
        at = (360, 1280) if thorough else () if address in in_table else (360,)
        found += look(page, address, axe_at=at, keys_at=at)
    context.close()
    assert len(found) >= 2 * 50, "pages were left out"
    return found


@pytest.mark.long
def test_nothing_is_wrong_with_any_page_of_any_noun_at_any_width(yard: DemoYard, chromium: Browser) -> None:
    found = looked_at(yard, chromium, yard.pages(), thorough=True)
    faults = [f"{one.address} at {one.width}: {fault}" for one in found for fault in (*one.violations, *one.by_keyboard)]
    assert not faults, "\n".join(faults)
    assert [f"{one.address} at {one.width}: {one.too_wide} px" for one in found if one.too_wide > 0] == []


@pytest.mark.long  # the table of pages (pages_of_the_demo.py) asks the same of each main page on every run
def test_axe_has_nothing_against_any_page(looks: list[Look]) -> None:
    faults = [f"{one.address} at {one.width}: {fault}" for one in looks for fault in one.violations]
    assert not faults, "\n".join(faults)


@pytest.mark.long
def test_no_page_is_wider_than_its_window(looks: list[Look]) -> None:
    assert [f"{one.address} at {one.width}: {one.too_wide} px" for one in looks if one.too_wide > 0] == []


@pytest.mark.long
def test_a_title_says_which_page_it_is(looks: list[Look]) -> None:
    titles: dict[str, dict[str, str]] = {}
    for one in looks:
        assert one.title.endswith(" · Proofyard") and one.title != " · Proofyard", one.address
        titles.setdefault(one.title, {})[one.heading] = one.address
    assert {title: pages for title, pages in titles.items() if len(pages) > 1} == {}


@pytest.mark.long
def test_every_page_can_be_used_by_keyboard(looks: list[Look]) -> None:
    faults = [f"{one.address} at {one.width}: {fault}" for one in looks for fault in one.by_keyboard]
    assert not faults, "\n".join(faults)


# Sent with what a hurried hand types: where from, what is typed by a control's name, and the form's own button.
WRONG = {
    "a trial without its question": ("/trials/new", {}, "Save"),
    "a range day with nothing in it": ("/kit/start", {}, "Save"),
    "an arrow of 1,234 and a plate of 16 gauge": (
        "/kit/start",
        {"arrow1-tag": "7", "arrow1-head-name": "N7", "arrow1-value": "1,234", "panel-name": "P", "panel-thickness": "16 ga"},
        "Save",
    ),
    "a panel without a name": ("/kit/panel/new", {"mass": "1,234"}, re.compile("panel|Save|Add", re.I)),
    "a bow that nobody bends": ("/kit/bow/new", {"name": "B", "marked_weight": "95 mm"}, re.compile("bow|Save|Add", re.I)),
    "a session on no day": ("/trials/{trial_id}/sessions/new", {"temperature": "warm"}, "Save"),
    "a set-up of no panel": ("/sessions/{session_id}/setups", {"distance": "far"}, "Save"),
    "a shot of nobody": ("/log", {"speed_value": "quick"}, re.compile("^Log ")),
    "a depth in words": ("/shots/{shot_id}/correct", {"reading-depth": "deep"}, re.compile("Correct|Save")),
    "a combination of nothing": ("/combinations/new", {}, re.compile("Start the series")),
    "bands in words": ("/results?edges=low,+high", {}, ""),
    "a stranger without a name": ("/join", {}, "Ask to join"),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_went_wrong_is_said_on_top_and_by_the_field(yard: DemoYard, chromium: Browser, what: str) -> None:
    address, typed, button = WRONG[what]
    context = yard.context(chromium, "stranger" if address == "/join" else "archer")
    page = context.new_page()
    ready(page, yard.address + address.format_map({name: some[0] for name, some in yard.ids.items() if some}))
    for name, text in typed.items():
        page.locator(f"[name='{name}']").first.fill(text)
    if button:
        with page.expect_navigation() as went:
            page.get_by_role("main").get_by_role("button", name=button).first.click()
        assert went.value.status == 422
    assert " to check, " in page.title()
    summary = page.get_by_role("alert")
    expect(summary).to_be_focused()
    for link in summary.get_by_role("link").all():
        field = page.locator(link.get_attribute("href") or "#nowhere")
        expect(field).to_have_count(1)
        said = link.inner_text().partition(": ")[2]
        assert page.get_by_text(said).count() >= 2, f"“{said}” stands only on top"
    for name, text in typed.items():
        expect(page.locator(f"[name='{name}']").first).to_have_value(text)
    found = look(page, address)
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    context.close()


REFUSED = {
    "nothing there": ("owner", "/trials/none", 404),
    "no such page": ("owner", "/nowhere", 404),
    "an old link": ("stranger", "/owner/none", 404),
    "a viewer at the line": ("viewer", "/log", 403),
    "an archer at the door": ("archer", "/phones", 403),
    "a stranger": ("stranger", "/trials", 401),
    "an address that can’t be": ("owner", "/results?edges=%ff", 422),
    "a fault of ours": ("owner", "/planted-fault", 500),
}


@pytest.mark.parametrize("what", REFUSED)
def test_a_page_that_cannot_be_had_says_so_and_leads_on(yard: DemoYard, chromium: Browser, what: str) -> None:
    role, address, status = REFUSED[what]
    context = yard.context(chromium, role)
    page = context.new_page()
    answer = page.goto(yard.address + address)
    assert answer is not None and answer.status == status
    found = look(page, address)
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    assert by_keyboard(page) == []
    assert "Traceback" not in page.content() and "planted" not in page.get_by_role("main").inner_text()
    context.close()


def test_the_door_can_be_passed_by_everyone(yard: DemoYard, chromium: Browser) -> None:
    """Asking, waiting, and the owner's page while a phone asks; then the form that lets it look at one trial only."""
    stranger, owner = yard.context(chromium, "stranger"), yard.context(chromium)
    phone, laptop = stranger.new_page(), owner.new_page()
    ready(phone, yard.address + "/join")
    phone.get_by_label("Call name").fill("Pip")
    phone.get_by_role("button", name="Ask to join").click()
    words = phone.locator(".join__words").inner_text()
    ready(laptop, yard.address + "/phones")
    assert laptop.locator(".join__words").first.inner_text() == words
    asking = yard.address + (laptop.locator(".phones__asking a").first.get_attribute("href") or "")
    for page in (phone, laptop):
        assert [fault for one in look(page, page.url) for fault in one.violations] == []
        assert by_keyboard(page) == []
    ready(laptop, asking)
    laptop.get_by_label("For how many days").fill("many")
    laptop.get_by_role("button", name="Let in as viewer").click()
    expect(laptop.get_by_role("alert")).to_be_focused()
    assert [fault for one in look(laptop, "one phone") for fault in one.violations] == []
    stranger.close()
    owner.close()


def test_without_script_the_results_are_narrowed_and_a_cell_shows_its_shots(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "viewer", script=False)
    page = context.new_page()
    page.goto(yard.address + "/results")
    page.locator("#results-filters > summary").click()
    page.locator("[name=edges]").fill("60, 80, 105")
    page.get_by_role("button", name="Show", exact=True).click()
    assert "edges=60" in page.url
    count = page.locator("a.results__count").first
    words = count.inner_text()
    count.click()
    rows = page.locator("main .row").count()
    assert rows >= int(re.findall(r"\d+", words)[-1])
    page.locator("main .row__link").first.click()
    expect(page.get_by_role("main")).to_contain_text("J")
    context.close()


def test_without_script_a_trial_is_asked_and_kit_goes_in(yard: DemoYard, chromium: Browser) -> None:
    context = yard.context(chromium, "archer", script=False)
    page = context.new_page()
    page.goto(yard.address + "/trials/new")
    page.locator("[name=question]").fill("Does a second shirt of linen change anything?")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("h1")).to_have_text("Does a second shirt of linen change anything?")
    page.goto(yard.address + "/kit/start")
    page.locator("[name=panel-name]").fill("P99")
    page.locator("[name=panel-thickness]").fill("1.6 mm")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("h1")).to_have_text("Kit is in the book")
    context.close()
