"""The page of arrow damage as a browser gets it, script off."""

from __future__ import annotations

import re
from urllib.parse import urlencode

from proofyard.access.seats import hash_of, new_token
from proofyard.records import devices
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.answers.test_arrow_damage import CURLED, SOUND, shoot
from tests.conftest import House
from tests.fifty_percent_for_tests import Shooting
from tests.pages.test_fifty_percent_page import said
from tests.pages.test_results_page import Tags
from tests.statements_for_tests import statements


def page(client: TestClient, status: int = 200, **more: str) -> str:
    got = client.get("/arrow-damage?" + urlencode(more))
    assert got.status_code == status, got.text[:400]
    return got.text


def filled(book: Storage) -> Shooting:
    shooting = Shooting(book)
    shoot(shooting, "1", [SOUND, SOUND, CURLED])
    shoot(shooting, "2", [SOUND, SOUND], form="leaf")
    return shooting


def test_the_heading_names_it_and_the_first_sentence_answers(book: Storage, viewer: TestClient) -> None:
    filled(book)
    html = page(viewer)
    first = said(html).split("Arrow damage", 1)[1].strip()
    assert first.startswith("On 1.6 mm one-piece plate the long needle bodkin lasts 3 shots, 95 % interval 1.1 to ")
    places = [html.index(part) for part in ("<h1>", 'id="arrow-damage-filters"', 'class="chart__drawing"', 'id="arrow-damage-mind"')]
    assert places == sorted(places)
    assert "at least 1.3 shots (one-sided, 95 %; none ended in 2 shots)" in said(html)
    assert "A head is ended when it is curled or blunted, broken or loose or off." in said(html)
    assert "wear gloves" in said(html)


def test_it_leads_to_the_counts_the_guide_and_the_formula(book: Storage, viewer: TestClient) -> None:
    filled(book)
    hrefs = Tags(page(viewer)).hrefs()
    for start in ("/results/arrows", "/guide/arrow-damage", "/methods/of/shots_a_head_lasts"):
        led = next(href for href in hrefs if href.startswith(start))
        assert viewer.get(led, follow_redirects=True).status_code == 200, led
    assert any(re.match(r"/results/arrows\?.*head=leaf", href) for href in hrefs)


def test_a_bad_value_is_said_beside_its_field(book: Storage, viewer: TestClient) -> None:
    filled(book)
    html = page(viewer, 422, ended="rusted", head="needle")
    assert 'id="ended-error"' in html and "One of these ends no head." in said(html)


def test_an_empty_book_says_so(viewer: TestClient) -> None:
    assert "No shot on a panel matches what you picked." in said(page(viewer))


def test_a_viewer_of_one_trial_sees_no_other(house: House, book: Storage) -> None:
    filled(book)
    second = kit.open_trial(book, "And what does mail stop?")
    token = new_token()
    with book.write() as session:
        devices.add_device(session, call_name="Ash", role="viewer", session_hash=hash_of(token), trial_id=second.trial)
    house.tokens["scoped"] = token
    assert "lasts" not in said(page(house.client("scoped"))).split("How to read")[0].split("What became")[0]


def test_it_asks_the_book_as_often_for_many_shots_as_for_few(book: Storage, viewer: TestClient) -> None:
    shooting = filled(book)
    page(viewer)
    with statements(book) as few:
        page(viewer)
    shoot(shooting, "3", [SOUND] * 20, form="barbed")
    with statements(book) as many:
        page(viewer)
    assert len(few) == len(many) <= 12


def test_the_chart_can_be_downloaded(book: Storage, viewer: TestClient) -> None:
    filled(book)
    href = next(href for href in Tags(page(viewer)).hrefs() if href.startswith("/arrow-damage/drawings/") and ".svg" in href)
    got = viewer.get(href)
    assert got.status_code == 200 and "class=" not in got.text and "with the head ended" in got.text
    assert viewer.get(href.replace("shares", "spoons")).status_code == 404
