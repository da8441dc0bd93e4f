"""Make the README's screenshots from the invented demo: run `.venv/bin/python tests/make_pictures.py`.

A real server on a fresh demo book, real Chromium, a phone that looses and reads as a hand does; nothing is drawn by hand.
"""

import re
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
FOLDER = ROOT / "static" / "guide"
MOST_BYTES = 150_000
PHONE = {"width": 360, "height": 740}
PAGE = {"width": 1000, "height": 1300}


def main() -> None:
    from playwright.sync_api import sync_playwright

    from tests.browser.demo_yard import demo_yard

    FOLDER.mkdir(parents=True, exist_ok=True)
    with demo_yard(Path(tempfile.mkdtemp()) / "book") as yard, sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium-headless-shell") or shutil.which("chromium"), args=["--no-sandbox"]
        )
        context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True)
        context.add_cookies([{"name": yard.cookie, "value": yard.token("archer"), "url": yard.address}])
        the_phone(context.new_page(), yard.address)
        context = yard.context(browser, "viewer", width=PAGE["width"], height=PAGE["height"])
        page = context.new_page()
        page.goto(yard.address + "/results")
        keep(page, "results")
        browser.close()


def the_phone(page: Any, address: str) -> None:
    """The line after a few shots, then the butt with a spot and an outcome level chosen."""
    from tests.browser.range_hands import Hand

    hand = Hand(page, address).open().ready("Wren", "112")
    for speed in ("50.4", "50.9", "50.6"):
        page.locator("[name=speed]").fill(speed)
        hand.loose()
    page.locator("[name=speed]").fill("50.8")
    page.evaluate("() => { document.activeElement.blur(); scrollTo(0, 0); }")
    keep(page, "phone-line")
    hand.to_the_butt()
    hand.spot(0.42, 0.36)
    hand.key(re.compile("^Outcome, judged"), "Point through")
    page.locator("#reading-title").evaluate("one => scrollTo(0, scrollY + one.getBoundingClientRect().top - 110)")
    keep(page, "phone-butt")


def keep(page: Any, name: str) -> None:
    page.wait_for_timeout(400)
    made = FOLDER / f"{name}.png"
    page.screenshot(path=made)
    Image.open(made).convert("RGB").quantize(64).save(made, optimize=True)
    size = made.stat().st_size
    print(f"{made.relative_to(ROOT)}: {size // 1000} kB")
    assert size < MOST_BYTES, f"{made} is too large for a README"


if __name__ == "__main__":
    main()
