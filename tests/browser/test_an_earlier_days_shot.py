"""A shot of an earlier day at a panel that hangs today: its hit is there without the laptop, the rest of it is asked for."""

from __future__ import annotations

import re
from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.range_hands import Hand


def test_its_hit_is_drawn_without_the_laptop_and_it_opens_with_it(shooting_yard: ShootingYard, phone: Callable[..., Page]) -> None:
    book, yard = shooting_yard.book, shooting_yard
    end = kit.shooting_end(book, yard.setup)
    kit_of = {"arrow_build": yard.arrows["7"].build, "bow_build": kit.bow(book, "Elm").build, "archer": yard.archers["Wren"]}
    old = kit.put(book, "shot", {"label": "A1", "shooting_end": end, "purpose": "counted", "loosed_at": kit.BEGAN, **kit_of})
    kit.reading(book, old, outcome_low="3", outcome_high="3", x="20 mm", y="30 mm", damage="bent at the tip")
    (label,), trial = yard.labels(), kit.row(book, "session", yard.session).trial_id
    kit.setup(book, kit.session(book, trial, day="2026-10-31"), yard.panel.build)
    hand = Hand(phone("Wren"), yard.server.address).open().ready()
    fresh = hand.loose()
    hand.in_the_book()
    assert hand.page.evaluate("async () => (await (await fetch('/api/range')).json()).shots.map((one) => one.said.label)") == [fresh]
    yard.server.stop()
    hand.to_the_butt()
    expect(hand.page.locator("[data-drawing] .panel__words").last).to_contain_text(label)
    hand.tap_fold(re.compile("read or crossed out"))
    hand.page.locator("[data-slot=read] .row", has_text=label).locator("a").tap()
    expect(hand.page.locator("[data-slot=reading] [data-slot=sentence]")).to_contain_text("the laptop does not answer now", timeout=15_000)
    expect(hand.page.locator("form[data-reading]")).to_have_count(0)
    yard.server.start()
    hand.tap("Ask the laptop again")
    expect(hand.page.locator("form[data-reading] [data-slot=title]")).to_have_text(label)
    hand.key(re.compile("^Outcome, judged"), "Dented")
    hand.tap(f"Save {label}")
    hand.in_the_book()
    now = yard.comes_to(label, outcome_low=2)
    assert (now.shot_id, now.x_m) == (old, 0.02), "what the form did not touch stands"
