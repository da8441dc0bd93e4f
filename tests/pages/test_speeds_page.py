"""Speeds of a combination: typed one by one, left out with a reason, their mean, its uncertainty, and what follows at the chronograph."""

import re
from typing import Any

import pytest
from proofyard.pages.speeds.typed_readings import split_readings
from proofyard.records import listing
from proofyard.records.nouns import TABLES
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.drawn_forms import filled, forms_of, send
from tests.pages.test_kit_forms import error_by


def rows(book: Storage, noun: str) -> Any:
    with book.read() as session:
        return listing.all_of(session, TABLES[noun], voided=True)


@pytest.fixture
def yard(book: Storage) -> Any:
    return kit.yard(book)


@pytest.fixture
def begun(owner: TestClient, book: Storage, yard: Any) -> Any:
    """The page of a combination whose series has begun, read with a chronograph of 0.5 %."""
    tool = kit.chronograph(book, "C1")
    reply = send(
        owner,
        "/combinations/new",
        bow_build=yard.bow.build,
        arrow_build=yard.arrow.build,
        archer=yard.archer,
        instrument=tool,
        stood_at="6 ft",
        day="2026-10-24",
        air_temperature="64 °F",
    )
    assert reply.status_code == 303, reply.text
    return reply.headers["location"].partition("?")[0]


def box(owner: TestClient, page: str) -> Any:
    """Where the next reading of the first series goes, and what goes with it."""
    text = owner.get(page).text
    return next((where, sent) for where, sent in forms_of(text).items() if "/readings" in where)


def type_in(owner: TestClient, page: str, value: Any, **headers: Any) -> Any:
    where, sent = box(owner, page)
    return owner.post(where, data={**sent, "value": value}, headers=headers)


def test_a_combination_with_no_speed_is_not_measured_and_nothing_is_guessed(owner: TestClient, book: Storage, yard: Any) -> None:
    kit.combination(book, yard.combination)
    page = owner.get("/combinations").text
    assert "speed not measured" in page and "\u00a0J" not in page
    href = re.search(r'href="(/combinations/[0-9a-f-]{36})"', page)[1]
    text = owner.get(href).text
    assert "Not measured. No speed was read for" in text and "\u00a0J" not in text and "m/s ±" not in text


def test_readings_are_typed_one_by_one_with_the_focus_in_the_box(owner: TestClient, book: Storage, begun: Any) -> None:
    for value in ("52.4", "52,6 m/s", "172 fps"):
        reply = type_in(owner, begun, value)
        assert reply.status_code == 303 and reply.headers["location"].startswith(f"{begun}?at=")
        assert re.search(r'<input[^>]* name="value"[^>]* value=""[^>]* autofocus', owner.get(reply.headers["location"]).text)
    assert [row.place for row in rows(book, "speed_reading")] == [1, 2, 3]
    assert {row.method for row in rows(book, "speed_reading")} == {"chronograph"}
    text = owner.get(begun).text
    order = [text.index(words) for words in ("52.4\u00a0m/s", "52.6\u00a0m/s", "52.43\u00a0m/s")]
    assert order == sorted(order) and "1.829\u00a0m from the bow" in text and "air 17.78\u00a0°C" in text


def test_mean_spread_n_and_uncertainties_are_those_of_the_gum(owner: TestClient, begun: Any) -> None:
    # GUM 4.2.3: mean 52.6, s = 0.2, u_A = 0.2/sqrt(3) = 0.1155 with 2 degrees of freedom.
    # GUM 4.3.7: 0.5 % of 52.6 as a limit, 0.263/sqrt(3) = 0.1518; F.2.2.1: step 0.1, 0.0289; together 0.1546.
    # GUM 5.1.2: u = hypot(0.1155, 0.1546) = 0.1929; G.4.1: 2 (0.1929/0.1155)^4 = 15.6 degrees of freedom.
    # GUM table G.2: k = 2.13 at 15 and 2.12 at 16 (95 %).
    type_in(owner, begun, "52.4 52.6 52.8")
    text = owner.get(begun).text
    for words in (
        "52.60\u00a0m/s ±\u00a00.19",
        "172.6\u00a0ft/s ±\u00a00.6",
        ">0.2\u00a0m/s<",
        ">0.12<",
        ">0.15<",
        ">0.19<",
        ">15.6<",
        "k = 2.12",
    ):
        assert words in text, words
    assert "Only 3 readings: the spread itself is unsure by about 52 %." in text


