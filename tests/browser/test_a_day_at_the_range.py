"""A day at the range, from the owner's link to the CSV: the real command, a real file, real Chromium.

A laptop, two phones of 360 by 740 and a viewer. Everybody joins by the door, kit goes in by keyboard alone, each archer
looses ends of three and reads what the other loosed. A thumb taps twice, and a reply is lost on its way. At the end of the day
the viewer's page and the file say, shot by shot, what the hands did. A phone is removed; the next day the other is in.
"""

from __future__ import annotations

import csv
import io
import re
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect
from proofyard.records.trial import OUTCOMES
from proofyard.settings import BOOK_FILE

from tests.browser.conftest import PHONE
from tests.browser.every_page import violations
from tests.browser.range_hands import Hand
from tests.faults.a_real_server import Server, ask_book, assert_whole, serving

pytestmark = pytest.mark.slow

QUESTION = "Does the long needle bodkin get through 1.6 mm plate where the short bodkin does not?"
MOST_TAPS = 4  # of a reading that resembles the last, from the second shot on
# Arrow: the form of its head and its mass, as typed. The second five are Wren's.
ARROWS = {
    "1": ("Long needle bodkin", "62,4 g"),
    "2": ("Long needle bodkin", "62.9"),
    "3": ("Short bodkin", "963 gr"),
    "4": ("Short bodkin", "62.1"),
    "5": ("Leaf", "63.0"),
    "6": ("Short bodkin", "78.2"),
    "7": ("Long needle bodkin", "78.6"),
    "8": ("Long needle bodkin", "77.9"),
    "9": ("Leaf", "78.4"),
    "10": ("Barbed broadhead", "79"),
}


@dataclass(frozen=True)
class Loosed:
    """What a hand did and typed, to be found again at the end. Outcome levels are what was read last."""

    archer: str
    arrow: str
    speed_m_s: float
    low: int
    high: int


# What a page tells of itself: a finger or mouse put down, a field whose value changed, and how long it is.
COUNTING = """(() => {
  const tell = (what, much) => window.dayCounted && window.dayCounted(what, location.pathname, much);
  addEventListener("pointerdown", () => tell("taps", 1), true);
  const typed = "select, textarea, input:not([type=radio], [type=checkbox])";
  addEventListener("change", (event) => { if (event.target.matches(typed)) tell("fields", 1); }, true);
  addEventListener("load", () => tell("height", document.documentElement.scrollHeight));
})();"""
# The most that each part of the day may take: taps and fields of all its people together, pixels of its longest page.
# Fields are those of ten arrows, two bows, a panel, stand, scale and chronograph; phones are 360 px wide, the laptop 1,280.
MOST = {
    "owner and kit": (1, 49, 3700),
    "trial, day and set-up": (13, 7, 1800),
    "three let in": (15, 3, 1400),
    "twelve shots, read": (97, 12, 900),
    "viewer's evening": (2, 0, 5300),
}


@dataclass
class PartOfDay:
    """What one part of the day took."""

    taps: int = 0
    fields: int = 0
    height: int = 0
    longest: str = ""

    def count(self, what: str, path: str, much: int) -> None:
        if what == "height":
            if much > self.height:
                self.height, self.longest = much, re.sub(r"[0-9a-f-]{36}", "ID", path)
        else:
            setattr(self, what, getattr(self, what) + much)


@dataclass
class Day:
    """The day as it goes. `shots`: by label, what the hands did; `parts`: what each part of it took."""

    chromium: Browser
    folder: Path
    server: Server
    contexts: list[BrowserContext] = field(default_factory=list)
    shots: dict[str, Loosed] = field(default_factory=dict)
    speeds: dict[str, float] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)
    parts: dict[str, PartOfDay] = field(default_factory=dict)

    def begins(self, part: str) -> None:
        self.parts[part] = PartOfDay()

    def counted(self, what: str, path: str, much: int) -> None:
        if self.parts:
            list(self.parts.values())[-1].count(what, path, much)

    def browser(self, *, phone: bool = True, **more: Any) -> Page:
        screen = {"viewport": PHONE, "has_touch": True, "is_mobile": True} if phone else {"viewport": {"width": 1280, "height": 900}}
        context = self.chromium.new_context(**screen, **more)
        context.set_default_timeout(20_000)
        self.contexts.append(context)
        context.expose_binding("dayCounted", lambda _, what, path, much: self.counted(what, path, much))
        context.add_init_script(COUNTING)
        page = context.new_page()
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", lambda said: self.faults.append(said.text) if "Content Security Policy" in said.text else None)
        return page

    def in_the_file(self, label: str) -> int:
        """How many shots of that label stand in the book's file now, whatever the phones believe."""
        found = ask_book(self.folder / BOOK_FILE, "SELECT count(*) FROM shot WHERE label = ? AND voided_rev IS NULL", label)[0][0]
        assert isinstance(found, int)
        return found


