"""What is read of kit one by one: readings, picks, force and draw, spots, layers, checks."""

import re
from typing import Any

import pytest
from proofyard.quantities import from_si
from proofyard.records import listing
from proofyard.records.devices import now_ms
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
def weighed(book: Storage) -> Any:
    """The page where an arrow is weighed, and a scale of known accuracy."""
    arrow = kit.arrow(book, "9", masses=())
    scale = kit.scale(book, "S1", accuracy="0.1 g", accuracy_means="limit")
    return f"/kit/arrow/{arrow.arrow}/mass", scale


def test_readings_are_typed_one_by_one_and_the_box_comes_back_empty_and_in_focus(owner: TestClient, book: Storage, weighed: Any) -> None:
    page, scale = weighed
    for value in ("72.4", "1118 gr", "72,6 g"):
        reply = send(owner, page, value=value, instrument=scale)
        assert reply.status_code == 303 and reply.headers["location"].startswith(page)
    shown = owner.get(page).text
    assert re.search(r'<input[^>]* id="value"[^>]* value=""[^>]* autofocus', shown)
    assert next(one["instrument"] for one in forms_of(shown).values() if "instrument" in one) == scale, (
        "the next is read with the same scale"
    )
    order = [shown.index(text) for text in ("72.4\u00a0g", "1118 gr (72.45\u00a0g)", "72.6\u00a0g")]
    assert order == sorted(order)


def test_mean_spread_n_and_both_uncertainties_stand_beside_the_readings(owner: TestClient, weighed: Any) -> None:
    page, scale = weighed
    for value in ("72.4", "72.5", "72.6"):
        send(owner, page, value=value, instrument=scale)
    shown = owner.get(page).text
    # mean 72.5, s = 0.1; u_A = 0.1/sqrt(3) = 0.0577; u_B: 0.1/sqrt(3) and 0.1/2/sqrt(3) = 0.0645; both 0.0866
    # (GUM 4.2.3, 4.3.7, F.2.2.1, 5.1.2)
    for words in ("72.50\u00a0g ±\u00a00.09", "0.10\u00a0g", ">0.06\u00a0g<", "0.06\u00a0g, ", ">0.09\u00a0g<", "Only 3 readings"):
        assert words in shown, words


def test_a_reading_is_left_out_with_a_reason_and_taken_back(owner: TestClient, book: Storage, weighed: Any) -> None:
    page, scale = weighed
    for value in ("72.4", "72.6", "95"):
        send(owner, page, value=value, instrument=scale)
    third = rows(book, "reading")[-1]
    row_page = f"{page}/{third.id}"
    assert send(owner, row_page, left_out_reason="scale not zeroed").status_code == 303
    shown = owner.get(page).text
    assert "2, and 1 left out" in shown and "left out: scale not zeroed" in shown and "<s>95\u00a0g</s>" in shown
    assert "2 readings" in owner.get(page.removesuffix("/mass")).text
    assert send(owner, row_page, left_out_reason="", reason="it was zeroed").status_code == 303
    assert "left out" not in owner.get(page).text
    assert "it was zeroed" in owner.get(row_page).text


def test_a_reading_is_corrected_and_crossed_out_and_neither_is_rubbed_out(owner: TestClient, book: Storage, weighed: Any) -> None:
    page, scale = weighed
    send(owner, page, value="35", instrument=scale)
    row_page = f"{page}/{rows(book, 'reading')[0].id}"
    assert send(owner, row_page, value="53 g", reason="typed 35 for 53").status_code == 303
    shown = owner.get(row_page).text
    assert "was </span>35</s>" in shown and "typed 35 for 53" in shown
    refused = send(owner, row_page, f"{row_page}/cross-out")
    assert refused.status_code == 422 and "Enter the reason" in error_by(refused.text, "void-reason")
    assert send(owner, row_page, f"{row_page}/cross-out", void__reason="another arrow").status_code == 303
    assert "not read yet" in owner.get(page.removesuffix("/mass")).text
    assert send(owner, row_page, f"{row_page}/cross-out", void__reason="it was this one").status_code == 303
    assert rows(book, "reading")[0].voided_rev is None


def test_a_wrong_reading_stays_in_its_box(owner: TestClient, book: Storage, weighed: Any) -> None:
    page, scale = weighed
    where, form = filled(owner, page, value="72.4 m", instrument=scale)
    reply = owner.post(where, data=form)
    assert reply.status_code == 422
    assert error_by(reply.text, "value") == "“72.4 m” is a length. Type a mass, for example 72.4 g or 1117 gr."
    assert reply.text.count("“72.4 m” is a length. Type a mass") == 2
    assert forms_of(reply.text)[where]["value"] == "72.4 m" and rows(book, "reading") == []
    assert send(owner, page).status_code == 422, "nothing typed is not a reading"


