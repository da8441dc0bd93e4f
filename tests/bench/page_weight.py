"""Bytes on the wire of the phones' page, in real Chromium: the first load with everything, and the second.

    python -m tests.bench.page_weight [--demo]

Wanted: at most 100 KB the first time (page, style, scripts, photos, the state of the book), at most 5 KB the second.
What counts is what came over the network, headers and all (DevTools protocol, Network.loadingFinished).
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from proofyard.access.seats import COOKIE, named
from proofyard.opening import open_book

from tests import kit_for_tests as kit
from tests.bench.a_child import child
from tests.faults.a_real_server import let_in


@dataclass(frozen=True)
class Weight:
    """Bytes of both loads, and of each address in the first one."""

    first: int
    second: int
    parts: dict[str, int]
    second_parts: dict[str, int]


def measure(*, path: str = "/range", demo: bool = False) -> Weight:
    from playwright.sync_api import sync_playwright

    chromium = next(
        found for name in ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))
    )
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place:
        folder = Path(place)
        if demo:
            from proofyard.serving import fill_folder

            fill_folder(folder)
        token = let_in(folder)
        if not demo:
            with closing(open_book(folder)) as storage:
                kit.shot(storage, kit.yard(storage))
        with child("ours", folder) as (_, port), sync_playwright() as play:
            browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
            try:
                context = browser.new_context(viewport={"width": 360, "height": 740})
                address = f"http://127.0.0.1:{port}"
                context.add_cookies([{"name": named(COOKIE, address), "value": token, "url": address}])
                page = context.new_page()
                seen: dict[str, int] = {}
                _count(context.new_cdp_session(page), seen)
                loads = []
                for _ in range(2):
                    seen.clear()
                    page.goto("about:blank")
                    page.goto(address + path)
                    page.wait_for_timeout(2500)
                    loads.append({name.removeprefix(address): size for name, size in seen.items() if name.startswith(address)})
            finally:
                browser.close()
    first, second = loads
    return Weight(sum(first.values()), sum(second.values()), first, second)


def _count(session: Any, seen: dict[str, int]) -> None:
    addresses: dict[str, str] = {}

    def began(event: dict[str, Any]) -> None:
        addresses[event["requestId"]] = event["request"]["url"]

    def ended(event: dict[str, Any]) -> None:
        address = addresses.get(event["requestId"], "")
        seen[address] = seen.get(address, 0) + int(event["encodedDataLength"])

    session.on("Network.requestWillBeSent", began)
    session.on("Network.loadingFinished", ended)
    session.send("Network.enable")


if __name__ == "__main__":
    found = measure(demo="--demo" in sys.argv)
    for name, size in sorted(found.parts.items(), key=lambda pair: -pair[1])[:12]:
        print(f"{size:8d}  {name}")
    print("again:", {name: size for name, size in found.second_parts.items() if size})
    print(f"first {found.first / 1024:.1f} KB (wanted 100 or less), second {found.second / 1024:.1f} KB (wanted 5 or less)")
