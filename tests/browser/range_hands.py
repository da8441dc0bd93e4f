"""What a hand does at the range, so that a test reads as a day does. Every tap is counted."""

from __future__ import annotations

import re
import time
from dataclasses import dataclass

from playwright.sync_api import Page, expect

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
        expect(self.page.locator("h1")).to_be_visible()
        return self

    def open_again(self) -> Hand:
        """The same address, as a browser opens a tab that it had thrown away."""
        address = self.page.url
        self.page.goto("about:blank")
        self.page.goto(address)
        expect(self.page.locator("h1")).to_be_visible()
        return self

    def tap(self, name: str | re.Pattern[str], *, exact: bool = True) -> None:
        self.taps += 1
        self.page.get_by_role("button", name=name, exact=exact).tap()

    def key(self, group: str | re.Pattern[str], words: str) -> None:
        """A key of a choice: by its legend and its words."""
        self.taps += 1
        part = self.page.get_by_role("group", name=group)
        part.locator("label", has_text=re.compile(rf"^\s*{re.escape(words)}")).first.tap()

    def spot(self, across: float = 0.6, down: float = 0.35) -> None:
        """On the panel's drawing, as shares of its width and height."""
        self.taps += 1
        touch = self.page.locator("[data-picture]")
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

    def loose(self) -> str:
        """One arrow; gives its label."""
        label = self.page.locator("h1 [data-slot=label]").inner_text()
        # Two taps within half a second are one: no bow is faster.
        self.page.wait_for_timeout(max(0.0, 550 - (time.monotonic() - self.loosed_at) * 1000))
        self.tap("Loosed")
        self.loosed_at = time.monotonic()
        expect(self.page.locator("[data-undo]")).to_contain_text(f"{label} loosed by")
        return label

    def to_the_butt(self) -> None:
        self.tap("We’re at the butt")
        expect(self.page.locator("[data-touch]")).to_be_visible()
        caution = self.page.get_by_role("button", name="I have read this")
        if caution.count():
            caution.tap()

    def read(self, rung: str, across: float = 0.6, down: float = 0.35) -> None:
        self.spot(across, down)
        self.key(re.compile("What it did"), rung)
        label = self.page.locator("h2#reading-title").inner_text()
        self.tap(f"Save {label}")
        expect(self.page.locator("[data-undo]")).to_contain_text(f"{label}: {rung.lower()}")

    def more(self, *groups: str) -> None:
        """Open More, and groups of it that are shut."""
        if not self.page.locator("[data-slot=more]").evaluate("one => one.open"):
            self.page.get_by_text("More: 3 or 4").tap()
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
