"""The page of what-ifs: everything in its address, an answer or its reason, messages beside fields, cautions where they matter."""

from __future__ import annotations

import html
import re

import pytest
from proofyard.answers.methods.page import method_names
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once  # noqa: F401


def text_of(page: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))


def test_a_first_look_asks_for_an_armour_and_says_never_to_try_it(viewer: TestClient, filled: Filled) -> None:
    page = viewer.get("/what-if")
    assert page.status_code == 200
    assert "What if the armour were different?" in page.text and "Never try it on anyone" in page.text
    assert 'name="thickness"' not in page.text and "P1: 1.6" in text_of(page.text)
    assert '<details class="layout__part what-if__ask" id="what-if-ask" open>' in page.text


def test_the_answer_stands_first_in_words_then_the_drawing_then_the_tables(viewer: TestClient, filled: Filled) -> None:
    page = viewer.get(f"/what-if?panel={filled.panels['P1'].build}&basis=panel_type&thickness=1.2+mm")
    assert page.status_code == 200
    places = [
        page.text.index(words)
        for words in (
            "The 50 % energy of P1".replace(" %", "\N{NO-BREAK SPACE}%"),
            "Never try it on anyone",
            'id="what-if-chart"',
            "Your bows against it",
            "The rules compared",
            "What bow would it need?",
            "What it rests on",
        )
    ]
    assert places == sorted(places)
    assert re.search(
        r"<p>The 50 % energy of P1 at 1\.2 mm would be \d+ to \d+\s*J\.</p>", html.unescape(page.text).replace("\N{NO-BREAK SPACE}", " ")
    )
    (address,) = re.findall(r'href="(/what-if/drawings/[^"]+\.svg[^"]*)"', page.text)
    file = viewer.get(html.unescape(address))
    assert file.status_code == 200 and "P1: share that gets through, by energy" in file.text
    words = " ".join(re.findall(r"<text[^>]*>([^<]*)<", file.text)).replace("\N{NO-BREAK SPACE}", " ")
    assert "A: The 50 % energy of P1 at 1.2 mm would be" in words and "Never try it on anyone." in words
    assert viewer.get("/what-if/drawings/what-if.svg").status_code == 404, "nothing asked, nothing drawn"
    assert 'value="1.2 mm"' in page.text and "certifies armour" in page.text
    assert '<details class="layout__part what-if__ask" id="what-if-ask">' in page.text  # folded once there is an answer


def test_every_rule_leads_to_its_method(viewer: TestClient, filled: Filled) -> None:
    page = viewer.get(
        f"/what-if?panel={filled.panels['P1'].build}&basis=model&thickness=1.2+mm&layers=2&angle=20&steel_quality=hardened&steel_now=mild_steel"
    ).text
    named = set(re.findall(r'href="/methods/of/(\w+)"', page))
    assert {"plate_energy_j", "layers_factor", "angle_factor", "brl_energy_j"} <= named <= method_names()


def test_two_what_ifs_stand_side_by_side(viewer: TestClient, filled: Filled) -> None:
    page = viewer.get(f"/what-if?panel={filled.panels['P1'].build}&basis=panel_type&thickness=1.2+mm&b_thickness=2+mm").text
    assert "<p>A: The 50 % energy of P1 at 1.2" in page.replace("&nbsp;", " ").replace("\N{NO-BREAK SPACE}", " ")
    assert "A: Your bows against it" in page and "B: Your bows against it" in page and "layout__two" in page


def test_what_cannot_be_used_stands_beside_its_field_with_what_was_typed(viewer: TestClient, filled: Filled) -> None:
    page = viewer.get(f"/what-if?panel={filled.panels['P1'].build}&thickness=1+furlong&b_layers=9")
    assert page.status_code == 422
    assert 'value="1 furlong"' in page.text and 'href="#thickness"' in page.text and 'href="#b_layers"' in page.text
    assert 'id="thickness-error"' in page.text and 'aria-invalid="true"' in page.text
    assert "<title>Error" in page.text or "wrong" in page.text
    assert "energy of P1" not in page.text
    assert '<details class="what-if__more" open>' in page.text  # the second one holds a fault, so it is open


