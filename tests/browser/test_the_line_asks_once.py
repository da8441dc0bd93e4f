"""What the line says at once and asks once: another panel, an arrow not checked or not fetched, a speed that no arrow has; and undo."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect
from proofyard.records.speed_facts import speeds_of_shots

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.browser.range_hands import Hand

pytestmark = pytest.mark.slow

Phone = Callable[..., Page]


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address).open().ready()


@pytest.fixture
def tallow(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Tallow"), shooting_yard.server.address).open().ready("Tallow")


@pytest.fixture
def other_setup(shooting_yard: ShootingYard) -> Callable[[], str]:
    return lambda: kit.setup(shooting_yard.book, shooting_yard.session, kit.panel(shooting_yard.book, "P5").build, distance="20 m")


def on_panel(hand: Hand, name: str) -> None:
    expect(hand.page.locator("[data-slot=panel]:visible").first).to_have_text(name)


def news(hand: Hand) -> str:
    box = hand.page.get_by_role("status", name="Set-ups")
    expect(box).to_be_visible(timeout=15_000)
    return box.locator("p").inner_text().replace("\xa0", " ")


def size(hand: Hand, selector: str) -> float:
    return float(hand.page.locator(selector).evaluate("one => parseFloat(getComputedStyle(one).fontSize)"))


def speeds(yard: ShootingYard) -> list[float | None]:
    with yard.book.read() as session:
        return [one.value_m_s and round(one.value_m_s, 2) for one in speeds_of_shots(session)]


# Which panel


def test_the_panel_stands_beside_the_label_in_type_as_large(wren: Hand) -> None:
    on_panel(wren, "P3")
    assert size(wren, "[data-slot=panel]") == size(wren, ".line__label [data-slot=label]") >= 55
    expect(wren.page.get_by_text("one-piece plate, 1.6 mm, 14 m").locator("visible=true")).to_have_count(1)


def test_a_set_up_that_is_added_or_that_another_phone_logs_to_is_said_at_once_and_one_tap_goes_along(
    wren: Hand, tallow: Hand, shooting_yard: ShootingYard, other_setup: Callable[[], str]
) -> None:
    there = other_setup()
    assert "A set-up was added: P5, 20 m" in news(wren) and "This phone: P3." in news(tallow)
    assert violations(tallow.page) == ()
    tallow.tap("Stay on P3")
    expect(tallow.page.get_by_role("status", name="Set-ups")).to_be_hidden()
    wren.tap("Switch to P5")
    on_panel(wren, "P5")
    label = wren.loose()
    wren.in_the_book()
    assert shooting_yard.fact(label).setup_id == there
    assert re.match(rf"Wren’s phone logs to P5\. {label} went there, \d\d:\d\d\. This phone: P3\.", news(tallow))
    tallow.open("/range")  # it is said until somebody answers
    tallow.tap("Switch to P5")
    on_panel(tallow, "P5")
    second = tallow.loose()
    tallow.in_the_book()
    assert shooting_yard.fact(second).setup_id == there
    expect(wren.page.get_by_role("status", name="Set-ups")).to_be_hidden()


def test_where_several_trials_are_open_a_list_of_set_ups_says_of_which_each_is(wren: Hand, shooting_yard: ShootingYard) -> None:
    """The same panel, at the same distance, on the same day, in two trials: only the trial tells them apart."""
    book, here = shooting_yard.book, kit.row(shooting_yard.book, "setup", shooting_yard.setup)
    expect(wren.page.locator("[data-slot=setup-alone-words]")).not_to_contain_text("trial")
    trial = kit.put(book, "trial", {"question": "Does a second plate help?", "state": "open"})
    kit.setup(book, kit.session(book, trial), here.panel_build_id, distance="14 m")
    assert re.search(r"A set-up was added: P3, 14 m, \d+ \w+, trial 2\. .*This phone: P3, 14 m, \d+ \w+, trial 1\.", news(wren))
    wren.tap(re.compile("^Stay on P3, .*trial 1$"))
    wren.page.locator("summary", has_text="Change").tap()
    keys = wren.page.get_by_role("group", name="Set-up").locator("label")
    expect(keys.filter(has_text=re.compile(r"trial 2: Does a second plate help\?"))).to_have_count(1)
    expect(keys.filter(has_text="trial 1: ")).to_have_count(1)


def test_who_stays_is_not_asked_again_till_the_other_phone_moves(wren: Hand, tallow: Hand, other_setup: Callable[[], str]) -> None:
    other_setup()
    news(wren)
    wren.tap("Switch to P5")
    wren.loose()
    expect(tallow.page.get_by_text("Wren’s phone logs to P5.")).to_be_visible(timeout=15_000)
    tallow.tap("Stay on P3")
    wren.loose()
    wren.in_the_book()
    tallow.page.wait_for_timeout(2500)
    expect(tallow.page.get_by_role("status", name="Set-ups")).to_be_hidden()
    # By hand, from the row under the label.
    tallow.page.locator("summary", has_text="Change").tap()
    tallow.key("Set-up", "P5, 20")
    on_panel(tallow, "P5")


# Arrows not checked, arrows not fetched


def test_an_arrow_not_fetched_is_logged_only_after_one_question_an_end(wren: Hand, shooting_yard: ShootingYard) -> None:
    first = wren.loose()
    wren.key("Arrow", "7, to check")
    wren.page.wait_for_timeout(600)
    wren.tap("Loosed")
    question = wren.page.locator("[data-ask]")
    expect(question).to_have_text(re.compile(rf"Arrow 7 was not fetched since {first}\.\s+Shoot it all the same\?"))
    expect(wren.page.get_by_role("button", name="Loosed", exact=True)).to_have_count(0)
    assert violations(wren.page) == ()
    wren.answer("Choose another")
    expect(question).to_be_hidden()
    again = wren.loose("Yes, {label} loosed")
    wren.key("Arrow", "8")
    wren.loose()
    wren.key("Arrow", "8, to check")
    third = wren.loose()  # said once an end
    wren.in_the_book()
    assert {shooting_yard.fact(again).arrow_build_id, shooting_yard.fact(third).arrow_build_id} == {
        shooting_yard.arrows[tag].build for tag in ("7", "8")
    }


def test_arrows_not_checked_are_named_in_one_question_an_end(wren: Hand) -> None:
    labels = [wren.loose(), wren.loose()]
    wren.tap("We’re at the butt")
    wren.page.get_by_role("link", name="Line").tap()
    wren.tap("We’re back")
    wren.key("Arrow", "7, to check")
    wren.page.wait_for_timeout(600)
    wren.tap("Loosed")
    question = wren.page.locator("[data-ask]")
    expect(question).to_have_text(re.compile(rf"Arrow 7 was not checked since {labels[0]}\.\s+Nor was 8\. Shoot them all the same\?"))
    wren.answer(re.compile("^Yes, "))
    wren.page.wait_for_timeout(600)
    wren.key("Arrow", "8, to check")
    wren.loose()
    wren.tap("We’re at the butt")
    wren.page.get_by_role("link", name="Line").tap()
    wren.tap("We’re back")
    wren.key("Arrow", "8, to check")
    wren.page.wait_for_timeout(600)
    wren.tap("Loosed")
    expect(question).to_contain_text("was not checked")  # the next end asks anew


def test_a_sound_arrow_is_one_tap_and_the_question_is_no_second_tap(wren: Hand) -> None:
    taps = wren.taps
    wren.loose()
    assert wren.taps == taps + 1
    wren.key("Arrow", "7, to check")
    wren.page.wait_for_timeout(600)
    wren.tap("Loosed")
    wren.tap("Choose another")  # the second tap of a cold thumb, within half a second
    expect(wren.page.locator("[data-ask]")).to_be_visible()
    wren.key("Arrow", "8")  # whoever chooses another has answered
    expect(wren.page.locator("[data-ask]")).to_be_hidden()


# Speed


def test_168_metres_a_second_offers_feet_a_second_and_the_phone_remembers_the_unit(wren: Hand, shooting_yard: ShootingYard) -> None:
    box = wren.page.locator("[name=speed]")
    box.fill("168")
    notice = wren.page.locator("[data-slot=speed-wrong]")
    expect(notice).to_contain_text("168 m/s is too fast for an arrow.")
    # So high that the strip and the keys that stay lie over nothing: what slides under them is, for a while, a small target.
    wren.page.set_viewport_size({"width": 360, "height": 1400})
    assert violations(wren.page) == ()
    wren.page.wait_for_timeout(600)
    label = wren.page.locator("h1 [data-slot=label]").inner_text()
    wren.tap("Loosed")
    wren.answer(f"168 fps, {label} loosed")
    expect(wren.page.locator("[data-undo]")).to_contain_text(f"{label} by")
    wren.in_the_book()
    assert speeds(shooting_yard) == [51.21]
    wren.open("/range")
    expect(wren.page.locator("h1 [data-slot=label]")).not_to_have_text(label)  # the page knows again what was loosed
    expect(wren.page.get_by_role("radio", name="fps")).to_be_checked()
    box = wren.page.locator("[name=speed]")
    box.fill("172")
    expect(wren.page.locator("[data-slot=speed-wrong]")).to_be_hidden()
    wren.loose()
    wren.in_the_book()
    assert speeds(shooting_yard) == [51.21, 52.43]
    # The other way round, beside the box: what is too slow is said once the box was left.
    box.fill("52.6")
    box.blur()
    wren.tap("52.6 m/s")
    expect(wren.page.get_by_role("radio", name="m/s")).to_be_checked()
    wren.loose()
    wren.in_the_book()
    assert speeds(shooting_yard)[-1] == 52.6


@pytest.mark.parametrize("typed", ["0", "900", "5.2.6"])
def test_a_speed_that_no_arrow_has_reaches_the_book_never_unasked(wren: Hand, shooting_yard: ShootingYard, typed: str) -> None:
    wren.page.locator("[name=speed]").fill(typed)
    wren.page.wait_for_timeout(600)
    wren.tap("Loosed")
    expect(wren.page.locator("[data-ask]")).to_contain_text(typed)
    wren.answer("Type again")
    expect(wren.page.locator("[name=speed]")).to_have_value("")
    expect(wren.page.locator("[name=speed]")).to_be_focused()
    if typed != "5.2.6":
        wren.page.locator("[name=speed]").fill(typed)
        wren.loose("{label} loosed, no speed")
        wren.in_the_book()
        assert speeds(shooting_yard) == []
    else:
        wren.loose()
        wren.in_the_book()
    assert len(shooting_yard.labels()) == 1


def test_a_strange_speed_that_is_right_is_kept(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.page.locator("[name=speed]").fill("95")
    wren.loose("95 m/s is right")
    wren.in_the_book()
    assert speeds(shooting_yard) == [95.0]


# Undo


def test_undo_lives_until_the_next_loose_through_a_reload_and_an_end(wren: Hand, shooting_yard: ShootingYard) -> None:
    label = wren.loose()
    wren.in_the_book()
    wren.page.wait_for_timeout(11_000)
    expect(wren.page.get_by_role("button", name=f"Undo {label}")).to_be_visible()
    wren.open("/range")
    wren.page.get_by_role("link", name="Bench").tap()
    wren.page.get_by_role("link", name="Line").tap()
    wren.tap(f"Undo {label}")
    shooting_yard.comes_to(label, voided=True)
    expect(wren.page.get_by_role("button", name=re.compile("^Undo"))).to_have_count(0)
    second = wren.loose()
    expect(wren.page.get_by_role("button", name=f"Undo {second}")).to_be_visible()


def test_an_arrow_whose_shot_was_undone_out_of_signal_is_not_asked_for(wren: Hand, shooting_yard: ShootingYard) -> None:
    """The book has the shot and counts it until it hears of the undoing; the arrow flew no more for that."""
    wren.loose()
    wren.in_the_book()
    wren.page.context.set_offline(True)
    wren.undo()
    expect(wren.page.get_by_role("button", name=re.compile("^Undo"))).to_have_count(0)
    second = wren.loose()  # the same arrow, and no question
    wren.page.context.set_offline(False)
    wren.in_the_book()
    assert second in shooting_yard.labels()


# Heights


@pytest.mark.parametrize("width", [390, 360])
def test_the_line_fits_one_phone_screen(wren: Hand, width: int) -> None:
    wren.page.set_viewport_size({"width": width, "height": 844})
    wren.loose()
    wren.page.evaluate("scrollTo(0, 0)")
    thumb = wren.page.locator("[data-thumb]").bounding_box()
    assert thumb is not None
    for what in (".masthead", "[data-slot=label]", "[data-slot=panel]", "#line-archer", "#line-arrow", "#line-speed", "[data-slot=odd]"):
        box = wren.page.locator(what).first.bounding_box()
        assert box is not None and box["y"] >= 0 and box["y"] + box["height"] <= thumb["y"], what
    assert wren.page.evaluate("document.documentElement.scrollWidth") <= width


def test_nobody_shoots_outranks_a_question_that_stands(wren: Hand, tallow: Hand) -> None:
    tallow.loose()
    tallow.key("Arrow", "7, to check")
    tallow.page.wait_for_timeout(600)
    tallow.tap("Loosed")
    expect(tallow.page.locator("[data-ask]")).to_be_visible()
    wren.loose("Yes, {label} loosed", asked=False)
    wren.tap("We’re at the butt")
    expect(tallow.page.get_by_text("Nobody shoots.")).to_be_visible(timeout=15_000)
    expect(tallow.page.locator("[data-ask]")).to_be_hidden()
    expect(tallow.page.get_by_role("button", name=re.compile("loosed$"))).to_have_count(0)