def test_energy_and_momentum_stand_in_four_units_with_their_uncertainty_and_say_where(owner: TestClient, book: Storage) -> None:
    scale = kit.scale(book, "S1", accuracy="0.1 g", accuracy_means="standard")
    arrow = kit.arrow(book, "9", masses=())
    kit.mass_reading(book, arrow.build, "60.2 g", instrument=scale)
    three = kit.Combination(kit.bow(book).build, arrow.build, kit.archer(book))
    tool = kit.chronograph(book, "C1", resolution="", accuracy_ratio="", accuracy="0.35 m/s", accuracy_means="standard")
    kit.speeds(book, three, "52.4", "52.4", instrument_id=tool)
    text = owner.get(f"/combinations/{kit.combination(book, three)}").text
    # E = m v^2/2 = 0.0602 x 52.40^2 / 2 = 82.65 J, u_E = E hypot(u_m/m, 2 u_v/v) = 1.11 J (GUM 5.1.6; the scale's step
    # of 0.1 g adds 0.029 g to u_m = 0.1 g); 1 ft·lbf = 1.355 817 948 J: 60.96 (NIST SP 811, appendix B.8).
    # p = 0.0602 x 52.40 = 3.1545 kg·m/s, u_p = 0.0218; 1 slug·ft/s = 4.448 222 kg·m/s: 0.7092 (1 lbf·s).
    for words in (
        "82.6\u00a0J ±\u00a01.1",
        "61.0\u00a0ft·lbf ±\u00a00.8",
        "3.15\u00a0kg·m/s ±\u00a00.02",
        "0.709\u00a0slug·ft/s ±\u00a00.005",
    ):
        assert words in text, words
    assert "Kinetic energy at the chronograph" in text and "Momentum at the chronograph" in text


def test_without_the_scales_accuracy_the_energy_has_why_no_uncertainty_and_says_so(owner: TestClient, begun: Any) -> None:
    type_in(owner, begun, "52.4 52.6 52.8")
    assert "Energy and momentum have no uncertainty here: how far the scale may be off is not written down." in owner.get(begun).text


def test_one_reading_has_a_mean_and_no_spread(owner: TestClient, begun: Any) -> None:
    type_in(owner, begun, "52.4")
    text = owner.get(begun).text
    assert "One reading tells nothing about scatter." in text and "not known from one reading" in text


def test_a_chronograph_of_unknown_accuracy_leaves_the_whole_uncertainty_unknown(owner: TestClient, book: Storage, yard: Any) -> None:
    kit.speeds(book, yard.combination, "52.4", "52.6")
    text = owner.get(f"/combinations/{kit.combination(book, yard.combination)}").text
    assert "combined uncertainty can’t be told: how far the chronograph may be off is not written down" in text
    assert "m/s ±" not in text and "scatter of the readings" in text


def test_a_reading_is_left_out_with_a_reason_and_taken_back(owner: TestClient, book: Storage, begun: Any) -> None:
    type_in(owner, begun, "52.4 52.6 25")
    third = rows(book, "speed_reading")[-1]
    entry = f"{begun}/readings/{third.id}"
    assert send(owner, entry, left_out_reason="caught a fly").status_code == 303
    text = owner.get(begun).text
    assert "2; 1 left out" in text and "left out: caught a fly" in text and "<s>25\u00a0m/s</s>" in text and "52.50\u00a0m/s ±" in text
    assert send(owner, entry, left_out_reason="").status_code == 303
    text = owner.get(begun).text
    assert "1 left out" not in text and "left out: " not in text
    assert "caught a fly" in owner.get(entry).text, "what was said stays in the book"


def test_a_reading_is_corrected_and_crossed_out(owner: TestClient, book: Storage, begun: Any) -> None:
    type_in(owner, begun, "62.4")
    entry = f"{begun}/readings/{rows(book, 'speed_reading')[0].id}"
    refused = send(owner, entry, value="62 gr")
    assert refused.status_code == 422 and "is a mass" in error_by(refused.text, "value")
    assert send(owner, entry, value="52.4", reason="typed 6 for 5").status_code == 303
    assert "52.4\u00a0m/s" in owner.get(begun).text
    assert send(owner, entry, f"{entry}/cross-out").status_code == 422
    assert send(owner, entry, f"{entry}/cross-out", void__reason="another bow").status_code == 303
    assert "Not measured." in owner.get(begun).text


