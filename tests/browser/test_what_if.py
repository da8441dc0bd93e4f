"""What-ifs in Chromium, with the demo: as a new user would ask, at 360 px and wide, by keyboard, on paper, without script."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect
from proofyard.records.panel import Panel, PanelBuild
from sqlalchemy import select

from tests.browser.demo_yard import DemoYard

ANSWER = re.compile(r"The 50.% energy of P2 at 1.mm would be \d+ to \d+.J\.")


@pytest.fixture(scope="module")
def yard(demo_of_all: DemoYard) -> DemoYard:
    return demo_of_all


@pytest.fixture(scope="module")
def panels(yard: DemoYard) -> dict[str, str]:
    """Panel's name -> its first build."""
    with yard.server.book.read() as session:
        rows = session.execute(
            select(Panel.name, PanelBuild.id).join(PanelBuild, PanelBuild.panel_id == Panel.id).where(PanelBuild.number == 1)
        )
        return {name: build for name, build in rows}


def page_of(yard: DemoYard, chromium: Browser, **more: object) -> Page:
    return yard.context(chromium, "viewer", **more).new_page()


def test_a_new_user_finds_out_whether_it_would_have_held_at_one_millimetre(yard: DemoYard, chromium: Browser) -> None:
    """From the first page, by what can be read on it: five presses and one number."""
    page = page_of(yard, chromium)
    page.goto(yard.address + "/trials")
    page.get_by_role("navigation", name="Main").get_by_role("link", name="Results").click()
    page.get_by_role("link", name="What if", exact=True).click()
    page.get_by_label("Armour").select_option(
        label=next(one for one in page.locator("#panel option").all_inner_texts() if one.startswith("P2:"))
    )
    page.get_by_role("button", name="Continue").click()
    page.get_by_label("Thickness of the plate, in millimetres", exact=True).fill("1.0")
    page.get_by_role("button", name="Calculate").click()
    expect(page.locator(".layout__lead p").first).to_have_text(ANSWER)
    expect(page.get_by_text("Never try it on anyone.")).to_be_visible()  # the rest is its reviewed text
    page.context.close()


def test_by_keyboard_alone_the_question_is_asked_and_a_shot_of_the_drawing_opened(
    yard: DemoYard, chromium: Browser, panels: dict[str, str]
) -> None:
    page = page_of(yard, chromium, width=1280, height=900)
    page.goto(yard.address + f"/what-if?panel={panels['P2']}")
    page.locator("#thickness").focus()
    page.keyboard.type("1.0 mm")
    page.keyboard.press("Enter")
    expect(page.locator(".layout__lead p").first).to_have_text(ANSWER)
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
    page.get_by_text("Compare a second change").click()
    page.locator("#b_thickness").fill("1/16 in")
    page.get_by_role("button", name="Calculate").click()
    expect(page.get_by_text(re.compile("A: .*P2 at 1.mm")).first).to_be_visible()
    expect(page.get_by_role("heading", level=2).filter(has_text="B: The 50 % energy of P2 at 1.588")).to_have_count(1)
    page.go_back()
    expect(page.get_by_role("button", name="Calculate")).to_be_visible()
    page.context.close()


def test_a_wrong_number_is_said_beside_its_field_and_stays(yard: DemoYard, chromium: Browser, panels: dict[str, str]) -> None:
    page = page_of(yard, chromium)
    page.goto(yard.address + f"/what-if?panel={panels['P2']}")
    page.locator("#thickness").fill("16 ga")
    page.get_by_role("button", name="Calculate").click()
    expect(page.locator("#thickness")).to_have_value("16 ga")
    expect(page.locator("#thickness-error")).to_contain_text("millimetres")
    expect(page.get_by_role("alert")).to_be_focused()
    page.get_by_role("alert").get_by_role("link").click()
    expect(page.locator("#thickness")).to_be_focused()
    page.context.close()
