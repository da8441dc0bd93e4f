"""What can be pressed on a phone is as large as a finger: 44 px in its smaller direction, measured by where a tap lands.

A link within a sentence is as high as its line, as WCAG 2.2 has it (success criterion 2.5.8, "Inline").
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import ShootingYard
from tests.browser.demo_yard import DemoYard
from tests.browser.range_hands import Hand

LEAST = 44
SCREENS = {
    "first page": "/",
    "trial": "/trials/{thick plate}",
    "results": "/results?panel_type=plate-1.2",
    "results of thick plate": "/results?panel_type=plate-1.6",
    "results of scale": "/results?panel_type=scale-1",
    "results of mail": "/results?panel_type=mail",
    "every shot": "/results/every-shot",
    "session": "/sessions/{last day}",
    "day sheet": "/sessions/{last day}/day",
    "line": "/range#line",
    "butt": "/range#butt",
    "bench": "/range#bench",
    "kit": "/kit",
    "shot": "/shots/{dent with a print}",
    "more": "/more",
}
# What stays smaller, and where the same is to be had with a finger: CSS selector, reason.
EXCEPTIONS = {
    ".layout__skip": "stands outside the page until the keyboard comes to it",
    ".chart__drawing a": "a mark of a chart lies where its energy is; the same shots stand as links in the table under it",
}

# Each target in the middle of the screen, then outwards from its middle as far as a tap still comes to it.
MEASURE = """([least, exceptions]) => {
  const pressed = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [role=button]';
  const hit = (x, y) => {
    const top = document.elementFromPoint(x, y);
    const label = top && top.closest('label');
    return top && (top.closest(pressed) || (label && label.control));
  };
  const words = (one) => one.innerText.replace(/[^\\p{L}\\p{N}]/gu, '').length;
  // A sentence is a block that says something beside its links, in line with them.
  const in_a_sentence = (one) => {
    const block = one.closest('p, li, dd, td, caption, figcaption');
    if (!one.matches('a') || !block || getComputedStyle(one).display !== 'inline') return false;
    const own = [...block.querySelectorAll('a')].reduce((sum, link) => sum + words(link), 0);
    return words(block) - own > 12;
  };
  const small = [];
  let measured = 0;
  for (const one of document.querySelectorAll(pressed)) {
    if (!one.checkVisibility({ visibilityProperty: true }) || one.disabled) continue;
    if (exceptions.some((some) => one.matches(some)) || in_a_sentence(one)) continue;
    one.scrollIntoView({ block: 'center', inline: 'center', behavior: 'instant' });
    const [box] = [...one.getClientRects()].sort((a, b) => b.width * b.height - a.width * a.height);
    if (!box) continue;
    measured += 1;
    const x = box.left + box.width / 2, y = box.top + box.height / 2;
    const reach = (dx, dy) => { let n = 0; while (n < 60 && hit(x + dx * (n + 1), y + dy * (n + 1)) === one) n += 1; return n; };
    const [wide, high] = hit(x, y) === one ? [reach(-1, 0) + reach(1, 0) + 1, reach(0, -1) + reach(0, 1) + 1] : [0, 0];
    if (Math.min(wide, high) < least) small.push(`${wide} by ${high}: ${one.outerHTML.replace(/\\s+/g, ' ').slice(0, 140)}`);
  }
  return [measured, small];
}"""


@pytest.fixture(scope="module")
def handset(demo_of_all: DemoYard, chromium: Browser) -> Iterator[Page]:
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    context.set_default_timeout(8000)
    context.add_cookies(
        [
            {"name": demo_of_all.cookie, "value": demo_of_all.token("owner"), "url": demo_of_all.address},
            {"name": "theme", "value": "paper", "url": demo_of_all.address},
        ]
    )
    yield context.new_page()
    context.close()


def small_targets(page: Page) -> tuple[int, list[str]]:
    measured, small = page.evaluate(MEASURE, [LEAST, list(EXCEPTIONS)])
    return int(measured), [str(one) for one in small]


@pytest.mark.parametrize("name", SCREENS)
def test_everything_that_can_be_pressed_is_large_enough_for_a_thumb(handset: Page, demo_of_all: DemoYard, name: str) -> None:
    handset.goto("about:blank")  # /range#butt after /range#line would load nothing
    handset.goto(demo_of_all.address + SCREENS[name].format_map(demo_of_all.called))
    handset.wait_for_load_state("networkidle" if "/range" not in SCREENS[name] else "load")
    handset.locator("main :is(a, button, summary)").first.wait_for()
    measured, small = small_targets(handset)
    assert measured > 10 and small == []


def test_the_line_and_the_butt_are_large_enough_for_a_thumb(shooting_yard: ShootingYard, phone: Callable[..., Page]) -> None:
    """The demo's day is over: here one is being shot, on a phone of 360."""
    hand = Hand(phone("Wren"), shooting_yard.server.address).open().ready()
    found = {"line": small_targets(hand.page)}
    hand.loose()
    found["line after a shot"] = small_targets(hand.page)
    hand.to_the_butt()
    hand.spot(0.62, 0.4)
    found["butt"] = small_targets(hand.page)
    assert all(measured > 10 for measured, _ in found.values())
    assert {place: small for place, (_, small) in found.items() if small} == {}


def test_the_measure_finds_what_is_too_small(handset: Page, demo_of_all: DemoYard) -> None:
    """Planted: a link of a line's height that is no sentence, a key that another lies over, a narrow one; and two that are well."""
    handset.goto(demo_of_all.address + "/more")
    before = small_targets(handset)[1]
    handset.evaluate(
        """() => document.querySelector('main').insertAdjacentHTML('beforeend', `
             <p><a id="low" href="/">A link alone in its line</a></p>
             <p>A sentence of some length that leads <a id="inline" href="/">somewhere</a> as well.</p>
             <div class="row"><button id="under" class="button">Under</button><a class="row__link" id="over" href="/">Over</a></div>
             <p><a class="button" id="narrow" href="/">I</a></p>`)"""
    )
    handset.evaluate("() => Object.assign(document.querySelector('#narrow').style, {padding: 0})")
    after = [one for one in small_targets(handset)[1] if one not in before]
    assert [name for name in ("low", "inline", "under", "over", "narrow") if any(f'id="{name}"' in one for one in after)] == [
        "low",
        "under",
        "narrow",
    ]
