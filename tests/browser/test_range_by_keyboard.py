"""Without a finger, without sight, without script: the range is still there."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.conftest import ShootingYard
from tests.browser.range_hands import Hand

Phone = Callable[..., Page]


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


def shooting_end_to(page: Page, wanted: str, *, most: int = 80) -> None:
    """Tab until something that matches is focused: what Tab never reaches, a keyboard can't use."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("wanted => document.activeElement.matches(wanted)", wanted):
            return
    raise AssertionError(f"Tab never came to {wanted}")


def test_a_shot_is_loosed_and_read_by_keyboard_alone(wren: Hand, shooting_yard: ShootingYard) -> None:
    page = wren.open().page
    shooting_end_to(page, "[data-caution-read]")
    page.keyboard.press("Enter")
    shooting_end_to(page, "[name=archer]")
    page.keyboard.press("ArrowDown")  # into the group, and on
    page.keyboard.press("Space")
    shooting_end_to(page, "[name=bow_build]")
    page.keyboard.press("Space")
    label = page.locator("h1 [data-slot=label]").inner_text()
    shooting_end_to(page, "[data-keys] .button--main")
    page.keyboard.press("Enter")
    expect(page.locator("[data-undo]")).to_contain_text(f"{label} by")
    shooting_end_to(page, "[data-keys] button:not(.button--main)")
    page.keyboard.press("Enter")
    expect(page.locator("h2#reading-title")).to_have_text(label)
    shooting_end_to(page, "[data-touch]")
    for press in ("ArrowRight", "Shift+ArrowRight", "ArrowRight", "ArrowUp"):  # the first one puts it in the middle
        page.keyboard.press(press)
    expect(page.locator("[data-slot=where]")).to_have_text("11 mm right, 1 mm up")
    shooting_end_to(page, "[name=outcome_low]")
    page.keyboard.press("Space")
    for _ in range(2):  # 5 stands at the top
        page.keyboard.press("ArrowDown")
    expect(page.locator("[name=outcome_low]:checked")).to_have_value("3")
    shooting_end_to(page, "[data-keys] .button--main")
    page.keyboard.press("Enter")
    fact = shooting_yard.comes_to(label, outcome_low=3, hit="on_panel")
    assert (fact.x_m, fact.y_m) == (0.011, 0.001)
    expect(page.locator("h1")).to_be_focused()


