"""The plain form that logs a shot without script."""

import re

import pytest
from starlette.testclient import TestClient

from server.records import listing
from server.records.shot import Shot, ShotReading
from server.storage import Storage
from tests import kit_for_tests as kit


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    return kit.yard(book)


def filled(archer: TestClient, yard: kit.Yard, **more: str) -> dict[str, str]:
    page = archer.get("/log").text
    operation = re.search(r'name="operation" value="([^"]+)"', page)
    assert operation
    return {
        "operation": operation[1], "setup": yard.setup, "archer": yard.archer, "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build, "purpose": "counted", **more,
    }  # fmt: skip


def shots(book: Storage) -> list[str]:
    with book.read() as session:
        return [one.label for one in listing.all_of(session, Shot)]


def test_a_second_tap_logs_no_second_shot(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    form = filled(archer, yard, speed_value="52.6", reading_hit="missed")
    first, second = archer.post("/log", data=form), archer.post("/log", data=form)
    assert (first.status_code, second.status_code) == (303, 303) and first.headers["location"] == second.headers["location"]
    assert len(shots(book)) == 1
    assert f"{shots(book)[0]} is in the book." in archer.get(first.headers["location"]).text


def test_labels_follow_each_other_and_a_walk_goes_on(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    for _ in range(3):
        assert archer.post("/log", data=filled(archer, yard)).status_code == 303
    numbers = [int(label.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")) for label in shots(book)]
    assert sorted(numbers) == [1, 2, 3]
    with book.read() as session:
        assert {one.walk_id for one in listing.all_of(session, Shot)} == {yard.walk}


def test_nothing_is_stored_when_the_reading_is_wrong(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    form = filled(archer, yard, reading_hit="fair_target", reading_outcome_low="3", reading_depth="twelve", reading_note="by the <ridge>")
    answer = archer.post("/log", data=form)
    assert answer.status_code == 422 and shots(book) == []
    assert "twelve" in answer.text and "by the &lt;ridge&gt;" in answer.text and 'id="reading_depth-error"' in answer.text
    assert form["operation"] in answer.text


def test_a_reading_is_optional(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    archer.post("/log", data=filled(archer, yard))
    with book.read() as session:
        assert listing.all_of(session, ShotReading) == []


def test_a_viewer_may_not(viewer: TestClient, yard: kit.Yard) -> None:
    assert viewer.get("/log").status_code == 403
    assert viewer.post("/log", data={}).status_code == 403


def test_nonsense_is_answered_in_words(archer: TestClient, yard: kit.Yard) -> None:
    answer = archer.post("/log", data={"setup": "x" * 5000, "operation": "'; --", "archer": yard.bow.build})
    assert answer.status_code == 422 and "Traceback" not in answer.text
