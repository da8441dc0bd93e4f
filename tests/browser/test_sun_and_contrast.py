"""Read in the sun, pressed with a glove: 7:1 for every word of the range, 3:1 for every edge, keys of 44 px and more."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import ShootingYard
from tests.browser.contrast import below, measured
from tests.browser.demo_yard import DemoYard
from tests.browser.range_hands import Hand

pytestmark = pytest.mark.long

Phone = Callable[..., Page]
IN_SUN = 7.0  # WCAG 2.2, success criterion 1.4.6 (enhanced); the range's own rule for all of its words
OF_EDGES = 3.0  # WCAG 2.2, success criterion 1.4.11
KEY_PX = 44.0  # WCAG 2.2, success criterion 2.5.5 (enhanced)

SMALL_KEYS = """(all, least) => all.map((one) => one.closest('label, .button, .row, a, button, summary, [data-touch]') || one)
  .filter((one) => one.getClientRects().length && one.checkVisibility() && !one.closest('.layout__skip, .footing, .range__strip, .strip'))
  .filter((one) => { const box = one.getBoundingClientRect();
    return Math.max(box.height, one.matches('.row__link') ? one.closest('.row').getBoundingClientRect().height : 0) < least; })
  .map((one) => `${Math.round(one.getBoundingClientRect().height)} px: ${one.outerHTML.slice(0, 90)}`)"""
PRESSED = "main :is(a, button, input, select, summary), [data-thumb] button, .masthead a"


@pytest.fixture
def wren(shooting_yard: ShootingYard, phone: Phone) -> Hand:
    return Hand(phone("Wren"), shooting_yard.server.address)


def line_as_found(hand: Hand) -> None:
    hand.open()
    expect(hand.page.get_by_role("button", name="I have read this")).to_be_visible()


def line_in_use(hand: Hand) -> None:
    hand.open().ready()
    hand.loose()
    hand.key(re.compile("Not a normal shot"), "Short draw")
    hand.page.locator("[name=speed]").fill("fifty")
    expect(hand.page.get_by_text("is not a speed")).to_be_visible()


def butt_with_everything_open(hand: Hand) -> None:
    hand.open().ready()
    hand.loose()
    hand.loose()
    hand.to_the_butt()
    hand.read("Opened")
    hand.spot(0.4, 0.6)
    hand.key(re.compile("^Outcome, judged"), "Point through")
    hand.page.evaluate("document.querySelectorAll('main details').forEach((one) => { one.open = true; })")


def bench_with_arrows(hand: Hand) -> None:
    hand.open().ready()
    label = hand.loose()
    hand.to_the_butt()
    hand.spot()
    hand.key(re.compile("^Outcome, judged"), "Opened")
    hand.more()
    hand.key(re.compile("^or up to$"), "Point through")
    hand.tap(f"Save {label}")
    hand.open("/range/bench")


def needs_a_hand(hand: Hand) -> None:
    hand.open().ready()
    hand.page.locator("[name=speed]").fill("fifty")
    hand.loose("{label} loosed, speed as typed")
    hand.page.get_by_role("link", name="Look").tap()
    expect(hand.page.locator("[data-strip] p")).to_have_text("1 needs you")  # the shot is in, its speed waits: nothing moves now
    expect(hand.page.get_by_label("Speed, as typed")).to_be_visible()


VIEWS = (line_as_found, line_in_use, butt_with_everything_open, bench_with_arrows, needs_a_hand)


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.__name__)
def test_every_word_of_the_range_is_read_in_the_sun(wren: Hand, view: Callable[[Hand], None]) -> None:
    view(wren)
    assert wren.page.evaluate("document.documentElement.dataset.theme") == "sun", "the range opens in sun"
    found = measured(wren.page)
    assert len(found["texts"]) >= 15 and len(found["edges"]) >= 3, "nothing was measured"
    assert below(found["texts"], IN_SUN) == []
    assert below(found["edges"], OF_EDGES) == []
    assert wren.page.locator(PRESSED).evaluate_all(SMALL_KEYS, KEY_PX) == []
    assert wren.page.evaluate("document.documentElement.scrollWidth") <= 360


def test_the_measure_of_contrast_is_that_of_the_standard(chromium: Browser) -> None:
    """Known pairs: black on white is 21:1 by the formula; #767676 on white is 4.54, #949494 3.03 (common practice, from memory)."""
    page = chromium.new_page()
    page.set_content(
        "<body style='background:#fff'><p style='color:#000'>black</p><p style='color:#767676'>grey</p><p style='color:#949494'>pale</p>"
        "<div style='background:#000'><p style='color:#ffffff80'>half</p></div><div style='opacity:.5'><p>faded</p></div>"
        "<svg><rect width='80' height='30'/><text x='9' y='20' style='fill:#fff'>on a bar</text><text x='99' y='20'>beside it</text></svg>"
    )
    found = {one["what"]: one for one in measured(page)["texts"]}
    page.close()
    assert round(found["black"]["ratio"], 2) == 21 and round(found["grey"]["ratio"], 2) == 4.54 and round(found["pale"]["ratio"], 2) == 3.03
    assert round(found["on a bar"]["ratio"], 2) == round(found["beside it"]["ratio"], 2) == 21, "a drawing's own ground counts"
    assert 5 < found["half"]["ratio"] < 6, "half of white over black is a middle grey"
    assert found["faded"]["faded"] and below([found["faded"]], 1.0)


