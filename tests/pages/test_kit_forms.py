"""Kit is made, corrected, copied, rebuilt, retired and crossed out, with nothing lost of what was typed."""

import json
import re
from typing import Any

import pytest
from proofyard.quantities import from_si
from proofyard.records import listing, notebook
from proofyard.records.nouns import TABLES
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.drawn_forms import filled, forms_of, send
from tests.statements_for_tests import statements

NAMES = {
    "archer": ("call_name", "Wren"),
    "instrument": ("name", "Scale S1"),
    "bow": ("name", "Ash bow"),
    "head": ("name", "N1"),
    "arrow": ("tag", "K97"),
    "panel": ("name", "P1"),
    "stand": ("name", "Trestle"),
}
EVERY = pytest.mark.parametrize("noun", NAMES)
HOSTILE = """<script>alert("1")</script>' OR 1=1 -- {{ 7*7 }} \u00ad"""


def rows(book: Storage, noun: str) -> Any:
    with book.read() as session:
        return listing.all_of(session, TABLES[noun], voided=True)


def only(book: Storage, noun: str) -> Any:
    (row,) = rows(book, noun)
    return row


def made(owner: TestClient, noun: str, **more: Any) -> Any:
    """The address of a new record that has its name only."""
    field, name = NAMES[noun]
    reply = send(owner, f"/kit/{noun}/new", **{field: name, **more})
    assert reply.status_code == 303, reply.text
    return reply.headers["location"]


def error_by(page: str, field: Any) -> Any:
    found = re.search(rf'id="{field}-error">(?:<span[^>]*>To check: </span>)?([^<]*)<', page)
    return found and found.group(1)


@EVERY
def test_a_name_is_enough(owner: TestClient, book: Storage, noun: str) -> None:
    address = made(owner, noun)
    page = owner.get(address)
    assert page.status_code == 200 and NAMES[noun][1] in page.text
    assert NAMES[noun][1] in owner.get("/kit").text
    if noun in ("bow", "arrow", "panel"):
        assert only(book, f"{noun}_build").number == 1


@EVERY
def test_without_a_name_the_form_comes_back_and_says_so_twice_in_the_same_words(owner: TestClient, book: Storage, noun: str) -> None:
    reply = send(owner, f"/kit/{noun}/new")
    assert reply.status_code == 422
    said = error_by(reply.text, NAMES[noun][0])
    assert said and said.endswith("is needed.")
    assert len(re.findall(re.escape(said), reply.text)) == 2
    assert f'href="#{NAMES[noun][0]}"' in reply.text and "to check, " in reply.text
    assert rows(book, noun) == []


@EVERY
def test_the_same_form_sent_twice_makes_one_record(owner: TestClient, book: Storage, noun: str) -> None:
    where, form = filled(owner, f"/kit/{noun}/new", **dict([NAMES[noun]]))
    first, second = owner.post(where, data=form), owner.post(where, data=form)
    assert first.status_code == second.status_code == 303
    assert first.headers["location"] == second.headers["location"]
    assert len(rows(book, noun)) == 1


@EVERY
def test_a_name_that_is_taken_is_refused_by_its_field(owner: TestClient, book: Storage, noun: str) -> None:
    made(owner, noun)
    reply = send(owner, f"/kit/{noun}/new", **dict([NAMES[noun]]))
    assert reply.status_code == 422 and "already" in error_by(reply.text, NAMES[noun][0])


@EVERY
def test_hostile_text_is_text(owner: TestClient, book: Storage, noun: str) -> None:
    field, _ = NAMES[noun]
    name = HOSTILE[:20] if noun == "arrow" else HOSTILE[:40] if noun == "archer" else HOSTILE
    reply = send(owner, f"/kit/{noun}/new", **{field: name})
    assert reply.status_code == 303, reply.text
    for address in (reply.headers["location"], reply.headers["location"] + "/correct", "/kit"):
        page = owner.get(address).text
        assert "<script>alert" not in page and "&lt;script&gt;" in page
    assert getattr(only(book, noun), field) == name.strip()


