"""The door of the phones' queues: once each, in any order, one bad one never in the way of the rest."""

import json
import time
from typing import Any

import pytest
from starlette.testclient import TestClient

from server.records.ids import new_id
from server.records.operations import OP_VERSION
from server.storage import BookBusy, Storage
from tests import kit_for_tests as kit
from tests.conftest import House


def op(noun: str, body: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"op_id": new_id(), "action": "put", "noun": noun, "record_id": new_id(), "base_rev": 0, "body": body, **more}


def loose(yard: kit.Yard, label: str = "C1", **more: Any) -> dict[str, Any]:
    body = {
        "label": label, "walk": yard.walk, "bow_build": yard.bow.build, "arrow_build": yard.arrow.build, "archer": yard.archer,
        "purpose": "counted", "loosed_at": kit.BEGAN,
    }  # fmt: skip
    return op("shot", body, **more)


def send(client: TestClient, *ops: Any, op_v: int = OP_VERSION, status: int = 200) -> Any:
    answer = client.post("/api/ops", json={"op_v": op_v, "boot": "run-1", "ops": list(ops)})
    assert answer.status_code == status, answer.text
    return answer.json()


def statuses(answer: Any) -> list[str]:
    return [one["status"] for one in answer["answers"]]


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    return kit.yard(book)


@pytest.fixture
def other(house: House) -> TestClient:
    """A second phone: the owner's laptop may log too."""
    return house.client("owner")


