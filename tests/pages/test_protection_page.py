"""The page of protection for weight as a browser gets it, script off."""

from __future__ import annotations

import re
from urllib.parse import urlencode

import pytest
from proofyard.access.seats import hash_of, new_token
from proofyard.records import devices
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House
from tests.fifty_percent_for_tests import Shooting, mirrored
from tests.pages.test_fifty_percent_page import ANY, said
from tests.pages.test_results_page import Tags
from tests.statements_for_tests import statements


def shoot(book: Storage) -> Shooting:
    shooting = Shooting(book)
    shooting.panel("Thin", thickness="1.2 mm", mass="1.14 kg")
    shooting.panel("Thick", thickness="1.6 mm", mass="1.50 kg")
    shooting.loose("needle", *mirrored(40.0, 1.04), panel="Thin")
    shooting.loose("needle", *mirrored(80.0, 1.04), panel="Thick")
    return shooting


def page(client: TestClient, status: int = 200, **more: str) -> str:
    got = client.get("/protection?" + urlencode({**ANY, **more}))
    assert got.status_code == status, got.text[:400]
    return got.text


def test_the_heading_names_it_the_first_sentence_answers_and_the_chart_comes_next(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    html = page(viewer)
    text = said(html)
    assert (
        text.split("Protection for weight", 1)[1]
        .strip()
        .startswith("Against the long needle bodkin, what 1.6 mm one-piece plate weighs more than 1.2 mm one-piece plate adds ")
    )
    places = [html.index(part) for part in ("<h1>", 'id="protection-filters"', 'class="chart__drawing"', 'id="protection-mind"')]
    assert places == sorted(places)
    assert "9.50 kg/m² ± 0.13" in text and "4.2 J per kg/m², 95 % interval" in text
    assert "1.6 mm one-piece plate is heavier than 1.2 mm one-piece plate by 3.0 kg/m² ± 0.2" in text
    assert "None of this says what an arrow does to a person" in text


def test_it_leads_to_the_energies_the_counts_and_the_panels(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    hrefs = Tags(page(viewer)).hrefs()
    for start in ("/fifty-percent?", "/results?", "/panels/", "/guide/protection", "/methods/of/energy_for_weight"):
        led = next(href for href in hrefs if href.startswith(start))
        assert viewer.get(led, follow_redirects=True).status_code == 200, led
    assert any("panel_type=plate-1.2" in href and "head=needle" in href for href in hrefs if href.startswith("/fifty-percent?"))


def test_a_reader_of_foot_pounds_gets_foot_pounds(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    viewer.cookies.set("units", "imperial")
    text = said(page(viewer))
    assert "ft·lbf per lb/ft²" in text and "kg/m²" not in text.split("How to read this")[1]


def test_an_empty_book_says_so(viewer: TestClient) -> None:
    text = said(page(viewer))
    assert "No shots yet." in text and "No figure" in text


@pytest.mark.parametrize(("name", "value"), [("at", "nowhere"), ("head", "spoon"), ("through", "6"), ("bow", "<b>nobody</b>")])
def test_a_bad_value_is_said_beside_its_field_and_the_page_still_shows_what_it_can(
    book: Storage, viewer: TestClient, name: str, value: str
) -> None:
    shoot(book)
    html = page(viewer, 422, **{name: value})
    assert f'id="{name}-error"' in html and re.search(r"<title>\d+ fields? to check, ", html)
    assert "<b>nobody" not in html


def test_a_viewer_of_one_trial_sees_no_other(house: House, book: Storage) -> None:
    shoot(book)
    second = kit.open_trial(book, "And what does mail stop?")
    token = new_token()
    with book.write() as session:
        devices.add_device(session, call_name="Ash", role="viewer", session_hash=hash_of(token), trial_id=second.trial)
    house.tokens["scoped"] = token
    text = said(page(house.client("scoped")))
    assert "No shots yet." in text and "Thin" not in text


def test_it_asks_the_book_as_often_for_many_panels_as_for_few(book: Storage, viewer: TestClient) -> None:
    shooting = shoot(book)
    page(viewer)
    with statements(book) as few:
        page(viewer)
    for name in ("A", "B", "C"):
        shooting.panel(name, thickness="2 mm", mass="1.9 kg")
        shooting.loose("leaf", *mirrored(100.0, 1.12), panel=name)
    with statements(book) as many:
        page(viewer)
    assert len(few) == len(many) <= 16


def test_a_chart_can_be_downloaded_as_a_file_that_stands_alone(book: Storage, viewer: TestClient) -> None:
    shoot(book)
    href = next(href for href in Tags(page(viewer)).hrefs() if href.startswith("/protection/drawings/") and ".svg" in href)
    got = viewer.get(href)
    assert got.status_code == 200 and got.headers["content-type"].startswith("image/svg+xml")
    assert "50 % energy by weight" in got.text and "class=" not in got.text
    assert viewer.get(href.replace("needle", "spoon")).status_code == 404
    assert viewer.get(href.replace(".svg", ".gif")).status_code == 404
