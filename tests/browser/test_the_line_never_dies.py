"""A tap on Loosed ends in a saved shot or in a sentence, whatever is at hand; and an error of a script is said and logged."""

from __future__ import annotations

import logging
import re
import time
from collections.abc import Callable

import pytest
from playwright.sync_api import Page, Route, expect

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.browser.range_hands import IN_THE_BOOK, Hand
from tests.browser.real_server import RealServer

pytestmark = pytest.mark.slow

Phone = Callable[..., Page]
FAULT = "This page has a fault. Reload; nothing saved is lost."


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


def more_arrows(yard: ShootingYard, *tags: str) -> list[str]:
    return [one.build for one in yard.arrows.values()] + [kit.arrow(yard.book, tag, masses=()).build for tag in tags]


def said_of_arrows(hand: Hand) -> str:
    return hand.page.get_by_role("group", name="Arrow").locator(".choice__error [data-slot=sentence]").inner_text()


@pytest.mark.parametrize("tags", [(), ("11", "12", "13", "14")])
def test_with_no_sound_arrow_loosed_says_so_and_goes_on_once_one_is(wren: Hand, shooting_yard: ShootingYard, tags: tuple[str, ...]) -> None:
    """Eight arrows or four; none is sound, then one is found sound elsewhere, while this page stays open."""
    builds = more_arrows(shooting_yard, *tags)
    wren.open().ready()
    wren.loose()
    for build in builds:
        kit.checked_sound(shooting_yard.book, build, sound="not_sound")
    expect(wren.page.locator("[data-slot=next]")).to_have_text("No sound arrow left:")
    expect(wren.page.locator("[data-slot=when]")).to_have_text("check one at the bench")
    wren.page.wait_for_timeout(600)
    wren.tap("Loosed")
    assert said_of_arrows(wren) == "No arrow here is sound. Check one at the bench; then log the shot."
    assert violations(wren.page) == () and wren.page.evaluate("document.documentElement.scrollWidth") <= 360
    kit.checked_sound(shooting_yard.book, builds[1])
    expect(wren.page.locator("[data-slot=next]")).to_have_text("Next: arrow 8,")
    expect(wren.page.locator(".choice__error:visible")).to_have_count(0)
    second = wren.loose()
    wren.in_the_book()
    assert shooting_yard.fact(second).arrow_build_id == builds[1]


def test_an_arrow_to_check_can_be_picked_where_none_is_sound(wren: Hand, shooting_yard: ShootingYard) -> None:
    """It was loosed all the same: what happened is logged."""
    builds = more_arrows(shooting_yard, "11", "12", "13", "14")
    wren.open().ready()
    for build in builds[1:]:
        kit.checked_sound(shooting_yard.book, build, sound="not_sound")
    expect(wren.page.get_by_text("7 more")).to_be_visible()
    wren.loose()
    expect(wren.page.locator("[data-slot=next]")).to_have_text("No sound arrow left:")
    wren.page.wait_for_timeout(600)
    wren.tap("Loosed")
    assert said_of_arrows(wren) == "Choose an arrow."
    wren.key("Arrow", "7, to check")
    again = wren.loose("Yes, {label} loosed")
    wren.in_the_book()
    assert shooting_yard.fact(again).arrow_build_id == builds[0]


def test_with_nobody_nothing_or_nowhere_to_choose_from_loosed_says_so(wren: Hand, shooting_yard: ShootingYard) -> None:
    book = shooting_yard.book
    wren.open().ready()
    for name, noun in [("Wren", "archer"), ("Tallow", "archer")]:
        kit.put(book, noun, {"retired": "yes"}, record_id=shooting_yard.archers[name], base_rev=1)
    expect(wren.page.get_by_role("group", name="Loosed by").locator("input")).to_have_count(0)
    wren.tap("Loosed")
    expect(wren.page.locator(".choice__error:visible")).to_have_text(
        "To check: No archer is in the book. Add one under Kit; then log the shot."
    )
    kit.put(book, "archer", {"retired": "no"}, record_id=shooting_yard.archers["Wren"], base_rev=2)
    expect(wren.page.locator("[name=archer]:checked")).to_have_value(shooting_yard.archers["Wren"])
    wren.loose()
    wren.in_the_book()
    with book.read() as session:
        from proofyard.records.trial import Session as Day

        trial = str(session.get(Day, shooting_yard.session).trial_id)
    kit.put(book, "trial", {"state": "closed"}, record_id=trial, base_rev=kit.row(book, "trial", trial).rev)
    expect(wren.page.locator("h1")).to_have_text("No set-up is open")
    assert not wren.page.get_by_role("button", name="Loosed", exact=True).count()


