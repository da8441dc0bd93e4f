"""The worst day at the range: two phones, each a browser of its own, and every fault that a yard has.

The network is cut for nearly all shots. One tab is thrown away with a reading half filled in, one browser is killed
(SIGKILL) right after a tap, one page is opened again without the laptop, answers are lost once the network is back, and
the server is killed while both phones send. In the end every shot that a hand saw saved is in the book, once, and every
photo with its checksum.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import signal
import time
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, Page, Playwright, expect
from proofyard.access.seats import COOKIE, named
from proofyard.exchange.photo_files import PhotoFolder
from proofyard.opening import open_book
from proofyard.settings import BOOK_FILE

from tests import kit_for_tests as kit
from tests.browser.conftest import PHONE
from tests.browser.cut_wire import HERE, Wire
from tests.browser.range_hands import Hand
from tests.browser.range_photos import a_photo, checksum
from tests.browser.real_server import free_port
from tests.faults.a_real_server import Server, ask_book, assert_whole, let_in, serving

pytestmark = pytest.mark.slow


@dataclass
class Browser:
    """A phone: a Chromium of its own on a profile of its own, behind a wire of its own."""

    playwright: Playwright
    chromium: str
    profile: Path
    wire: Wire
    address: str
    context: BrowserContext | None = None
    hand: Hand = field(init=False)

    def launch(self) -> Hand:
        port = self.address.rpartition(":")[2]
        self.context = self.playwright.chromium.launch_persistent_context(
            self.profile,
            executable_path=self.chromium,
            viewport=PHONE,
            has_touch=True,
            is_mobile=True,
            args=["--no-sandbox", f"--host-resolver-rules=MAP {HERE}:{port} {HERE}:{self.wire.port}"],
        )
        self.hand = Hand(self.context.pages[0] if self.context.pages else self.context.new_page(), self.address)
        return self.hand

    def discard_tab(self) -> Hand:
        """What a phone does to a page that it has no room for: nothing of it is told first."""
        assert self.context is not None
        page = self.context.new_page()
        self.hand.page.close(run_before_unload=False)
        self.hand = Hand(page, self.address, loosed_at=self.hand.loosed_at)
        return self.hand

    def kill(self) -> int:
        """SIGKILL to every process of this browser; how many there were."""
        of: dict[int, int] = {}
        first: list[int] = []
        for place in (one for one in Path("/proc").iterdir() if one.name.isdigit()):
            with contextlib.suppress(OSError):
                of[int(place.name)] = int((place / "stat").read_text().rpartition(")")[2].split()[1])
                if f"--user-data-dir={self.profile}".encode() in (place / "cmdline").read_bytes():
                    first.append(int(place.name))
        ours, newly = set(first), set(first)
        while newly:
            newly = {child for child, parent in of.items() if parent in newly} - ours
            ours |= newly
        for one in ours:
            with contextlib.suppress(ProcessLookupError):
                os.kill(one, signal.SIGKILL)
        killed = len(ours)
        with contextlib.suppress(Error):
            assert self.context is not None
            self.context.close()
        return killed

    def close(self) -> None:
        with contextlib.suppress(Error):
            if self.context is not None:
                self.context.close()


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[tuple[Path, dict[str, str]]]:
    """A book with enough arrows for each hand, and the secrets of two phones that are in."""
    folder = tmp_path / "book"
    tokens = {name: let_in(folder, "archer", name) for name in ("Wren", "Tallow")}
    with closing(open_book(folder)) as book:
        for name in tokens:
            kit.archer(book, name)
        kit.bow(book, "Ash stave", marked_weight="82 lbf")
        kit.bow(book, "Yew stave", marked_weight="112 lbf")
        panel = kit.panel(book, "P3", outline="breastplate", thickness="1.6 mm")
        for n in range(1, 91):
            kit.arrow(book, str(n), form="needle", masses=())
        day = kit.open_trial(book, "Does the long needle bodkin get through 1.6 mm plate?")
        kit.setup(book, day.session, panel.build, stand_id=kit.stand(book), distance="14 m")
    yield folder, tokens


@pytest.fixture
def play(needs_chromium: str, playwright: Playwright) -> tuple[Playwright, str]:
    return playwright, needs_chromium


def add_photo(hand: Hand, label: str, file: Path) -> None:
    """From the row of that shot; seen saved."""
    page = hand.page
    page.locator(".masthead__link", has_text="Butt").tap()
    read_caution(page)
    row = page.get_by_text(f"Read {label}", exact=True)
    if row.count():
        row.first.tap()
    expect(page.locator("h2#reading-title")).to_have_text(label)
    page.get_by_label(f"Add a photo of {label}").set_input_files(file)
    expect(page.locator("[data-photos] .row").last).to_contain_text("saved on this phone")
    page.locator(".masthead__link", has_text="Line").tap()
    expect(page.locator("h1 [data-slot=label]")).to_be_visible()


def read_caution(page: Page) -> None:
    caution = page.get_by_role("button", name="I have read this")
    if caution.count():
        caution.first.tap()


def turn_about(hands: tuple[Hand, Hand], many: int, logged: list[str]) -> None:
    """Both loose, turn about."""
    for _ in range(many):
        for hand in hands:
            logged.append(hand.loose())


@pytest.mark.parametrize("shots", [pytest.param(40, marks=pytest.mark.long), 6])
def test_every_shot_that_a_hand_saw_saved_is_in_the_book_once(
    shots: int, yard: tuple[Path, dict[str, str]], play: tuple[Playwright, str], tmp_path: Path
) -> None:
    folder, tokens = yard
    port = free_port()
    address = f"http://{HERE}:{port}"
    began = time.monotonic()
    with ExitStack() as left:
        server = left.enter_context(serving(folder, "--port", port))
        phones = []
        for name, token in tokens.items():
            wire = Wire(port)
            left.callback(wire.close)
            phone = Browser(*play, tmp_path / name, wire, address)
            left.callback(phone.close)
            phones.append(phone)
            get_ready(phone, token, name, "112" if name == "Wren" else "82")
        day = _Day(server, phones[0], phones[1], tmp_path)
        day.shoot(shots)
        day.come_back(left, folder, port)
        drained = day.arrive()
    figures = verify(folder, day)
    figures |= {"shots a phone": shots, "seconds to arrive": round(drained, 1), "seconds in all": round(time.monotonic() - began, 1)}
    print(", ".join(f"{name}: {value}" for name, value in figures.items()))


def get_ready(phone: Browser, token: str, name: str, bow: str) -> None:
    """Once with the laptop there, as every phone needs; then shut and opened again, so that its disk has all of it."""
    hand = phone.launch()
    assert phone.context is not None
    phone.context.add_cookies(
        [{"name": named(COOKIE, phone.address), "value": token, "url": phone.address, "expires": time.time() + 86400}]
    )
    hand.open().ready(name, bow)
    hand.in_the_book()
    hand.page.wait_for_timeout(500)  # the last choice is on its disk
    phone.context.close()
    phone.launch().open()
    phone.hand.in_the_book()


@dataclass
class _Day:
    server: Server
    wren: Browser
    tallow: Browser
    place: Path
    logged: list[str] = field(default_factory=list)
    photos: dict[str, str] = field(default_factory=dict)
    killed: int = 0

    @property
    def hands(self) -> tuple[Hand, Hand]:
        return self.wren.hand, self.tallow.hand

    def photo(self, hand: Hand, label: str) -> None:
        file = a_photo(self.place / f"{label}-{len(self.photos)}.jpg", seed=len(self.photos) + 7, side=500)
        add_photo(hand, label, file)
        self.photos[checksum(file)] = label

    def shoot(self, shots: int) -> None:
        """All but the first shot of each without the laptop."""
        turn_about(self.hands, 1, self.logged)
        for hand in self.hands:
            hand.in_the_book()
        for phone in (self.wren, self.tallow):
            phone.wire.cut()
        third = (shots - 1) // 3
        turn_about(self.hands, third, self.logged)
        self.photo(self.wren.hand, self.logged[-2])
        self.photo(self.tallow.hand, self.logged[-1])
        self.throw_a_tab_away()
        turn_about(self.hands, third, self.logged)
        self.kill_a_browser()
        self.wren.hand.open()  # the address entered again, without the laptop: out of the browser's own cache
        turn_about(self.hands, shots - 2 - 2 * third, self.logged)
        self.logged.append(self.wren.hand.loose())
        self.photo(self.tallow.hand, self.logged[-2])
        for hand in self.hands:
            expect(hand.page.locator("[data-strip] p")).to_contain_text("Laptop not reachable, keep logging")

    def throw_a_tab_away(self) -> None:
        """With a reading half filled in: it is there again, and is taken out before the day goes on."""
        hand = self.wren.hand
        hand.page.locator(".masthead__link", has_text="Butt").tap()
        read_caution(hand.page)
        hand.spot()
        hand.key(re.compile("^Outcome, judged"), "Opened")
        half = hand.page.locator("h2#reading-title").inner_text()
        where = hand.page.locator("[data-slot=where]").inner_text()
        hand.page.wait_for_timeout(700)
        address = hand.page.url
        hand = self.wren.discard_tab()
        hand.page.goto(address)  # as the browser does when somebody comes back to the tab
        expect(hand.page.locator("h2#reading-title")).to_have_text(half)
        expect(hand.page.locator("[data-slot=where]")).to_have_text(where)
        expect(hand.page.locator("[name=outcome_low]:checked")).to_have_value("3")
        hand.page.locator(".masthead__link", has_text="Line").tap()

    def kill_a_browser(self) -> None:
        """Right after a tap that said saved. The same profile is opened again, still without the laptop."""
        self.logged.append(self.tallow.hand.loose())
        self.killed = self.tallow.kill()
        assert self.killed >= 2, "the browser was not found"
        hand = self.tallow.launch()
        hand.open()
        expect(hand.page.locator("[data-slot=shots] .row").first).to_contain_text(self.logged[-1])

    def come_back(self, left: ExitStack, folder: Path, port: int) -> None:
        """First what is asked arrives and the answers are lost; then the server dies in the middle of it."""
        for phone in (self.wren, self.tallow):
            phone.wire.deafen()
            phone.hand.try_now()
        until = time.monotonic() + 20
        while not all(phone.wire.lost_answers >= 3 for phone in (self.wren, self.tallow)):
            self.wren.hand.page.wait_for_timeout(50)
            assert time.monotonic() < until, "no answer was lost"
        for phone in (self.wren, self.tallow):
            phone.wire.mend()
            phone.hand.try_now()
        self.wren.hand.page.wait_for_timeout(30)
        self.server.kill()
        for phone in (self.wren, self.tallow):
            phone.hand.page.wait_for_timeout(300)
        self.server = left.enter_context(serving(folder, "--port", port))

    def arrive(self) -> float:
        began = time.monotonic()
        for hand in self.hands:
            hand.try_now()
        for hand in self.hands:
            expect(hand.page.locator("[data-strip] p")).to_have_text(re.compile("^All in the book"), timeout=120_000)
        return time.monotonic() - began


def verify(folder: Path, day: _Day) -> dict[str, object]:
    book = folder / BOOK_FILE
    assert_whole(book)
    stored = [str(row[0]) for row in ask_book(book, "SELECT label FROM shot WHERE voided_rev IS NULL ORDER BY label")]
    assert stored == sorted(day.logged), "each once, and none but those"
    assert len(set(day.logged)) == len(day.logged)
    taken = ask_book(book, "SELECT count(op_id), count(DISTINCT op_id), count(DISTINCT record_id) FROM revision WHERE noun = 'shot'")[0]
    assert taken == (len(day.logged),) * 3, "one operation a shot: a lost answer is no second one"
    rows = ask_book(book, "SELECT id, sent_sha256, sha256, record_id FROM photo")
    assert {str(sent) for _, sent, _, _ in rows} == set(day.photos) and len(rows) == len(day.photos)
    shots: dict[str, str] = dict(ask_book(book, "SELECT id, label FROM shot"))
    files = PhotoFolder(folder)
    for photo_id, sent, kept, record in rows:
        content = files.read(str(photo_id))
        assert content is not None and checksum_of(content) == kept
        assert shots[record] == day.photos[str(sent)]
    return {
        "in the book": len(stored),
        "photos by checksum": len(rows),
        "processes of the browser killed": day.killed,
        "answers lost on the way": day.wren.wire.lost_answers + day.tallow.wire.lost_answers,
    }


def checksum_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
