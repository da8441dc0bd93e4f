"""The page of another bow as a browser gets it, script off."""

from __future__ import annotations

import csv
import io
import re
from urllib.parse import urlencode

import pytest
from proofyard.access.seats import hash_of, new_token
from proofyard.records import devices
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.answers.test_another_bow import ASKED, shoot, two_bows
from tests.conftest import House
from tests.pages.test_fifty_percent_page import said
from tests.pages.test_results_page import Tags
from tests.statements_for_tests import statements


def page(client: TestClient, status: int = 200, **more: str) -> str:
    got = client.get("/another-bow?" + urlencode({**ASKED, **more}))
    assert got.status_code == status, got.text[:400]
    return got.text


def test_the_heading_names_it_the_first_sentence_answers_and_the_chart_comes_next(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    html = page(viewer)
    text = said(html)
    assert (
        text.split("What would another bow do?", 2)[-1].strip().startswith("An arrow of 80 g from a bow of 160 lb (712 N) should leave at ")
    )
    places = [html.index(part) for part in ("<h1>", 'id="another-bow-ask"', 'class="chart__drawing"', 'id="another-bow-own"')]
    assert places == sorted(places)
    assert "Never try it on anyone" in text and "nothing can be told for 1" in text


def test_it_leads_to_the_heads_the_bows_the_methods_and_back(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    hrefs = Tags(page(viewer)).hrefs()
    for start in (
        "/fifty-percent?",
        "/bows/",
        "/guide/another-bow",
        "/methods/of/speed_of_another_bow",
        "/methods/of/share_at_energy",
        "/what-if",
    ):
        led = next(href for href in hrefs if href.startswith(start))
        assert viewer.get(led, follow_redirects=True).status_code == 200, led


def test_before_anything_is_asked_it_asks_and_is_no_error(book: Storage, viewer: TestClient) -> None:
    two_bows(book)
    got = viewer.get("/another-bow")
    assert got.status_code == 200 and "Enter a draw weight, an arrow and a distance." in said(got.text)


@pytest.mark.parametrize(
    ("name", "value"), [("weight", "strong"), ("weight", ""), ("mass", "-3 g"), ("distance", "far"), ("draw", "0"), ("through", "9")]
)
def test_a_bad_value_is_said_beside_its_field_and_what_was_typed_stays(book: Storage, viewer: TestClient, name: str, value: str) -> None:
    shoot(book)
    html = page(viewer, 422, **{name: value})
    assert f'id="{name}-error"' in html and re.search(r"<title>\d+ fields? to check, ", html)
    assert 'value="80 g"' in html or name == "mass"


def test_a_reader_of_foot_pounds_gets_them_and_what_was_typed_comes_first(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    viewer.cookies.set("units", "imperial")
    text = said(page(viewer))
    first = text.split("What would another bow do?", 2)[-1]
    assert "An arrow of 80 g (1235 gr) from a bow of 160 lbf should leave at" in first and "ft·lbf" in first and "712 N" not in first


def test_an_empty_book_says_what_would_help(viewer: TestClient) -> None:
    text = said(page(viewer))
    assert "This can’t be reckoned: no bow of the book has" in text and "read three speeds or more" in text


def test_a_viewer_of_one_trial_sees_no_other_bow(house: House, book: Storage) -> None:
    shoot(book)
    second = kit.open_trial(book, "And what does mail stop?")
    token = new_token()
    with book.write() as session:
        devices.add_device(session, call_name="Ash", role="viewer", session_hash=hash_of(token), trial_id=second.trial)
    house.tokens["scoped"] = token
    text = said(page(house.client("scoped")))
    assert "can’t be reckoned" in text and "Yew 120" not in text


def test_it_asks_the_book_as_often_for_many_bows_as_for_few(book: Storage, viewer: TestClient) -> None:
    two_bows(book)
    page(viewer)
    with statements(book) as few:
        page(viewer)
    shoot(book, bows=False)
    with statements(book) as many:
        page(viewer)
    assert len(few) == len(many) <= 20


def test_the_chart_can_be_downloaded_as_a_file_that_stands_alone(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    href = next(href for href in Tags(page(viewer)).hrefs() if href.startswith("/another-bow/drawings/") and ".svg" in href)
    got = viewer.get(href)
    assert got.status_code == 200 and got.headers["content-type"].startswith("image/svg+xml")
    assert "Energy from the bow to the armour" in got.text and "certifies" in got.text and "class=" not in got.text
    assert viewer.get(href.replace("/energy", "/spoon")).status_code == 404
    assert viewer.get("/another-bow/drawings/energy.svg").status_code == 404


def test_its_figures_come_as_a_file_for_the_same_address(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    (href,) = [one for one in Tags(page(viewer)).hrefs() if one.startswith("/another-bow.csv")]
    got = viewer.get(href)
    assert got.status_code == 200 and got.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(got.text)))
    assert rows and {round(float(row["bow_weight_n"])) for row in rows} == {712} and {row["arrow_mass_kg"] for row in rows} == {"0.08"}
    wrong = viewer.get("/another-bow.csv?weight=heavy", follow_redirects=False)
    assert (wrong.status_code, wrong.headers["location"]) == (303, "/another-bow?weight=heavy")