@EVERY
def test_a_correction_is_a_revision_and_says_what_was_said_before(owner: TestClient, book: Storage, noun: str) -> None:
    address, field = made(owner, noun), NAMES[noun][0]
    reply = send(owner, f"{address}/correct", **{field: "Other", "reason": "typed the wrong one"})
    assert (reply.status_code, reply.headers["location"]) == (303, address)
    page = owner.get(address).text
    assert "Revision 2, Laptop" in page and f"was </span>{NAMES[noun][1]}</s>" in page and "typed the wrong one" in page
    assert getattr(only(book, noun), field) == "Other"


@EVERY
def test_a_correction_that_changes_nothing_writes_nothing(owner: TestClient, book: Storage, noun: str) -> None:
    address = made(owner, noun)
    assert send(owner, f"{address}/correct").status_code == 303
    assert only(book, noun).rev == 1


@EVERY
def test_a_copy_has_all_but_the_name(owner: TestClient, book: Storage, noun: str) -> None:
    address, field = made(owner, noun), NAMES[noun][0]
    note = "note" if noun not in ("archer", "head", "panel") else {"archer": "draw_length", "head": "material", "panel": "material"}[noun]
    send(owner, f"{address}/correct", **{note: "30"})
    reply = send(owner, f"{address}/copy", f"/kit/{noun}/new", **{field: "Second"})
    assert reply.status_code == 303, reply.text
    second = next(row for row in rows(book, noun) if getattr(row, field) == "Second")
    assert json.loads(second.typed)[note] == "30"


@EVERY
def test_kit_is_retired_with_a_reason_and_comes_back(owner: TestClient, book: Storage, noun: str) -> None:
    address = made(owner, noun)
    refused = send(owner, f"{address}/retire")
    assert refused.status_code == 422 and "Enter the reason" in error_by(refused.text, "reason")
    where, form = filled(owner, f"{address}/retire", reason="worn out")
    assert owner.post(where, data=form).status_code == owner.post(where, data=form).status_code == 303
    assert only(book, noun).retired == 1
    assert "Retired: worn out." in owner.get(address).text
    kit_page = owner.get("/kit").text
    assert NAMES[noun][1] in kit_page[kit_page.index('id="kit-retired"') :]
    assert send(owner, f"{address}/retire", reason="mended").status_code == 303
    assert only(book, noun).retired == 0 and "kit-retired" not in owner.get("/kit").text


@EVERY
def test_kit_is_crossed_out_with_a_reason_and_taken_back_in(owner: TestClient, book: Storage, noun: str) -> None:
    address = made(owner, noun)
    refused = send(owner, f"{address}/cross-out")
    assert refused.status_code == 422 and "Enter the reason" in error_by(refused.text, "reason")
    assert send(owner, f"{address}/cross-out", reason="typed twice").status_code == 303
    assert only(book, noun).voided_rev is not None
    assert NAMES[noun][1] not in owner.get("/kit").text
    assert "Crossed out: typed twice." in owner.get(address).text
    assert send(owner, f"{address}/cross-out", reason="it was the other").status_code == 303
    assert only(book, noun).voided_rev is None


@EVERY
def test_a_viewer_looks_and_changes_nothing(viewer: TestClient, stranger: TestClient, owner: TestClient, book: Storage, noun: str) -> None:
    address = made(owner, noun)
    assert viewer.get(address).status_code == 200
    assert "Correct" not in viewer.get(address).text
    for act in ("correct", "copy", "retire", "cross-out"):
        assert viewer.get(f"{address}/{act}").status_code == 403
    assert viewer.post(f"/kit/{noun}/new", data=dict([NAMES[noun]])).status_code == 403
    assert stranger.get(address).status_code in (401, 303)
    assert only(book, noun).rev == 1