@pytest.fixture
def day(tmp_path: Path, chromium: Browser) -> Iterator[Day]:
    with serving(tmp_path / "book") as server:
        going = Day(chromium, tmp_path / "book", server)
        yield going
        for context in going.contexts:
            context.close()
        assert not going.faults, going.faults


def test_a_day_at_the_range(day: Day) -> None:
    day.begins("owner and kit")
    laptop = owner_sits_down(day)
    kit_goes_in_by_keyboard(laptop)
    day.begins("trial, day and set-up")
    trial_is_opened(laptop)
    day.begins("three let in")
    tallow, wren = Hand(day.browser(), day.server.address), Hand(day.browser(), day.server.address)
    asks_and_is_let_in(laptop, tallow.page, "Tallow", day)
    asks_and_is_let_in(laptop, wren.page, "Wren", day)
    viewer = day.browser()
    asks_and_is_let_in(laptop, viewer, "Pip", day, role="viewer")

    day.begins("twelve shots, read")
    tallow.open().ready("Tallow", "112")
    wren.open().ready("Wren", "145")
    first = [*looses(day, tallow, "Tallow", {"1": "52.6", "2": "53,1 m/s", "3": "170 fps"}), *looses(day, wren, "Wren", {"6": "50.9"})]
    first += [*a_thumb_taps_twice(day, wren, "7", "51.2"), *a_reply_is_lost(day, wren, "8", "51.4")]
    assert [day.in_the_file(label) for label in first] == [1] * 6
    at_the_butt(day, tallow, wren, first[:3], ["Opened", "Point through", "Dented"])
    at_the_butt(day, wren, tallow, first[3:], ["Marked", "Opened", "Head through"], or_high={1: "Point through"})
    arrows_are_flexed(tallow, ["1", "2", "3", "6", "7", "8"])

    second = [
        *looses(day, tallow, "Tallow", {"1": "52.4", "2": "52.9", "3": "51.8"}),
        *looses(day, wren, "Wren", {"6": "50.7", "7": "51.0", "8": "51.5"}),
    ]
    at_the_butt(day, tallow, wren, second[:3], ["Point through", "Point through", "Opened"])
    at_the_butt(day, wren, tallow, second[3:], ["Dented", "Head through", "Point through"])
    the_bench_settles(day, wren, first[4], "Point through")
    for hand in (tallow, wren):
        hand.in_the_book()

    day.begins("viewer's evening")
    after_the_day(day, viewer)
    day.begins("after")
    wren_is_removed(day, laptop, wren)
    the_next_day(day, tallow, wren, viewer)
    assert_whole(day.folder / BOOK_FILE)
    took_no_more(day)


def took_no_more(day: Day) -> None:
    """Taps, fields and heights of each part, as a table (shown with -s) and against the most that it may take."""
    for part, took in day.parts.items():
        print(f"{part}: {took.taps} taps, {took.fields} fields, longest page {took.height} px ({took.longest})")
    for part, (taps, fields, height) in MOST.items():
        took = day.parts[part]
        assert took.taps <= taps and took.fields <= fields and took.height <= height, part


def owner_sits_down(day: Day) -> Page:
    """The link works once; a second browser that saw it over a shoulder gets nothing."""
    laptop = day.browser(phone=False)
    laptop.goto(day.server.link)
    laptop.get_by_role("button", name="I am the owner").click()
    expect(laptop.locator("h1")).to_have_text("Five steps to the first shot")
    late = day.browser()
    late.goto(day.server.link)
    expect(late.locator("h1")).to_contain_text("has been used")
    return laptop


def tab_to(page: Page, name: str) -> None:
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.name || document.activeElement.textContent.trim()") == name:
            return
    raise AssertionError(f"Tab never came to {name}")


