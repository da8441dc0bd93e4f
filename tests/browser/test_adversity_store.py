"""A phone's store dies, fills up or is emptied; a page grows old; the laptop holds another book: what was said is kept."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect
from proofyard.access.seats import hash_of
from proofyard.exchange.backup import backup
from proofyard.exchange.restore import restore
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.book import Device, Revision
from proofyard.settings import BOOK_FILE
from sqlalchemy import func, select

from tests import kit_for_tests as kit
from tests.browser.conftest import ShootingYard
from tests.browser.every_page import violations
from tests.browser.range_hands import Hand
from tests.browser.range_photos import a_photo
from tests.browser.real_server import RealServer

pytestmark = pytest.mark.slow

Phone = Callable[..., Page]
STRIP = "[data-strip] p"
# What the browser throws once the process behind its store has gone: every handle that was open is dead.
DEAD_HANDLE = """() => {
  const was = IDBDatabase.prototype.transaction;
  const dead = new WeakSet();
  let first = true;
  window.died = 0;
  IDBDatabase.prototype.transaction = function (...words) {
    if (first) { dead.add(this); first = false; }
    if (dead.has(this)) { window.died += 1; throw new DOMException('The database connection is closing.', 'InvalidStateError'); }
    return was.apply(this, words);
  };
}"""
DEAD_STORE = """() => {
  window.before = { transaction: IDBDatabase.prototype.transaction, open: IDBFactory.prototype.open };
  const lost = () => { throw new DOMException('Connection to Indexed Database server lost.', 'UnknownError'); };
  IDBDatabase.prototype.transaction = lost;
  IDBFactory.prototype.open = lost;
}"""
# As a browser does it: the write itself goes through, its transaction is then undone for want of room.
NO_ROOM = """() => {
  window.full = true;
  const was = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (...words) {
    const asked = was.apply(this, words);
    if (this.name === 'photos' && words[0].blob === null) window.full = false;
    if (window.full) {
      const { transaction } = this;
      Object.defineProperty(transaction, 'error', {
        get: () => new DOMException('Quota exceeded', 'QuotaExceededError'), configurable: true });
      asked.addEventListener('success', () => { try { transaction.abort(); } catch { /* by another put of it */ } });
    }
    return asked;
  };
}"""
STORE_IS_BACK = """() => {
  IDBDatabase.prototype.transaction = window.before.transaction;
  IDBFactory.prototype.open = window.before.open;
}"""


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


def operations(yard: ShootingYard, noun: str = "shot") -> tuple[int, int]:
    """How many the book took of a noun, and of how many records."""
    with yard.book.read() as session:
        many, of = session.execute(
            select(func.count(Revision.op_id), func.count(Revision.record_id.distinct())).where(Revision.noun == noun)
        ).one()
    return many, of


def seen_again(page: Page) -> None:
    """As when somebody comes back from another app."""
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")


# The store


def test_a_dead_handle_is_opened_again_when_the_page_comes_back_and_nothing_is_said(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    first = wren.loose()
    wren.in_the_book()
    wren.page.evaluate(DEAD_HANDLE)
    seen_again(wren.page)
    wren.page.wait_for_function("window.died > 0")
    second = wren.loose()
    expect(wren.page.locator("[data-blocked]")).to_be_hidden()
    wren.in_the_book()
    assert shooting_yard.labels() == sorted([first, second])


def test_a_handle_that_dies_under_a_tap_saves_that_very_tap(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.page.evaluate(DEAD_HANDLE)
    label = wren.loose()
    wren.in_the_book()
    assert shooting_yard.labels() == [label] and operations(shooting_yard) == (1, 1)


def test_a_store_that_stays_dead_blocks_input_and_shows_the_unsent_as_text_and_file(
    wren: Hand, shooting_yard: ShootingYard, tmp_path: Path
) -> None:
    wren.open().ready()
    wren.in_the_book()
    shooting_yard.server.stop()
    kept = wren.loose()
    wren.page.locator("[name=speed]").fill("52.6")
    wren.page.wait_for_timeout(700)  # the draft is kept; the next that needs the store is the tap
    # In one breath: whatever else asks the store first would block the page before the finger is there.
    wren.page.evaluate(f"() => {{ ({DEAD_STORE})(); document.querySelector('[data-keys] button').click(); }}")
    expect(wren.page.locator(STRIP)).to_have_text("Not saving. See below")
    assert wren.page.locator(f"{STRIP} a").inner_text() == "Not saving. See below", "one sentence, not two boxes beside each other"
    blocked = wren.page.locator("[data-blocked]")
    expect(blocked).to_contain_text("This phone’s store does not answer. Close this tab and open the page again; what was saved is kept.")
    lost = wren.page.locator("h1 [data-slot=label]").inner_text()
    assert lost != kept
    for part in ("[data-place]", "[data-thumb]"):
        assert wren.page.locator(part).evaluate("one => one.inert")
    blocked.get_by_text("Show what is not in the book").tap()
    area = blocked.get_by_label("Not in the book, as text")
    said = area.input_value()
    saved, not_saved = said.index("Saved on this phone, not yet in the book:"), said.index("Not saved on this phone either:")
    assert saved < said.index(f"{kept}: ") < not_saved < said.index(f"{lost}: ") and "speed 52.6" in said and "archer Wren" in said
    assert violations(wren.page) == ()
    area.focus()
    assert wren.page.evaluate(
        "getSelection().toString() === document.activeElement.value || document.activeElement.selectionEnd === "
        "document.activeElement.value.length"
    )
    with wren.page.expect_download() as file:
        blocked.get_by_role("link", name="Save as a file").tap()
    assert re.fullmatch(r"proofyard-unsent-\d{8}T\d{4}\.txt", file.value.suggested_filename)
    file.value.save_as(tmp_path / "unsent.txt")
    assert (tmp_path / "unsent.txt").read_text(encoding="utf-8") == said
    machine = [json.loads(line) for line in said.splitlines() if line.startswith("{")]
    assert [one["body"]["label"] for one in machine if one["noun"] == "shot"] == [kept, lost]
    # The store comes back: what was not saved still stands in the form, and is not sent behind anybody's back.
    wren.page.evaluate(STORE_IS_BACK)
    expect(blocked).to_be_hidden(timeout=8000)  # asked again by itself
    expect(wren.page.locator("h1 [data-slot=label]")).to_have_text(lost)
    expect(wren.page.locator("[name=speed]")).to_have_value("52.6")
    again = wren.loose()
    shooting_yard.server.start()
    wren.try_now()
    wren.in_the_book()
    assert shooting_yard.labels() == sorted([kept, again]) and operations(shooting_yard) == (2, 2)


def test_a_full_phone_says_so_and_goes_on_once_there_is_room(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    first = wren.loose()
    wren.in_the_book()
    wren.page.wait_for_timeout(600)
    wren.page.evaluate(f"() => {{ ({NO_ROOM})(); document.querySelector('[data-keys] button').click(); }}")
    expect(wren.page.locator("[data-blocked]")).to_contain_text("This phone has no room left. Free some, then come back to this page.")
    expect(wren.page.locator(STRIP)).to_have_text("Not saving. See below")
    assert shooting_yard.labels() == [first]
    wren.page.evaluate("window.full = false")
    seen_again(wren.page)
    expect(wren.page.locator("[data-blocked]")).to_be_hidden()
    second = wren.loose()
    wren.in_the_book()
    assert shooting_yard.labels() == sorted([first, second])


def test_a_full_phone_lets_go_of_the_bytes_of_photos_that_the_book_has(wren: Hand, shooting_yard: ShootingYard, tmp_path: Path) -> None:
    wren.open().ready()
    first = wren.loose()
    wren.to_the_butt()
    wren.page.get_by_label(f"Add a photo of {first}").set_input_files(a_photo(tmp_path / "hole.jpg"))
    expect(wren.page.locator("[data-photos] .row")).to_contain_text("in the book")
    wren.open()
    wren.in_the_book()
    wren.page.evaluate(NO_ROOM)
    second = wren.loose()
    assert wren.page.evaluate("window.full") is False, "room was made"
    wren.in_the_book()
    assert shooting_yard.labels() == sorted([first, second])


def test_a_store_that_was_emptied_under_an_open_page_is_written_down_again(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.in_the_book()
    shooting_yard.server.stop()
    labels = [wren.loose() for _ in range(2)]
    session = wren.page.context.new_cdp_session(wren.page)
    session.send("Storage.clearDataForOrigin", {"origin": wren.address, "storageTypes": "indexeddb"})
    seen_again(wren.page)
    labels.append(wren.loose())
    shooting_yard.server.start()
    wren.open()  # out of the store, not out of the page
    wren.in_the_book()
    assert shooting_yard.labels() == sorted(labels) and operations(shooting_yard) == (3, 3)


def test_a_store_that_did_not_answer_and_comes_back_empty_makes_the_page_forget_nothing(
    wren: Hand, shooting_yard: ShootingYard, tmp_path: Path
) -> None:
    wren.open().ready()
    wren.in_the_book()
    shooting_yard.server.stop()
    labels = [wren.loose()]
    wren.to_the_butt()
    wren.page.get_by_label(f"Add a photo of {labels[0]}").set_input_files(a_photo(tmp_path / "hole.jpg"))
    expect(wren.page.locator("[data-photos] .row")).to_contain_text("saved on this phone")
    wren.page.evaluate(DEAD_STORE)
    seen_again(wren.page)
    expect(wren.page.locator(STRIP)).to_have_text("Not saving. See below")
    wren.page.evaluate("""() => new Promise((done, fail) => {
        IDBDatabase.prototype.transaction = window.before.transaction;
        const asked = window.before.open.call(indexedDB, 'proofyard');
        asked.onerror = fail;
        asked.onsuccess = () => {
          const db = asked.result;
          const tx = db.transaction([...db.objectStoreNames], 'readwrite');
          for (const name of db.objectStoreNames) tx.objectStore(name).clear();
          tx.oncomplete = () => { db.close(); done(); };
        };
    })""")
    wren.page.evaluate(STORE_IS_BACK)
    expect(wren.page.locator("[data-blocked]")).to_be_hidden(timeout=8000)
    expect(wren.page.locator("[data-photos] .row")).to_contain_text("saved on this phone")
    wren.page.get_by_role("link", name="Line", exact=True).tap()
    labels.append(wren.loose())
    shooting_yard.server.start()
    wren.open()
    wren.in_the_book()
    shooting_yard.comes_to(labels[1], purpose="counted")
    assert shooting_yard.labels() == sorted(labels)
    with shooting_yard.book.read() as session:
        assert session.execute(select(func.count(Revision.op_id)).where(Revision.noun == "photo")).scalar_one() == 1


def test_a_store_that_a_newer_page_added_to_is_opened_by_this_one(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    first = wren.loose()
    wren.in_the_book()
    wren.page.evaluate("""() => new Promise((done, fail) => {
        const asked = indexedDB.open('proofyard', 40);
        asked.onupgradeneeded = () => asked.result.createObjectStore('of_a_later_version');
        asked.onsuccess = () => { asked.result.close(); done(); };
        asked.onerror = fail;
    })""")
    second = wren.loose()
    wren.open()
    wren.in_the_book()
    assert shooting_yard.labels() == sorted([first, second])


# The page


def of_form(page: Page, form: int) -> None:
    """The phone still runs the page of another version of the program."""

    def other(route: Route) -> None:
        answer = route.fetch()
        text = answer.text()
        assert "const OP_VERSION = 3;" in text
        route.fulfill(response=answer, body=text.replace("const OP_VERSION = 3;", f"const OP_VERSION = {form};"))

    page.route("**/range/queue.js", other)


def test_a_page_of_before_an_upgrade_still_gets_its_shots_accepted(wren: Hand, shooting_yard: ShootingYard) -> None:
    of_form(wren.page, 2)
    wren.open().ready()
    forms: list[int] = []
    wren.page.on("request", lambda asked: forms.append(asked.post_data_json["op_v"]) if asked.url.endswith("/api/ops") else None)
    label = wren.loose()
    wren.in_the_book()
    assert shooting_yard.labels() == [label] and set(forms) == {2}


def test_a_page_two_upgrades_old_keeps_everything_for_the_page_after_it(wren: Hand, shooting_yard: ShootingYard) -> None:
    of_form(wren.page, 1)
    wren.open().ready()
    label = wren.loose()
    expect(wren.page.locator(STRIP)).to_have_text("1 on this phone only. This page is older than the laptop’s: reload it")
    assert shooting_yard.labels() == [] and not wren.page.locator("[data-needs-link]").is_visible(), (
        "the page is at fault, nobody has to mend a shot"
    )
    wren.page.unroute("**/range/queue.js")
    wren.page.context.new_cdp_session(wren.page).send("Network.clearBrowserCache")
    wren.tap("Reload")
    wren.in_the_book()
    assert shooting_yard.labels() == [label]


# The book


def test_a_book_put_back_to_an_older_copy_is_offered_what_it_lacks(wren: Hand, shooting_yard: ShootingYard, tmp_path: Path) -> None:
    wren.open().ready()
    labels = [wren.loose()]
    wren.in_the_book()
    backup(shooting_yard.book.path, tmp_path / "copy.sqlite")
    labels += [wren.loose() for _ in range(2)]
    wren.in_the_book()
    assert shooting_yard.labels() == sorted(labels)
    shooting_yard.server.stop()
    restore(tmp_path / "copy.sqlite", shooting_yard.server.folder)
    shooting_yard.server.start()
    until = time.monotonic() + 20
    while shooting_yard.labels() != sorted(labels):
        assert time.monotonic() < until, shooting_yard.labels()
        time.sleep(0.1)
    wren.in_the_book()
    assert operations(shooting_yard) == (3, 3)


def test_what_was_said_for_another_book_waits_until_that_one_is_back(wren: Hand, shooting_yard: ShootingYard, tmp_path: Path) -> None:
    wren.open().ready()
    wren.in_the_book()
    mine = shooting_yard.server
    token = wren.page.context.cookies()[0]["value"]
    mine.stop()
    label = wren.loose()
    other = RealServer(tmp_path / "another", port=mine.port)
    other.folder.mkdir()
    with closing(open_book(other.folder)) as book, book.write() as session:  # before it is served: the phone asks again at any moment
        devices.make_book(session)
        devices.add_device(session, call_name="Laptop", role="owner")
        devices.add_device(session, call_name="Wren", role="archer", session_hash=hash_of(token))
    other.start()
    try:
        wren.try_now()
        expect(wren.page.locator(STRIP)).to_have_text("1 on this phone only, for another book: open that one again")
        with other.book.read() as session:
            assert session.execute(select(func.count(Revision.op_id)).where(Revision.noun.in_(("shot", "shooting_end")))).scalar_one() == 0
    finally:
        other.stop()
    mine.start()
    wren.try_now()
    wren.in_the_book()
    assert shooting_yard.labels() == [label]


@pytest.mark.parametrize("role", ["out", "viewer"])
def test_a_phone_that_was_removed_keeps_everything_until_it_is_let_in_again(wren: Hand, shooting_yard: ShootingYard, role: str) -> None:
    wren.open().ready()
    first = wren.loose()
    wren.in_the_book()

    def make(role: str) -> None:
        from proofyard.records import devices

        with shooting_yard.book.write() as session:
            one = session.execute(select(Device).where(Device.call_name == "Wren")).scalars().one()
            devices.change_role(session, one, role)
        shooting_yard.server.app.state.gate.seats.forget()

    make(role)
    second = wren.loose()
    expect(wren.page.locator(STRIP)).to_have_text("1 on this phone only, this phone is not let in: see Phones on the laptop")
    third = wren.loose()
    expect(wren.page.locator(STRIP)).to_have_text("2 on this phone only, this phone is not let in: see Phones on the laptop")
    assert shooting_yard.labels() == [first] and not wren.page.locator("[data-needs-link]").is_visible()
    if role == "out":  # its seat is gone for good: it asks again and gets a new one
        token = shooting_yard.server.let_in("Wren again")
        wren.page.context.add_cookies([{**wren.page.context.cookies()[0], "value": token}])  # type: ignore[typeddict-item]
    else:
        make("archer")
    wren.try_now()
    wren.in_the_book()
    assert shooting_yard.labels() == sorted([first, second, third])


def test_two_tabs_of_one_phone_send_by_turns_and_each_shot_once(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.in_the_book()
    second = wren.page.context.new_page()
    shooting_yard.server.stop()
    tab = Hand(second, wren.address)
    tab.open()
    labels = [wren.loose(), tab.loose(), wren.loose(), tab.loose()]
    assert len(set(labels)) == 4, "both tabs count in one row"
    for hand in (wren, tab):
        expect(hand.page.locator(STRIP)).to_contain_text("4 on this phone only")
    sent: dict[Page, set[str]] = {wren.page: set(), second: set()}

    def noting(page: Page) -> Callable[[Any], None]:
        def note(asked: Any) -> None:
            if asked.url.endswith("/api/ops"):
                sent[page].update(one["op_id"] for one in asked.post_data_json["ops"])

        return note

    for page in sent:
        page.on("requestfinished", noting(page))
    shooting_yard.server.start()
    wren.try_now()
    for hand in (wren, tab):
        hand.in_the_book()
    assert shooting_yard.labels() == sorted(labels) and operations(shooting_yard) == (4, 4)
    # What got no answer in time, on a slow machine, is sent again by whichever tab comes first; what was answered never is.
    assert len(set.union(*sent.values())) >= 4 and not set.intersection(*sent.values()), "only the tab that has the lease sends"


AT_ONCE = (
    "at => new Promise((done) => setTimeout(() => { document.querySelector('[data-keys] button').click(); done(); }, at - Date.now()))"
)


def test_two_tabs_tapped_at_the_same_moment_give_two_labels(wren: Hand, shooting_yard: ShootingYard) -> None:
    """Each counts on in its own page: 4 of 4 tries gave one label to two shots."""
    wren.open().ready()
    wren.in_the_book()
    second = wren.page.context.new_page()
    tab = Hand(second, wren.address)
    tab.open()
    for turn in range(1, 5):
        at = time.time() * 1000 + 700
        # Only begun here, and waited for below, so that both are under way together.
        for page in (wren.page, second):
            page.evaluate(f"() => {{ window.tapped = ({AT_ONCE})({at}); }}")
        for page in (wren.page, second):
            page.evaluate("() => window.tapped")
        for hand in (wren, tab):
            expect(hand.page.locator("[data-undo]")).to_contain_text(" by ")
            hand.in_the_book()
        until = time.monotonic() + 15  # "All in the book" may still be said of the shots before
        while len(labels := shooting_yard.labels()) < 2 * turn and time.monotonic() < until:
            time.sleep(0.1)
        assert len(labels) == len(set(labels)) == 2 * turn, labels
        said = [re.search(r"([A-Z]+\d+) by", hand.page.locator("[data-undo]").inner_text()) for hand in (wren, tab)]
        assert {one[1] for one in said if one} <= set(labels) and len({one[1] for one in said if one}) == 2
        assert not [label for label in labels if not label[-1].isdigit()], "the phone gave them apart, so the book had none to mend"


def test_a_label_that_the_book_had_to_mend_is_told_until_somebody_wrote_it_down(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.in_the_book()
    shooting_yard.server.stop()
    label = wren.loose()
    book = open_book(shooting_yard.server.folder)  # by another where it went in, before the phone came back
    body = {
        "label": label,
        "shooting_end": kit.shooting_end(book, shooting_yard.setup),
        "bow_build": kit.bow(book, "Elm stave").build,
        "arrow_build": shooting_yard.arrows["7"].build,
        "archer": shooting_yard.archers["Wren"],
        "purpose": "counted",
    }
    with book.read() as session:
        device = session.execute(select(Device.id).where(Device.letter == label[0])).scalar_one()
    kit.put(book, "shot", body, device=device)
    book.close()
    shooting_yard.server.start()
    wren.try_now()
    expect(wren.page.locator(STRIP)).to_contain_text("1 needs you", timeout=20_000)
    wren.page.locator("[data-needs-link]").tap()
    expect(wren.page.get_by_role("heading", name=f"{label} has another label")).to_be_visible()
    expect(wren.page.get_by_text(f"Where you wrote {label}, write {label}b.")).to_be_visible()
    assert not violations(wren.page)
    wren.tap("I have written it down")
    wren.in_the_book()
    wren.open("/range/butt")
    expect(wren.page.locator("main")).to_contain_text(f"Read {label}b")
    assert shooting_yard.labels() == sorted([label, f"{label}b"])


def test_nothing_is_asked_while_the_page_is_out_of_sight(wren: Hand) -> None:
    asked: list[str] = []
    wren.open().ready()
    wren.in_the_book()
    hide = """hidden => {
      Object.defineProperty(document, 'hidden', { get: () => hidden, configurable: true });
      document.dispatchEvent(new Event('visibilitychange'));
    }"""
    wren.page.evaluate(hide, True)
    wren.page.wait_for_timeout(600)
    wren.page.on("request", lambda one: asked.append(one.url))
    wren.page.wait_for_timeout(5500)
    assert asked == []
    wren.page.evaluate(hide, False)
    wren.page.wait_for_timeout(800)
    assert any("/api/range" in one for one in asked)


def test_one_that_needs_you_holds_up_nothing_and_the_strip_says_both(wren: Hand, shooting_yard: ShootingYard) -> None:
    wren.open().ready()
    wren.page.locator("[name=speed]").fill("fifty")
    labels = [wren.loose("{label} loosed, speed as typed")]
    expect(wren.page.locator(STRIP)).to_have_text("1 needs you")
    labels.append(wren.loose())
    shooting_yard.comes_to(labels[1], purpose="counted")
    shooting_yard.server.stop()
    labels.append(wren.loose())
    expect(wren.page.locator(STRIP)).to_have_text("1 needs you, 1 on this phone only. Laptop not reachable, keep logging")
    wren.page.evaluate("""() => { const now = Date.now; Date.now = () => now() + 130000; }""")
    expect(wren.page.locator(STRIP)).to_have_text(
        "1 needs you, 1 on this phone only, oldest 2 min. Laptop not reachable, keep logging", timeout=15_000
    )
    shooting_yard.server.start()
    wren.try_now()
    expect(wren.page.locator(STRIP)).to_have_text("1 needs you")
    assert shooting_yard.labels() == sorted(labels)
    assert (shooting_yard.server.folder / BOOK_FILE).exists()
