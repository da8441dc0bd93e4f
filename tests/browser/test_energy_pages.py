"""Bow page, shot page, and both tools for a speed without a chronograph: on a phone, by keyboard, on paper, without script."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from proofyard.answers.methods.page import method_names
from proofyard.records.bow import DrawPoint
from proofyard.records.listing import all_of
from proofyard.records.shot_facts import shot_facts
from sqlalchemy import select

from tests.browser.demo_yard import DemoYard

A4_AT_96 = 718  # the width of A4 between the margins of print.css, in CSS pixels


@pytest.fixture(scope="module")
def yard(demo_of_all: DemoYard) -> DemoYard:
    return demo_of_all


@pytest.fixture(scope="module")
def places(yard: DemoYard) -> dict[str, str]:
    """The pages that this is about: a bow with points and arrows, shots on plate and on scales, the two tools."""
    with yard.server.book.read() as session:
        bow = session.execute(select(DrawPoint.bow_build_id)).scalars().first()
        own = {row.shot_id for row in all_of(session, _speed()) if row.shot_id and not row.left_out_reason}
        facts = [fact for fact in shot_facts(session) if fact.outcome_low is not None and fact.shot_id in own]
        plate = next(fact for fact in facts if fact.construction == "plate")
        scales = next(fact for fact in shot_facts(session) if fact.construction == "scale" and fact.x_m is not None)
    return {
        "bow": f"/bows/{bow}",
        "shot": f"/shots/{plate.shot_id}",
        "scales": f"/shots/{scales.shot_id}",
        "frames": "/speeds/frames",
        "sound": "/speeds/sound",
    }


def _speed() -> Any:
    from proofyard.records.speed import SpeedReading

    return SpeedReading


def opened(chromium: Browser, yard: DemoYard, address: str, *, width: int = 360, script: bool = True) -> Page:
    page = yard.context(chromium, width=width, script=script).new_page()
    page.goto(yard.address + address)
    return page


@pytest.mark.parametrize("key", ["bow", "shot", "frames", "sound"])
def test_by_keyboard_the_stops_go_down_the_page(chromium: Browser, yard: DemoYard, places: dict[str, str], key: str) -> None:
    page = opened(chromium, yard, places[key])
    page.evaluate("() => { const top = document.body; top.tabIndex = -1; top.focus(); top.removeAttribute('tabindex'); }")
    seen: list[int] = []
    for _ in range(200):
        page.keyboard.press("Tab")
        at = page.evaluate(
            "() => { const one = document.activeElement; return one === document.body ? null : "
            "[...document.querySelectorAll('*')].indexOf(one); }"
        )
        if at is None or seen and at <= seen[-1]:
            break
        seen.append(at)
    focusable = page.evaluate(
        "() => [...document.querySelectorAll('main a[href], main button, main input:not([type=hidden]), main select, main textarea, "
        'main summary, main [tabindex="0"]\')].filter(one => one.checkVisibility({visibilityProperty: true})).length'
    )
    assert len(seen) >= focusable * 0.8, "the order of the page is the order of Tab; of a group of choices one is a stop"
    page.context.close()


def test_a_speed_worked_out_is_printed_with_what_it_rests_on(chromium: Browser, yard: DemoYard, places: dict[str, str]) -> None:
    page = opened(chromium, yard, places["sound"], width=A4_AT_96)
    for name, text in (("loose", "0.812 s"), ("hit", "1.116 s"), ("distance", "14 m"), ("temperature", "12 °C")):
        page.locator(f"#speeds-worked [name={name}]").fill(text)
    page.get_by_role("button", name="Calculate").click()
    expect(page.locator("#worked-result")).to_contain_text("m/s ±")
    page.emulate_media(media="print")
    assert page.evaluate("document.documentElement.scrollWidth") <= A4_AT_96
    assert (
        page.locator("#speeds-worked .facts").is_visible()
        and "The sound’s own travel, taken out" in page.locator("#speeds-worked").inner_text()
    )
    assert page.locator("#speeds-worked [name=hit]").is_visible(), "what was typed is on the paper too"
    page.context.close()


def test_without_script_frames_are_counted_and_points_pasted(chromium: Browser, yard: DemoYard, places: dict[str, str]) -> None:
    page = opened(chromium, yard, places["frames"], script=False)
    for name, text in (("distance", "14 m"), ("rate", "240 fps"), ("frames", "63")):
        page.locator(f"[name={name}]").fill(text)
    page.get_by_role("button", name="Calculate").click()
    expect(page.locator("#worked-result")).to_contain_text("53.3 m/s ± 0.4")
    page.goto(yard.address + places["bow"])
    page.get_by_label("Mass of an arrow not shot yet").fill("60 g")
    page.get_by_role("button", name="Calculate").click()
    expect(page.locator("main")).to_contain_text("Speed to expect")
    expect(page.locator("main")).to_contain_text(re.compile("inside the masses|outside the masses"))
    page.context.close()


def test_a_figure_of_a_shot_leads_to_its_formula_and_back(chromium: Browser, yard: DemoYard, places: dict[str, str]) -> None:
    page = opened(chromium, yard, places["shot"])
    links = page.locator("main a[href^='/methods/of/']")
    names = {(links.nth(n).get_attribute("href") or "").rpartition("/")[2] for n in range(links.count())}
    assert {"kinetic_energy_j", "energy_at_target_j", "uncertainty_budget", "low_flight", "time_to_distance_s"} <= names <= method_names()
    page.locator(".shot__finding a").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#energy_at_target_j")).to_be_in_viewport()
    page.go_back()
    expect(page.locator("#shot-energy")).to_be_attached()
    page.context.close()