@pytest.mark.parametrize(
    "address", ["/kit/sword/new", "/kit/arrow/none", "/kit/arrow/none/correct", "/kit/head/none/rebuild", "/kit/arrow/none/mass"]
)
def test_what_is_not_there_is_not_found(owner: TestClient, address: str) -> None:
    assert owner.get(address).status_code == 404


def test_an_archer_may_do_all_that_the_owner_may(archer: TestClient, book: Storage) -> None:
    assert made(archer, "arrow")
    assert send(archer, f"{made(archer, 'bow')}/rebuild", work="new string").status_code == 303


# Quantities


def test_every_wrong_quantity_is_said_beside_its_field_and_nothing_typed_is_lost(owner: TestClient, book: Storage) -> None:
    typed = {"tag": "9", "diameter": "16 ga", "diameter_nock": "1,234", "length": "72 g", "build__length": "9 furlongs", "note": "kept"}
    reply = send(owner, "/kit/arrow/new", **typed)
    assert reply.status_code == 422
    page = reply.text
    assert "gauge" in error_by(page, "diameter")
    assert "could be" in error_by(page, "diameter_nock")
    assert "is a mass" in error_by(page, "length") and "for example" in error_by(page, "length")
    assert "not a unit" in error_by(page, "build-length")
    assert "4 fields to check" in page
    sent = forms_of(page)["/kit/arrow/new"]
    assert {name: sent[name.replace("__", "-")] for name in typed} == typed
    assert rows(book, "arrow") == []
    # Mended and sent again, it is the same form.
    good = {**sent, "diameter": "11 mm", "diameter_nock": "8", "length": "31 in", "build-length": "32½ in"}
    assert owner.post("/kit/arrow/new", data=good).status_code == 303
    assert only(book, "arrow").length_m == pytest.approx(0.7874)


def test_what_was_read_is_said_where_it_differs_from_what_was_typed(owner: TestClient, book: Storage) -> None:
    address = made(owner, "head", width="27,5", length="3 1/4 in", thickness="4 mm")
    page = owner.get(f"{address}/correct").text
    assert "Read as 27.5\u00a0mm" in page and "Read as 82.55\u00a0mm" in page
    assert "Read as 4" not in page
    shown = owner.get(address).text
    assert "3 1/4 in (82.6\u00a0mm)" in shown


def test_an_unusual_value_is_kept_and_said_on_every_page_that_shows_it(owner: TestClient, book: Storage) -> None:
    address = made(owner, "bow", marked_weight="300@31")
    row = only(book, "bow")
    assert from_si(row.marked_weight_n, "lbf") == pytest.approx(300) and from_si(row.marked_draw_m, "in") == pytest.approx(31)
    for page in (address, "/kit", f"{address}/correct", "/kit/started"):
        assert "300\u00a0lbf is unusual for a draw weight" in owner.get(page).text


def test_a_reader_of_the_other_units_sees_those(owner: TestClient, book: Storage) -> None:
    address = made(owner, "panel", mass="2.35 kg", width="400")
    owner.cookies.set("units", "imperial")
    page = owner.get(address).text
    assert "2.35 kg (5.18\u00a0lb)" in page and "400\u00a0mm (15.7\u00a0in)" in page


# A panel asks what its construction has


