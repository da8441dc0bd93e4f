"""Two phones of 360 by 740 at one laptop: loosed on one, read on the other, in the book once."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.range_hands import Hand

pytestmark = pytest.mark.slow

Phone = Callable[..., Page]


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


@pytest.fixture
def tallow(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Tallow"), shooting_yard.server.address)


def test_each_reads_what_the_other_loosed(wren: Hand, tallow: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready("Wren", "112")
    tallow.open().ready("Tallow", "82")
    mine = [wren.loose() for _ in range(2)]
    expect(tallow.page.locator("[data-to-do=butt]")).to_contain_text("2")
    theirs = [tallow.loose()]
    assert {label[0] for label in mine} != {label[0] for label in theirs}
    wren.in_the_book()
    tallow.in_the_book()
    expect(wren.page.locator("[data-to-do=butt]")).to_contain_text("3")
    tallow.to_the_butt()
    expect(tallow.page.locator("h2#reading-title")).to_have_text(mine[0])
    tallow.read("Opened")
    expect(tallow.page.locator("h2#reading-title")).to_have_text(mine[1])
    tallow.in_the_book()
    assert shooting_yard.fact(mine[0]).outcome_low == 3
    wren.page.locator(".masthead__link", has_text="Butt").tap()
    expect(wren.page.locator("[data-slot=lead]")).to_contain_text("2 shots unread")
    wren.page.get_by_text("Read " + theirs[0]).tap()
    wren.read("Dented", 0.3, 0.6)
    wren.in_the_book()
    fact = shooting_yard.fact(theirs[0])
    assert (fact.outcome_low, fact.archer, fact.hit) == (2, "Tallow", "on_panel")
    assert shooting_yard.labels() == sorted([*mine, *theirs])


def test_a_plain_loose_is_one_tap_and_a_plain_reading_three(wren: Hand, shooting_yard: ShootingYard) -> None:
    """From the second shot on; the brief allows two and four. No keyboard at all."""
    typed: list[str] = []
    wren.page.expose_function("typedHere", lambda key: typed.append(key))
    wren.page.add_init_script("addEventListener('keydown', (event) => typedHere(event.key), true)")
    wren.open().ready()
    wren.loose()
    before = wren.taps
    second = wren.loose()
    assert wren.taps - before == 1
    wren.to_the_butt()
    wren.read("Marked", 0.4, 0.4)
    expect(wren.page.locator("h2#reading-title")).to_have_text(second)
    before = wren.taps
    wren.read("Point through", 0.6, 0.5)
    expect(wren.page.locator("[data-slot=lead]")).to_have_text("No shot is unread")
    assert wren.taps - before == 3
    assert typed == []
    shooting_yard.comes_to(second, outcome_low=4, outcome_high=4, entry="plate", place_known=True)


def test_the_entry_follows_from_the_spot(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    first = wren.loose()
    second = wren.loose()
    wren.to_the_butt()
    chosen = wren.page.locator("[name=entry]:checked")
    wren.spot(0.5, 0.5)
    expect(chosen).to_have_value("ridge")
    wren.spot(0.65, 0.5)
    expect(chosen).to_have_value("plate")
    wren.spot(0.9, 0.3)
    expect(chosen).to_have_value("panel_edge")
    wren.read("Opened", 0.65, 0.5)
    expect(wren.page.locator("h2#reading-title")).to_have_text(second)
    wren.spot(0.652, 0.5)
    expect(chosen).to_have_value("old_hit")
    assert wren.page.locator("[name=entry][value=broke_rings]").count() == 0, "a plate has no rings"
    wren.in_the_book()
    assert shooting_yard.fact(first).entry == "plate"


def test_the_same_thing_said_differently_waits_for_a_person(wren: Hand, tallow: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    tallow.open("/range/butt")
    expect(tallow.page.locator("h2#reading-title")).to_have_text(label)
    for hand, outcome_level in ((wren, "Opened"), (tallow, "Point through")):
        hand.spot(0.6, 0.35)
        hand.key(re.compile("^Outcome, judged"), outcome_level)
    wren.tap(f"Save {label}")
    tallow.tap(f"Save {label}")
    for hand in (wren, tallow):
        expect(hand.page.locator("[data-strip]")).to_contain_text(re.compile("needs? you"))
    tallow.page.get_by_role("link", name="Look").tap()
    section = tallow.page.locator(".range__need").filter(has_text="what it did")
    expect(section.get_by_role("button", name=re.compile("Wren, .*: 3 Opened"))).to_be_visible()
    section.get_by_role("button", name=re.compile("Tallow, .*: 4 Point through")).tap()
    # Two taps seldom fall on the same millimetre: that is one more thing to decide, with the whole place on each key.
    others = tallow.page.locator(".range__need").filter(has_not_text="what it did")
    while others.count():
        before = others.count()
        others.first.get_by_role("button", name=re.compile(r"Tallow, .*: \d+ mm right, \d+ mm up")).first.tap()
        expect(others).to_have_count(before - 1)
    wren.in_the_book()
    tallow.in_the_book()
    assert shooting_yard.fact(label).outcome_low == 4


def test_what_the_book_refuses_waits_with_what_was_typed_and_holds_nothing_up(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    speed = wren.page.locator("[name=speed]")
    speed.fill("fifty")
    expect(wren.page.get_by_text("“fifty” is not a speed")).to_be_visible()
    first = wren.loose("{label} loosed, speed as typed")
    expect(speed).to_have_value("")
    second = wren.loose()
    expect(wren.page.locator("[data-strip] p")).to_have_text("1 needs you")  # and nothing else waits
    assert shooting_yard.labels() == sorted([first, second])
    wren.page.get_by_role("link", name="Look").tap()
    box = wren.page.get_by_label("Speed, as typed")
    expect(box).to_have_value("fifty")
    box.fill("52,6")
    wren.tap("Send again")
    wren.in_the_book()
    expect(wren.page.locator("[data-slot=lead]")).to_have_text("Nothing to check")
    with shooting_yard.book.read() as session:
        from proofyard.records.speed_facts import speeds_of_shots

        assert [one.value_m_s for one in speeds_of_shots(session)] == [52.6]


def test_a_shot_the_book_cannot_take_waits_until_the_trial_is_open_again(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    first = wren.loose()
    wren.in_the_book()
    trial = shooting_yard.fact(first).trial_id
    rev = kit.row(shooting_yard.book, "trial", trial).rev
    shooting_yard.server.stop()
    second = wren.loose()
    shooting_yard.server.start()
    kit.put(shooting_yard.book, "trial", {"state": "closed"}, record_id=trial, base_rev=rev)
    wren.tap("Try now")
    expect(wren.page.locator("[data-strip]")).to_contain_text("needs you", timeout=20_000)
    assert shooting_yard.labels() == [first]
    wren.page.get_by_role("link", name="Look").tap()
    expect(wren.page.get_by_text("This trial is closed and takes no shots")).to_be_visible()
    kit.put(shooting_yard.book, "trial", {"state": "open"}, record_id=trial, base_rev=rev + 1, reason="one more shot")
    wren.tap("Send again")
    wren.in_the_book()
    assert shooting_yard.labels() == sorted([first, second])


def test_of_two_notes_that_look_like_lists_one_is_picked_as_it_was_typed(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.in_the_book()
    book, shot = shooting_yard.book, shooting_yard.fact(label).shot_id
    rev = kit.row(book, "shot", shot).rev
    kit.put(book, "shot", {"note": "[1]"}, record_id=shot, base_rev=rev)
    assert kit.ask(book, "shot", {"note": "[abc"}, record_id=shot, base_rev=rev).clashes
    expect(wren.page.locator("[data-strip]")).to_contain_text("needs you", timeout=20_000)
    wren.page.get_by_role("link", name="Look").tap()
    section = wren.page.locator(".range__need").filter(has_text="note")
    expect(section.get_by_role("button", name=re.compile(r": \[1\]$"))).to_be_visible()
    section.get_by_role("button", name=re.compile(r": \[abc$")).tap()
    wren.in_the_book()
    assert kit.row(book, "shot", shot).note == "[abc"


def test_a_phone_says_that_the_panel_is_another_build_now_until_the_new_set_up_is_picked(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.loose()
    wren.in_the_book()
    book, page = shooting_yard.book, wren.page
    newest = kit.put(book, "panel_build", {"panel": shooting_yard.panel.panel, "number": "2", "work": "beaten_flat"})
    expect(page.get_by_text("P3 is build 2 now. Shots logged here go to build 1.")).to_be_visible(timeout=20_000)
    setup = kit.setup(book, shooting_yard.session, newest, distance="14 m")
    expect(page.get_by_text("Pick the set-up with build 2")).to_be_visible(timeout=20_000)
    # The phone stays where its archer put it; the list names both.
    wren.tap("Stay on P3, build 1")
    page.locator("summary", has_text="Change").tap()
    names = page.get_by_role("group", name="Set-up").locator("label")
    expect(names).to_have_text([re.compile("^P3, build 2, 14"), re.compile("^P3, build 1, 14")])
    names.first.tap()
    expect(page.locator(f"[name=setup][value='{setup}']")).to_be_checked()
    expect(page.get_by_text("P3 is build 2 now")).to_be_hidden()
    label = wren.loose()
    wren.in_the_book()
    assert shooting_yard.fact(label).panel_build_id == newest


def test_a_place_off_the_panel_is_asked_about_before_it_is_saved(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    wren.spot(0.6, 0.35)
    wren.key(re.compile("^Outcome, judged"), "Opened")
    wren.tap("Adjust")
    up = wren.page.locator("[name=y]")
    up.fill("900")
    wren.tap(f"Save {label}")
    expect(wren.page.get_by_text("900 mm above the middle is off this panel.")).to_be_visible()
    up.fill("90")
    wren.tap(f"Save {label}")
    wren.in_the_book()
    assert shooting_yard.comes_to(label, y_m=0.09).outcome_low == 3


def test_a_phone_says_that_the_laptops_clock_is_months_off(phone: Phone, shooting_yard: ShootingYard) -> None:
    page = phone("Wren")
    page.add_init_script("const now = Date.now; Date.now = () => now() + 94 * 86400000;")
    Hand(page, shooting_yard.server.address).open()
    said = page.get_by_text("The laptop’s clock is 94 days behind this phone’s.")
    expect(said).to_be_visible(timeout=20_000)
    page.locator("[data-once-read]").tap()
    expect(said).to_be_hidden()