def by_keys(page: Page, typed: dict[str, str]) -> None:
    """Type into the named controls in the order of the page, with Tab between them; then Enter."""
    for name, text in typed.items():
        tab_to(page, name)
        page.keyboard.type(text)
        shown = page.locator(f"[name='{name}']").evaluate("one => one.selectedOptions ? one.selectedOptions[0].textContent : one.value")
        assert shown == text, name
    page.keyboard.press("Enter")


def kit_goes_in_by_keyboard(laptop: Page) -> None:
    """The eight-minute set-up, once for each archer: no mouse, no finger."""
    laptop.get_by_role("link", name="Begin").press("Enter")
    by_keys(
        laptop,
        {
            "archer-call_name": "Tallow",
            "bow-name": "Ashen",
            "bow-marked_weight": "112 lb",
            **arrow_fields("1", "2", "3", "4", "5"),
            "scale-name": "S1",
            "scale-accuracy": "0.1 g",
            "panel-name": "P1",
            "panel-construction": "One-piece plate",
            "panel-thickness": "1.6 mm",
            "panel-outline": "Breastplate",
            "panel-width": "320 mm",
            "panel-height": "40 cm",
            "stand-name": "Straw butt",
            "chronograph-name": "C1",
            "chronograph-accuracy_ratio": "0.5 %",
        },
    )
    expect(laptop.locator("h1")).to_have_text("Kit is in the book")
    laptop.goto(laptop.url.replace("/kit/started", "/kit/start"))
    by_keys(
        laptop, {"archer-call_name": "Wren", "bow-name": "Bracken", "bow-marked_weight": "145#", **arrow_fields("6", "7", "8", "9", "10")}
    )
    expect(laptop.get_by_role("main")).to_contain_text("Arrows weighed")
    assert violations(laptop) == ()


def arrow_fields(*tags: str) -> dict[str, str]:
    made: dict[str, str] = {}
    for n, tag in enumerate(tags, 1):
        form, mass = ARROWS[tag]
        made |= {f"arrow{n}-tag": tag, f"arrow{n}-head-form": form, f"arrow{n}-value": mass}
    return made


def trial_is_opened(laptop: Page) -> None:
    laptop.get_by_role("link", name="Plan a trial").click()
    laptop.get_by_label("The question").fill(QUESTION)
    laptop.get_by_role("button", name="Save").click()
    laptop.get_by_role("button", name="Open this trial").click()
    laptop.get_by_role("link", name=re.compile("Add a session")).click()
    laptop.get_by_label("Place").fill("Orrisholt yard")
    laptop.get_by_role("button", name="Save").click()
    expect(laptop.get_by_text("No shot is taken until all five are ticked")).to_be_visible()
    for box in laptop.get_by_role("checkbox").all():
        box.check(force=True)
    laptop.get_by_role("button", name="Confirm the ticked ones").click()
    expect(laptop.get_by_role("heading", name="Cautions: all ticked, this session is open")).to_be_visible()
    laptop.get_by_role("link", name="Add a set-up").click()
    laptop.get_by_label("Panel build").select_option(index=1)
    laptop.get_by_label("Stand", exact=True).select_option(label="Straw butt")
    laptop.locator("[name=distance]").fill("14 m")
    laptop.get_by_label("Chronograph", exact=True).select_option(label="C1")
    laptop.locator("[name=chronograph_at]").fill("2 m")
    laptop.get_by_role("button", name="Save").click()
    expect(laptop.locator("#session-setups")).to_contain_text("P1")
    assert violations(laptop) == ()


def asks_and_is_let_in(laptop: Page, phone: Page, name: str, day: Day, *, role: str = "archer") -> None:
    """Two words on both; only then the owner taps. The phone goes on by itself."""
    phone.goto(day.server.address + "/range")
    phone.get_by_role("link", name="Ask to join").tap()
    phone.get_by_label("Call name").fill(name)
    phone.get_by_role("button", name="Ask to join").tap()
    words = phone.locator(".join__words").inner_text()
    assert len(words.split()) == 2
    laptop.get_by_role("link", name="More", exact=True).click()
    laptop.get_by_role("main").get_by_role("link", name="Phones").click()
    asking = laptop.locator(".phones__asking", has_text=f"calling itself {name}")
    expect(asking.locator(".join__words")).to_have_text(" ".join(words.split()), use_inner_text=False)
    asking.get_by_role("button", name=f"Let in as {role}").click()
    expect(phone).to_have_url(re.compile(r"/range$" if role == "archer" else r"/(results|trials)?$"), timeout=10_000)


