"""The help pages: all are listed, everybody may read them, and no other file is served as one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

GUIDE = Path(__file__).resolve().parents[2] / "static" / "guide"


def test_the_guide_lists_every_page_but_the_glossary(stranger: TestClient) -> None:
    page = stranger.get("/guide").text
    files = {path.stem for path in GUIDE.glob("*.md")} - {"glossary"}
    listed = set(re.findall(r'class="row__link" href="/guide/([\w-]+)"', page))
    assert listed == files


def test_a_reader_without_a_seat_may_read_how_figures_come_about(stranger: TestClient) -> None:
    page = stranger.get("/guide/worked-shot")
    assert page.status_code == 200
    assert "<h1>One shot, worked by hand</h1>" in page.text and '<a href="/methods">' in page.text
    assert re.search(r'<th scope="row">Energy at the target</th><td class="tools-number guide__figure">97\.43 J</td>', page.text)


@pytest.mark.parametrize("name", ["nothing", "..%2F..%2Fpyproject", "worked-shot.md"])
def test_no_other_file_is_served_as_a_help_page(stranger: TestClient, name: str) -> None:
    assert stranger.get(f"/guide/{name}").status_code == 404