def test_a_reading_sent_twice_is_one(owner: TestClient, book: Storage, weighed: Any) -> None:
    page, scale = weighed
    where, form = filled(owner, page, value="72.4", instrument=scale)
    assert owner.post(where, data=form).status_code == owner.post(where, data=form).status_code == 303
    assert len(rows(book, "reading")) == 1


def test_an_unusual_reading_is_kept_and_said(owner: TestClient, weighed: Any) -> None:
    page, _ = weighed
    assert send(owner, page, value="400").status_code == 303
    assert "400\u00a0g is unusual for an arrow’s mass" in owner.get(page).text


def test_an_earlier_builds_readings_are_its_own(owner: TestClient, book: Storage) -> None:
    arrow = kit.arrow(book, "9", masses=("72.4 g",))
    again = kit.new_arrow_build(book, arrow, masses=())
    page = f"/kit/arrow/{arrow.arrow}/mass"
    assert "72.4" not in owner.get(page).text
    assert "72.4" in owner.get(f"{page}?build={arrow.build}").text
    assert send(owner, f"{page}?build={arrow.build}", page, value="72.5").status_code == 303
    assert {row.record_id for row in rows(book, "reading")} == {arrow.build} != {again.build}
    assert owner.get(f"{page}?build={kit.bow(book).build}").status_code == 404


def test_an_entry_is_not_reached_through_another_record(owner: TestClient, book: Storage, weighed: Any) -> None:
    page, _ = weighed
    send(owner, page, value="72.4")
    row_page = rows(book, "reading")[0].id
    other = kit.arrow(book, "10", masses=())
    assert owner.get(f"/kit/arrow/{other.arrow}/mass/{row_page}").status_code == 404
    assert owner.post(f"/kit/arrow/{other.arrow}/mass/{row_page}", data={"value": "80"}).status_code == 404


def test_thickness_is_read_at_places(owner: TestClient, book: Storage) -> None:
    panel = kit.panel(book, "P1")
    page = f"/kit/panel/{panel.panel}/thickness"
    for value, place in (("1.58", "middle"), ("1/16 in", "left edge")):
        assert send(owner, page, value=value, place=place).status_code == 303
    shown = owner.get(page).text
    assert "left edge" in shown and "1/16 in (1.59\u00a0mm)" in shown
    assert send(owner, page, value="16 ga").status_code == 422


# Hardness


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"slides": "45", "bites": "50"}, "Between 45 and 50\u00a0HRC"),
        ({"slides": "65"}, "Harder than 65\u00a0HRC"),
        ({"bites": "40 HRC"}, "Softer than 40\u00a0HRC"),
        ({"sticks": "50"}, "About 50\u00a0HRC"),
        ({"value": "180 HV10"}, "180\u00a0HV10"),
        ({"value": "52", "scale": "HRC"}, "52\u00a0HRC"),
    ],
)
@pytest.mark.parametrize("noun", ["head", "panel"])
def test_hardness_is_a_bracket_open_at_either_end_or_a_value_with_its_scale(
    owner: TestClient, book: Storage, noun: str, typed: Any, words: str
) -> None:
    record = kit.head(book) if noun == "head" else kit.panel(book).panel
    page = f"/kit/{noun}/{record}/hardness"
    assert send(owner, page, **typed).status_code == 303
    assert words in owner.get(page).text and words in owner.get(f"/kit/{noun}/{record}").text


@pytest.mark.parametrize(
    ("typed", "field", "says"),
    [
        ({"value": "12 HRC"}, "value", "HRC starts at 20. Type it as HV, for example 180 HV."),
        ({"value": "180"}, "value", "says no scale"),
        ({"slides": "50", "bites": "45"}, "bites", "must be harder"),
        ({"place": "edge"}, "value", "Enter a value with its scale, or the picks"),
    ],
)
def test_a_hardness_that_can_not_be_is_refused_by_its_field(owner: TestClient, book: Storage, typed: Any, field: str, says: str) -> None:
    reply = send(owner, f"/kit/head/{kit.head(book)}/hardness", **typed)
    assert reply.status_code == 422 and says in error_by(reply.text, field)


# Arrows, bows, panels, stands, instruments


