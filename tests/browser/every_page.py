"""What is measured on a page in the browser, whatever page it is: each gives what is wrong, and nothing where all is well."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

AXE = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}
# What light changes, and nothing else: the rest of a page was held to every rule on paper's ground.
CONTRAST = {"resultTypes": ["violations"], "runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
WIDTHS = ((360, 740), (1280, 900))

# What a person would press on this page: its main key, else the first thing in it that can be pressed.
MAIN_ACTION = """() => {
  const seen = (one) => one.getClientRects().length && one.checkVisibility() && !one.disabled;
  const keys = [...document.querySelectorAll('main .button--main, [data-keys] .button--main')].filter(seen);
  const any = [...document.querySelectorAll('main :is(a[href], button, input:not([type=hidden]), select, textarea, summary)')].filter(seen);
  const wanted = keys[0] || any[0];
  document.querySelectorAll('[data-wanted]').forEach((one) => one.removeAttribute('data-wanted'));
  if (wanted) wanted.setAttribute('data-wanted', '');
  return wanted ? wanted.outerHTML.slice(0, 120) : '';
}"""

# The element that the keyboard stands on: what it is, whether it shows that, and whether anything covers it.
STANDS_ON = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const shown = [one, one.closest('label'), one.closest('.field__box'), one.closest('a, g')].filter(Boolean);
  const ring = shown.some((box) => {
    const style = getComputedStyle(box);
    return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
  });
  const box = one.getBoundingClientRect();
  const x = Math.min(innerWidth - 1, Math.max(0, box.x + Math.min(box.width / 2, 40)));
  const y = box.y + Math.min(box.height / 2, 12);
  const top = document.elementFromPoint(x, y);
  const label = one.closest('label');
  const clear = !!top && (one.contains(top) || top.contains(one) || (label && label.contains(top)));
  return { what: one.outerHTML.slice(0, 120), ring, clear, wanted: one.hasAttribute('data-wanted') };
}"""


@dataclass(frozen=True)
class Look:
    """What was found on one page at one width."""

    address: str
    width: int
    title: str
    heading: str
    too_wide: int
    violations: tuple[str, ...]
    by_keyboard: tuple[str, ...] = ()


def violations(page: Page, options: Mapping[str, Any] = AXE) -> tuple[str, ...]:
    """What axe has against this page, a line for each element."""
    found: list[dict[str, Any]] = Axe().run(page, options=dict(options)).response["violations"]
    return tuple(f"{one['id']}: {node['html'][:160]} {_why(node)}" for one in found for node in one["nodes"])


def _why(node: dict[str, Any]) -> str:
    return " ".join(check["message"] for check in (*node["any"], *node["all"], *node["none"]))[:200]


def look(page: Page, address: str, *, axe_at: tuple[int, ...] = (360,), keys_at: tuple[int, ...] = ()) -> list[Look]:
    """The page as it stands, at each width; axe and the keyboard take their time, so they may be left out at one."""
    found = []
    for width, height in WIDTHS:
        page.set_viewport_size({"width": width, "height": height})
        heading = page.locator("h1").all_inner_texts()
        assert len(heading) == 1, f"{address}: {len(heading)} headings of the first order"
        too_wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        against = violations(page) if width in axe_at else ()
        keys = tuple(by_keyboard(page)) if width in keys_at else ()
        found.append(Look(address, width, page.title(), heading[0], too_wide, against, keys))
    return found


def by_keyboard(page: Page, *, most: int = 250) -> list[str]:
    """Tab from the top: the skip link first and working, every stop shown and uncovered, the main action reached."""
    faults = []
    wanted = page.evaluate(MAIN_ACTION)
    page.evaluate("() => { const top = document.body; top.tabIndex = -1; top.focus(); top.removeAttribute('tabindex'); }")
    page.keyboard.press("Tab")
    skip = page.evaluate("() => { const one = document.activeElement; return [one.className, one.getBoundingClientRect().top]; }")
    if skip[0] != "layout__skip" or skip[1] < 0:
        faults.append(f"the first stop is {skip}, not a skip link that shows")
    for _ in range(most):
        page.keyboard.press("Tab")
        stop = page.evaluate(STANDS_ON)
        if stop is None:
            break
        if not stop["ring"]:
            faults.append(f"no ring around {stop['what']}")
        if not stop["clear"]:
            faults.append(f"covered: {stop['what']}")
        if stop["wanted"]:
            break
    else:
        faults.append(f"{most} tabs did not come to {wanted}")
    if wanted and not (stop and stop["wanted"]):
        faults.append(f"Tab never came to {wanted}")
    page.evaluate("document.querySelector('.layout__skip').focus()")
    page.keyboard.press("Enter")
    if page.evaluate("document.activeElement.id") != "main":
        faults.append("the skip link leads nowhere")
    return faults
