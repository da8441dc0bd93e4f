"""Two people at one butt: the same loose logged twice, an order that nobody knows, a clock that jumps, the day's end, photos."""

from __future__ import annotations

import hashlib
import re
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from proofyard.exchange.photo_files import PhotoFolder
from proofyard.records.listing import all_of
from proofyard.records.photo import Photo
from proofyard.records.shot_facts import ShotFact
from proofyard.records.speed_facts import speeds_of_shots
from proofyard.records.written_down import first_written
from proofyard.settings import BOOK_FILE

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.browser.range_hands import Hand
from tests.browser.range_photos import a_photo, checksum

pytestmark = pytest.mark.long

Phone = Callable[..., Page]
STRIP = "[data-strip] p"
NOTICE = "[data-once] section"


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


@pytest.fixture
def tallow(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Tallow"), shooting_yard.server.address)


def butt(hand: Hand) -> None:
    hand.page.locator(".masthead__link", has_text="Butt").tap()
    caution = hand.page.get_by_role("button", name="I have read this")
    if caution.count():
        caution.first.tap()


# The same loose, logged by two phones


def both_log_one_loose(wren: Hand, tallow: Hand) -> tuple[str, str]:
    """Wren looses arrow 7; both phones log it, Tallow's with its speed."""
    wren.open().ready("Wren", "112")
    tallow.open().ready("Wren", "112")
    tallow.key("Arrow", "7")
    first = wren.loose()
    tallow.page.locator("[name=speed]").fill("52.6")
    second = tallow.loose("Yes, {label} loosed", asked=False)
    for hand in (wren, tallow):
        hand.in_the_book()
        for label in (first, second):  # the other's is told a moment after one's own is in the book
            expect(hand.page.locator("[data-slot=shots]")).to_contain_text(label, timeout=20_000)
    return first, second


def test_two_phones_that_logged_one_loose_are_asked_and_one_shot_is_left(wren: Hand, tallow: Hand, shooting_yard: ShootingYard) -> None:
    first, second = both_log_one_loose(wren, tallow)
    assert shooting_yard.labels() == sorted([first, second]), "never a refusal"
    row = tallow.page.locator("[data-slot=shots] .row", has=tallow.page.get_by_text(second, exact=True))
    expect(row).to_contain_text(f"same shot as {first}?")
    expect(tallow.page.get_by_text("same shot as")).to_have_count(1)
    butt(tallow)
    question = tallow.page.locator("[data-slot=same]")
    expect(question).to_contain_text(f"{first} and {second}: the same shot?")
    expect(question).to_contain_text(re.compile(r"Wren, 112.lb, arrow 7, from two phones, \d+ s apart\."))
    assert violations(tallow.page) == ()
    tallow.tap(f"One shot: keep {first}")
    gone = shooting_yard.comes_to(second, voided=True)
    tallow.in_the_book()
    assert shooting_yard.labels() == [first]
    with shooting_yard.book.read() as session:
        from proofyard.records.notebook import revisions_of

        assert revisions_of(session, "shot", gone.shot_id)[0].reason == f"same shot as {first}"
        assert [(one.shot_id, one.value_m_s) for one in speeds_of_shots(session) if one.shot_id == shooting_yard.fact(first).shot_id] == [
            (shooting_yard.fact(first).shot_id, 52.6)
        ], "the speed that only the crossed-out one had"
    butt(wren)
    expect(wren.page.locator("[data-slot=same]")).to_be_empty()


def test_a_reading_goes_over_where_the_kept_shot_was_not_read_and_undo_puts_all_back(
    wren: Hand, tallow: Hand, shooting_yard: ShootingYard
) -> None:
    first, second = both_log_one_loose(wren, tallow)
    butt(tallow)
    tallow.page.get_by_text(f"Read {second}").tap()
    expect(tallow.page.locator("h2#reading-title")).to_have_text(second)
    tallow.read("Opened")
    tallow.in_the_book()
    tallow.tap(f"One shot: keep {first}")
    kept = shooting_yard.comes_to(first, outcome_low=3, hit="on_panel", place_known=True)
    assert kept.x_m == shooting_yard.fact(second).x_m
    tallow.undo()
    shooting_yard.comes_to(second, voided=False)
    shooting_yard.comes_to(first, hit=None)
    tallow.in_the_book()
    expect(tallow.page.locator("[data-slot=same]")).to_contain_text("the same shot?")


def test_what_the_kept_shot_says_itself_stays(wren: Hand, tallow: Hand, shooting_yard: ShootingYard) -> None:
    first, second = both_log_one_loose(wren, tallow)
    butt(tallow)
    expect(tallow.page.locator("h2#reading-title")).to_have_text(first)
    tallow.read("Dented", 0.3, 0.3)
    expect(tallow.page.locator("h2#reading-title")).to_have_text(second)
    tallow.more("Depth")
    tallow.page.get_by_label("Tip past the rear face").fill("12")
    tallow.read("Opened")
    tallow.in_the_book()
    tallow.tap(f"One shot: keep {first}")
    shooting_yard.comes_to(second, voided=True)
    kept = shooting_yard.comes_to(first, outcome_low=2, depth_m=0.012)
    assert kept.outcome_high == 2
    assert tallow.page.locator("[data-needs-link]").is_hidden()


def test_both_phones_merging_at_once_leave_one_shot_with_one_speed(wren: Hand, tallow: Hand, shooting_yard: ShootingYard) -> None:
    first, second = both_log_one_loose(wren, tallow)
    for hand in (wren, tallow):
        butt(hand)
        expect(hand.page.locator("[data-slot=same]")).to_contain_text("the same shot?")
    shooting_yard.server.stop()
    for hand in (wren, tallow):
        hand.tap(f"One shot: keep {first}")
        expect(hand.page.locator("[data-slot=same]")).to_be_empty()
    shooting_yard.server.start()
    for hand in (wren, tallow):
        hand.try_now()
    shooting_yard.comes_to(second, voided=True)
    for hand in (wren, tallow):
        hand.in_the_book()
    with shooting_yard.book.read() as session:
        kept = shooting_yard.fact(first).shot_id
        assert [one.value_m_s for one in speeds_of_shots(session) if one.shot_id == kept] == [52.6]
    assert shooting_yard.labels() == [first]


def test_two_shots_stay_two_where_somebody_says_so(wren: Hand, tallow: Hand, shooting_yard: ShootingYard) -> None:
    first, second = both_log_one_loose(wren, tallow)
    butt(tallow)
    tallow.tap("Two shots")
    expect(tallow.page.locator("[data-slot=same]")).to_be_empty()
    tallow.open("/range/butt")
    expect(tallow.page.locator("h2#reading-title")).to_be_visible()
    expect(tallow.page.locator("[data-slot=same]")).to_be_empty()
    assert shooting_yard.labels() == sorted([first, second])


def test_other_arrows_other_archers_and_one_phone_alone_are_no_question(wren: Hand, tallow: Hand) -> None:
    wren.open().ready("Wren", "112")
    tallow.open().ready("Tallow", "112")
    wren.loose()
    wren.key("Arrow", "7")
    wren.loose("Yes, {label} loosed")  # the same arrow twice, on one phone: somebody meant it
    tallow.key("Arrow", "7")
    tallow.loose("Yes, {label} loosed", asked=False)  # another archer
    tallow.loose()  # another arrow
    for hand in (wren, tallow):
        hand.in_the_book()
        expect(hand.page.locator("[data-to-do=butt]")).to_contain_text("4")
        expect(hand.page.locator("[data-slot=shots]")).not_to_contain_text("same shot as")


def test_hits_that_cannot_be_distinguished_are_recorded_as_such(wren: Hand, tallow: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready("Wren", "112")
    mine = wren.loose()
    wren.in_the_book()
    tallow.open().ready("Tallow", "82")
    theirs = tallow.loose()
    tallow.in_the_book()
    expect(wren.page.locator("[data-to-do=butt]")).to_contain_text("2")
    for label, other in ((mine, theirs), (theirs, mine)):
        wren.open(f"/range/butt#shot={shooting_yard.fact(label).shot_id}")
        caution = wren.page.get_by_role("button", name="I have read this")
        if caution.count():
            caution.first.tap()
        expect(wren.page.locator("h2#reading-title")).to_have_text(label)
        wren.more("How sure")
        wren.page.get_by_label("Possibly this shot’s hit instead").select_option(value=shooting_yard.fact(other).shot_id)
        wren.read("Opened", 0.4 if label == mine else 0.6)
        shooting_yard.comes_to(label, outcome_low=3)
    wren.in_the_book()
    told = [kit.row(shooting_yard.book, "shot_reading", shooting_yard.fact(label).shot_id).may_be_shot_id for label in (mine, theirs)]
    assert told == [shooting_yard.fact(theirs).shot_id, shooting_yard.fact(mine).shot_id]


# The order within an end


def test_the_order_of_two_phones_shots_is_guessed_swapped_and_said_with_one_tap(
    wren: Hand, tallow: Hand, shooting_yard: ShootingYard
) -> None:
    wren.open().ready("Wren", "112")
    first = wren.loose()
    wren.in_the_book()
    tallow.open().ready("Tallow", "82")
    expect(tallow.page.locator("[data-slot=shots] .row")).to_have_count(1)
    second = tallow.loose()
    tallow.in_the_book()
    third = wren.loose()
    wren.in_the_book()
    assert shooting_yard.fact(second).position is None, "across two phones nothing is guessed"
    wren.to_the_butt()
    box = wren.page.locator("[data-slot=order]")
    expect(box).to_be_empty()  # one thing at a time: what was hit comes first
    wren.page.get_by_role("link", name=re.compile("On to the order")).tap()
    expect(box).to_contain_text("End 1: is this the order?")
    marks = box.locator(".row__mark")
    expect(marks).to_have_text([first, second, third])
    assert violations(wren.page) == ()
    wren.tap(f"Up: swap {second} with {first}")
    wren.tap(f"Up: swap {third} with {first}")
    expect(marks).to_have_text([second, third, first])
    wren.tap("Yes, this order")
    expect(wren.page.locator("[data-undo]")).to_contain_text(f"Order: {second}, {third}, {first}")
    expect(box).to_be_empty()
    wren.in_the_book()
    assert [shooting_yard.fact(label).position for label in (second, third, first)] == [1, 2, 3]
    wren.undo()
    shooting_yard.comes_to(second, position=None)
    expect(marks).to_have_text([first, second, third])
    taps = wren.taps
    wren.tap("Yes, this order")
    assert wren.taps == taps + 1, "the clocks’ guess costs one tap"
    shooting_yard.comes_to(second, position=2)
    assert [shooting_yard.fact(label).position for label in (first, third)] == [1, 3]
    wren.undo()
    shooting_yard.comes_to(second, position=None)
    wren.tap("Nobody knows")
    expect(box).to_be_empty()
    wren.open("/range/butt")
    expect(wren.page.locator("h2#reading-title")).to_be_visible()
    expect(wren.page.locator("[data-slot=order]")).to_be_empty()


def test_a_shooting_end_of_one_phone_asks_no_order(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    labels = [wren.loose(), wren.loose()]
    wren.to_the_butt()
    expect(wren.page.locator("[data-slot=order]")).to_be_empty()
    wren.in_the_book()
    assert [shooting_yard.fact(label).position for label in labels] == [1, 2]


# Clocks


def offsets(yard: ShootingYard, label: str) -> tuple[int | None, int | None, int]:
    """What the phone said of its clock, and how far its raw time was from the laptop's when the shot came."""
    fact: ShotFact = yard.fact(label)
    with yard.book.read() as session:
        one = first_written(session, "shot")[fact.shot_id]
    assert one.t_device is not None
    return one.clock_offset_ms, one.clock_error_ms, one.t_device - one.received


def test_a_clock_that_jumps_is_noticed_once_and_reckoned_again(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    before = wren.loose()
    wren.in_the_book()
    offset, error, _ = offsets(shooting_yard, before)
    assert offset is not None and error is not None and abs(offset) <= error + 50
    wren.page.evaluate("() => { const was = Date.now; Date.now = () => was() + 300000; }")
    expect(wren.page.locator(NOTICE)).to_contain_text("This phone’s clock jumped 5 min forward.")
    assert violations(wren.page) == ()
    wren.page.locator(NOTICE).get_by_role("button", name="I have read this").tap()
    wren.page.wait_for_timeout(2500)  # the laptop was heard again
    after = wren.loose()
    wren.in_the_book()
    offset, error, raw = offsets(shooting_yard, after)
    assert offset is not None and error is not None
    assert raw > 290_000 and abs(offset + 300_000) <= error + 500
    apart = (shooting_yard.fact(after).loosed_at or 0) - (shooting_yard.fact(before).loosed_at or 0)
    assert 0 < apart < 60_000, "the book's time went on as it does"
    wren.page.wait_for_timeout(4500)
    expect(wren.page.locator(NOTICE)).to_have_count(0)


def test_a_clock_set_while_the_laptop_is_away_keeps_the_book_s_time(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    before = wren.loose()
    wren.in_the_book()
    shooting_yard.server.stop()
    wren.page.evaluate("() => { const was = Date.now; Date.now = () => was() - 7200000; }")
    expect(wren.page.locator(NOTICE)).to_contain_text("This phone’s clock jumped 2 h back.")
    after = wren.loose()
    shooting_yard.server.start()
    wren.try_now()
    wren.in_the_book()
    offset, error, _ = offsets(shooting_yard, after)
    assert offset is not None and abs(offset - 7_200_000) < 1500 and error is None, "known, but not how surely"
    assert 0 < (shooting_yard.fact(after).loosed_at or 0) - (shooting_yard.fact(before).loosed_at or 0) < 60_000


def test_a_phone_that_slept_says_nothing_of_its_clock(wren: Hand) -> None:
    """performance.now stands still in sleep, Date.now goes on."""
    wren.open().ready()
    wren.in_the_book()
    wren.page.evaluate("""() => {
        Object.defineProperty(document, 'hidden', { get: () => true, configurable: true });
        document.dispatchEvent(new Event('visibilitychange'));
        const was = performance.now.bind(performance);
        performance.now = () => was() - 600000;
        }""")
    wren.page.wait_for_timeout(2500)
    wren.page.evaluate("""() => {
        Object.defineProperty(document, 'hidden', { get: () => false, configurable: true });
        document.dispatchEvent(new Event('visibilitychange'));
        }""")
    wren.page.wait_for_timeout(4500)
    expect(wren.page.locator(NOTICE)).to_have_count(0)
    wren.in_the_book()


# Close of day


def test_the_phone_says_what_is_in_what_is_missing_and_what_is_unread(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    labels = [wren.loose(), wren.loose()]
    wren.in_the_book()
    wren.page.locator(".masthead__link", has_text="Bench").tap()
    wren.page.get_by_role("link", name="Close of day: is everything in the book?").tap()
    title, words = wren.page.locator("[data-slot=finding]"), wren.page.locator("main p[data-slot=words]")
    expect(title).to_have_text("Everything on this phone is in the book; 2 shots unread")
    expect(words).to_contain_text("The book has all 2 shots of this phone.")
    expect(wren.page.locator("[data-slot=unread] a")).to_have_count(2)
    assert violations(wren.page) == ()
    held = next(iter(shooting_yard.server.app.state.holds.all().values()))
    assert (held.shots, held.unsent, held.agrees, held.session_id) == (2, 0, True, shooting_yard.session)
    shooting_yard.server.stop()
    wren.open()
    labels.append(wren.loose())
    wren.page.locator("[data-strip] a").first.tap()
    expect(title).to_have_text("Not everything is in the book: 1 on this phone only")
    expect(words).to_contain_text("The laptop does not answer.")
    expect(wren.page.locator("[data-slot=waiting]")).to_contain_text(labels[-1])
    wren.page.locator("main").get_by_text("Show what is not in the book, as text or a file").tap()
    assert f"{labels[-1]}: " in wren.page.get_by_label("Not in the book, as text").input_value()
    shooting_yard.server.start()
    wren.tap("Compare again")
    expect(title).to_have_text("Everything on this phone is in the book; 3 shots unread", timeout=15_000)
    wren.page.locator("[data-slot=unread] a").first.tap()
    expect(wren.page.locator("h2#reading-title")).to_have_text(labels[0])
    for label in labels:
        expect(wren.page.locator("h2#reading-title")).to_have_text(label)
        wren.read("Opened", 0.3 + 0.1 * labels.index(label))
    wren.in_the_book()
    wren.page.locator("[data-strip] a").first.tap()
    expect(title).to_have_text("Everything on this phone is in the book, and every shot is read", timeout=15_000)


def test_a_shot_that_the_book_lost_is_named_and_offered_again(wren: Hand, shooting_yard: ShootingYard) -> None:
    """The book's file itself loses a row, which no number tells: only the comparison finds it."""
    from proofyard.book_file import library as sqlite3

    wren.open().ready()
    labels = [wren.loose(), wren.loose()]
    wren.in_the_book()
    shooting_yard.server.stop()
    lost = "SELECT id FROM shot WHERE label = ?"
    with sqlite3.connect(shooting_yard.server.folder / BOOK_FILE) as file:
        for query in (f"DELETE FROM revision WHERE record_id = ({lost})", "DELETE FROM shot WHERE label = ?"):
            file.execute(query, (labels[1],))
    shooting_yard.server.start()
    said: list[str] = []
    wren.page.on("response", lambda answer: said.append(answer.text()) if answer.url.endswith("/api/holds") else None)
    wren.page.locator("[data-strip] a").first.tap()
    until = time.monotonic() + 20
    while shooting_yard.labels() != sorted(labels):
        wren.page.wait_for_timeout(100)
        assert time.monotonic() < until
    assert any("1 of this phone’s shots is not in the book" in one for one in said)
    wren.tap("Compare again")
    expect(wren.page.locator("[data-slot=finding]")).to_have_text("Everything on this phone is in the book; 2 shots unread")


# Photos


def in_book(yard: ShootingYard, many: int) -> list[Photo]:
    until = time.monotonic() + 30
    while True:
        with yard.book.read() as session:
            found = [one for one in all_of(session, Photo) if one.voided_rev is None]
        if len(found) == many:
            return found
        assert time.monotonic() < until, f"{len(found)} photos, wanted {many}"
        time.sleep(0.1)


def test_photos_wait_on_the_phone_outlive_a_reload_and_arrive_whole(wren: Hand, shooting_yard: ShootingYard, tmp_path: Path) -> None:
    wren.open().ready()
    wren.in_the_book()
    shooting_yard.server.stop()
    label = wren.loose()
    wren.to_the_butt()
    files = [a_photo(tmp_path / f"hole{n}.{ending}", seed=n) for n, ending in enumerate(("jpg", "png", "webp"))]
    add = wren.page.get_by_label(f"Add a photo of {label}")
    assert add.get_attribute("accept") == "image/jpeg,image/png,image/webp" and add.get_attribute("capture") == "environment"
    for n, file in enumerate(files, 1):
        add.set_input_files(file)
        expect(wren.page.locator("[data-photos] .row")).to_have_count(n)
    expect(wren.page.locator("[data-photos] .row").first).to_contain_text("saved on this phone")
    expect(wren.page.locator(STRIP)).to_have_text("3 entries and 3 photos on this phone only. Laptop not reachable, keep logging")
    assert violations(wren.page) == ()
    wren.open_again()
    expect(wren.page.locator("[data-photos] .row")).to_have_count(3)
    shooting_yard.server.start()
    wren.try_now()
    found = in_book(shooting_yard, 3)
    wren.in_the_book()
    expect(wren.page.locator("[data-photos] .row").first).to_contain_text("in the book")
    assert {one.sent_sha256 for one in found} == {checksum(file) for file in files}
    assert {(one.noun, one.record_id) for one in found} == {("shot", shooting_yard.fact(label).shot_id)}
    folder = PhotoFolder(shooting_yard.server.folder)
    assert {hashlib.sha256(folder.read(one.id) or b"").hexdigest() for one in found} == {one.sha256 for one in found}
    assert all(abs((one.taken_at or 0) - time.time() * 1000) < 120_000 for one in found)


def test_a_photo_whose_answer_was_lost_is_one_photo(wren: Hand, shooting_yard: ShootingYard, tmp_path: Path) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.in_the_book()
    lost: list[str] = []

    def take_it_and_say_nothing(route: object) -> None:
        if len(lost) < 2:
            route.fetch()
            lost.append("once")
            route.abort()
        else:
            route.continue_()

    wren.page.route("**/api/photos/*", take_it_and_say_nothing)
    butt(wren)
    wren.page.get_by_label(f"Add a photo of {label}").set_input_files(a_photo(tmp_path / "hole.jpg"))
    expect(wren.page.locator("[data-photos] .row")).to_contain_text("in the book", timeout=20_000)
    assert len(lost) == 2 and len(in_book(shooting_yard, 1)) == 1


def test_anything_that_is_no_photo_is_refused_in_words_before_it_is_kept(wren: Hand, tmp_path: Path) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    add = wren.page.get_by_label(f"Add a photo of {label}")
    (tmp_path / "hole.jpg").write_bytes(b"\x00\x00\x00\x18ftypheic" + bytes(400))  # named JPEG, and is none
    add.set_input_files(tmp_path / "hole.jpg")
    expect(wren.page.locator("[data-photos]")).to_contain_text("“hole.jpg” is not a JPEG, PNG or WebP photo. Set the camera to JPEG")
    expect(wren.page.locator("[data-photos] .row")).to_have_count(0)
    (tmp_path / "big.png").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(20_000_001))
    add.set_input_files(tmp_path / "big.png")
    expect(wren.page.locator("[data-photos]")).to_contain_text("“big.png” has 20.0 MB; the book takes 20 MB at most. Take it smaller.")
    add.set_input_files(a_photo(tmp_path / "right.jpg"))
    expect(wren.page.locator("[data-photos] .row")).to_have_count(1)
    expect(wren.page.locator("[data-photos]")).not_to_contain_text("the book takes")


def test_a_photo_that_the_book_refuses_needs_you_and_holds_up_no_other(wren: Hand, shooting_yard: ShootingYard, tmp_path: Path) -> None:
    wren.open().ready()
    label = wren.loose()
    wren.to_the_butt()
    add = wren.page.get_by_label(f"Add a photo of {label}")
    whole = a_photo(tmp_path / "whole.jpg").read_bytes()
    (tmp_path / "cut.jpg").write_bytes(whole[: len(whole) // 3])
    add.set_input_files(tmp_path / "cut.jpg")
    add.set_input_files(tmp_path / "whole.jpg")
    assert [one.sent_sha256 for one in in_book(shooting_yard, 1)] == [checksum(tmp_path / "whole.jpg")]
    expect(wren.page.locator(STRIP)).to_have_text("1 needs you")
    wren.page.get_by_role("link", name="Look").tap()
    expect(wren.page.locator(".range__need")).to_contain_text(f"Photo of {label}")
    wren.tap("Discard it")
    wren.in_the_book()


def test_a_photo_without_a_shot_lies_in_the_bench_s_tray_until_it_is_placed(
    wren: Hand, shooting_yard: ShootingYard, tmp_path: Path
) -> None:
    wren.open().ready()
    labels = [wren.loose(), wren.loose()]
    wren.in_the_book()
    shooting_yard.server.stop()
    wren.page.locator(".masthead__link", has_text="Bench").tap()
    add = wren.page.get_by_label("Add a photo and choose its shot later")
    for n in range(2):
        add.set_input_files(a_photo(tmp_path / f"{n}.jpg", seed=n))
        expect(wren.page.locator("[data-photos] .row")).to_have_count(n + 1)
    # One is placed while it waits on the phone, the other once the book has it in its tray.
    wren.page.locator("[data-photos] .row select").first.select_option(label=f"{labels[0]}, Wren, arrow 7")
    expect(wren.page.locator("[data-photos] .row")).to_have_count(1)
    shooting_yard.server.start()
    wren.try_now()
    found = in_book(shooting_yard, 2)
    assert {one.record_id for one in found} == {None, shooting_yard.fact(labels[0]).shot_id}
    expect(wren.page.locator("[data-photos] .row")).to_contain_text("in the book")
    wren.page.locator("[data-photos] .row select").select_option(label=f"{labels[1]}, Wren, arrow 8")
    expect(wren.page.locator("[data-photos] .row")).to_have_count(0)
    wren.in_the_book()
    until = time.monotonic() + 15
    while {one.record_id for one in in_book(shooting_yard, 2)} != {shooting_yard.fact(label).shot_id for label in labels}:
        assert time.monotonic() < until
        time.sleep(0.1)
