"""Blunt impact behind armour in Chromium, with the demo: at 360 px and wide, axe, by keyboard, on paper, dark, without script."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect
from proofyard.records.shot import Shot
from proofyard.records.trial import Trial
from sqlalchemy import select

from tests.browser.demo_yard import DemoYard


@pytest.fixture(scope="module")
def yard(demo_of_all: DemoYard) -> DemoYard:
    return demo_of_all


@pytest.fixture(scope="module")
def trials(yard: DemoYard) -> list[str]:
    """The demo's: thin plate, then mail and scale, then thick plate."""
    with yard.server.book.read() as session:
        return list(session.execute(select(Trial.id).order_by(Trial.id)).scalars())


@pytest.fixture(scope="module")
def shot(yard: DemoYard) -> str:
    """B1: dented the plate, with a print in the clay."""
    with yard.server.book.read() as session:
        return str(session.execute(select(Shot.id).where(Shot.label == "B1")).scalars().one())


def page_of(yard: DemoYard, chromium: Browser, **more: object) -> Page:
    return yard.context(chromium, "viewer", **more).new_page()


def test_by_keyboard_a_shot_is_opened_from_the_drawing_and_a_width_typed(yard: DemoYard, chromium: Browser, trials: list[str]) -> None:
    page = page_of(yard, chromium, width=1280, height=900)
    page.goto(yard.address + f"/trials/{trials[0]}")
    page.get_by_role("link", name="Blunt impact behind armour").click()
    page.locator("#blunt-chart svg a").first.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/blunt?**shot=**")
    expect(page.get_by_role("heading", level=1)).to_have_text("Blunt impact behind armour")
    expect(page.locator("main")).to_contain_text("momentum of")
    page.locator("#blunt-ask > summary").focus()
    page.keyboard.press("Enter")
    page.locator("#width").focus()
    page.keyboard.type("60 mm")
    page.keyboard.press("Enter")
    page.wait_for_url("**width=60**")
    assert re.search(r"an impact 60.mm wide", page.locator("#blunt-found").inner_text()) and "shot=" in page.url
    page.context.close()


@pytest.mark.parametrize("script", [True, False])
def test_with_script_off_it_answers_alike(yard: DemoYard, chromium: Browser, shot: str, script: bool) -> None:
    page = page_of(yard, chromium, script=script)
    page.goto(yard.address + f"/shots/{shot}")
    page.get_by_role("link", name="Blunt impact behind armour").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Blunt impact behind armour")
    expect(page.locator("main")).to_contain_text("Of B1’s momentum of")
    page.get_by_role("link", name="all of these shots").click()
    expect(page.locator("main")).to_contain_text("In a typical shot")
    page.context.close()
