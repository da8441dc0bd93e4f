"""What a hand does at the range, so that a test reads as a day does. Every tap is counted."""

from __future__ import annotations

import re
import time
from dataclasses import dataclass

from playwright.sync_api import Page, TimeoutError, expect
from proofyard.records.trial import OUTCOMES

# "Opened" as its key says it: each outcome carries its number.
NUMBERED = {word: f"{number} {word}" for number, word in OUTCOMES.items()}
OF_OUTCOMES = ("^Outcome, judged", "^or up to$", "What came through")
IN_THE_BOOK = re.compile(r"^All in the book, \d\d:\d\d")


@dataclass
class Hand:
    """One archer with one phone."""

    page: Page
    address: str
    taps: int = 0
    loosed_at: float = 0.0

    def open(self, place: str = "/range") -> Hand:
        self.page.goto(self.address + place)
        expect(self.page.get_by_role("heading", level=1)).to_be_visible()
        return self

    def open_again(self) -> Hand:
        """The same address, as a browser opens a tab that it had thrown away."""
        address = self.page.url
        self.page.goto("about:blank")
        self.page.goto(address)
        expect(self.page.get_by_role("heading", level=1)).to_be_visible()
        return self

    def tap(self, name: str | re.Pattern[str], *, exact: bool = True) -> None:
        self.taps += 1
        self.page.get_by_role("button", name=name, exact=exact).tap()

    def key(self, group: str | re.Pattern[str], words: str) -> None:
        """A key of a choice: by its legend and its words."""
        self.taps += 1
        part = self.page.get_by_role("group", name=group)
        if part.count() == 0 and self.page.locator("[data-slot=odd]:visible").count():  # on the line, folded away: what is unusual
            self.tap_fold(re.compile("nusual shot|^This shot"))
        level = re.escape(words)
        if isinstance(group, re.Pattern) and group.pattern in OF_OUTCOMES and words in NUMBERED:
            level = rf"({re.escape(NUMBERED[words])}|{level} \({NUMBERED[words][0]}\))"  # with its number, before it or behind
        key = part.locator("label", has_text=re.compile(rf"^\s*{level}")).first
        try:
            key.tap(timeout=2000)
        except TimeoutError:  # the fold closed by itself just then, as it does once a shot is saved
            self.tap_fold(re.compile("nusual shot|^This shot"))
            key.tap()

    def spot(self, across: float = 0.6, down: float = 0.35) -> None:
        """On the panel's drawing, as shares of its width and height."""
        self.taps += 1
        touch = self.page.locator("[data-drawing]")
        touch.evaluate("one => one.scrollIntoView({ block: 'center' })")  # clear of strip and main key
        box = touch.bounding_box()
        assert box is not None
        self.page.touchscreen.tap(box["x"] + across * box["width"], box["y"] + down * box["height"])

    def ready(self, archer: str = "Wren", bow: str = "112") -> Hand:
        """Cautions read, archer and bow chosen: what is done once."""
        self.tap("I have read this")
        self.key(re.compile("Loosed by"), archer)
        self.key(re.compile("Bow"), bow)
        return self

    def tap_fold(self, words: re.Pattern[str]) -> None:
        self.taps += 1
        self.page.locator("summary:visible", has_text=words).first.tap()

    def answer(self, words: str | re.Pattern[str]) -> None:
        """The question at the thumb; no thumb answers within half a second of its coming."""
        expect(self.page.locator("[data-ask]")).to_be_visible()
        self.page.wait_for_timeout(550)
        self.tap(words)

    def loose(self, *answers: str, asked: bool = True) -> str:
        """One arrow; gives its label. Whoever was at the butt says first that they are back. `answers`: keys of the questions that
        come, {label} for the label; asked=False: that may come, if the other phone's news was in time."""
        back = self.page.get_by_role("button", name="We’re back", exact=True)
        if back.is_visible():
            back.tap()
        label = self.page.locator("h1 [data-slot=label]").inner_text()
        # Two taps within half a second are one: no bow is faster.
        self.page.wait_for_timeout(max(0.0, 550 - (time.monotonic() - self.loosed_at) * 1000))
        self.tap("Loosed")
        if not asked:
            self.page.wait_for_timeout(300)
            answers = answers if self.page.locator("[data-ask]").is_visible() else ()
        for words in answers:
            self.answer(words.replace("{label}", label))
        self.loosed_at = time.monotonic()
        expect(self.page.locator("[data-undo]")).to_contain_text(f"{label} by")
        return label

    def undo(self) -> None:
        """What was done last; the key names the shot that it takes back."""
        self.tap(re.compile("^Undo( [A-Z]+\\d+[a-z]?)?$"))

    def to_the_butt(self) -> None:
        self.tap("We’re at the butt")
        expect(self.page.locator("[data-touch]")).to_be_visible()
        caution = self.page.get_by_role("button", name="I have read this")
        if caution.count():
            caution.tap()

    def read(self, outcome_level: str, across: float = 0.6, down: float = 0.35) -> None:
        self.spot(across, down)
        self.key(re.compile("^Outcome, judged"), outcome_level)
        label = self.page.locator("h2#reading-title").inner_text()
        self.tap(f"Save {label}")
        expect(self.page.locator("[data-undo]")).to_contain_text(f"{label}: {NUMBERED[outcome_level].lower()}")

    def more(self, *groups: str) -> None:
        """Open More, and groups of it that are shut."""
        if not self.page.locator("[data-slot=more]").evaluate("one => one.open"):
            self.page.get_by_text("More: two possible outcomes").tap()
        for group in groups:
            self.page.locator(".butt__more > summary", has_text=group).tap()

    def try_now(self) -> None:
        """As a tap on it would; by now it may be out of sight, since the phone tries by itself too."""
        self.page.evaluate("document.querySelector('[data-try-now]').click()")

    @property
    def strip(self) -> str:
        return self.page.locator("[data-strip] p").inner_text()

    def in_the_book(self) -> None:
        expect(self.page.locator("[data-strip] p")).to_have_text(IN_THE_BOOK, timeout=20_000)
