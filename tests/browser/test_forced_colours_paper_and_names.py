"""What the reader's system changes: forced colours, paper, names without a break, and a pull that would reload."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Locator, Page, expect
from proofyard.access.seats import COOKIE, named
from proofyard.records.shot_facts import shot_facts

from tests import kit_for_tests as kit
from tests.browser.conftest import PHONE, ShootingYard
from tests.browser.demo_yard import DemoYard
from tests.browser.range_hands import Hand

pytestmark = pytest.mark.long

READABLE = 4.5  # WCAG 2.2, success criterion 1.4.3
NAME = "Wolfeschlegelsteinhausenbergerdorffachtz"  # 40 characters: what a call name may have

WORDS = """(one) => { const end = document.createTreeWalker(one, NodeFilter.SHOW_TEXT); const found = [];
  while (end.nextNode()) if (end.currentNode.data.trim()) { const range = document.createRange(); range.selectNodeContents(end.currentNode);
    for (const box of range.getClientRects()) if (box.width > 4 && box.height > 4) found.push([box.left, box.top, box.right, box.bottom]); }
  return found; }"""


def light_of(pixel: tuple[int, ...]) -> float:
    """Relative luminance (WCAG 2.2)."""
    parts = [value / 255 for value in pixel[:3]]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast_drawn(page: Page, one: Locator) -> float:
    """Of the words of a key as they stand on screen: the lightest point within their boxes against the darkest."""
    one.scroll_into_view_if_needed(timeout=4000)
    page.wait_for_timeout(80)
    boxes = one.evaluate(WORDS)
    assert boxes, "no words"
    photo = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    found = []
    for left, top, right, bottom in boxes:
        part = photo.crop((int(left) + 1, int(top) + 1, int(right) - 1, int(bottom) - 1))
        lights = (
            sorted(light_of(pixel) for pixel in part.get_flattened_data())
            if hasattr(part, "get_flattened_data")
            else sorted(map(light_of, part.getdata()))
        )
        found.append((lights[-1] + 0.05) / (lights[0] + 0.05))
    return min(found)


@pytest.fixture(params=["dark", "light"])
def forced(request: pytest.FixtureRequest, chromium: Browser, shooting_yard: ShootingYard) -> Iterator[Page]:
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True, forced_colors="active", color_scheme=request.param)
    server = shooting_yard.server
    context.add_cookies([{"name": named(COOKIE, server.address), "value": server.let_in("Wren"), "url": server.address}])
    yield context.new_page()
    context.close()


def test_every_key_of_line_and_butt_is_readable_in_forced_colours(forced: Page, shooting_yard: ShootingYard) -> None:
    hand = Hand(forced, shooting_yard.server.address).open().ready()
    keys = {words: contrast_drawn(forced, forced.get_by_role("button", name=words, exact=True)) for words in ("Loosed",)}
    forced.locator("main details").evaluate_all("(all) => all.forEach((one) => { one.open = true; })")
    chosen = forced.locator(".choice__item:has(:checked):visible")
    assert chosen.count() >= 3  # archer, bow, arrow
    keys |= {f"chosen {n}": contrast_drawn(forced, chosen.nth(n)) for n in range(chosen.count())}
    hand.loose()
    hand.to_the_butt()
    hand.spot()
    outcomes = forced.locator(".outcomes__item:visible")
    expect(outcomes.first).to_be_visible()
    keys |= {outcomes.nth(n).inner_text(): contrast_drawn(forced, outcomes.nth(n)) for n in range(outcomes.count())}
    assert len(keys) >= 10
    assert not {words: round(found, 1) for words, found in keys.items() if found < READABLE}


def test_save_is_readable_in_forced_colours(forced: Page, shooting_yard: ShootingYard) -> None:
    forced.goto(shooting_yard.server.address + "/kit/archer/new")
    main = forced.locator("main .button--main").first
    assert contrast_drawn(forced, main) >= READABLE


@pytest.mark.parametrize("page", ["/range", "/kit", "/kit/archer/{archer}", "/kit/bow/{bow}"])
def test_a_name_without_a_break_widens_no_page(chromium: Browser, shooting_yard: ShootingYard, page: str) -> None:
    book, server = shooting_yard.book, shooting_yard.server
    ids = {"archer": kit.archer(book, NAME), "bow": kit.bow(book, NAME).bow}
    kit.arrow(book, NAME[:20], masses=())
    panel = kit.panel(book, NAME)
    kit.setup(book, shooting_yard.session, panel.build, stand_id=kit.stand(book, NAME))
    context = chromium.new_context(viewport=PHONE, has_touch=True)
    context.add_cookies([{"name": named(COOKIE, server.address), "value": server.let_in(NAME), "url": server.address}])
    shown = context.new_page()
    shown.goto(server.address + page.format(**ids))
    expect(shown.locator("h1")).to_be_visible()
    shown.wait_for_timeout(600)
    if page == "/range":
        shown.get_by_role("button", name="I have read this").click()
    wide = shown.evaluate("document.scrollingElement.scrollWidth")
    out = shown.evaluate(
        "[...document.querySelectorAll('main *, [data-thumb] *')].filter((e) => e.checkVisibility() && !e.closest('.tally__scroll, "
        "svg, .tools-unseen, legend, option') && getComputedStyle(e).position !== 'absolute' && e.getBoundingClientRect().right > "
        "innerWidth + 1).map((e) => e.outerHTML.slice(0, 90))"
    )
    context.close()
    assert wide <= PHONE["width"] and not out, (wide, out[:4])


LONG_NAMES = ("archer", "bow", "arrow", "panel", "head", "stand", "session")
WITH_LONG_NAMES = (
    "/",
    "/trials/{trial}",
    "/sessions/{session}",
    "/results/left-out?trial={trial}",
    "/measures?trial={trial}",
    "/what-if?panel={panel_build}",
    "/bows/{bow_build}",
    "/panels/{panel_build}",
    "/arrows/{arrow}",
    "/kit/panel/{panel}",
    "/notebook",
    "/range/butt",
)


def test_names_without_a_break_widen_no_page_that_tells_of_shots(chromium: Browser, demo_of_file: DemoYard) -> None:
    """The longest names that kit and place may have, each given to what the demo shot most with."""
    server, book = demo_of_file.server, demo_of_file.server.book
    with book.read() as session:
        shot = next(one for one in shot_facts(session) if one.label == "A4")
    ids = {name: str(getattr(shot, f"{name}_id")) for name in (*LONG_NAMES, "panel_build", "bow_build", "trial")}
    fields = {"archer": "call_name", "arrow": "tag", "session": "place"}
    for noun in LONG_NAMES:
        long = {fields.get(noun, "name"): NAME[:20] if noun == "arrow" else NAME}
        kit.put(book, noun, long, record_id=ids[noun], base_rev=kit.row(book, noun, ids[noun]).rev)
    context = chromium.new_context(viewport=PHONE, has_touch=True)
    context.add_cookies([{"name": demo_of_file.cookie, "value": demo_of_file.token("archer"), "url": server.address}])
    page = context.new_page()
    wide = {}
    for path in WITH_LONG_NAMES:
        page.goto(server.address + path.format(**ids))
        if path.startswith("/range"):
            # Its script writes it, and shows it once all of it is there.
            page.wait_for_function("name => document.body.innerText.includes(name)", arg=NAME[:20], timeout=20_000)
        shown, found = page.locator("body").inner_text(), page.evaluate("document.scrollingElement.scrollWidth")
        assert NAME[:20] in shown, path
        if found > PHONE["width"]:
            wide[path] = found
    context.close()
    assert not wide


@pytest.fixture(scope="module")
def demo(demo_of_all: DemoYard) -> DemoYard:
    return demo_of_all


ALL_WORDS = """() => { const end = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT); const found = [];
  while (end.nextNode()) { const one = end.currentNode; const words = one.data.trim(); const of = one.parentElement;
    if (!words || !of.checkVisibility({ visibilityProperty: true }) || of.closest('.tools-unseen, .layout__skip, option, title')) continue;
    const range = document.createRange(); range.selectNodeContents(one); const box = range.getClientRects()[0];
    if (!box || box.width <= 6 || box.height <= 6) continue;
    let [left, right] = [box.left, box.right];  // what a row of tabs or a table has slid out of sight is drawn nowhere
    for (let at = of; at; at = at.parentElement) if (!['visible', 'clip'].includes(getComputedStyle(at).overflowX)) {
      const edge = at.getBoundingClientRect(); left = Math.max(left, edge.left); right = Math.min(right, edge.right); }
    found.push([words.slice(0, 40), left, box.top + scrollY, right, box.bottom + scrollY]); }
  return found; }"""


@pytest.mark.parametrize("scheme", ["dark", "light"])
@pytest.mark.parametrize("path", ["/results", "/results/every-shot", "/panels/{panel}", "/fifty-percent"])
def test_every_word_of_a_page_of_results_is_readable_in_forced_colours(chromium: Browser, demo: DemoYard, path: str, scheme: str) -> None:
    """Tables, drawings and keys: of every text in sight, as drawn, the lightest point against the darkest."""
    context = chromium.new_context(viewport=PHONE, forced_colors="active", color_scheme=scheme)
    context.add_cookies([{"name": demo.cookie, "value": demo.token("archer"), "url": demo.address}])
    page = context.new_page()
    page.goto(demo.address + path.format(panel=demo.ids["panel_build_id"][0]))
    page.wait_for_timeout(300)
    boxes = page.evaluate(ALL_WORDS)
    photo = Image.open(io.BytesIO(page.screenshot(full_page=True))).convert("RGB")
    context.close()
    faint = []
    for words, left, top, right, bottom in boxes:
        corners = (max(0, int(left)), max(0, int(top)), min(photo.width, int(right) + 1), min(photo.height, int(bottom) + 1))
        if corners[2] - corners[0] < 4 or corners[3] - corners[1] < 4:
            continue  # scrolled out of sight within a table
        lights = sorted(light_of(colour) for _, colour in photo.crop(corners).getcolors(maxcolors=1 << 20))
        ratio = (lights[-1] + 0.05) / (lights[0] + 0.05)
        if ratio < READABLE:
            faint.append((words, round(ratio, 1)))
    assert len(boxes) > 40
    assert not faint


def test_on_paper_no_part_of_a_panels_page_is_cut_within_a_grid(chromium: Browser, demo: DemoYard) -> None:
    """Chromium lays what follows a grid that a page's end cut through over its last rows; blocks it moves on.

    Seen in the printed file itself: the rule over "In the order they hit" ran through the words of the eleventh hit.
    """
    context = chromium.new_context(viewport={"width": 688, "height": 970})
    context.add_cookies([{"name": demo.cookie, "value": demo.token("archer"), "url": demo.address}])
    page = context.new_page()
    page.emulate_media(media="print")
    page.goto(f"{demo.address}/panels/{demo.ids['panel_build_id'][0]}")
    grids = page.evaluate(
        "[...document.querySelectorAll('main, main *')].filter((e) => e.checkVisibility() && "
        "/grid|flex/.test(getComputedStyle(e).display) && e.querySelector('h2, figcaption, .row')).map((e) => e.className)"
    )
    context.close()
    assert not grids


def test_a_pull_at_the_top_reloads_nothing_and_a_reload_without_the_laptop_asks_first(phone: Any, shooting_yard: ShootingYard) -> None:
    page = phone("Wren")
    hand = Hand(page, shooting_yard.server.address).open().ready()
    hand.loose()
    assert page.evaluate("getComputedStyle(document.documentElement).overscrollBehaviorY") == "none"
    shooting_yard.server.stop()
    expect(page.locator("[data-strip], .strip").first).to_contain_text(re.compile("not reachable"), timeout=15_000)
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))
    page.evaluate("setTimeout(() => location.reload(), 0)")
    page.wait_for_timeout(1500)
    assert asked == ["beforeunload"]
    expect(page.get_by_role("button", name="Loosed", exact=True)).to_be_visible()  # the page is still there, and in use
    hand.loose()
    shooting_yard.server.start()