def test_a_series_is_corrected_and_crossed_out_with_its_readings(owner: TestClient, book: Storage, begun: Any) -> None:
    type_in(owner, begun, "52.4 52.6")
    series = f"{begun}/series/{rows(book, 'speed_series')[0].id}"
    assert send(owner, series, stood_at="3 m").status_code == 303
    assert "3\u00a0m from the bow" in owner.get(begun).text
    assert send(owner, series, f"{series}/cross-out", void__reason="wrong arrow").status_code == 303
    assert "Not measured." in owner.get(begun).text


def test_several_at_once_are_all_taken_or_none(owner: TestClient, book: Storage, begun: Any) -> None:
    reply = type_in(owner, begun, "52.4 52,x 180 gr 53")
    assert reply.status_code == 422
    where, sent = next((where, sent) for where, sent in forms_of(reply.text).items() if "/readings" in where)
    assert sent["value"] == "52.4 52,x 180 gr 53"
    said = error_by(reply.text, re.search(r'id="(value-[0-9a-f-]+)-error"', reply.text)[1])
    assert "“52,x”" in said and "“180 gr” is a mass" in said and "52.4" not in said
    assert reply.text.count("“180 gr” is a mass") == 2 and rows(book, "speed_reading") == []
    assert owner.post(where, data={**sent, "value": "52.4 52.5 53"}).status_code == 303
    assert len(rows(book, "speed_reading")) == 3


@pytest.mark.parametrize(
    ("typed", "pieces"),
    [
        ("52.6", ["52.6"]),
        ("52.6 53.1", ["52.6", "53.1"]),
        ("52,6 53,1", ["52,6", "53,1"]),
        ("52,6, 53,1", ["52,6", "53,1"]),
        ("52.6 m/s 53.1 m/s", ["52.6 m/s", "53.1 m/s"]),
        ("180 fps\r\n181 fps\n", ["180 fps", "181 fps"]),
        ("52.6; 53.1;53", ["52.6", "53.1", "53"]),
        ("  ", []),
    ],
)
def test_readings_are_parted_as_people_write_them(typed: str, pieces: Any) -> None:
    assert split_readings(typed) == pieces


def test_too_many_at_once_are_refused(owner: TestClient, book: Storage, begun: Any) -> None:
    reply = type_in(owner, begun, "52 " * 41)
    assert reply.status_code == 422 and "41 readings are too many" in reply.text


def test_a_reading_sent_twice_is_one(owner: TestClient, book: Storage, begun: Any) -> None:
    where, sent = box(owner, begun)
    for _ in range(2):
        assert owner.post(where, data={**sent, "value": "52.4 52.5"}).status_code == 303
    assert len(rows(book, "speed_reading")) == 2


def test_the_form_that_begins_sent_twice_makes_one_combination_and_one_series(owner: TestClient, book: Storage, yard: Any) -> None:
    where, form = filled(owner, "/combinations/new", bow_build=yard.bow.build, arrow_build=yard.arrow.build, archer=yard.archer)
    first, second = owner.post(where, data=form), owner.post(where, data=form)
    assert first.status_code == second.status_code == 303 and first.headers["location"] == second.headers["location"]
    assert len(rows(book, "combination")) == len(rows(book, "speed_series")) == 1


def test_a_combination_that_is_there_gets_another_series(owner: TestClient, book: Storage, yard: Any) -> None:
    combination = kit.combination(book, yard.combination)
    where, form = filled(owner, "/combinations/new", bow_build=yard.bow.build, arrow_build=yard.arrow.build, archer=yard.archer)
    for _ in range(2):
        assert owner.post(where, data=form).headers["location"].startswith(f"/combinations/{combination}?")
    assert len(rows(book, "combination")) == len(rows(book, "speed_series")) == 1
    assert send(owner, f"/combinations/{combination}/series", day="2026-10-25").status_code == 303
    assert len(rows(book, "speed_series")) == 2 and "2026-10-25" in owner.get(f"/combinations/{combination}").text


def test_what_a_combination_lacks_is_said_by_each_field(owner: TestClient, book: Storage, yard: Any) -> None:
    reply = send(owner, "/combinations/new", bow_build=yard.bow.build, day="yesterday", stood_at="4 kg")
    assert reply.status_code == 422
    assert error_by(reply.text, "arrow_build") == "Arrow build is needed." and error_by(reply.text, "archer")
    assert "is not a day" in error_by(reply.text, "day") and "is a mass" in error_by(reply.text, "stood_at")
    assert rows(book, "combination") == []


