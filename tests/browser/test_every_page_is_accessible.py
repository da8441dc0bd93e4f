"""Every page that the app's routes give, with the demo in it: axe, width, titles, keyboard. And pages of what went wrong."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.demo_yard import DemoYard, demo_yard
from tests.browser.every_page import Look, by_keyboard, look


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DemoYard]:
    with demo_yard(tmp_path_factory.mktemp("demo") / "book") as served:
        yield served


def ready(page: Page, address: str) -> None:
    page.goto(address)
    page.locator("h1").first.wait_for()


@pytest.fixture(scope="module")
def looks(yard: DemoYard, chromium: Browser) -> list[Look]:
    """A page of every route of the owner, looked at once at each width."""
    return looked_at(yard, chromium, yard.pages(one_a_route=True), axe_at=(360,))


def looked_at(yard: DemoYard, chromium: Browser, pages: list[str], *, axe_at: tuple[int, ...]) -> list[Look]:
    context = yard.context(chromium)
    page = context.new_page()
    found = []
    for address in pages:
        ready(page, yard.address + address)
        found += look(page, address, axe_at=axe_at)
    context.close()
    assert len(found) >= 2 * 50, "pages were left out"
    return found


@pytest.mark.long
def test_nothing_is_wrong_with_any_page_of_any_noun_at_any_width(yard: DemoYard, chromium: Browser) -> None:
    found = looked_at(yard, chromium, yard.pages(), axe_at=(360, 1280))
    faults = [f"{one.address} at {one.width}: {fault}" for one in found for fault in one.violations]
    assert not faults, "\n".join(faults)
    assert [f"{one.address} at {one.width}: {one.too_wide} px" for one in found if one.too_wide > 0] == []


def test_axe_has_nothing_against_any_page(looks: list[Look]) -> None:
    faults = [f"{one.address} at {one.width}: {fault}" for one in looks for fault in one.violations]
    assert not faults, "\n".join(faults)


def test_no_page_is_wider_than_its_window(looks: list[Look]) -> None:
    assert [f"{one.address} at {one.width}: {one.too_wide} px" for one in looks if one.too_wide > 0] == []


def test_a_title_says_which_page_it_is(looks: list[Look]) -> None:
    titles: dict[str, dict[str, str]] = {}
    for one in looks:
        assert one.title.endswith(" · Proofyard") and one.title != " · Proofyard", one.address
        titles.setdefault(one.title, {})[one.heading] = one.address
    assert {title: pages for title, pages in titles.items() if len(pages) > 1} == {}


@pytest.mark.parametrize("width", [360, pytest.param(1280, marks=pytest.mark.long)])
def test_every_page_can_be_used_by_keyboard(yard: DemoYard, chromium: Browser, width: int) -> None:
    context = yard.context(chromium, width=width, height=740)
    page = context.new_page()
    faults = []
    for address in yard.pages(one_a_route=width == 360):
        ready(page, yard.address + address)
        faults += [f"{address}: {fault}" for fault in by_keyboard(page)]
    context.close()
    assert not faults, "\n".join(faults)
