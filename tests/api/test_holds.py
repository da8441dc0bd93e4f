"""The close of a day: what a phone holds, laid beside what the book has, and what the session's page says of it."""

import re

import pytest
from proofyard.answers.session.close_of_day import gaps_in, xor_of
from proofyard.records.ids import new_id
from proofyard.storage import Storage
from proofyard.wording.when import today
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House


def say(client: TestClient, held: list[str], **more: object) -> dict[str, object]:
    answer = client.post("/api/holds", json={"count": len(held), "xor": xor_of(held), **more})
    assert answer.status_code == 200, answer.text
    told: dict[str, object] = answer.json()
    return told


@pytest.fixture
def a_yard(book: Storage) -> kit.Yard:
    """A yard whose day is today."""
    made = kit.yard(book)
    kit.put(book, "session", {"day": today()}, record_id=made.session, base_rev=1)
    return made


def shots(book: Storage, house: House, yard: kit.Yard, *labels: str) -> list[str]:
    device = house.device_ids["archer"]
    body = {
        "shooting_end": yard.shooting_end,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "archer": yard.archer,
        "purpose": "counted",
    }
    return [kit.put(book, "shot", {**body, "label": label}, device=device) for label in labels]


def test_a_phone_that_holds_what_the_book_has_is_told_so_by_count_and_sum_alone(
    house: House, book: Storage, archer: TestClient, a_yard: kit.Yard
) -> None:
    ids = shots(book, house, a_yard, "B1", "B2", "B3")
    told = say(archer, list(reversed(ids)), session=a_yard.session)
    assert told["agree"] is True and told["want_ids"] is False and told["in_book"] == 3
    assert say(archer, ids)["agree"] is True, "of all days"


def test_a_difference_is_found_shot_by_shot_once_the_ids_are_asked_for(
    house: House, book: Storage, archer: TestClient, a_yard: kit.Yard
) -> None:
    ids = shots(book, house, a_yard, "B1", "B2", "B3")
    only_here = new_id()
    held = [ids[0], ids[2], only_here]
    told = say(archer, held)
    assert told["agree"] is False and told["want_ids"] is True and told["lacks"] == []
    told = say(archer, held, ids=held, unsent=1)
    assert told["lacks"] == [only_here] and told["book_only"] == ["B2"] and told["want_ids"] is False
    assert "1 of this phone’s shots is not in the book" in str(told["sentence"]) and "B2" in str(told["sentence"])


def test_the_same_count_of_other_shots_is_no_agreement(house: House, book: Storage, archer: TestClient, a_yard: kit.Yard) -> None:
    shots(book, house, a_yard, "B1", "B2")
    assert say(archer, [new_id(), new_id()])["agree"] is False


def test_a_shot_that_the_book_holds_crossed_out_is_held_all_the_same(
    house: House, book: Storage, archer: TestClient, a_yard: kit.Yard
) -> None:
    ids = shots(book, house, a_yard, "B1", "B2")
    kit.void(book, "shot", ids[0])
    assert say(archer, ids)["agree"] is True


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"count": -1, "xor": "0" * 32},
        {"count": 1, "xor": "zz"},
        {"count": 1, "xor": "0" * 32, "ids": ["x"] * 5001},
        {"count": "many", "xor": "0" * 32},
    ],
)
def test_what_cannot_be_read_is_refused(archer: TestClient, body: dict[str, object]) -> None:
    assert archer.post("/api/holds", json=body).status_code == 422


def test_ids_that_are_none_are_let_be(archer: TestClient) -> None:
    assert say(archer, [], ids=["not an id", "../../x"])["agree"] is True


# --- the session's page


def words_of(client: TestClient, session_id: str) -> str:
    page = client.get(f"/sessions/{session_id}/close-of-day", headers={"HX-Request": "true"}).text
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def test_the_page_says_both_phones_are_in_once_both_said_so_and_all_is_read(
    house: House, book: Storage, archer: TestClient, viewer: TestClient, a_yard: kit.Yard
) -> None:
    from proofyard.access.seats import hash_of, new_token
    from proofyard.records import devices

    token = new_token()
    with book.write() as session:
        tallow = devices.add_device(session, call_name="Tallow", role="archer", session_hash=hash_of(token))
    house.tokens["tallow"] = token
    other = house.client("tallow")
    ids = shots(book, house, a_yard, "B1", "B2")
    said = words_of(viewer, a_yard.session)
    assert "Not everything is in the book yet: look at phone B and C" in said and "It has not said what it holds" in said
    say(archer, ids, session=a_yard.session)
    say(other, [], session=a_yard.session, unsent=3, photos_unsent=1, needs=1)
    said = words_of(viewer, a_yard.session)
    assert f"look at phone {tallow.letter}" in said and "3 on that phone only, 1 photo on that phone only, 1 needs a person there" in said
    say(other, [], session=a_yard.session)
    said = words_of(viewer, a_yard.session)
    assert "Everything on both phones is in the book; 2 shots are not read yet" in said and "Not read yet: B1, B2." in said
    for shot in ids:
        kit.reading(book, shot)
    assert "Everything on both phones is in the book, and every shot is read" in words_of(viewer, a_yard.session)
    assert "Everything on both phones is in the book, and every shot is read" in viewer.get(f"/sessions/{a_yard.session}").text


def test_a_label_that_was_given_and_is_nowhere_is_named(
    house: House, book: Storage, archer: TestClient, viewer: TestClient, a_yard: kit.Yard
) -> None:
    ids = shots(book, house, a_yard, "B5", "B6", "B9")
    told = say(archer, ids, session=a_yard.session)
    assert told["gaps"] == ["B7", "B8"]
    said = words_of(viewer, a_yard.session)
    assert "2 labels are missing" in said and "B7, B8 are not in the book" in said


def test_a_label_used_on_another_day_is_no_gap(house: House, book: Storage, viewer: TestClient, a_yard: kit.Yard) -> None:
    shots(book, house, a_yard, "B5", "B7")
    elsewhere = kit.yard(book, question="Another?")
    shots(book, house, elsewhere, "B6")
    assert "missing" not in words_of(viewer, a_yard.session)


def test_a_day_that_is_over_speaks_of_no_phones(house: House, book: Storage, viewer: TestClient) -> None:
    yard = kit.yard(book)
    shots(book, house, yard, "B1")
    said = words_of(viewer, yard.session)
    assert "phone" not in said and "Not read yet: B1" in said


def test_a_slip_of_the_hand_does_not_make_a_list_of_thousands() -> None:
    assert len(gaps_in(["A1", "A900000"], labels_known={"A1", "A900000"})) < 5001
    assert gaps_in(["old label", "7", "A"], labels_known=set()) == ()