def test_htmx_gets_the_part_that_stands_in_the_page(owner: TestClient, begun: Any) -> None:
    reply = type_in(owner, begun, "52.4", **{"HX-Request": "true"})
    assert reply.status_code == 200 and reply.text.startswith('<div class="layout__part" id="speeds-found">')
    wrong = type_in(owner, begun, "52 kg", **{"HX-Request": "true"})
    assert wrong.status_code == 422 and "is a mass" in wrong.text and 'role="alert"' in wrong.text and "<html" not in wrong.text

    empty = type_in(owner, begun, "", **{"HX-Request": "true"})
    assert empty.status_code == 422 and "Enter the speed" in empty.text
    assert 'id="speeds-found"' in owner.get(begun).text and re.search(
        r'hx-post="[^"]*/readings" hx-target="#speeds-found"', owner.get(begun).text
    )


def test_pooling_is_a_choice_of_the_view_that_says_so_and_widens_the_uncertainty(owner: TestClient, book: Storage) -> None:
    tool = kit.chronograph(book, "C1")
    bow, archer = kit.bow(book), kit.archer(book)
    arrows = [kit.arrow(book, tag, masses=(mass,), fletching="goose") for tag, mass in (("1", "80 g"), ("2", "81 g"), ("3", "90 g"))]
    combinations = [kit.Combination(bow.build, arrow.build, archer) for arrow in arrows]
    kit.speeds(book, combinations[0], "52.4", "52.6", "52.8", instrument_id=tool)
    kit.speeds(book, combinations[1], "53.4", "53.6", "53.8", instrument_id=tool)
    kit.speeds(book, combinations[2], "48", "48.2", instrument_id=tool)
    page = f"/combinations/{kit.combination(book, combinations[0])}"
    own, pooled = owner.get(page).text, owner.get(f"{page}?pool=yes").text
    assert f'href="{page}?pool=yes"' in own and "Pooled with" not in own and "52.60\u00a0m/s ±\u00a00.19" in own
    assert "Pooled with like combinations (arrows 2)" in pooled and "within ±2 %" in pooled and "series lie apart" in pooled
    mean, uncertainty = re.search(r"(5\d\.\d+)\u00a0m/s ±\u00a0(\d+\.\d+) from 6 readings", pooled).groups()
    assert float(mean) == pytest.approx(53.1, abs=0.05) and float(uncertainty) > 0.7
    assert "6, 3 of them its own" in pooled
    where, sent = next((w, s) for w, s in forms_of(pooled).items() if "/readings" in w)
    assert owner.post(where, data={**sent, "value": "52.6"}).headers["location"].endswith("pool=yes")


def test_a_shots_own_speed_counts_for_its_combination_and_leads_to_the_shot(owner: TestClient, book: Storage, yard: Any) -> None:
    shot = kit.shot(book, yard)
    kit.shot_speed(book, shot, "52.6 m/s")
    text = owner.get(f"/combinations/{kit.combination(book, yard.combination)}").text
    assert f'href="/shots/{shot}"' in text and "Read on shots" in text and "52.6\u00a0m/s from 1 reading" in text


def test_an_unusual_speed_is_kept_and_said(owner: TestClient, begun: Any) -> None:
    assert type_in(owner, begun, "95").status_code == 303
    assert "95\u00a0m/s is unusual" in owner.get(begun).text


def test_another_combinations_series_and_readings_are_not_reached_through_this_one(owner: TestClient, book: Storage, begun: Any) -> None:
    type_in(owner, begun, "52.4")
    series, reading = rows(book, "speed_series")[0].id, rows(book, "speed_reading")[0].id
    other = kit.combination(book, kit.Combination(kit.bow(book).build, kit.arrow(book).build, kit.archer(book)))
    assert owner.post(f"/combinations/{other}/series/{series}/readings", data={"value": "50"}).status_code == 404
    assert owner.get(f"/combinations/{other}/readings/{reading}").status_code == 404
    assert owner.get(f"/combinations/{other}/elsewhere/{reading}").status_code == 404
    assert owner.get("/combinations/none").status_code == 404


def test_a_viewer_sees_speeds_and_no_form(viewer: TestClient, owner: TestClient, begun: Any) -> None:
    type_in(owner, begun, "52.4")
    text = viewer.get(begun).text
    assert "52.4\u00a0m/s" in text and 'name="value"' not in text and "Another series" not in text
    assert viewer.get("/combinations/new").status_code == 403
    assert viewer.post(f"{begun}/series", data={}).status_code == 403
