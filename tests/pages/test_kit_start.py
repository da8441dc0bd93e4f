"""A range day's kit on one page: few fields, one save, every fault at once, nothing lost."""

import re
from typing import Any

import pytest
from proofyard.quantities import from_si
from proofyard.records import listing
from proofyard.records.nouns import TABLES
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests.pages.drawn_forms import filled, forms_of, send
from tests.pages.test_kit_forms import HOSTILE, error_by

DAY = {
    "archer__call_name": "Wren",
    "bow__name": "Ash",
    "bow__marked_weight": "110@31",
    **{f"arrow{n}__tag": str(n) for n in range(1, 6)},
    **{f"arrow{n}__head__form": form for n, form in enumerate(("needle", "needle", "short_bodkin", "leaf", "barbed"), 1)},
    **{f"arrow{n}__value": mass for n, mass in enumerate(("72.4", "1117 gr", "72,9", "80", "81.2 g"), 1)},
    "panel__name": "P1",
    "panel__construction": "plate",
    "panel__thickness": "1/16 in",
}


def rows(book: Storage, noun: str) -> Any:
    with book.read() as session:
        return listing.all_of(session, TABLES[noun], voided=True)


def counts(book: Storage, *nouns: Any) -> Any:
    return {noun: len(rows(book, noun)) for noun in nouns}


ALL = ("archer", "bow", "bow_build", "head", "arrow", "arrow_build", "reading", "panel", "panel_build", "stand", "instrument")


def test_a_day_takes_twenty_one_fields_one_page_and_one_press(owner: TestClient, book: Storage) -> None:
    assert len(DAY) == 21
    reply = send(owner, "/kit/start", **DAY)
    assert (reply.status_code, reply.headers.get("location")) == (303, "/kit/started")
    assert counts(book, *ALL) == {
        "archer": 1,
        "bow": 1,
        "bow_build": 1,
        "head": 5,
        "arrow": 5,
        "arrow_build": 5,
        "reading": 5,
        "panel": 1,
        "panel_build": 1,
        "stand": 0,
        "instrument": 0,
    }
    bow, panel = rows(book, "bow")[0], rows(book, "panel")[0]
    assert (from_si(bow.marked_weight_n, "lbf"), from_si(bow.marked_draw_m, "in")) == (pytest.approx(110), pytest.approx(31))
    assert panel.thickness_m == pytest.approx(0.0015875)
    heads = {head.id: head for head in rows(book, "head")}
    arrows = {arrow.id: arrow.tag for arrow in rows(book, "arrow")}
    mounted = {arrows[build.arrow_id]: heads[build.head_id] for build in rows(book, "arrow_build")}
    assert {tag: (head.name, head.form) for tag, head in mounted.items()}["5"] == ("Head of 5", "barbed")
    masses = {arrows[b.arrow_id]: r.value_si for b in rows(book, "arrow_build") for r in rows(book, "reading") if r.record_id == b.id}
    assert masses["2"] == pytest.approx(1117 * 64.79891e-6) and masses["3"] == pytest.approx(0.0729)


def test_seven_fields_are_enough_to_begin(owner: TestClient, book: Storage) -> None:
    few = {"archer__call_name": "Wren", "bow__name": "Ash", "panel__name": "P1", **{f"arrow{n}__tag": str(n) for n in range(1, 5)}}
    assert len(few) == 7 and send(owner, "/kit/start", **few).status_code == 303
    assert counts(book, "arrow", "arrow_build", "head", "reading") == {"arrow": 4, "arrow_build": 4, "head": 0, "reading": 0}


def test_afterwards_it_leads_to_a_trial(owner: TestClient) -> None:
    send(owner, "/kit/start", **DAY)
    page = owner.get("/kit/started").text
    assert 'href="/trials/new"' in page and 'href="/combinations/several"' in page
    assert "<dt>Arrows weighed</dt><dd>5</dd>" in page