def test_a_spot_can_be_nudged_and_typed(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    wren.tap("Adjust")
    wren.page.get_by_label("Right of the middle").fill("-20")
    wren.page.get_by_label("Above the middle").fill("35")
    wren.tap("1 mm left")
    wren.tap("1 mm up")
    expect(wren.page.locator("[data-slot=where]")).to_have_text("21 mm left, 36 mm up")
    wren.tap("Can’t tell")
    expect(wren.page.locator("[data-slot=where]")).to_have_text("Can’t tell where")
    wren.key(re.compile("^Outcome, judged"), "Dented")
    wren.tap(f"Save {label}")
    shooting_yard.comes_to(label, place_known=False, x_m=None, outcome_low=2)


def test_closer_places_the_same_spot_more_finely(wren: Hand) -> None:
    wren.open().ready()
    wren.loose()
    wren.to_the_butt()
    wren.spot(0.5, 0.5)
    first = wren.page.locator("[name=x]").input_value(), wren.page.locator("[name=y]").input_value()
    wren.tap("Closer")
    wren.spot(0.5, 0.5)
    second = wren.page.locator("[name=x]").input_value(), wren.page.locator("[name=y]").input_value()
    assert all(abs(int(a) - int(b)) <= 1 for a, b in zip(first, second, strict=True)), (first, second)


@pytest.mark.parametrize("place", ["/range", "/range/butt", "/range/bench"])
def test_nothing_that_axe_knows_is_wrong(wren: Hand, place: str) -> None:
    wren.open().ready()
    wren.loose()
    wren.page.locator("[name=speed]").fill("fifty")
    if place != "/range":
        wren.to_the_butt()
        wren.spot()
        wren.more("Depth", "The arrow", "The armour", "How sure", "Fair hit")
        wren.page.get_by_text("Correct this shot, or cross it out").tap()
    if place == "/range/bench":
        wren.open(place)
    found = Axe().run(wren.page)
    assert found.violations_count == 0, found.generate_report()


def test_every_key_is_as_big_as_a_gloved_thumb(wren: Hand) -> None:
    wren.open().ready()
    wren.loose()
    small = """all => all.map((one) => one.closest('.row')
      || one.closest('label, .button, a, button, summary, .field__box, [data-touch]') || one)
        .filter((one) => one.getClientRects().length && !one.closest('.layout__skip') && one.getBoundingClientRect().height < 39.5)
        .map((one) => one.outerHTML.slice(0, 90))"""
    for place in ("/range", "/range/butt", "/range/bench"):
        wren.open(place)
        wren.page.wait_for_timeout(300)
        assert wren.page.eval_on_selector_all("main :is(a, button, input, select, summary), [data-thumb] button", small) == []
        main = wren.page.locator("[data-keys] .button--main").bounding_box()
        assert main is not None and main["height"] >= 64 and main["y"] + main["height"] <= 740
        assert wren.page.evaluate("document.documentElement.scrollWidth") <= 360


def test_the_page_is_small_enough_for_a_field(wren: Hand, shooting_yard: ShootingYard) -> None:
    """With everything, packed: 100 KB the first time, 5 KB the second."""
    session = wren.page.context.new_cdp_session(wren.page)
    session.send("Network.enable")
    sizes: list[float] = []
    session.on("Network.loadingFinished", lambda event: sizes.append(event["encodedDataLength"]))
    wren.open()
    wren.page.wait_for_timeout(1500)
    first = sum(sizes)
    sizes.clear()
    wren.page.goto("about:blank")
    wren.open()
    wren.page.wait_for_timeout(1000)
    assert 10_000 < first <= 100_000, f"{first:.0f} bytes"
    assert sum(sizes) <= 5_000, f"{sum(sizes):.0f} bytes the second time"


def test_a_shot_is_logged_and_read_without_script(phone: Phone, shooting_yard: ShootingYard) -> None:
    page = phone("Wren", script=False)
    page.goto(shooting_yard.server.address + "/range")
    page.get_by_role("link", name="Log a shot on the plain form").tap()
    label = page.locator("h1").inner_text().removeprefix("Log a shot: ")
    page.get_by_role("button", name=f"Log {label}").tap()
    expect(page.get_by_role("alert")).to_contain_text("need")
    page.get_by_label("Set-up").select_option(index=1)
    page.get_by_label("Archer", exact=True).select_option(label="Wren")
    page.locator("select[name=bow_build]").select_option(index=2)
    page.locator("select[name=arrow_build]").select_option(index=1)
    page.locator("[name=speed_value]").fill("1,234")
    page.locator("label", has_text="On the panel").first.tap()
    page.locator("[name=reading_x]").fill("12 mm")
    page.locator("[name=reading_y]").fill("-8")
    page.locator("[name=reading_outcome_low][value='3']").check(force=True)
    page.get_by_role("button", name=f"Log {label}").tap()
    assert page.locator("[name=speed_value]").input_value() == "1,234", "what was typed stays"
    expect(page.get_by_role("alert")).to_contain_text("1,234")
    page.locator("[name=speed_value]").fill("52.6")
    page.get_by_role("button", name=f"Log {label}").tap()
    expect(page.get_by_role("status").filter(has_text=f"{label} is in the book")).to_be_visible()
    fact = shooting_yard.fact(label)
    assert (fact.outcome_low, fact.x_m, fact.y_m, fact.hit) == (3, 0.012, -0.008, "on_panel")
    assert shooting_yard.labels() == [label]
