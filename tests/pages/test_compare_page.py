"""The pages that compare, as a browser without script gets them: all in the address, wrong answers beside their fields."""

from __future__ import annotations

import re

import pytest
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.pages.compare import page as comparing
from proofyard.records import devices
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests.conftest import ADDRESS, HOST, House
from tests.pages.test_results_page import Tags

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401
from tests.statements_for_tests import statements

PLATE = "/compare?construction=plate&of=needle&of=barbed&edges=70,+90,+110,+130"


def at(text: str, *parts: str) -> list[int]:
    return [text.index(part) for part in parts]


def test_how_the_pair_stands_comes_before_its_counts(viewer: TestClient) -> None:
    text = viewer.get(PLATE).text
    places = at(text, 'id="on-plate-1_6"', 'id="compare-counts"', 'id="compare-left-out"', 'id="compare-read"')
    assert places == sorted(places)
    assert "Measured against" in text[places[0] : places[1]]


def test_ratio_both_intervals_and_the_shots_behind_them_are_all_on_the_page(viewer: TestClient, filled: Filled) -> None:
    answer = viewer.get(PLATE)
    assert answer.status_code == 200
    assert "<th" in answer.text and all(f">{words}<" in answer.text for words in ("By itself", "Corrected", "p by itself", "Result"))
    assert re.search(r"Long needle bodkin against barbed broadhead", answer.text)
    assert f"/shots/{filled.shots['A60']}" in Tags(answer.text).hrefs()
    assert "/fifty-percent?construction=plate" in " ".join(Tags(answer.text).hrefs())


def test_of_more_shots_than_can_be_seen_the_tiles_are_counted(viewer: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = viewer.get(PLATE).text.split('id="compare-each"')[1].split("</details>")[0]
    rows = [len(re.findall(r'id="tile-', row)) for row in whole.split("<tr")[1:]]
    monkeypatch.setattr(comparing, "MOST_MARKS", sum(rows) - 1)
    counted = viewer.get(PLATE).text.split('id="compare-each"')[1].split("</details>")[0]
    assert "how many shots had that outcome" in counted and 'id="tile-' not in counted
    again = [sum(map(int, re.findall(r"<span>(\d+)<span", row))) for row in counted.split("<tr")[1:]]
    assert again == rows and sum(rows) > 5


def test_no_p_value_stands_on_the_results_page(viewer: TestClient) -> None:
    text = viewer.get("/results?construction=plate").text
    assert not re.search(r"\bp\s*=\s*0", text) and "p corrected" not in text
    assert any(href.startswith("/compare?construction=plate") for href in Tags(text).hrefs())


def test_the_form_carries_the_whole_question_in_the_address(viewer: TestClient) -> None:
    tags = Tags(viewer.get(PLATE).text).tags
    forms = [attrs for tag, attrs in tags if tag == "form" and attrs.get("id") == "compare-form"]
    assert forms[0]["method"] == "get" and forms[0]["action"] == "/compare"
    names = {attrs.get("name") for tag, attrs in tags if tag in ("input", "select")}
    assert {"by", "of", "trial", "panel", "panel_type", "through", "fair", "entry", "at", "edges", "method", "head"} <= names
    ticked = {attrs["value"] for tag, attrs in tags if tag == "input" and attrs.get("name") == "of" and "checked" in attrs}
    assert ticked == {"needle", "barbed"}


@pytest.mark.parametrize(
    "query, name, said",
    [
        ("by=colour", "by", "is not one of the choices"),
        ("of=needle", "of", "Tick a second one"),
        ("of=needle&of=dragon", "of", "has no shot here"),
        ("edges=low", "edges", "has no number in it"),
        ("panel=none-such", "panel", "No shot for"),
    ],
)
def test_what_is_wrong_is_said_on_top_and_beside_the_field(viewer: TestClient, query: str, name: str, said: str) -> None:
    answer = viewer.get(f"/compare?{query}")
    assert answer.status_code == 422 and re.search(r"<title>\d+ fields? to check, ", answer.text)
    assert answer.text.count(said) >= 2
    assert f'id="{name}-error"' in answer.text


@pytest.mark.parametrize("path", ["/compare", PLATE, "/compare?by=session", "/compare/wear", "/compare/wear?construction=plate"])
def test_a_page_asks_the_book_at_most_twelve_times(viewer: TestClient, book: Storage, path: str) -> None:
    viewer.get(path)  # what is loaded once is loaded
    with statements(book) as said:
        assert viewer.get(path).status_code == 200
    assert len(said) <= 12, "\n".join(said)


@pytest.mark.parametrize("by", ["form", "head", "panel", "construction", "trial", "session", "archer", "bow"])
def test_each_kind_has_a_page_of_its_own_title(viewer: TestClient, by: str) -> None:
    answer = viewer.get(f"/compare?by={by}")
    assert answer.status_code == 200 and "<h1>" in answer.text


def test_panel_types_that_are_mixed_are_offered_one_by_one(viewer: TestClient) -> None:
    text = viewer.get("/compare").text
    assert "panel types. Compare on one alone" in text
    alone = next(href for href in Tags(text).hrefs() if href.startswith("/compare?") and "panel_type=plate-1.6" in href)
    assert "Compare on one alone" not in viewer.get(alone).text


def test_wear_says_its_caveat_before_its_counts(viewer: TestClient) -> None:
    text = viewer.get("/compare/wear?construction=plate").text
    places = at(text, "Nobody drew lots", 'id="wear-before"', 'id="wear-counts"')
    assert places == sorted(places)
    assert 'name="fair"' not in text


def test_wrong_edges_are_said_on_the_page_of_wear_too(viewer: TestClient) -> None:
    answer = viewer.get("/compare/wear?edges=low")
    assert answer.status_code == 422 and answer.text.count("has no number in it") >= 2


def test_a_viewer_of_one_trial_compares_that_trial_alone(house: House, book: Storage, filled: Filled) -> None:
    token = new_token()
    with book.write() as session:
        devices.add_device(session, call_name="Guest", role="viewer", session_hash=hash_of(token), trial_id=filled.other_trial)
    guest = house.client()
    guest.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
    for path in ("/compare?by=panel", "/compare/wear"):
        text = guest.get(path).text
        assert "P1" not in text and "1.6" not in text
    assert "M1" in guest.get("/compare?by=panel").text


def test_a_trials_page_leads_to_its_comparison(viewer: TestClient, filled: Filled) -> None:
    assert f"/compare?trial={filled.trial}" in Tags(viewer.get(f"/trials/{filled.trial}").text).hrefs()


def test_strangers_see_no_comparison(stranger: TestClient) -> None:
    assert stranger.get("/compare").status_code == stranger.get("/compare/wear").status_code == 401