def test_a_field_without_a_rule_for_this_armour_is_not_offered_but_kept_when_typed(viewer: TestClient, filled: Filled) -> None:
    mail, plate = filled.panels["M1"].build, filled.panels["P1"].build
    assert (
        'name="wire"' in viewer.get(f"/what-if?panel={mail}").text and 'name="thickness"' not in viewer.get(f"/what-if?panel={mail}").text
    )
    assert (
        'name="thickness"' in viewer.get(f"/what-if?panel={plate}").text and 'name="wire"' not in viewer.get(f"/what-if?panel={plate}").text
    )
    typed = viewer.get(f"/what-if?panel={plate}&wire=1.4+mm")
    assert typed.status_code == 422 and 'name="wire"' in typed.text and "There is no rule" in typed.text


def test_no_answer_is_a_page_of_its_own_right_with_the_reason(viewer: TestClient, book: Storage, filled: Filled) -> None:
    panel = kit.panel(book, "Bare", construction="other")
    page = viewer.get(f"/what-if?panel={panel.build}")
    assert page.status_code == 200 and "<p>No answer yet.</p>" in page.text and "no published rule is known" in page.text
    assert 'id="what-if-chart"' not in page.text


def test_a_shot_in_the_drawing_leads_to_its_page(viewer: TestClient, filled: Filled) -> None:
    page = viewer.get(f"/what-if?panel={filled.panels['P1'].build}&basis=panel_type&thickness=1.2+mm").text
    shots = re.findall(r'<a href="(/shots/[^"]+)" aria-label="A\d+: \d+', page)
    assert shots and viewer.get(shots[0]).status_code == 200


def test_the_reader_of_feet_and_pounds_has_them_here_too(viewer: TestClient, filled: Filled) -> None:
    viewer.cookies.set("units", "imperial")
    page = text_of(viewer.get(f"/what-if?panel={filled.panels['P1'].build}&basis=panel_type&thickness=1.2+mm").text)
    assert "ft·lbf" in page and " lbf of this make" in page and " N)" not in page


@pytest.mark.parametrize("where", ["/panels/{panel}", "/trials/{trial}"])
def test_it_is_reached_from_panel_and_trial(viewer: TestClient, filled: Filled, where: str) -> None:
    address = where.format(panel=filled.panels["P1"].build, trial=filled.trial)
    assert f'href="/what-if?panel={filled.panels["P1"].build}"' in viewer.get(address).text


def test_it_is_reached_from_results_with_their_panel_and_head(viewer: TestClient, filled: Filled) -> None:
    assert 'href="/what-if?panel="' in viewer.get("/results/shares").text
    page = viewer.get(f"/results/shares?panel={filled.panels['P1'].panel}&head=needle").text
    found = re.search(r'id="results-what-if" href="([^"]+)"', page)
    assert found is not None
    there = viewer.get(html.unescape(found[1]))
    assert there.status_code == 200 and '<option value="needle" selected>' in there.text and "P1" in there.text


@pytest.mark.parametrize(
    "hostile", ["<script>alert(1)</script>", "' OR 1=1 --", "9" * 500, "\x00\x07", "1e400 mm", "½ mm", "−1 mm", "nan mm"]
)
def test_what_is_hostile_or_odd_is_shown_as_text_and_harms_nothing(viewer: TestClient, filled: Filled, hostile: str) -> None:
    for name in ("thickness", "steel", "layers", "panel", "head", "energy", "b_angle"):
        page = viewer.get("/what-if", params={"panel": filled.panels["P1"].build, name: hostile})
        assert page.status_code in (200, 422) and "<script>alert" not in page.text


def test_a_panel_that_the_book_has_not_is_asked_for_again(viewer: TestClient, filled: Filled) -> None:
    page = viewer.get("/what-if?panel=01900000-0000-7000-8000-000000000000")
    assert page.status_code == 422 and "That panel is not in the list" in page.text


def test_the_guide_works_one_by_hand(stranger: TestClient) -> None:
    page = stranger.get("/guide/what-if")
    assert page.status_code == 200 and "<h1>One what-if, worked by hand</h1>" in page.text
