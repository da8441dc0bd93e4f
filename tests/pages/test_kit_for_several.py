"""Kit for two archers in one go: what is asked at once, what follows the last, what is offered where, in which order."""

from typing import Any

import pytest
from proofyard.quantities import from_si
from proofyard.records import listing
from proofyard.records.listing import by_number
from proofyard.records.nouns import TABLES
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.drawn_forms import filled, send
from tests.pages.test_kit_forms import error_by
from tests.pages.test_kit_start import DAY


def rows(book: Storage, noun: str) -> Any:
    with book.read() as session:
        return listing.all_of(session, TABLES[noun], voided=True)


def test_both_archers_both_bows_the_shafts_and_the_panels_material_are_asked(owner: TestClient, book: Storage) -> None:
    more = {
        "archer2__call_name": "Tallow",
        "bow2__name": "Yew",
        "bow2__marked_weight": "145 lbf",
        "shafts__diameter": "1/2 in",
        "panel__material": "mild steel sheet",
    }
    assert send(owner, "/kit/start", **DAY, **more).status_code == 303
    assert [one.call_name for one in rows(book, "archer")] == ["Tallow", "Wren"]
    assert {one.name for one in rows(book, "bow")} == {"Ash", "Yew"} and len(rows(book, "bow_build")) == 2
    assert [from_si(one.diameter_m, "mm") for one in rows(book, "arrow")] == [pytest.approx(12.7)] * 5
    assert rows(book, "panel")[0].material == "mild steel sheet"


def test_what_is_wrong_with_the_shafts_is_said_once_at_their_box(owner: TestClient, book: Storage) -> None:
    reply = send(owner, "/kit/start", arrow1__tag="1", arrow2__tag="2", shafts__diameter="12.7 kg")
    assert reply.status_code == 422 and rows(book, "arrow") == []
    assert error_by(reply.text, "shafts-diameter") and reply.text.count("field--wrong") == 1
    reply = send(owner, "/kit/start", archer__call_name="Wren", shafts__diameter="12.7 mm")
    assert reply.status_code == 422 and "No arrow has this shaft yet" in error_by(reply.text, "shafts-diameter")
    assert rows(book, "archer") == []


@pytest.mark.parametrize(("noun", "field", "names"), [("arrow", "tag", ("7", "8")), ("bow", "name", ("Ash", "Yew"))])
def test_save_and_add_another_comes_back_empty_and_says_what_was_saved(
    owner: TestClient, book: Storage, noun: str, field: str, names: tuple[str, str]
) -> None:
    where, form = filled(owner, f"/kit/{noun}/new", **{field: names[0]})
    reply = owner.post(where, data={**form, "another": "yes"})
    assert reply.status_code == 303 and reply.headers["location"].startswith(f"/kit/{noun}/new?saved=")
    page = owner.get(reply.headers["location"]).text
    assert f"Saved: {noun} {names[0]}." in page and 'name="another"' in page
    where, form = filled(owner, reply.headers["location"], **{field: names[1]})
    reply = owner.post(where, data=form)
    assert reply.headers["location"].startswith(f"/kit/{noun}/") and "saved" not in reply.headers["location"]
    assert len(rows(book, noun)) == 2


def test_a_saved_record_that_is_none_is_not_spoken_of(owner: TestClient) -> None:
    assert "Saved:" not in owner.get("/kit/arrow/new?saved=nothing").text


def test_arrows_stand_in_the_order_of_their_numbers(owner: TestClient, book: Storage) -> None:
    for tag in ("10", "2", "1", "A10", "A2"):
        kit.arrow(book, tag)
    page = owner.get("/kit").text
    places = [page.index(f">{tag}<") for tag in ("1", "2", "10", "A2", "A10")]
    assert places == sorted(places)
    assert sorted(["b", "2x", "10", "2", "", "A1"], key=by_number) == ["", "2", "2x", "10", "A1", "b"]


def test_a_scale_plate_of_45_mm_is_not_unusual_and_one_of_500_mm_is(owner: TestClient, book: Storage) -> None:
    send(owner, "/kit/panel/new", name="S1", construction="scale")
    panel = rows(book, "panel")[0]
    where = f"/kit/panel/{panel.id}/correct"
    assert send(owner, where, plate_width="45 mm", plate_height="60 mm").status_code == 303
    assert "unusual" not in owner.get("/kit").text
    assert send(owner, where, plate_height="500 mm").status_code == 303
    assert "unusual for a small plate" in owner.get("/kit").text


TOOLS = {"S1": "scale", "B1": "bow_scale", "C1": "chronograph", "K1": "caliper", "H1": "picks", "X1": "other", "Y1": ""}


@pytest.fixture
def tools(book: Storage) -> dict[str, str]:
    return {name: kit.put(book, "instrument", {"name": name, **({"sort": sort} if sort else {})}) for name, sort in TOOLS.items()}


