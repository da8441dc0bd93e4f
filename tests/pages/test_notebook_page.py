"""The notebook: every change, newest first, page by page; of two different values one is kept there."""

import re

from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.test_shot_page import filled


def test_the_one_that_stands_may_be_kept(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    loosed = kit.read_shot(book, yard, outcome_low="3", head_fate=["curled"])
    kit.put(book, "shot_reading", {"head_fate": ["blunted"]}, record_id=loosed, base_rev=1)
    assert kit.ask(book, "shot_reading", {"head_fate": ["curled", "loose"]}, record_id=loosed, base_rev=1).status == "clash"
    page = archer.get("/notebook").text
    action = re.search(r'action="(/notebook/clashes/[^"]+)"', page).group(1)
    assert archer.post(action, data=filled(page, action) | {"choice": "stands"}).status_code == 303
    assert kit.row(book, "shot_reading", loosed).head_fate == '["blunted"]'
    assert "Two said" not in archer.get("/notebook").text


def test_the_notebook_turns_its_pages(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    for _ in range(60):
        kit.shot(book, yard)
    page = archer.get("/notebook").text
    assert page.count('class="revision"') == 20 and "Shot A60" in page
    older = re.search(r'href="(/notebook\?before=\d+)"', page).group(1)
    assert "Shot A60" not in archer.get(older).text
    assert archer.get("/notebook?before=x").status_code == 200
    assert "Nothing here." in archer.get("/notebook?before=0").text


def test_a_speed_without_a_shot_is_named_by_its_combination_and_a_photo_by_what_it_shows(archer: TestClient, book: Storage) -> None:
    """A line that says "Speed of." and "another record" tells nobody what was changed."""
    yard = kit.yard(book)
    kit.speeds(book, yard.combination, "44 m/s")
    kit.photo(book, "shot", kit.shot(book, yard))
    page = archer.get("/notebook").text
    assert re.search(r"Speed of [^<]+, arrow [^<]+, Archer 1<", page) and re.search(r"Speeds of [^<]+, arrow [^<]+, Archer 1<", page)
    assert "Set-up Panel 1, 24 October 2026" in page
    assert "Which one: A1" in page and "another record" not in page
