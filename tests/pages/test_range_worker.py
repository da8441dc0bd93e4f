"""The worker that keeps the range's page on a phone, as the laptop writes it. In a browser: tests/browser/test_range_by_https.py."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

from proofyard.app import create_app
from proofyard.pages.frame.rendering import assets
from proofyard.pages.range.worker import _script
from proofyard.settings import Certificate
from starlette.testclient import TestClient

from tests.conftest import House


def test_over_plain_http_the_page_says_nothing_of_a_worker_and_by_https_it_does(house: House, archer: TestClient) -> None:
    assert "worker" not in archer.get("/range").text
    settings = replace(house.settings, certificate=Certificate(Path("shown.pem"), Path("key.pem")))
    app = create_app(house.storage, settings)
    at = f"https://localhost:{settings.port}"
    with TestClient(app, base_url=at, headers={"Origin": at}) as owner:
        assert owner.post(app.state.gate.owner_link()).status_code == 200
        page = owner.get("/range").text
    assert page.count('data-worker="/range-worker.js"') == 1
    assert page.index("/away.js") < page.index("/range/shell.js"), (
        "shell.js would warn of a reload before away.js can say that none is needed"
    )


def test_what_it_keeps_is_the_page_and_every_file_of_it_and_nothing_else(house: House) -> None:
    stranger = house.client("stranger")
    answer = stranger.get("/range-worker.js")
    assert answer.status_code == 200 and answer.headers["content-type"].startswith("text/javascript")
    assert answer.headers["cache-control"] == "no-cache", "another build must be seen at once"
    found = re.search(r"^const FILES = (\[.*\]);$", answer.text, re.MULTILINE)
    assert found is not None
    files = json.loads(found[1])
    assert len(files) > 30 and all(stranger.get(one).status_code == 200 for one in files)
    by_address = {url: name for name, url in assets().urls.items()}
    scripts = {by_address[one] for one in files if one.endswith(".js")}
    for name in scripts:  # whatever one of them imports is kept as well
        text = (Path("static") / name).read_text(encoding="utf-8")
        for wanted in re.findall(r'from "(\./[^"]+|\.\./[^"]+)"', text):
            assert ((Path("static") / name).parent / wanted).resolve().relative_to(Path("static").resolve()).as_posix() in scripts, wanted
    assert "/api" not in answer.text


def test_another_book_and_the_demo_are_another_build(house: House) -> None:
    def build(demo: bool, book_id: str) -> str:
        found = re.search(rb'BUILD = "([0-9a-f]{12})"', _script(demo, book_id))
        assert found is not None
        return found[1].decode()

    assert build(False, "one") == build(False, "one")
    assert len({build(False, "one"), build(False, "other"), build(True, "one")}) == 3


def test_no_comment_of_the_ranges_scripts_travels_to_a_phone() -> None:
    """One with an apostrophe or a quotation mark would: what leaves them out can't tell it from a text."""
    for name, url in assets().urls.items():
        if name.startswith("js/range/"):
            body = assets().body(url)
            assert body is not None and re.findall(rb"[ \t]// .*", body.plain) == [], name