def test_an_arrow_that_was_looked_at_is_sound_from_that_moment(owner: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.shot(book, yard, label="A1", loosed_at=now_ms() - 60_000)
    page = f"/kit/arrow/{yard.arrow.arrow}/sound"
    where, form = filled(owner, page, sound="sound", note="flexed both ways")
    before = now_ms()
    assert owner.post(where, data=form).status_code == owner.post(where, data=form).status_code == 303
    (check,) = rows(book, "arrow_check")
    assert before <= check.at <= now_ms()
    assert "To check" not in owner.get("/kit").text
    kit.shot(book, yard, label="A2", loosed_at=now_ms() + 1000)
    assert "To check" in owner.get("/kit").text
    assert send(owner, page, note="hm").status_code == 422, "the answer itself is needed"


def test_force_and_draw_are_added_one_at_a_time_or_pasted(owner: TestClient, book: Storage) -> None:
    bow = kit.bow(book)
    page = f"/kit/bow/{bow.bow}/draw"
    assert send(owner, page, draw="28", force="95").status_code == 303
    where, form = filled(owner, page, pasted="29 in 100 lbf\r\n30 104\r\n\r\n31 1/2 in; 110 lb\r\n800 mm\t500 N")
    assert owner.post(where, data=form).status_code == owner.post(where, data=form).status_code == 303
    points = [(round(from_si(p.draw_m, "in"), 2), round(from_si(p.force_n, "lbf"), 1)) for p in rows(book, "draw_point")]
    assert points == [(28, 95), (29, 100), (30, 104), (31.5, 110), (31.5, 112.4)]
    assert "28\u00a0in" in owner.get(page).text or "711.2\u00a0mm" in owner.get(page).text


def test_of_pasted_lines_all_are_taken_or_none_and_each_fault_names_its_line(owner: TestClient, book: Storage) -> None:
    bow = kit.bow(book)
    page = f"/kit/bow/{bow.bow}/draw"
    text = "28 in 95 lbf\nhello\n30 in"
    where, form = filled(owner, page, pasted=text)
    reply = owner.post(where, data=form)
    assert reply.status_code == 422
    said = error_by(reply.text, "pasted")
    assert "Line 2, “hello”" in said and "Line 3, “30 in”" in said
    assert forms_of(reply.text)[where]["pasted"].strip() == text
    reply = send(owner, page, pasted="28 in 95 lbf\n29 in 9000 lbf\n3 kg 90 lbf")
    said = error_by(reply.text, "pasted")
    assert "Line 2: “9000 lbf” is too high" in said and "Line 3:" in said and "Line 1" not in said
    assert rows(book, "draw_point") == []


def test_a_bow_is_checked_at_the_archers_own_draw(owner: TestClient, book: Storage) -> None:
    bow, wren = kit.bow(book), kit.archer(book, "Wren")
    page = f"/kit/bow/{bow.bow}/check"
    assert send(owner, page, weight="106#", draw="30½", archer=wren, part="start", temperature="64 °F", humidity="60 %").status_code == 303
    shown = owner.get(f"/kit/bow/{bow.bow}").text
    assert "106# (472\u00a0N)" in shown and "Wren" in shown and "Start of the day" in shown and "64 °F (17.8\u00a0°C)" in shown


def test_a_spot_is_marked_with_its_place(owner: TestClient, book: Storage) -> None:
    panel = kit.panel(book)
    page = f"/kit/panel/{panel.panel}/area"
    assert send(owner, page, name="P1", sort="aim", x="-60", y="8 cm", reach="15").status_code == 303
    (spot,) = rows(book, "panel_area")
    assert (spot.x_m, spot.y_m, spot.panel_build_id) == (pytest.approx(-0.06), pytest.approx(0.08), panel.build)
    refused = send(owner, page, name="P2")
    assert refused.status_code == 422
    assert error_by(refused.text, "x") == "Right of the middle is needed." and error_by(refused.text, "sort")


def test_layers_of_a_stand_stand_in_order_from_the_front(owner: TestClient, book: Storage) -> None:
    page = f"/kit/stand/{kit.stand(book)}/layer"
    assert send(owner, page, material="linen shirt", role="garment").status_code == 303
    assert send(owner, page, material="clay block", role="backing", place="3").status_code == 303
    assert send(owner, page, material="paper", role="witness", place="2").status_code == 303
    shown = owner.get(page).text
    order = [
        shown.index(f"<b>{words}</b>") if f"<b>{words}</b>" in shown else shown.index(words)
        for words in ("linen shirt", "paper", "clay block")
    ]
    assert order == sorted(order)
    assert forms_of(shown)[page]["place"] == "4"


def test_an_instrument_is_checked_against_something_known_and_a_stands_backing_too(owner: TestClient, book: Storage) -> None:
    page = f"/kit/instrument/{kit.scale(book)}/check"
    assert send(owner, page, against="50 g weight", known="50 g", found="50.1 g").status_code == 303
    assert "50 g weight" in owner.get(page).text
    page = f"/kit/stand/{kit.stand(book)}/backing"
    assert send(owner, page, how="dropped ball", found="19 mm").status_code == 303
    assert "dropped ball" in owner.get(page).text


def test_a_viewer_sees_readings_and_no_form(viewer: TestClient, owner: TestClient, weighed: Any) -> None:
    page, scale = weighed
    send(owner, page, value="72.4", instrument=scale)
    shown = viewer.get(page)
    assert shown.status_code == 200 and "72.4" in shown.text and 'name="value"' not in shown.text
    assert viewer.post(page, data={"value": "1"}).status_code == 403