def pick(hand: Hand, tag: str, speed: str) -> str:
    """Arrow and speed; gives the label that the next loose will have."""
    page = hand.page
    if page.locator("[data-slot=odd] > summary").inner_text().find("more") >= 0 and not page.locator("[data-slot=odd]").evaluate(
        "one => one.open"
    ):
        page.locator("[data-slot=odd] > summary").tap()
    key = page.locator("label:has([name=arrow_build])", has_text=re.compile(rf"^\s*{tag}\b")).first
    key.tap()
    page.locator("[name=speed]").fill(speed)
    label = page.locator("h1 [data-slot=label]").inner_text()
    return label


def metres_a_second(typed: str) -> float:
    """As a person would work it out: 1 ft is 0.3048 m by definition (NIST SP 811, appendix B.8)."""
    number, _, unit = typed.replace(",", ".").partition(" ")
    return float(number) * (0.3048 if unit == "fps" else 1.0)


def looses(day: Day, hand: Hand, archer: str, arrows: dict[str, str]) -> list[str]:
    labels = []
    if not hand.page.locator("[data-line]").count():
        hand.open()
    for tag, speed in arrows.items():
        label = pick(hand, tag, speed)
        assert hand.loose() == label
        day.shots[label] = Loosed(archer, tag, metres_a_second(speed), -1, -1)
        labels.append(label)
    hand.in_the_book()
    return labels


