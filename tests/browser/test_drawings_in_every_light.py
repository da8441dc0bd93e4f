"""Drawings of what the shots show, in Chromium: at 360 px, on paper, in the dark, in the sun, in forced colours, and heard."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from proofyard.records import nouns
from sqlalchemy import select

from tests.browser.demo_yard import DemoYard

pytestmark = pytest.mark.long

OF_MARKS = 3.0  # WCAG 2.2, success criterion 1.4.11: graphical objects
OF_WORDS = 4.5  # 1.4.3
IN_SUN = 7.0  # 1.4.6
LEAST_PX = 12.0  # ours: smaller words are not read on a phone at arm's length (common practice, no source)
LIGHTS: dict[str, dict[str, Any]] = {
    "paper": {},
    "dark": {},
    "sun": {},
    "print": {"media": "print"},
    "forced": {"forced_colors": "active"},
    "forced dark": {"forced_colors": "active", "color_scheme": "dark"},
}

# Every word and mark of every drawing with its ink, and what lies behind it.
INKS = """() => {
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = 1;
  const brush = canvas.getContext('2d', { willReadFrequently: true });
  const light = (text) => {
    brush.clearRect(0, 0, 1, 1);
    brush.fillStyle = text;
    brush.fillRect(0, 0, 1, 1);
    const part = (value) => (value / 255 <= 0.04045 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4);
    const [r, g, b] = brush.getImageData(0, 0, 1, 1).data;
    return 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  };
  const ratio = (one, other) => {
    const [high, low] = [light(one), light(other)].sort((a, b) => b - a); return (high + 0.05) / (low + 0.05); };
  // A custom property gives back its text; only a drawn thing tells the colour.
  const tileOf = (one) => {
    const probe = document.createElementNS('http://www.w3.org/2000/svg', 'rect');
    probe.setAttribute('class', one.getAttribute('class').replace('chart__on', ''));
    probe.style.fill = 'var(--tile)';
    one.parentNode.append(probe);
    const fill = getComputedStyle(probe).fill;
    probe.remove();
    return fill;
  };
  const ground = getComputedStyle(document.documentElement).backgroundColor;
  const found = [];
  for (const one of document.querySelectorAll('main .chart__drawing :is(text, use, path, rect, circle)')) {
    const style = getComputedStyle(one), on = one.matches('.chart__on');
    const tile = on ? tileOf(one) : ground;
    if (one.matches('.chart__hair, .chart__reach, .chart__band')) continue;
    const kind = one.tagName === 'text' ? 'word' : 'mark';
    let ratios;
    if (one.tagName === 'text') ratios = [ratio(style.fill, on ? tile : ground)];
    else if (one.tagName === 'use') ratios = [ratio(style.color, on ? tile : ground)];
    else ratios = [style.stroke, style.fill].filter((ink) => ink !== 'none').map((ink) => ratio(ink, ground));
    found.push({ kind, what: one.outerHTML.slice(0, 110), ratio: Math.max(...ratios) });
  }
  return found;
}"""

# Of each drawing: how large its words are drawn, which stick out of it, and which lie on each other.
WORDS = """() => [...document.querySelectorAll('main .chart__drawing')].map((drawing) => {
  const box = drawing.getBoundingClientRect(), scale = box.width / drawing.viewBox.baseVal.width;
  const words = [...drawing.querySelectorAll('text')].map((one) => ({ text: one.textContent,
    px: parseFloat(getComputedStyle(one).fontSize) * scale, at: one.getBoundingClientRect() }));
  const out = words.filter((one) => one.at.left < box.left - 1
    || one.at.right > box.right + 1 || one.at.top < box.top - 1 || one.at.bottom > box.bottom + 1);
  const on = [];
  words.forEach((one, n) => words.slice(n + 1).forEach((other) => {
    const wide = Math.min(one.at.right, other.at.right) - Math.max(one.at.left, other.at.left);
    const high = Math.min(one.at.bottom, other.at.bottom) - Math.max(one.at.top, other.at.top);
    if (wide > 2 && high > 0.45 * Math.min(one.at.height, other.at.height)) on.push(`${one.text} / ${other.text}`);
  }));
  return { id: drawing.closest('figure').id, left: box.left, right: box.right,
    least: Math.min(99, ...words.map((one) => one.px)), out: out.map((one) => one.text), on };
})"""


@pytest.fixture(scope="module")
def yard(demo_of_all: DemoYard) -> DemoYard:
    return demo_of_all


@pytest.fixture(scope="module")
def places(yard: DemoYard) -> dict[str, str]:
    """Page by what it draws."""
    with yard.server.book.read() as session:
        days = list(session.execute(select(nouns.TABLES["session"].id).order_by(nouns.TABLES["session"].id)).scalars())
    return {
        "shares": "/results/shares",
        "every shot": "/results/every-shot",
        "depth": "/results/depth",
        "panel": f"/panels/{yard.ids['build_id'][0]}",
        "combination": f"/combinations/{yard.ids['combination_id'][0]}",
        **{f"day {n}": f"/sessions/{one}" for n, one in enumerate(days, 1)},
        "parts": "/parts",
    }


@pytest.fixture(scope="module")
def page(yard: DemoYard, chromium: Browser) -> Iterator[Page]:
    context = yard.context(chromium)
    yield context.new_page()
    context.close()


def opened(page: Page, yard: DemoYard, address: str, light: str = "paper") -> Page:
    page.goto(yard.address + address)
    page.emulate_media(**{"media": "screen", "forced_colors": "none", "color_scheme": "light", **LIGHTS[light]})
    page.evaluate("(theme) => { document.documentElement.dataset.theme = theme; }", light if light in ("dark", "sun") else "paper")
    return page


def test_every_word_of_every_drawing_is_read_at_360_px(page: Page, yard: DemoYard, places: dict[str, str]) -> None:
    seen = set()
    for place, address in places.items():
        found = opened(page, yard, address).evaluate(WORDS)
        assert found, f"{place} draws nothing"
        for one in found:
            seen.add(one["id"])
            assert one["left"] >= 0 and one["right"] <= 360, (place, one)
            assert one["least"] >= LEAST_PX, (place, one)
            assert one["out"] == [] and one["on"] == [], (place, one)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, place
        ids = page.locator("[id]").evaluate_all("(all) => all.map((one) => one.id)")
        assert [one for one in set(ids) if ids.count(one) > 1] == [], place
    assert {"drawn-shares", "drawn-outcomes", "drawn-depth", "drawn-order", "drawn-speeds", "p-share_forest-2"} <= seen


@pytest.mark.parametrize("light", LIGHTS)
def test_every_mark_is_told_from_its_ground_in_every_light(page: Page, yard: DemoYard, places: dict[str, str], light: str) -> None:
    words = IN_SUN if light == "sun" else OF_WORDS
    for place in ("shares", "every shot", "depth", "panel", "day 1", "parts"):
        found = opened(page, yard, places[place], light).evaluate(INKS)
        assert len(found) > 20, f"{place}: nothing was measured"
        faint = [f"{one['what']}: {one['ratio']:.2f}" for one in found if one["ratio"] < (words if one["kind"] == "word" else OF_MARKS)]
        assert faint == [], (place, light)


def test_forced_colours_keep_the_six_outcome_levels_apart(page: Page, yard: DemoYard, places: dict[str, str]) -> None:
    for light in ("forced", "forced dark"):
        opened(page, yard, places["panel"], light)
        fills = page.locator("#drawn-order svg > g rect").evaluate_all("(all) => all.map((one) => getComputedStyle(one).fill)")
        assert len(set(fills[:6])) == 6, (light, fills[:6])


def test_on_paper_drawings_are_black_on_white_and_offers_are_left_away(page: Page, yard: DemoYard, places: dict[str, str]) -> None:
    opened(page, yard, places["shares"], "print")
    ink = page.locator("#drawn-shares text").first.evaluate("(one) => getComputedStyle(one).fill")
    assert ink == "rgb(0, 0, 0)" and page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    assert page.locator(".chart__files:visible").count() == 0 and page.locator("#drawn-outcomes svg").is_visible()
    assert page.pdf(format="A4").startswith(b"%PDF-")


def test_a_drawing_is_heard_as_its_title_its_words_and_its_marks(page: Page, yard: DemoYard, places: dict[str, str]) -> None:
    for place, figure in (
        ("shares", "#drawn-shares"),
        ("shares", "#drawn-outcomes"),
        ("depth", "#drawn-depth"),
        ("panel", "#drawn-order"),
        ("day 1", "#drawn-speeds"),
    ):
        drawing = opened(page, yard, places[place]).locator(f"{figure} > svg")
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")  # a phone's day folds its speeds
        heard = " ".join(drawing.aria_snapshot().split())
        title, words = (drawing.locator(f"> {tag}").text_content() for tag in ("title", "desc"))
        expect(drawing).to_have_role("group")
        expect(drawing).to_have_accessible_name(str(title))
        expect(drawing).to_have_accessible_description(str(words))
        links = drawing.locator("a").evaluate_all("(all) => all.map((one) => one.getAttribute('aria-label'))")
        assert links and [one for one in links if " ".join(one.split())[:40] not in heard] == [], figure
        # what is only seen is not read out a second time
        assert heard.count("link ") == len(links)


def test_a_mark_leads_to_its_shot_by_keyboard(page: Page, yard: DemoYard, places: dict[str, str]) -> None:
    opened(page, yard, places["panel"])
    link = page.locator("#drawn-order svg a").first
    link.focus()
    assert page.evaluate("document.activeElement.closest('figure').id") == "drawn-order"
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/shots/"))


def test_a_downloaded_drawing_opens_by_itself(page: Page, yard: DemoYard, places: dict[str, str]) -> None:
    offered = []
    for place in ("shares", "every shot", "depth"):
        files = opened(page, yard, places[place]).locator("main .chart__files a[href*='.svg']")
        offered += files.evaluate_all("(all) => all.map((one) => one.getAttribute('href'))")
    assert len(offered) >= 7
    said: list[str] = []
    # Browsers ask for a site's own small drawing beside a file that names none.
    page.on("console", lambda message: said.append(message.text) if "/favicon.ico" not in str(message.location) else None)
    for address in offered:
        page.goto(yard.address + address)
        assert page.evaluate("document.documentElement.tagName") == "svg"
        sizes = page.locator("text").evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().width)")
        assert len(sizes) > 5 and min(sizes) > 0
        assert page.evaluate("[...document.querySelectorAll('use')].every((one) => one.getBBox().width > 0)")
    assert said == []
