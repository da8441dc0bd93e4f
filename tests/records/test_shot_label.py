"""A label names one shot. One that can't stand costs no shot: it is stored under another, and both are told."""

from typing import Any

import pytest
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.records.range_facts import where_it_stands
from proofyard.records.shot import Shot
from proofyard.storage import Storage
from sqlalchemy import update
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House


@pytest.fixture
def yard(book: Storage, house: House) -> kit.Yard:
    return kit.yard(book)


def loosed(book: Storage, yard: kit.Yard, label: str, device: str, record_id: str | None = None, **more: Any) -> Any:
    body = {
        "label": label,
        "shooting_end": yard.shooting_end,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "archer": yard.archer,
        "purpose": "counted",
        "loosed_at": kit.BEGAN,
        **more,
    }
    return kit.ask(book, "shot", body, device=device, record_id=record_id)


def label_of(book: Storage, answer: Any) -> str:
    return str(kit.row(book, "shot", answer.record_id).label)


def test_the_second_shot_with_a_label_is_stored_under_one_of_its_own_and_its_phone_is_told(
    book: Storage, yard: kit.Yard, house: House
) -> None:
    phone = house.device_ids["archer"]
    answers = [loosed(book, yard, "B7", phone) for _ in range(3)]
    assert [one.status for one in answers] == ["applied"] * 3
    assert [label_of(book, one) for one in answers] == ["B7", "B7b", "B7c"]
    assert not answers[0].warnings
    assert [(one.field, one.sentence) for one in answers[1].warnings] == [
        ("label", "Another shot is B7 already, so this one is B7b in the book. Where you wrote B7, write B7b.")
    ]


def test_a_label_with_another_phone_s_letter_gets_the_letter_of_its_own(book: Storage, yard: kit.Yard, house: House) -> None:
    answer = loosed(book, yard, "A12", house.device_ids["archer"])
    assert answer.status == "applied" and label_of(book, answer) == "B12b"
    assert answer.warnings[0].sentence == "A is another phone’s letter, so this one is B12b in the book. Where you wrote A12, write B12b."
    assert label_of(book, loosed(book, yard, "A12", house.device_ids["owner"])) == "A12"


def test_a_mended_label_is_in_the_way_of_none_that_is_still_to_come(book: Storage, yard: kit.Yard, house: House) -> None:
    phone = house.device_ids["archer"]
    labels = [label_of(book, loosed(book, yard, label, phone)) for label in ("B7", "B7", "A8", "B8", "B9")]
    assert labels == ["B7", "B7b", "B8b", "B8", "B9"]


@pytest.mark.parametrize("said", ["b7", "B07", "B007", "b07"])
def test_what_people_read_as_one_label_is_one(book: Storage, yard: kit.Yard, house: House, said: str) -> None:
    phone = house.device_ids["archer"]
    loosed(book, yard, "B7", phone)
    assert label_of(book, loosed(book, yard, said, phone)) == "B7b"


def test_a_letter_that_no_phone_has_is_let_be(book: Storage, yard: kit.Yard, house: House) -> None:
    """A phone of before a restore: its letter is in the copy no more, and it stands on its arrows and papers."""
    answer = loosed(book, yard, "Q3", house.device_ids["archer"])
    assert label_of(book, answer) == "Q3" and not answer.warnings


def test_a_phone_that_was_removed_and_let_in_again_keeps_the_labels_of_what_it_held(book: Storage, yard: kit.Yard, house: House) -> None:
    with book.write() as session:
        before = devices.device(session, house.device_ids["archer"])
        assert before is not None
        devices.change_role(session, before, "out")
        again = devices.add_device(session, call_name="Wren", role="archer").id
    answer = loosed(book, yard, "B3", again)
    assert label_of(book, answer) == "B3" and not answer.warnings


def test_a_crossed_out_shot_keeps_its_label_for_itself(book: Storage, yard: kit.Yard, house: House) -> None:
    phone = house.device_ids["archer"]
    kit.void(book, "shot", loosed(book, yard, "B7", phone).record_id)
    assert label_of(book, loosed(book, yard, "B7", phone)) == "B7b"


def test_the_phone_may_go_on_calling_it_by_its_first_label_and_no_other(book: Storage, yard: kit.Yard, house: House) -> None:
    phone = house.device_ids["archer"]
    loosed(book, yard, "B7", phone)
    second = new_id()
    loosed(book, yard, "B7", phone, record_id=second)
    again = kit.ask(book, "shot", {"label": "B7", "note": "wind"}, device=phone, record_id=second, base_rev=1)
    assert again.status == "applied" and (kit.row(book, "shot", second).label, kit.row(book, "shot", second).note) == ("B7b", "wind")
    other = kit.ask(book, "shot", {"label": "B8"}, device=phone, record_id=second, base_rev=2)
    assert [one.sentence for one in other.problems] == ["A shot keeps its label. This one is B7b."]


def test_two_hundred_with_one_label_are_two_hundred_shots(book: Storage, yard: kit.Yard, house: House) -> None:
    phone = house.device_ids["archer"]
    assert len({label_of(book, loosed(book, yard, "B1", phone)) for _ in range(200)}) == 200


def test_the_shot_s_page_says_what_its_phone_called_it(book: Storage, yard: kit.Yard, house: House, viewer: TestClient) -> None:
    phone = house.device_ids["archer"]
    loosed(book, yard, "B7", phone)
    page = viewer.get(f"/shots/{loosed(book, yard, 'B7', phone).record_id}").text
    assert "Its phone called it B7. That label was not free, so it is B7b here" in page


def test_two_shots_of_an_older_book_with_one_label_get_labels_that_differ(
    book: Storage, yard: kit.Yard, house: House, viewer: TestClient
) -> None:
    phone = house.device_ids["archer"]
    first, second = (loosed(book, yard, label, phone).record_id for label in ("B7", "B8"))
    with book.write() as session:  # as books of before could hold it
        session.execute(update(Shot).where(Shot.id == second).values(label="B7"))
    page = viewer.get(f"/shots/{first}").text
    assert "Two shots are called B7." in page and f'href="/shots/{second}"' in page


def test_a_mended_label_moves_no_phone_s_count(book: Storage, yard: kit.Yard, house: House) -> None:
    phone = house.device_ids["archer"]
    for label in ("B1", "B1", "A5"):
        loosed(book, yard, label, phone)
    with book.read() as session:
        assert where_it_stands(session, phone, "B").highest_label == 5  # B5b: the next is B6, or two would be called 5