@pytest.mark.parametrize(
    ("construction", "asked"), [("mail", "ring_outer"), ("plate", "thickness"), ("lamellar", "lacing"), ("textile", "quilting")]
)
def test_a_panel_is_asked_for_its_own_particulars_only(owner: TestClient, book: Storage, construction: str, asked: str) -> None:
    bare = forms_of(owner.get("/kit/panel/new").text)["/kit/panel/new"]
    assert asked not in bare
    where, form = filled(owner, "/kit/panel/new", name="P1", construction=construction)
    # Without script the button sends the whole form, and the page comes back with what was typed and the fields that fit.
    page = owner.post("/kit/panel/new/fields", data=form)
    assert page.status_code == 200
    sent = forms_of(page.text)["/kit/panel/new"]
    assert sent["name"] == "P1" and sent["construction"] == construction and asked in sent
    assert not {"ring_outer", "thickness", "lacing", "quilting"} & set(sent) - {asked, "quilting", "lacing", "thickness"}
    assert rows(book, "panel") == []
    part = owner.post("/kit/panel/new/fields", data=form, headers={"HX-Request": "true"})
    assert part.text.startswith('<div class="form__fields" id="forms-fields">') and part.text.strip() in page.text
    assert owner.post(where, data={**sent, asked: "2"}).status_code == 303
    assert json.loads(only(book, "panel").typed)[asked] == "2"


def test_mail_is_not_asked_for_a_plates_thickness(owner: TestClient) -> None:
    page = owner.post("/kit/panel/new/fields", data={"name": "M", "construction": "mail"}).text
    assert 'name="ring_outer"' in page and 'name="thickness"' not in page and 'name="lacing"' not in page


def test_an_instruments_accuracy_shows_the_unit_of_what_it_reads(owner: TestClient, book: Storage) -> None:
    address = made(owner, "instrument")
    for sort, unit in (("scale", "g"), ("chronograph", "m/s"), ("caliper", "mm")):
        page = owner.post(f"{address}/correct/fields", data={"name": "Scale S1", "sort": sort}, headers={"HX-Request": "true"}).text
        assert page.count(f'aria-hidden="true">{unit}</span>') == 2
    refused = send(owner, f"{address}/correct", accuracy="0.1 g")
    assert refused.status_code == 422 and "First choose what it is" in error_by(refused.text, "accuracy")
    assert send(owner, f"{address}/correct", sort="scale", accuracy="0.1").status_code == 303
    assert only(book, "instrument").accuracy_si == pytest.approx(1e-4)


# Two people correct one record


def test_two_who_correct_different_fields_both_stand(owner: TestClient, archer: TestClient, book: Storage) -> None:
    address = made(owner, "head")
    where, wrens = filled(archer, f"{address}/correct", width="9 mm")
    assert send(owner, f"{address}/correct", material="mild steel").status_code == 303
    assert archer.post(where, data=wrens).status_code == 303
    head = only(book, "head")
    assert (head.material, head.width_m) == ("mild steel", pytest.approx(0.009))
    with book.read() as session:
        assert notebook.open_clashes(session) == []


def test_two_who_say_otherwise_of_one_field_are_told(owner: TestClient, archer: TestClient, book: Storage) -> None:
    address = made(owner, "head", width="8 mm")
    where, wrens = filled(archer, f"{address}/correct", width="9 mm")
    assert send(owner, f"{address}/correct", width="7 mm").status_code == 303
    assert archer.post(where, data=wrens).status_code == 303
    assert only(book, "head").width_m == pytest.approx(0.007)
    assert "Two people entered different values" in archer.get(address).text


# New builds


def test_a_new_build_keeps_the_old_one_and_its_mass(owner: TestClient, book: Storage) -> None:
    arrow = kit.arrow(book, "9", masses=("72.4 g", "72.5 g"))
    address = f"/kit/arrow/{arrow.arrow}"
    other = kit.head(book, "B2", form="barbed")
    reply = send(owner, f"{address}/rebuild", work="another head mounted", head=other)
    assert (reply.status_code, reply.headers["location"]) == (303, address)
    newest = max(rows(book, "arrow_build"), key=lambda build: build.number)
    assert (newest.number, newest.head_id, newest.arrow_id) == (2, other, arrow.arrow)
    page = owner.get(address).text
    second, first = page.index("Build 2, another head mounted"), page.index("Build 1")
    assert second < first
    assert "not read yet" in page[second:first], "mass is read again"
    assert "72.4" in page[first:] or "72.5" in page[first:]
    row = next(one for one in owner.get("/kit").text.split("<li") if ">9<" in one)
    assert "not weighed" in row and "build 2" in row and "#head-barbed" in row