def offered(page: str) -> set[str]:
    box = page[page.index('name="instrument"') :].partition("</select>")[0]
    return {name for name in TOOLS if f">{name}" in box}


def test_instruments_are_offered_only_where_they_measure_that_kind(owner: TestClient, book: Storage, tools: dict[str, str]) -> None:
    yard = kit.yard(book)
    wanted = {
        f"/kit/arrow/{yard.arrow.arrow}/mass": {"S1"},
        f"/kit/bow/{yard.bow.bow}/draw": {"B1"},
        f"/kit/panel/{yard.panel.panel}/thickness": {"K1"},
        f"/kit/panel/{yard.panel.panel}/hardness": {"H1"},
        "/combinations/new": {"C1"},
        "/combinations/several": {"C1"},
    }
    for address, names in wanted.items():
        assert offered(owner.get(address).text) == names | {"X1", "Y1"}, address


def test_an_instrument_that_already_stands_by_a_reading_stays_whatever_it_is(
    owner: TestClient, book: Storage, tools: dict[str, str]
) -> None:
    yard = kit.yard(book)
    made = kit.put(
        book,
        "reading",
        {"noun": "arrow_build", "record": yard.arrow.build, "measured": "mass", "value": "72.4 g", "instrument": tools["C1"]},
    )
    assert "C1" in offered(owner.get(f"/kit/arrow/{yard.arrow.arrow}/mass/{made}").text)


@pytest.mark.parametrize(("noun", "example"), [("archer", "typed Wern for Wren"), ("panel", "the sheet is 1.6 mm, not 1.2")])
def test_a_correction_speaks_of_the_thing_at_hand(owner: TestClient, book: Storage, noun: str, example: str) -> None:
    made = kit.put(book, noun, {"call_name" if noun == "archer" else "name": "Wern"})
    assert example in owner.get(f"/kit/{noun}/{made}/correct").text


def boxes(owner: TestClient, book: Storage, yard: Any, **typed: str) -> dict[str, str]:
    """The form of several arrows' speeds, filled: by tag."""
    with book.read() as session:
        tags = {one.id: one.tag for one in listing.all_of(session, TABLES["arrow"])}
        builds = {f"speeds-{one.id}": tags[one.arrow_id] for one in listing.all_of(session, TABLES["arrow_build"])}
    _, form = filled(owner, "/combinations/several", bow_build=yard.bow.build, archer=yard.archer)
    return {**form, **{name: typed.get(f"arrow_{tag}", "") for name, tag in builds.items()}}


def test_speeds_of_several_arrows_are_typed_on_one_page(owner: TestClient, book: Storage, tools: dict[str, str]) -> None:
    yard = kit.yard(book)
    kit.arrow(book, "8")
    kit.arrow(book, "9")
    form = {**boxes(owner, book, yard, arrow_8="52.4 52.6 52.9", arrow_9="170 fps"), "instrument": tools["C1"], "stood_at": "2 m"}
    for _ in range(2):  # sent twice, it is saved once
        reply = owner.post("/combinations/several", data=form)
        assert (reply.status_code, reply.headers["location"]) == (303, "/combinations")
    assert len(rows(book, "combination")) == 2 and len(rows(book, "speed_series")) == 2
    readings = rows(book, "speed_reading")
    assert sorted(round(one.value_m_s, 2) for one in readings) == [51.82, 52.4, 52.6, 52.9]
    assert {one.method for one in readings} == {"chronograph"}
    again = boxes(owner, book, yard, arrow_8="53.0")
    assert owner.post("/combinations/several", data=again).status_code == 303
    assert len(rows(book, "combination")) == 2 and len(rows(book, "speed_series")) == 3


def test_a_wrong_speed_of_one_arrow_keeps_all_that_was_typed_and_saves_nothing(owner: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.arrow(book, "8")
    kit.arrow(book, "9")
    form = boxes(owner, book, yard, arrow_8="52.4 52,x", arrow_9="51.2 51.3")
    reply = owner.post("/combinations/several", data=form)
    assert reply.status_code == 422 and rows(book, "speed_reading") == []
    assert "52.4 52,x" in reply.text and "51.2 51.3" in reply.text and reply.text.count("field--wrong") == 1
    empty = owner.post("/combinations/several", data=boxes(owner, book, yard))
    assert empty.status_code == 422 and "Enter the speeds of an arrow" in empty.text
    nobody = owner.post("/combinations/several", data={**boxes(owner, book, yard, arrow_8="52"), "archer": ""})
    assert nobody.status_code == 422 and "Choose who shot them." in nobody.text


def test_a_viewer_may_not_type_speeds(viewer: TestClient) -> None:
    assert viewer.get("/combinations/several").status_code == 403
