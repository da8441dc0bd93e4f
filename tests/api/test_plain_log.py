"""The plain form that logs a shot without script."""

import re

import pytest
from proofyard.records import listing
from proofyard.records.devices import now_ms
from proofyard.records.shot import Shot, ShotReading
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    return kit.yard(book)


def filled(archer: TestClient, yard: kit.Yard, **more: str) -> dict[str, str]:
    page = archer.get("/log").text
    operation = re.search(r'name="operation" value="([^"]+)"', page)
    assert operation
    return {
        "operation": operation[1],
        "setup": yard.setup,
        "archer": yard.archer,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "purpose": "counted",
        **more,
    }


def shots(book: Storage) -> list[str]:
    with book.read() as session:
        return [one.label for one in listing.all_of(session, Shot)]


def test_a_second_tap_logs_no_second_shot(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    form = filled(archer, yard, speed_value="52.6", reading_hit="missed")
    first, second = archer.post("/log", data=form), archer.post("/log", data=form)
    assert (first.status_code, second.status_code) == (303, 303) and first.headers["location"] == second.headers["location"]
    assert len(shots(book)) == 1
    assert f"{shots(book)[0]} is in the book." in archer.get(first.headers["location"]).text


def test_labels_follow_each_other_and_a_shooting_end_goes_on(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    for _ in range(3):
        assert archer.post("/log", data=filled(archer, yard, arrow_all_the_same="yes")).status_code == 303
    numbers = [int(label.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) for label in shots(book)]
    assert sorted(numbers) == [1, 2, 3]
    with book.read() as session:
        assert {one.shooting_end_id for one in listing.all_of(session, Shot)} == {yard.shooting_end}


def test_nothing_is_stored_when_the_reading_is_wrong(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    form = filled(archer, yard, reading_hit="on_panel", reading_outcome_low="3", reading_depth="twelve", reading_note="by the <ridge>")
    answer = archer.post("/log", data=form)
    assert answer.status_code == 422 and shots(book) == []
    assert "twelve" in answer.text and "by the &lt;ridge&gt;" in answer.text and 'id="reading_depth-error"' in answer.text
    assert form["operation"] in answer.text


def test_a_reading_is_optional(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    archer.post("/log", data=filled(archer, yard))
    with book.read() as session:
        assert listing.all_of(session, ShotReading) == []


def test_an_arrow_that_nobody_checked_is_asked_about_once_an_end(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    """As on the phones' line: the shot is logged once somebody says so, and the same end asks no more."""
    first = archer.post("/log", data=filled(archer, yard))
    assert first.status_code == 303 and "allowed" not in first.headers["location"], "an arrow that never flew is not asked about"
    label = shots(book)[0]
    form = filled(archer, yard, speed_value="52.6")
    asked = archer.post("/log", data=form)
    assert asked.status_code == 422 and len(shots(book)) == 1
    assert re.search(rf"Arrow \S+ was not checked since {label}\.", asked.text) and 'name="arrow_all_the_same"' in asked.text
    assert 'value="52.6"' in asked.text and form["operation"] in asked.text, "what was typed is still there"
    answered = archer.post("/log", data={**form, "arrow_all_the_same": "yes"})
    again = archer.post("/log", data={**form, "arrow_all_the_same": "yes"})
    assert (answered.status_code, again.status_code) == (303, 303) and len(shots(book)) == 2
    page = archer.get(answered.headers["location"]).text
    allowed = re.search(r'name="allowed" value="([^"]+)"', page)
    assert allowed, "the answer goes along to the next shot"
    assert archer.post("/log", data=filled(archer, yard, allowed=allowed[1])).status_code == 303
    new_end = filled(archer, yard, allowed=allowed[1], new_shooting_end="yes")
    assert archer.post("/log", data=new_end).status_code == 422, "another end asks again"
    assert archer.post("/log", data=filled(archer, yard, purpose="let_down")).status_code == 303, "a let-down flies nowhere"


def test_an_arrow_that_was_checked_since_is_not_asked_about(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    archer.post("/log", data=filled(archer, yard))
    assert archer.post("/log", data=filled(archer, yard)).status_code == 422
    kit.put(book, "arrow_check", {"arrow_build": yard.arrow.build, "sound": "sound", "at": now_ms() + 1})
    assert archer.post("/log", data=filled(archer, yard)).status_code == 303


def test_a_viewer_may_not(viewer: TestClient, yard: kit.Yard) -> None:
    assert viewer.get("/log").status_code == 403
    assert viewer.post("/log", data={}).status_code == 403


def test_nonsense_is_answered_in_words(archer: TestClient, yard: kit.Yard) -> None:
    answer = archer.post("/log", data={"setup": "x" * 5000, "operation": "'; --", "archer": yard.bow.build})
    assert answer.status_code == 422 and "Traceback" not in answer.text


def test_the_plain_form_says_that_somebody_is_at_the_butt(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    assert "Nobody shoots." not in archer.get("/log").text
    visit = kit.put(book, "butt_visit", {"session": yard.session, "went_at": kit.BEGAN})
    page = archer.get("/log").text
    assert "Nobody shoots." in page and re.search(r"\w+ is at the butt since \d\d:\d\d\.", page)
    assert archer.post("/log", data=filled(archer, yard)).status_code == 303, "a shot that was loosed is never refused"
    kit.put(book, "butt_visit", {"back_at": kit.BEGAN + 60_000}, record_id=visit, base_rev=1)
    assert "Nobody shoots." not in archer.get("/log").text
