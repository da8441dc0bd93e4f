"""Lists that grow with the book come a page at a time: each record stands on exactly one page, and the pages lead to each other."""

from __future__ import annotations

import re

import pytest
from proofyard.answers.kit import kit_listed
from proofyard.pages.frame import forms
from proofyard.pages.speeds import page as speeds
from starlette.testclient import TestClient

from tests.conftest import House


@pytest.fixture
def demo(demo_house: House) -> TestClient:
    return demo_house.client("owner")


def _pages(client: TestClient, address: str, link: str) -> list[list[str]]:
    """What each page of a list leads to, page after page by its own link onwards."""
    found: list[list[str]] = []
    while address:
        answer = client.get(address)
        assert answer.status_code == 200 and len(found) < 40
        found.append(re.findall(link, answer.text))
        onwards = re.search(r'href="([^"]+)"[^>]*>Further in the list', answer.text)
        address = onwards[1].replace("&amp;", "&") if onwards else ""
    return found


def test_every_combination_stands_on_one_page_with_the_same_words(demo: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    link = r'href="/combinations/([0-9a-f-]{36})"'
    (whole,) = _pages(demo, "/combinations", link)
    assert len(whole) >= 10 and len(set(whole)) == len(whole)
    said = dict(re.findall(r'href="/combinations/([0-9a-f-]{36})"(.*?)</li>', demo.get("/combinations").text, re.DOTALL))
    monkeypatch.setattr(speeds, "A_PAGE", 4)
    parts = _pages(demo, "/combinations", link)
    assert [len(part) for part in parts[:-1]] == [4] * (len(parts) - 1) and len(parts) == -(-len(whole) // 4)
    assert [one for part in parts for one in part] == whole
    second = demo.get("/combinations?page=2").text
    assert f"5 to 8 of {len(whole)}" in second and "Page 2 of" in second
    for key, words in re.findall(r'href="/combinations/([0-9a-f-]{36})"(.*?)</li>', second, re.DOTALL):
        assert words == said[key], "what is said of a combination hangs on no other page"
    assert demo.get("/combinations?page=999").status_code == 200


def test_kit_shows_the_first_of_many_and_leads_to_the_rest(demo: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    link = r'href="/kit/arrow/([0-9a-f-]{36})"'
    whole = re.findall(link, demo.get("/kit").text)
    assert len(whole) >= 10
    monkeypatch.setattr(kit_listed, "A_PAGE", 4)
    first = demo.get("/kit").text
    assert re.findall(link, first) == whole[:4]
    assert "/kit?noun=arrow&amp;page=2" in first and "The next of" in first
    parts = _pages(demo, "/kit?noun=arrow", link)
    retired = _pages(demo, "/kit?noun=retired", link)
    assert sorted(one for part in (*parts, *retired) for one in part) == sorted(whole)
    assert all(len(part) <= 4 for part in parts)
    assert "kit-panel" not in demo.get("/kit?noun=arrow").text
    assert demo.get("/kit?noun=boat").status_code == 200 and "kit-panel" in demo.get("/kit?noun=boat").text


def test_a_select_of_very_many_answers_offers_some_and_always_the_one_that_was_picked(
    demo: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def panels(address: str) -> tuple[list[str], str]:
        page = demo.get(address).text
        select = re.search(r'<select[^>]*name="panel".*?</select>', page, re.DOTALL)
        assert select
        return re.findall(r'<option value="([0-9a-f-]{36})"', select[0]), page

    every, page = panels("/results/shares")
    assert len(every) > 4 and "are listed" not in page
    monkeypatch.setattr(forms, "MOST_OFFERED", 3)
    some, page = panels("/results/shares")
    assert some == every[:3] and f"3 of {len(every)} are listed" in page
    picked, page = panels(f"/results/shares?panel={every[-1]}")
    assert picked == [*every[:3], every[-1]] and f'value="{every[-1]}" selected' in page
