"""The blow behind in Chromium, with the demo: at 360 px and wide, axe, by keyboard, on paper, dark, without script."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from sqlalchemy import select

from server.findings.blow.cautions import CAUTIONS
from server.records.shot import Shot
from server.records.trial import Trial
from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.every_page import by_keyboard, look, violations


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoYard]:
    with demo_yard(tmp_path_factory.mktemp("blow-behind") / "yard") as made:
        yield made


@pytest.fixture(scope="module")
def trials(yard: DemoYard) -> list[str]:
    """The demo's: thin plate, then mail and scale, then thick plate."""
    with yard.server.book.read() as session:
        return list(session.execute(select(Trial.id).order_by(Trial.id)).scalars())


@pytest.fixture(scope="module")
def shot(yard: DemoYard) -> str:
    """B1: dented the plate, with a print in the clay."""
    with yard.server.book.read() as session:
        return session.execute(select(Shot.id).where(Shot.label == "B1")).scalars().one()


def page_of(yard: DemoYard, chromium: Browser, **more: object) -> Page:
    return yard.context(chromium, "viewer", **more).new_page()  # type: ignore[arg-type]


@pytest.mark.parametrize("more", ["", "?trial={trial}", "?trial={mail}", "?trial={trial}&shot={shot}&width=60+mm&body=woman", "?trial={trial}&width=broad&body_mass=1&after=x"])
def test_it_is_accessible_fits_a_phone_and_goes_by_keyboard(yard: DemoYard, chromium: Browser, trials: list[str], shot: str, more: str) -> None:
    page = page_of(yard, chromium)
    address = "/blow-behind" + more.format(trial=trials[0], mail=trials[1], shot=shot)
    page.goto(yard.address + address)
    found = look(page, address)
    assert [fault for one in found for fault in one.violations] == []
    assert [one.too_wide for one in found] == [0, 0]
    page.set_viewport_size({"width": 360, "height": 740})
    assert by_keyboard(page) == []
    page.context.close()


def test_by_keyboard_a_shot_is_opened_from_the_picture_and_a_width_typed(yard: DemoYard, chromium: Browser, trials: list[str]) -> None:
    page = page_of(yard, chromium, width=1280, height=900)
    page.goto(yard.address + f"/trials/{trials[0]}")
    page.get_by_role("link", name="The blow behind armour that held").click()
    page.locator("#blow-chart svg a").first.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/blow-behind?**shot=**")
    expect(page.get_by_role("heading", level=1)).to_contain_text("went on in the panel")
    page.locator("#blow-ask > summary").focus()
    page.keyboard.press("Enter")
    page.locator("#width").focus()
    page.keyboard.type("60 mm")
    page.keyboard.press("Enter")
    page.wait_for_url("**width=60**")
    assert "over 60" in page.locator("#blow-found").inner_text() and "shot=" in page.url
    page.context.close()


@pytest.mark.parametrize("script", [True, False])
def test_with_script_off_it_answers_alike(yard: DemoYard, chromium: Browser, shot: str, script: bool) -> None:
    page = page_of(yard, chromium, script=script)
    page.goto(yard.address + f"/shots/{shot}")
    page.get_by_role("link", name="The blow behind").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("B1: of")
    page.get_by_role("link", name="all of these shots").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("blows that did not come through")
    page.context.close()


def test_on_paper_the_cautions_stand_with_the_figures_and_the_form_is_gone(yard: DemoYard, chromium: Browser, trials: list[str], shot: str) -> None:
    page = page_of(yard, chromium, width=794, height=1123)
    page.goto(yard.address + f"/blow-behind?trial={trials[0]}&shot={shot}")
    page.emulate_media(media="print")
    for words in CAUTIONS:
        expect(page.get_by_text(words)).to_be_visible()
    expect(page.locator("#blow-rows")).to_be_visible()
    expect(page.locator("#blow-ask")).to_be_hidden()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    clipped = page.evaluate("[...document.querySelectorAll('.tally__scroll')].filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.className)")
    assert clipped == []
    page.context.close()


@pytest.mark.parametrize("theme", ["sun", "dark"])
def test_in_sun_and_dark_it_stays_readable(yard: DemoYard, chromium: Browser, trials: list[str], shot: str, theme: str) -> None:
    page = page_of(yard, chromium)
    page.goto(yard.address + f"/blow-behind?trial={trials[0]}&shot={shot}")
    page.evaluate(f"document.documentElement.dataset.theme = '{theme}'")
    assert violations(page) == ()
    page.context.close()
