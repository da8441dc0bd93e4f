"""What comes next, on the phones: the plan shot by shot, skipped and undone, alone without the laptop; and a trial's rule."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from server.records.plan_facts import planned_shots
from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.browser.range_hands import Hand

Phone = Callable[..., Page]


def trial_of(yard: ShootingYard) -> str:
    with yard.book.read() as session:
        from server.records.trial import Session as Day

        return str(session.get(Day, yard.session).trial_id)


@pytest.fixture
def planned(shooting_yard: ShootingYard) -> str:
    """A plan of three: arrows 8, 7 and 8 again, the second for Tallow. Gives the plan's id."""
    book = shooting_yard.book
    plan = kit.put(book, "plan", {"trial": trial_of(shooting_yard), "panel_build": shooting_yard.panel.build, "mixed": "heads", "rounds": "3", "seed": "1"})
    order = (("8", "", "upper left, spot 1"), ("7", "Tallow", "middle, spot 2"), ("8", "", "lower right, spot 3"))
    for place, (tag, archer, spot) in enumerate(order, 1):
        more = {"archer": shooting_yard.archers[archer]} if archer else {}
        kit.put(book, "planned_shot", {"plan": plan, "place": str(place), "arrow_build": shooting_yard.arrows[tag].build, "aim_name": spot, **more})
    return plan


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


def line(hand: Hand, next_: str, plan: str) -> None:
    expect(hand.page.locator("[data-slot=next]")).to_have_text(next_)
    expect(hand.page.locator("[data-slot=plan-words]")).to_have_text(plan)


def test_the_line_says_the_planned_arrow_and_spot_and_a_loose_does_it(planned: str, wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    # Never a command: the words say when, and when is not the phone's to know.
    expect(wren.page.locator("[data-slot=when]")).to_have_text("when the line is clear")
    assert violations(wren.page) == () and wren.page.evaluate("document.documentElement.scrollWidth") <= 360
    first = wren.loose()
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2")
    expect(wren.page.locator("[name=archer]:checked")).to_have_value(shooting_yard.archers["Tallow"])
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        assert [one.label for one in planned_shots(session, [planned])] == [first, None, None]


def test_another_arrow_or_archer_is_no_planned_shot(planned: str, wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.key(re.compile("Arrow"), "7")
    line(wren, "Next: arrow 7,", "Planned shot 1")
    wren.loose()
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        assert [one.label for one in planned_shots(session, [planned])] == [None, None, None]
    expect(wren.page.locator("[data-slot=plan-words]")).to_have_text("Planned shot 1")


def test_a_planned_shot_is_skipped_by_a_tap_and_taken_in_again(planned: str, wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.tap("Skip")
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2")
    wren.tap("Undo")
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    wren.in_the_book()
    wren.tap("Skip")
    expect(wren.page.locator("[data-undo]")).to_contain_text("Planned shot 1 skipped")
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        assert [one.planned.place for one in planned_shots(session, [planned]) if not one.planned.skipped] == [2, 3]


def test_the_plan_goes_on_without_the_laptop_and_an_undone_loose_is_next_again(planned: str, wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    shooting_yard.server.stop()
    first = wren.loose()
    wren.tap("Undo")
    line(wren, "Next: arrow 8, upper left, spot 1,", "Planned shot 1")
    second = wren.loose()
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2")
    wren.open("/range")
    line(wren, "Next: arrow 7, middle, spot 2,", "Planned shot 2")
    shooting_yard.server.start()
    wren.tap("Try now")
    wren.in_the_book()
    with shooting_yard.book.read() as session:
        assert [one.label for one in planned_shots(session, [planned])] == [second, None, None]
    assert first not in shooting_yard.labels()


def test_a_rule_picks_arrow_bow_and_archer_and_waits_for_what_came_out(wren: Hand, shooting_yard: ShootingYard) -> None:
    book, yard = shooting_yard.book, shooting_yard
    with book.read() as session:
        from server.records.range_facts import current_bows

        weak, strong = (one.build for one in current_bows(session))
    arrow = yard.arrows["9"].build
    kit.mass_reading(book, arrow, "72 g")
    for bow, speed in ((weak, "48 m/s"), (strong, "55 m/s")):
        kit.speeds(book, kit.Pairing(bow, arrow, yard.archers["Tallow"]), speed)
    trial = trial_of(yard)
    kit.put(book, "trial", {"next_shot_rule": "up_and_down", "start_energy": "80 J"}, record_id=trial, base_rev=kit.row(book, "trial", trial).rev)
    wren.open()
    line(wren, "Next: arrow 9,", "By the trial’s rule")
    expect(wren.page.locator("[name=archer]:checked")).to_have_value(yard.archers["Tallow"])
    expect(wren.page.locator("[name=bow_build]:checked")).to_have_value(weak)
    expect(wren.page.get_by_role("button", name="Skip")).to_be_hidden()
    wren.tap("I have read this")
    label = wren.loose()
    expect(wren.page.locator("[data-slot=plan-words]")).to_have_text("Once the last is read, the rule says which")
    wren.to_the_butt()
    wren.read("Dented")
    wren.in_the_book()
    kit.checked_sound(book, arrow)
    wren.open("/range")
    # Stopped, so more: the stronger bow.
    line(wren, "Next: arrow 9,", "By the trial’s rule")
    expect(wren.page.locator("[name=bow_build]:checked")).to_have_value(strong)
    assert yard.fact(label).bow_build_id == weak


def test_with_no_energy_known_the_line_says_that_the_rule_has_none(wren: Hand, shooting_yard: ShootingYard) -> None:
    trial = trial_of(shooting_yard)
    kit.put(shooting_yard.book, "trial", {"next_shot_rule": "up_and_down"}, record_id=trial, base_rev=1)
    wren.open()
    expect(wren.page.locator("[data-slot=plan-words]")).to_have_text("The rule has no sound arrow with a known energy")