def logged(caplog: pytest.LogCaptureFixture, words: str) -> str:
    until = time.monotonic() + 10
    while time.monotonic() < until:
        found = [record.getMessage() for record in caplog.records if words in record.getMessage()]
        if found:
            return found[0]
        time.sleep(0.05)
    raise AssertionError(f"{words!r} is not in the log")


@pytest.mark.parametrize("thrown", ["setTimeout(() => { null.arrow; })", "void Promise.reject(new TypeError('null.arrow'))"])
@pytest.mark.parametrize("place", ["/range", "/trials"])
def test_an_error_of_a_script_is_shown_and_lands_in_the_log(
    shooting_yard: ShootingYard, phone: Phone, caplog: pytest.LogCaptureFixture, thrown: str, place: str
) -> None:
    wren = Hand(phone("Wren", faulty=True), shooting_yard.server.address).open(place)
    notice = wren.page.get_by_role("alert").filter(has_text="fault")
    expect(notice).to_have_count(0)
    with caplog.at_level(logging.ERROR, "proofyard"):
        wren.page.evaluate(thrown)
        expect(notice.locator("p").first).to_have_text(FAULT)
        wren.page.evaluate("scrollTo(0, document.body.scrollHeight)")
        expect(notice).to_be_in_viewport(ratio=0.9)
        line = logged(caplog, "script of a page")
    assert "arrow" in line and f'"page": "{place}"' in line and "archer" in line
    notice.get_by_role("button", name="Reload").tap()
    expect(notice).to_have_count(0)
    expect(wren.page.locator("h1")).to_be_visible()


def test_a_fault_in_the_middle_of_a_save_is_said_and_the_next_tap_saves(shooting_yard: ShootingYard, phone: Phone) -> None:
    wren = Hand(phone("Wren", faulty=True), shooting_yard.server.address).open().ready()
    wren.page.evaluate("() => { crypto.getRandomValues = () => { throw new TypeError('no chance today'); }; }")
    wren.tap("Loosed")
    expect(wren.page.locator("[data-fault]")).to_be_visible()
    wren.page.evaluate("() => { delete crypto.getRandomValues; }")
    label = wren.loose()
    wren.in_the_book()
    assert shooting_yard.labels() == [label]


def test_a_fault_without_the_laptop_is_told_later_and_reload_opens_the_kept_page(
    shooting_yard: ShootingYard, phone: Phone, caplog: pytest.LogCaptureFixture
) -> None:
    wren = Hand(phone("Wren", faulty=True), shooting_yard.server.address).open().ready()
    server: RealServer = shooting_yard.server
    server.stop()
    wren.page.evaluate("setTimeout(() => { null.far_away; })")
    expect(wren.page.locator("[data-fault]")).to_be_visible()
    label = wren.loose()
    wren.page.locator("[data-fault-reload]").tap()
    expect(wren.page.locator("[data-fault]")).to_be_hidden()
    expect(wren.page.locator("[data-strip]")).to_contain_text("1 on this phone only")
    server.start()
    with caplog.at_level(logging.ERROR, "proofyard"):
        wren.open()
        logged(caplog, "far_away")
    wren.in_the_book()
    assert shooting_yard.labels() == [label]


def test_a_store_that_gives_up_is_said_by_the_range_itself_and_is_no_fault(shooting_yard: ShootingYard, phone: Phone) -> None:
    wren = Hand(phone("Wren", faulty=True), shooting_yard.server.address).open().ready()
    wren.page.evaluate("() => { IDBDatabase.prototype.transaction = () => { throw new DOMException('', 'InvalidStateError'); }; }")
    wren.tap("Loosed")
    expect(wren.page.locator("[data-blocked]")).to_contain_text(re.compile("store does not answer"))
    expect(wren.page.locator("[data-fault]")).to_be_hidden()


