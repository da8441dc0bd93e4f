"""After a restore a shot may point to what is younger than the copy: the other phone's end, a new arrow. It is mended on the phone."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from proofyard.exchange.backup import backup
from proofyard.exchange.restore import restore

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.range_hands import Hand

pytestmark = pytest.mark.slow

Phone = Callable[..., Page]


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


def test_an_end_and_an_arrow_younger_than_the_copy_are_picked_again_once_for_all_shots_that_lack_them(
    wren: Hand, phone: Phone, shooting_yard: ShootingYard, tmp_path: Path
) -> None:
    book, page = shooting_yard.book, wren.page
    tallow = Hand(phone("Tallow"), shooting_yard.server.address).open().ready("Tallow", "82")
    wren.open().ready()
    wren.in_the_book()
    backup(book.path, tmp_path / "copy.sqlite")
    kit.arrow(book, "11", form="needle", masses=())
    other = tallow.loose()
    tallow.in_the_book()
    expect(page.get_by_text(f"so far: {other}")).to_be_visible(timeout=20_000)
    labels = []
    for _ in range(2):
        wren.key("Arrow", "11")
        page.locator("[name=speed]").fill("52.6")
        labels.append(wren.loose("Yes, {label} loosed", asked=False))
    wren.in_the_book()
    end = shooting_yard.fact(labels[0]).shooting_end_id
    assert shooting_yard.fact(other).shooting_end_id == end
    tallow.page.context.close()
    shooting_yard.server.stop()
    restore(tmp_path / "copy.sqlite", shooting_yard.server.folder)
    shooting_yard.server.start()
    wren.try_now()
    expect(page.locator("[data-strip]")).to_contain_text("need you", timeout=20_000)
    page.get_by_role("link", name="Look").tap()
    part = page.locator(".range__need").filter(has=page.get_by_role("heading", name=labels[0], exact=True))
    for label, words in (("End", "A new end at P3, 14"), ("Arrow", "7")):
        option = part.get_by_label(label).locator("option", has_text=re.compile(f"^{words}"))
        part.get_by_label(label).select_option(option.first.get_attribute("value"))
    part.get_by_role("button", name="Send again").tap()
    wren.in_the_book()
    assert shooting_yard.labels() == sorted(labels)
    facts = [shooting_yard.fact(label) for label in labels]
    assert {fact.shooting_end_id for fact in facts} == {end}
    assert {fact.arrow_build_id for fact in facts} == {shooting_yard.arrows["7"].build}
    with shooting_yard.book.read() as session:
        from proofyard.records.speed_facts import speeds_of_shots

        assert [one.value_m_s for one in speeds_of_shots(session)] == [52.6, 52.6]