def test_the_line_fits_above_the_main_key(wren: Hand) -> None:
    """Label, who, bow, arrow and speed in one look at 360 by 740, once the caution is ticked."""
    wren.open().ready()
    main = wren.page.locator("[data-thumb]").bounding_box()
    assert main is not None
    wren.page.evaluate("scrollTo(0, 0)")
    for what in ("h1", "#line-archer", "#line-bow", "#line-arrow", "#line-speed"):
        box = wren.page.locator(what).bounding_box()
        assert box is not None and box["y"] >= 0 and box["y"] + box["height"] <= main["y"], what
    wren.tap_fold(re.compile("nusual shot"))
    rows = {round(box["y"]) for one in wren.page.locator("[name=small]").all() if (box := one.bounding_box())}
    assert len(rows) == 2, "the four small keys stand two by two"


@pytest.fixture(scope="module")
def yard(demo_of_all: DemoYard) -> DemoYard:
    return demo_of_all


def test_the_demo_s_line_fits_too(yard: DemoYard, chromium: Browser) -> None:
    """With its notice, several set-ups to choose from, and more arrows than keys."""
    context = yard.context(chromium, "archer")
    page = context.new_page()
    page.goto(yard.address + "/range")
    page.get_by_role("button", name="I have read this").click()
    expect(page.get_by_text("The range officer’s word overrides this page")).to_have_count(0)
    page.evaluate("scrollTo(0, 0)")
    main, speed = page.locator("[data-thumb]").bounding_box(), page.locator("#line-speed").bounding_box()
    assert main is not None and speed is not None
    assert speed["y"] + speed["height"] <= main["y"], f"{speed['y'] + speed['height'] - main['y']:.0f} px too low"
    context.close()


@pytest.mark.parametrize("theme", ["paper", "dark", "sun"])
def test_each_light_holds_on_pages_of_every_make(yard: DemoYard, chromium: Browser, theme: str) -> None:
    context = yard.context(chromium, "viewer", width=1280)
    page = context.new_page()
    faults = []
    for address in ("/results", "/results/every-shot", "/trials/{trial_id}", "/shots/{shot_id}", "/panels/{build_id}", "/parts"):
        page.goto(yard.address + address.format_map({name: some[0] for name, some in yard.ids.items() if some}))
        if page.evaluate("document.documentElement.dataset.theme") != theme:
            page.get_by_role("button", name=theme.capitalize(), exact=True).click()
            page.wait_for_function("theme => document.documentElement.dataset.theme === theme", arg=theme)
        found = Axe().run(page, options={"resultTypes": ["violations"], "runOnly": ["color-contrast"]}).response["violations"]
        faults += [f"{address} in {theme}: {node['html'][:120]}" for one in found for node in one["nodes"]]
        faults += [f"{address} in {theme}: {words}" for words in below(measured(page)["texts"], 4.5)]
    context.close()
    assert faults == []