def test_the_form_of_a_new_arrow_build_offers_the_head_that_it_has(owner: TestClient, book: Storage) -> None:
    arrow = kit.arrow(book, "9")
    _, form = filled(owner, f"/kit/arrow/{arrow.arrow}/rebuild")
    assert form["head"] == arrow.head


@pytest.mark.parametrize(("noun", "work"), [("bow", "new string"), ("arrow", "reground"), ("panel", "relaced")])
def test_a_build_says_what_was_done_and_is_made_once(owner: TestClient, book: Storage, noun: str, work: str) -> None:
    address = made(owner, noun)
    refused = send(owner, f"{address}/rebuild")
    assert refused.status_code == 422 and error_by(refused.text, "work")
    where, form = filled(owner, f"{address}/rebuild", work=work)
    assert owner.post(where, data=form).status_code == owner.post(where, data=form).status_code == 303
    assert [build.number for build in rows(book, f"{noun}_build")] == [1, 2]


def test_two_who_rebuild_at_once_make_builds_two_and_three_and_the_second_is_told(
    owner: TestClient, archer: TestClient, book: Storage
) -> None:
    address = made(owner, "panel")
    where, wrens = filled(archer, f"{address}/rebuild", work="beaten_flat")
    assert send(owner, f"{address}/rebuild", work="relaced").status_code == 303
    told = archer.post(where, data=wrens)
    assert told.status_code == 422 and "Somebody made build 2 in the meantime" in told.text
    again = forms_of(told.text)[where]
    assert again["number"] == "3" and again["work"] == "beaten_flat"
    assert archer.post(where, data=again).status_code == 303
    assert sorted(build.number for build in rows(book, "panel_build")) == [1, 2, 3]


def test_a_panel_is_never_rebuilt_as_first_made(owner: TestClient, book: Storage) -> None:
    assert 'value="first"' not in owner.get(f"{made(owner, 'panel')}/rebuild").text


# The list


def test_an_arrow_to_check_is_red_and_says_so(owner: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    assert "To check" not in owner.get("/kit").text
    kit.shot(book, yard, label="A1")
    page = owner.get("/kit").text
    assert "row--need" in page and "To check" in page
    assert "loosed as A1" in owner.get(f"/kit/arrow/{yard.arrow.arrow}").text


def test_the_list_leads_to_the_hits_of_a_panels_newest_build(owner: TestClient, book: Storage) -> None:
    panel = kit.panel(book, "P1")
    build = kit.put(book, "panel_build", {"panel": panel.panel, "number": "2", "work": "relaced"})
    page = owner.get("/kit").text
    assert f'href="/panels/{build}"' in page and "2 builds" in page and f'href="/panels/{panel.build}"' not in page


@pytest.mark.parametrize("many", [1, 12])
def test_pages_of_kit_ask_the_book_at_most_twelve_times(owner: TestClient, book: Storage, many: int) -> None:
    for n in range(many):
        arrow = kit.arrow(book, f"K{n}")
        panel = kit.panel(book, f"P{n}")
        kit.new_arrow_build(book, arrow)
        kit.bow(book, f"B{n}")
        kit.thickness_reading(book, panel.build)
    bow = rows(book, "bow")[0].id
    for address in (
        "/kit",
        f"/kit/arrow/{arrow.arrow}",
        f"/kit/panel/{panel.panel}",
        f"/kit/bow/{bow}",
        f"/kit/arrow/{arrow.arrow}/mass",
        "/combinations",
    ):
        with statements(book) as seen:
            assert owner.get(address).status_code == 200
        asked = [one for one in seen if one.lstrip().upper().startswith(("SELECT", "WITH"))]
        assert 0 < len(asked) <= 12, (address, len(asked), asked)