def a_thumb_taps_twice(day: Day, hand: Hand, tag: str, speed: str) -> list[str]:
    """A double tap of a cold thumb is one loose."""
    label = pick(hand, tag, speed)
    before = ask_book(day.folder / BOOK_FILE, "SELECT count(*) FROM shot")[0][0]
    box = hand.page.locator("[data-keys] .button--main").bounding_box()
    assert box is not None
    hand.page.wait_for_timeout(600)  # the arrow before this one is long gone
    for _ in range(2):
        hand.page.touchscreen.tap(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        hand.page.wait_for_timeout(120)
    hand.loosed_at = time.monotonic()
    hand.in_the_book()
    assert ask_book(day.folder / BOOK_FILE, "SELECT count(*) FROM shot")[0][0] == before + 1
    day.shots[label] = Loosed("Wren", tag, metres_a_second(speed), -1, -1)
    return [label]


def a_reply_is_lost(day: Day, hand: Hand, tag: str, speed: str) -> list[str]:
    """The book takes it, the phone never hears so, and sends it again."""
    sent: list[str] = []

    def take_it_and_say_nothing(route: Route) -> None:
        sent.append(route.request.post_data or "")
        if len(sent) == 1:
            route.fetch()
            assert day.in_the_file(label) == 1, "the book should have it by now"
            route.abort()
        else:
            route.continue_()

    hand.page.route("**/api/ops", take_it_and_say_nothing)
    label = pick(hand, tag, speed)
    hand.loose()
    hand.in_the_book()
    hand.page.unroute("**/api/ops")
    assert len(sent) >= 2 and day.in_the_file(label) == 1
    day.shots[label] = Loosed("Wren", tag, metres_a_second(speed), -1, -1)
    return [label]


def at_the_butt(
    day: Day, theirs: Hand, reader: Hand, labels: list[str], outcome_levels: list[str], or_high: dict[int, str] | None = None
) -> None:
    """`reader` reads on its own phone what `theirs` loosed. A plain reading takes at most four taps and no keyboard."""
    theirs.in_the_book()
    reader.open("/range/butt")
    caution = reader.page.get_by_role("button", name="I have read this")
    reader.page.wait_for_timeout(300)
    if caution.count():
        caution.tap()
    for n, (label, outcome_level) in enumerate(zip(labels, outcome_levels, strict=True)):
        title = reader.page.locator("h2#reading-title")
        if n:
            expect(title).not_to_have_text(labels[n - 1])  # the next unread one opens by itself
        if not title.count() or title.inner_text() != label:
            reader.page.get_by_text(f"Read {label}").tap()
        expect(title).to_have_text(label)
        before = reader.taps
        high = (or_high or {}).get(n)
        if high:
            reader.spot(*place_of(label))
            reader.key(re.compile("^Outcome, judged"), outcome_level)
            reader.more()
            reader.key(re.compile("^or up to$"), high)
            reader.page.locator("label:has([name=rear_check])").first.tap()
            reader.tap(f"Save {label}")
        else:
            reader.read(outcome_level, *place_of(label))
            assert reader.taps - before <= MOST_TAPS
        low = outcome_level_number(outcome_level)
        was = day.shots[label]
        day.shots[label] = Loosed(was.archer, was.arrow, was.speed_m_s, low, outcome_level_number(high) if high else low)
    reader.in_the_book()


def place_of(label: str) -> tuple[float, float]:
    """Places far enough from each other that most hits are fair."""
    n = int(label[1:]) - 1 + 6 * (label[0] > "B")
    return 0.28 + 0.15 * (n % 4), 0.24 + 0.15 * (n // 4)


def outcome_level_number(words: str) -> int:
    return next(int(outcome_level) for outcome_level, said in OUTCOMES.items() if said == words)


def arrows_are_flexed(hand: Hand, tags: list[str]) -> None:
    hand.open("/range/bench")
    hand.tap("I have read this")
    for tag in tags:
        row = hand.page.locator(".bench__arrow").filter(has=hand.page.locator(".row__mark", has_text=re.compile(rf"^{tag}$")))
        row.get_by_role("button", name="Flexed and found sound").tap()
        expect(row).to_have_count(0)
    hand.in_the_book()
    hand.open("/range")


def the_bench_settles(day: Day, hand: Hand, label: str, outcome_level: str) -> None:
    hand.open("/range/bench")
    hand.tap("I have read this")
    hand.page.get_by_role("button", name=re.compile(f"start with {label}")).tap()
    hand.key(re.compile("What came through"), outcome_level)
    hand.tap(f"Save {label}")
    expect(hand.page.locator("[data-slot=lead]")).to_contain_text("No shot has to be checked from behind.")
    was = day.shots[label]
    day.shots[label] = Loosed(
        was.archer, was.arrow, was.speed_m_s, outcome_level_number(outcome_level), outcome_level_number(outcome_level)
    )
    hand.in_the_book()


def after_the_day(day: Day, viewer: Page) -> None:
    """The viewer's page, the file, and what the hands did: the same, shot by shot and cell by cell."""
    viewer.goto(day.server.address + "/download")
    with viewer.expect_download() as coming:
        viewer.locator("#file-shots a").first.tap()
    text = Path(coming.value.path()).read_text(encoding="utf-8-sig")
    rows = {row["shot_label"]: row for row in csv.DictReader(io.StringIO(text, newline=""))}
    assert sorted(rows) == sorted(day.shots)
    for label, did in day.shots.items():
        row = rows[label]
        assert (row["loosed_by"], row["arrow"], row["outcome_low"], row["outcome_high"]) == (
            did.archer,
            did.arrow,
            str(did.low),
            str(did.high),
        ), label
        assert float(row["speed_at_chronograph_m_s"]) == pytest.approx(did.speed_m_s, rel=1e-12), label
        assert (row["trial"], row["panel"], row["unread"], row["voided"]) == (QUESTION, "P1", "no", "no"), label
        mass = float(row["arrow_mass_kg"])
        assert float(row["energy_at_chronograph_j"]) == pytest.approx(mass * did.speed_m_s**2 / 2, rel=1e-12), label

    viewer.goto(day.server.address + "/results")
    expect(viewer.get_by_role("main")).to_contain_text("of 12 shots")
    assert violations(viewer) == ()
    viewer.get_by_role("link", name="Table", exact=True).tap()
    expect(viewer.locator("#results-table tbody").first).to_be_visible()
    counted = {label: row for label, row in rows.items() if row["counted_by_default"] == "yes"}
    assert len(counted) >= 6, "most hits should be fair, or this compares nothing"
    assert cells_on(viewer) == cells_of(counted, [band for _, band in cells_on(viewer)])
    assert violations(viewer) == ()
    viewer.goto(day.server.address + "/results/shots")
    listed = {one.locator(".row__mark").inner_text(): one.inner_text() for one in viewer.locator("main .row").all()}
    assert sorted(listed) == sorted(counted)
    for label, words in listed.items():
        row = counted[label]
        assert row["outcome_low_words"] in words and f"arrow {row['arrow']}" in words and row["loosed_by"] in words
        said = re.search(r"(\d+(?:\.(\d+))?)\sJ\b", words)
        half_a_digit = 0.5 / 10 ** len(said[2] or "") if said else 0.0
        assert said and abs(float(said[1]) - float(row["energy_at_chronograph_j"])) <= half_a_digit, words


FORM_WORDS = {"Long needle bodkin": "needle", "Short bodkin": "short_bodkin", "Leaf": "leaf", "Barbed broadhead": "barbed"}
Cells = dict[tuple[str, str], tuple[list[str], int]]


def cells_on(viewer: Page) -> Cells:
    """Head form and band -> labels of its tiles, and how many of them were through, as the table says."""
    found: Cells = {}
    for group in viewer.locator("#results-table tbody").all():
        form = FORM_WORDS[group.locator(".tally__head").inner_text().strip()]
        for row in group.locator("tr.results__row").all():
            labels = [text.split(",")[0] for text in row.locator(".results__tile").all_inner_texts()]
            if not labels:
                continue
            through = re.match(r"(\d+) of (\d+)", row.locator(".tally__count").inner_text())
            assert through and int(through[2]) == len(labels)
            found[form, row.locator("th").inner_text()] = (sorted(labels), int(through[1]))
    return found


def cells_of(rows: dict[str, dict[str, str]], bands: list[str]) -> Cells:
    """The same, counted out of the file."""
    found: Cells = {}
    for label, row in rows.items():
        energy = float(row["energy_at_chronograph_j"])
        band = next(band for band in bands if holds(band, energy))
        labels, through = found.get((row["head_form"], band), ([], 0))
        found[row["head_form"], band] = (sorted([*labels, label]), through + (int(row["outcome_low"]) >= 4))
    return found


def holds(band: str, energy: float) -> bool:
    """ "60 to 80", "up to 60", "from 80": the lower edge belongs to it."""
    edges = [float(text) for text in re.findall(r"[\d.]+", band)]
    if len(edges) == 2:
        return edges[0] <= energy < edges[1]
    return energy >= edges[0] if re.search("from|up$|more", band) else energy < edges[0]


def wren_is_removed(day: Day, laptop: Page, wren: Hand) -> None:
    laptop.get_by_role("link", name="More", exact=True).click()
    laptop.get_by_role("main").get_by_role("link", name="Phones").click()
    row = laptop.locator(".row", has_text="Wren")
    row.get_by_role("link", name="Remove").click()
    laptop.get_by_label("Why").fill("lost in the yard")
    laptop.get_by_role("button", name="Remove").click()
    expect(laptop.locator(".row--voided", has_text="Wren")).to_contain_text("lost in the yard")
    wren.page.goto(day.server.address + "/trials")
    expect(wren.page.locator("h1")).to_have_text("This phone has not joined yet")


def the_next_day(day: Day, tallow: Hand, wren: Hand, viewer: Page) -> None:
    """The laptop slept, the phones' browsers were closed: whoever was in is in, whoever was removed is out."""
    port = day.server.address.rsplit(":", 1)[1]
    kept = {name: page.context.storage_state() for name, page in (("Tallow", tallow.page), ("Wren", wren.page), ("Pip", viewer))}
    for context in day.contexts:
        context.close()
    day.contexts.clear()
    assert day.server.stop()[0] == 0
    with serving(day.folder, "--port", port) as server:
        assert server.address == day.server.address
        again = {name: day.browser(storage_state=state) for name, state in kept.items()}
        hand = Hand(again["Tallow"], server.address).open().ready("Tallow", "112")
        label = pick(hand, "4", "52.2")
        assert label not in day.shots
        hand.loose()
        hand.in_the_book()
        assert day.in_the_file(label) == 1
        again["Pip"].goto(server.address + "/results")
        # The server has just begun, and so has the process that makes long pages: on a busy machine the page says so, and comes by itself.
        expect(again["Pip"].get_by_role("main")).to_contain_text("of 13 shots", timeout=60_000)
        for place in ("/range", "/trials"):
            answer = again["Wren"].goto(server.address + place)
            assert answer is not None and answer.status == 401
        for context in day.contexts:
            context.close()
        day.contexts.clear()
        assert server.stop()[0] == 0