def test_the_scale_that_weighed_the_arrows_stands_by_their_masses(owner: TestClient, book: Storage) -> None:
    send(
        owner,
        "/kit/start",
        **DAY,
        scale__name="S1",
        scale__accuracy="0.1 g",
        chronograph__name="C1",
        chronograph__accuracy_ratio="0.5",
        stand__name="Trestle",
    )
    tools = {tool.name: tool for tool in rows(book, "instrument")}
    assert {reading.instrument_id for reading in rows(book, "reading")} == {tools["S1"].id}
    assert tools["S1"].accuracy_si == pytest.approx(1e-4) and tools["C1"].accuracy_ratio == pytest.approx(0.005)
    assert counts(book, "stand") == {"stand": 1}


def test_the_same_page_sent_twice_makes_one_set(owner: TestClient, book: Storage) -> None:
    where, form = filled(owner, "/kit/start", **DAY)
    assert owner.post(where, data=form).status_code == owner.post(where, data=form).status_code == 303
    assert counts(book, "archer", "arrow", "head", "reading") == {"archer": 1, "arrow": 5, "head": 5, "reading": 5}


def test_every_fault_is_said_at_once_beside_its_field_and_nothing_is_saved_or_lost(owner: TestClient, book: Storage) -> None:
    wrong = {
        **DAY,
        "bow__marked_weight": "110 mm",
        "arrow2__value": "1,117",
        "arrow3__tag": "",
        "arrow4__value": "7 kg",
        "panel__thickness": "16 ga",
        "panel__name": "",
        "stand__held": "hung",
    }
    where, form = filled(owner, "/kit/start", **wrong)
    reply = owner.post(where, data=form)
    assert reply.status_code == 422
    said = {
        field: error_by(reply.text, field)
        for field in ("bow-marked_weight", "arrow2-value", "arrow3-tag", "arrow4-value", "panel-thickness", "panel-name", "stand-name")
    }
    assert all(said.values()), said
    assert "is a length" in said["bow-marked_weight"] and "could be" in said["arrow2-value"] and "gauge" in said["panel-thickness"]
    assert said["arrow3-tag"] == "Tag is needed." and said["stand-name"] == "Name is needed."
    assert ">Arrow 4, mass: " in reply.text and ">Panel, name: " in reply.text, "the summary says which of five"
    # The head of a tagless arrow has no name to take, and says so; nothing else is blamed for what it points to.
    assert "no such record" not in reply.text
    assert reply.text.count("field--wrong") == 8 and "8 fields to check" in reply.text
    again = forms_of(reply.text)[where]
    assert {name: again[name] for name in form} == form
    assert counts(book, *ALL) == dict.fromkeys(ALL, 0)


def test_two_arrows_of_one_tag_are_refused_before_anything_is_saved(owner: TestClient, book: Storage) -> None:
    reply = send(owner, "/kit/start", arrow1__tag="1", arrow2__tag="1")
    assert reply.status_code == 422
    assert error_by(reply.text, "arrow2-tag") == "There is a “1” already. Enter another name."
    assert error_by(reply.text, "arrow1-tag") is None and counts(book, "arrow") == {"arrow": 0}


def test_an_empty_page_says_where_to_begin(owner: TestClient) -> None:
    reply = send(owner, "/kit/start")
    assert reply.status_code == 422 and "Begin with a call name" in error_by(reply.text, "archer-call_name")


def test_hostile_text_is_text_here_too(owner: TestClient, book: Storage) -> None:
    assert send(owner, "/kit/start", bow__name=HOSTILE, panel__name=HOSTILE).status_code == 303
    assert "<script>alert" not in owner.get("/kit").text
    assert rows(book, "bow")[0].name == HOSTILE
    reply = send(owner, "/kit/start", arrow1__value=HOSTILE)
    assert reply.status_code == 422 and "<script>alert" not in reply.text


def test_no_example_of_a_name_looks_like_the_label_of_a_shot(owner: TestClient) -> None:
    """Shots have a letter and a number; no other code may."""
    examples = re.findall(r"for example ([^<]*)", owner.get("/kit/start").text)
    assert len(examples) >= 5 and not [one for one in examples if re.match(r"[A-Z]+\d", one)]


def test_a_viewer_may_not(viewer: TestClient) -> None:
    assert viewer.get("/kit/start").status_code == 403 and viewer.post("/kit/start", data={}).status_code == 403
