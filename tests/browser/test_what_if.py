"""What-ifs in Chromium, with the demo: as a new user would ask, at 360 px and wide, by keyboard, on paper, without script."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlalchemy import select

from server.records.panel import Panel, PanelBuild
from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.every_page import by_keyboard, look, violations

ANSWER = re.compile(r"P2 at 1.mm: half would get through at \d+ to \d+.J")


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoYard]:
    with demo_yard(tmp_path_factory.mktemp("what-if") / "yard") as made:
        yield made


@pytest.fixture(scope="module")
def panels(yard: DemoYard) -> dict[str, str]:
    """Panel's name -> its first build."""
    with yard.server.book.read() as session:
        rows = session.execute(select(Panel.name, PanelBuild.id).join(PanelBuild, PanelBuild.panel_id == Panel.id).where(PanelBuild.number == 1))
        return {name: build for name, build in rows}


def page_of(yard: DemoYard, chromium: Browser, **more: object) -> Page:
    return yard.context(chromium, "viewer", **more).new_page()  # type: ignore[arg-type]


def test_a_new_user_finds_out_whether_it_would_have_held_at_one_millimetre(yard: DemoYard, chromium: Browser) -> None:
    """From the first page, by what can be read on it: five presses and one number."""
    page = page_of(yard, chromium)
    page.goto(yard.address + "/trials")
    page.get_by_role("navigation", name="Book").get_by_role("link", name="Results").click()
    page.get_by_role("link", name="What if it had been otherwise?").click()
    page.get_by_label("Armour").select_option(label=next(one for one in page.locator("#panel option").all_inner_texts() if one.startswith("P2:")))
    page.get_by_role("button", name="Go on").click()
    page.get_by_label("Thickness of the plate, in millimetres", exact=True).fill("1.0")
    page.get_by_role("button", name="What then?").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(ANSWER)
    lead = page.locator(".layout__lead").inner_text()
    assert "With Corbel 145 more shots would get through than be held." in lead and "with the doubt of your own shots" in lead
    expect(page.get_by_text("Never try it on anyone.")).to_be_visible()
    page.context.close()


@pytest.mark.parametrize(
    "more",
    ["", "&thickness=1.0+mm", "&thickness=1.0+mm&head=stout&b_thickness=2+mm&b_angle=30", "&thickness=much&wire=1+mm&b_layers=9", "&basis=model&layers=2"],
)  # fmt: skip
def test_a_what_if_is_accessible_fits_a_phone_and_goes_by_keyboard(yard: DemoYard, chromium: Browser, panels: dict[str, str], more: str) -> None:
    page = page_of(yard, chromium)
    address = f"/what-if?panel={panels['P2']}{more}"
    page.goto(yard.address + address)
    found = look(page, address)
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    page.set_viewport_size({"width": 360, "height": 740})
    assert by_keyboard(page) == []
    page.context.close()


def test_by_keyboard_alone_the_question_is_asked_and_a_shot_of_the_picture_opened(yard: DemoYard, chromium: Browser, panels: dict[str, str]) -> None:
    page = page_of(yard, chromium, width=1280, height=900)
    page.goto(yard.address + f"/what-if?panel={panels['P2']}")
    page.locator("#thickness").focus()
    page.keyboard.type("1.0 mm")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(ANSWER)
    page.locator("#what-if-ask > summary").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#thickness")).to_have_value("1.0 mm")
    page.locator("#what-if-chart svg a").first.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/shots/*")
    page.context.close()


@pytest.mark.parametrize("script", [True, False])
def test_with_script_off_it_answers_alike(yard: DemoYard, chromium: Browser, panels: dict[str, str], script: bool) -> None:
    page = page_of(yard, chromium, script=script)
    page.goto(yard.address + f"/panels/{panels['P2']}")
    page.locator("#panel-what-if").click()
    page.locator("#thickness").fill("1,0 mm")
    page.get_by_text("Beside it a second one").click()
    page.locator("#b_thickness").fill("1/16 in")
    page.get_by_role("button", name="What then?").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(re.compile("A: P2 at 1.mm"))
    expect(page.get_by_role("heading", level=2).filter(has_text="B: P2 at 1.588")).to_have_count(1)
    page.go_back()
    expect(page.get_by_role("button", name="What then?")).to_be_visible()
    page.context.close()


def test_a_wrong_number_is_said_beside_its_field_and_stays(yard: DemoYard, chromium: Browser, panels: dict[str, str]) -> None:
    page = page_of(yard, chromium)
    page.goto(yard.address + f"/what-if?panel={panels['P2']}")
    page.locator("#thickness").fill("16 ga")
    page.get_by_role("button", name="What then?").click()
    expect(page.locator("#thickness")).to_have_value("16 ga")
    expect(page.locator("#thickness-error")).to_contain_text("millimetres")
    expect(page.get_by_role("alert")).to_be_focused()
    page.get_by_role("alert").get_by_role("link").click()
    expect(page.locator("#thickness")).to_be_focused()
    page.context.close()


def test_on_paper_stands_the_answer_with_its_caution_and_no_form(yard: DemoYard, chromium: Browser, panels: dict[str, str]) -> None:
    page = page_of(yard, chromium, width=1280, height=900)
    page.goto(yard.address + f"/what-if?panel={panels['P2']}&thickness=1.0+mm&b_angle=30")
    page.emulate_media(media="print")
    for words in ("Never try it on anyone.", "Keep in mind", "Rule beside rule", "What it rests on"):
        expect(page.get_by_text(words).first).to_be_visible()
    expect(page.locator("#what-if-chart svg")).to_be_visible()
    expect(page.locator("#what-if-ask")).to_be_hidden()
    assert page.pdf(format="A4").count(b"/Type /Page\n") <= 4
    page.context.close()


@pytest.mark.parametrize("theme", ["dark", "sun"])
def test_it_reads_in_the_dark_and_in_the_sun(yard: DemoYard, chromium: Browser, panels: dict[str, str], theme: str) -> None:
    page = page_of(yard, chromium)
    page.goto(yard.address + f"/what-if?panel={panels['P2']}&thickness=1.0+mm")
    page.get_by_role("button", name=re.compile(theme, re.I)).click()
    expect(page.locator("html")).to_have_attribute("data-theme", theme)
    page.goto(yard.address + f"/what-if?panel={panels['P2']}&thickness=1.0+mm")
    assert violations(page) == ()
    page.context.close()