def test_what_was_refused_is_not_sent_again_when_the_book_tells_of_its_shot(wren: Hand, shooting_yard: ShootingYard) -> None:
    """The shot went in beside it: the book's news of the shot is no reason. The form went away under the hand that typed in it."""
    sent: list[str] = []
    wren.page.on("request", lambda one: sent.append(one.post_data or "") if one.url.endswith("/api/ops") else None)
    wren.open().ready()
    wren.page.locator("[name=speed]").fill("fifty")
    wren.loose("{label} loosed, speed as typed")
    wren.page.get_by_role("link", name="Look").tap()
    box = wren.page.get_by_label("Speed, as typed")
    box.fill("50 m/")
    kit.archer(shooting_yard.book, "Another")  # so that the book has news, of the shot too
    shots = "() => fetch('/api/range').then((one) => one.json()).then((one) => one.shots.length)"
    assert wren.page.evaluate(shots) == 1
    wren.page.wait_for_timeout(1500)
    expect(box).to_have_value("50 m/")
    assert sum('"fifty"' in one for one in sent) == 1


AGED = """(days) => new Promise((done, fail) => {
    const asked = indexedDB.open('proofyard');
    asked.onerror = () => fail(asked.error);
    asked.onsuccess = () => {
        const tx = asked.result.transaction('ops', 'readwrite');
        const store = tx.objectStore('ops');
        store.openCursor().onsuccess = ({ target }) => {
            if (!target.result) return;
            target.result.update({ ...target.result.value, made_at: target.result.value.made_at - days * 86_400_000 });
            target.result.continue();
        };
        tx.oncomplete = () => { asked.result.close(); done(); };
    };
})"""


HOLDS_NONE = """() => new Promise((done) => {
    const asked = indexedDB.open('proofyard');
    asked.onsuccess = () => {
        const held = asked.result.transaction('ops').objectStore('ops').count();
        held.onsuccess = () => { asked.result.close(); done(held.result === 0); };
    };
})"""


def test_what_is_long_in_the_book_is_shown_until_the_news_hold_it(wren: Hand, shooting_yard: ShootingYard) -> None:
    """A phone comes back after weeks: it sends, and is opened again before the book's news came. Its shot may not vanish."""
    wren.open().ready()
    wren.in_the_book()
    wren.page.route("**/api/range*", lambda route: route.fulfill(status=204))  # no news from here on
    label = wren.loose()
    wren.in_the_book()
    wren.page.evaluate(AGED, 30)
    wren.open_again()
    wren.open("/range/butt")
    expect(wren.page.locator("form[data-reading] [data-slot=title]")).to_have_text(label)
    wren.page.unroute("**/api/range*")
    expect(wren.page.locator("[data-strip] p")).to_have_text(IN_THE_BOOK, timeout=20_000)
    wren.page.wait_for_function(HOLDS_NONE)
    expect(wren.page.locator("form[data-reading] [data-slot=title]")).to_have_text(label)
    assert shooting_yard.labels() == [label]


def test_a_reading_stays_open_when_its_set_up_is_closed_on_the_laptop(wren: Hand, shooting_yard: ShootingYard) -> None:
    """Its shot is in the phone's news no longer: the form still saves, under its label."""
    wren.open().ready()
    label = wren.loose()
    wren.in_the_book()
    wren.open("/range/butt")
    expect(wren.page.locator("form[data-reading] [data-slot=title]")).to_have_text(label)
    wren.page.wait_for_timeout(2500)  # the news hold it by now

    def without_its_shots(route: Route) -> None:
        answer = route.fetch(url=route.request.url.replace("form=2", "form=1"))  # the page reads either form
        if answer.status != 200:
            return route.fulfill(response=answer)
        return route.fulfill(response=answer, json={**answer.json(), "whole": True, "shots": []})

    wren.page.route("**/api/range*", without_its_shots)
    kit.arrow(shooting_yard.book, "77", masses=())  # something new, so that there are news
    wren.page.wait_for_timeout(3000)
    expect(wren.page.get_by_role("button", name=f"Save {label}")).to_be_visible()
    wren.spot()
    wren.key(re.compile("^Outcome, judged"), "Dented")
    wren.tap(f"Save {label}")
    expect(wren.page.locator("[data-undo]")).to_contain_text(f"{label}: ")
    wren.in_the_book()
    wren.page.unroute_all(behavior="ignoreErrors")  # the page asks every two seconds, also while the test ends
    assert shooting_yard.fact(label).outcome_high is not None