def test_the_same_operation_twice_is_one_shot_and_the_same_answer(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    shot = loose(yard)
    first, second = send(archer, shot)["answers"][0], send(archer, shot)["answers"][0]
    assert (first["status"], first["again"], second["again"]) == ("applied", False, True)
    assert {**first, "again": True} == second
    assert kit.row(book, "shot", shot["record_id"]).rev == 1


def test_the_device_is_the_seats_whatever_the_phone_says(archer: TestClient, yard: kit.Yard, book: Storage, house: House) -> None:
    shot = loose(yard, device_id=house.device_ids["owner"])
    send(archer, shot)
    assert kit.row(book, "shot", shot["record_id"]).recorded_by == house.device_ids["archer"]


def test_one_bad_operation_does_not_block_the_rest(archer: TestClient, yard: kit.Yard) -> None:
    first, last = loose(yard, "C1"), loose(yard, "C2")
    bad_speed = op("speed_reading", {"shot": first["record_id"], "value": "1,234"})
    no_such_noun, unreadable = op("cannon", {}), {"op_id": "x" * 9999}
    answer = send(archer, first, bad_speed, no_such_noun, unreadable, "not an object", last)
    assert statuses(answer) == ["applied", "refused", "refused", "refused", "refused", "applied"]
    assert answer["answers"][1]["problems"][0]["field"] == "value"
    assert all(one["problems"][0]["sentence"].strip() for one in answer["answers"] if one["status"] == "refused")


def test_two_phones_that_read_different_things_of_one_shot_meet_in_one_record(
    archer: TestClient, other: TestClient, yard: kit.Yard, book: Storage
) -> None:
    shot = loose(yard)
    send(archer, shot)
    here = op("shot_reading", {"hit": "fair_target", "outcome_low": "4"}, record_id=shot["record_id"])
    there = op("shot_reading", {"hit": "fair_target", "depth": "28 mm"}, record_id=shot["record_id"])
    assert statuses(send(archer, here)) == ["applied"]
    assert statuses(send(other, there)) == ["merged"]
    row = kit.row(book, "shot_reading", shot["record_id"])
    assert (row.outcome_low, row.depth_m) == ("4", pytest.approx(0.028))


def test_the_same_field_said_differently_is_a_clash_that_a_person_decides(archer: TestClient, other: TestClient, yard: kit.Yard) -> None:
    shot = loose(yard)
    send(archer, shot)
    record = shot["record_id"]
    send(archer, op("shot_reading", {"hit": "fair_target", "outcome_low": "3", "outcome_high": "3"}, record_id=record))
    said = send(other, op("shot_reading", {"hit": "fair_target", "outcome_low": "4", "outcome_high": "4"}, record_id=record))
    assert statuses(said) == ["clash"] and len(said["answers"][0]["clashes"]) == 2
    told = archer.get("/api/range").json()
    clash = next(one for one in told["clashes"] if one["field"] == "outcome_low")
    assert (clash["stands"]["who"], clash["stands"]["say"]) == ("Wren", "3")
    assert (clash["offered"]["who"], clash["offered"]["say"]) == ("Laptop", "4")
    rev = told["shots"][0]["reading"]["rev"]
    pick = op("shot_reading", {"outcome_low": "4", "outcome_high": "4"}, record_id=record, base_rev=rev)
    assert statuses(send(archer, pick)) == ["applied"]
    told = archer.get("/api/range").json()
    assert told["clashes"] == [] and told["shots"][0]["reading"]["said"]["outcome_low"] == "4"


def test_letting_the_first_answer_stand_decides_a_clash_too(archer: TestClient, other: TestClient, yard: kit.Yard) -> None:
    shot = loose(yard)
    send(archer, shot)
    record = shot["record_id"]
    send(archer, op("shot_reading", {"hit": "fair_target", "way_in": "plate"}, record_id=record))
    send(other, op("shot_reading", {"hit": "fair_target", "way_in": "ridge"}, record_id=record))
    told = archer.get("/api/range").json()
    assert [one["field"] for one in told["clashes"]] == ["way_in"]
    rev = told["shots"][0]["reading"]["rev"]
    send(other, op("shot_reading", {"way_in": "plate"}, record_id=record, base_rev=rev))
    assert archer.get("/api/range").json()["clashes"] == []


def test_a_count_that_an_emptied_phone_uses_again_loses_no_shot(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    first, second, third = loose(yard, "C1", device_seq=1), loose(yard, "C2", device_seq=1), loose(yard, "C3", device_seq=2)
    assert statuses(send(archer, first)) == ["applied"]
    assert statuses(send(archer, second, third)) == ["applied", "applied"]
    assert kit.row(book, "shot", second["record_id"]) is not None


def test_a_strike_needs_a_reason_and_keeps_it(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    shot = loose(yard)
    strike = {"op_id": new_id(), "action": "strike", "noun": "shot", "record_id": shot["record_id"]}
    assert statuses(send(archer, shot, strike)) == ["applied", "refused"]
    assert statuses(send(archer, {**strike, "op_id": new_id(), "reason": "undone at once"})) == ["applied"]
    assert kit.row(book, "shot", shot["record_id"]).struck_rev == 2


def test_the_answer_tells_when_it_came_and_when_it_went(archer: TestClient, yard: kit.Yard) -> None:
    before = time.time_ns() // 1_000_000
    answer = send(archer, loose(yard))
    assert before <= answer["t1"] <= answer["t2"] <= time.time_ns() // 1_000_000


def test_the_form_before_is_still_taken(archer: TestClient, yard: kit.Yard) -> None:
    assert statuses(send(archer, loose(yard, "C1"), op_v=OP_VERSION - 1)) == ["applied"]
    assert "Open the page anew" in send(archer, loose(yard, "C2"), op_v=OP_VERSION + 1, status=422)["sentence"]


@pytest.mark.parametrize(
    "body",
    [
        b"", b"null", b"[]", b"{}", b'{"op_v":1}', b'{"op_v":1,"ops":[]}', b'{"op_v":"one","ops":[{}]}', b'{"op_v":1,"ops":{}}',
        b"{" * 5000, b"\xff\xfe\x00", b'{"op_v":1,"ops":[' + b"[" * 3000,
    ],
)  # fmt: skip
def test_a_malformed_envelope_is_refused_in_words(archer: TestClient, body: bytes) -> None:
    answer = archer.post("/api/ops", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 422
    assert answer.json()["trouble"] == "malformed" and len(answer.json()["sentence"]) > 20


def test_fifty_one_at_once_are_too_many(archer: TestClient, yard: kit.Yard) -> None:
    fifty = [loose(yard, f"C{n}") for n in range(1, 51)]
    assert "At most 50" in send(archer, *fifty, loose(yard, "C51"), status=422)["sentence"]
    assert set(statuses(send(archer, *fifty))) == {"applied"}


def test_a_body_of_megabytes_is_cut_off(archer: TestClient) -> None:
    answer = archer.post("/api/ops", content=b" " * (600 * 1024), headers={"Content-Type": "application/json"})
    assert answer.status_code == 413


@pytest.mark.parametrize(
    "hostile",
    [
        {"body": {"label": {"deep": 1}}}, {"body": {"x" * 5000: "1"}}, {"body": {"label": "C" * 100_000}}, {"base_rev": -1},
        {"base_rev": 1e9}, {"noun": 7}, {"noun": "op"}, {"noun": "shot; DROP TABLE shot"}, {"action": "delete"}, {"record_id": "../../etc"},
        {"body": {"label": "C1\u0000"}}, {"body": {"rev": 99}}, {"body": {"recorded_by": "x"}}, {"body": ["label"]}, {"device_seq": 2**70},
        {"t_device": "now"}, {"body": {"label": True}},
    ],
)  # fmt: skip
def test_a_hostile_operation_gets_a_sentence_and_stores_nothing(
    archer: TestClient, yard: kit.Yard, book: Storage, hostile: dict[str, Any]
) -> None:
    shot = loose(yard)
    wrong = {**shot, **hostile}
    if isinstance(hostile.get("body"), dict):
        wrong["body"] = {**shot["body"], **hostile["body"]}
    answer = send(archer, wrong)["answers"][0]
    assert answer["status"] == "refused" and answer["problems"][0]["sentence"]
    assert kit.row(book, "shot", shot["record_id"]) is None


def test_a_lone_surrogate_is_no_way_to_a_fault(archer: TestClient) -> None:
    text = '{"op_v":1,"boot":"","ops":[{"op_id":"\\ud800","action":"put","noun":"shot","record_id":"x","body":{}}]}'
    answer = archer.post("/api/ops", content=text.encode(), headers={"Content-Type": "application/json"})
    assert answer.status_code in (200, 422) and json.loads(answer.text)


def test_only_an_archer_may_log(viewer: TestClient, stranger: TestClient, yard: kit.Yard) -> None:
    assert viewer.post("/api/ops", json={"op_v": 1, "boot": "", "ops": [loose(yard)]}).status_code == 403
    assert viewer.get("/api/range").status_code == 403
    assert stranger.post("/api/ops", json={"op_v": 1, "boot": "", "ops": [loose(yard)]}).status_code == 401


def test_a_busy_book_is_said_with_when_to_come_again(
    archer: TestClient, yard: kit.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(*_: Any) -> None:
        raise BookBusy("Another program holds the book. Nothing was saved.")

    monkeypatch.setattr("server.records.phone_queue.take_queue", busy)
    answer = archer.post("/api/ops", json={"op_v": 1, "boot": "", "ops": [loose(yard)]})
    assert answer.status_code == 503 and answer.headers["Retry-After"] and answer.json()["trouble"] == "storage"


def test_savers_at_the_same_moment_each_get_their_own_answers(house: House, yard: kit.Yard, book: Storage) -> None:
    from concurrent.futures import ThreadPoolExecutor

    def save(n: int) -> list[tuple[str, str]]:
        shots = [loose(yard, f"C{n}{k}") for k in range(3)]
        answers = send(house.client("archer"), *shots, {"op_id": new_id(), "action": "put"})["answers"]
        assert [one["op_id"] for one in answers[:3]] == [one["op_id"] for one in shots]
        return [(shot["record_id"], answer["status"]) for shot, answer in zip(shots, answers[:3], strict=True)]

    with ThreadPoolExecutor(12) as savers:
        saved = [one for some in savers.map(save, range(24)) for one in some]
    assert {status for _, status in saved} == {"applied"} and len(saved) == 72
    assert all(kit.row(book, "shot", record_id) is not None for record_id, _ in saved)


def test_a_reading_waits_for_its_shot_and_is_taken_after_it(archer: TestClient, yard: kit.Yard) -> None:
    shot = loose(yard)
    read = op("shot_reading", {"hit": "missed"}, record_id=shot["record_id"])
    assert statuses(send(archer, read, shot)) == ["refused", "applied"]
    assert statuses(send(archer, read)) == ["applied"]
