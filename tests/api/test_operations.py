"""The door of the phones' queues: once each, in any order, one bad one never in the way of the rest."""

import json
import random
import re
import time
from typing import Any

import pytest
from proofyard.records.columns import meanings
from proofyard.records.ids import new_id
from proofyard.records.nouns import TABLES
from proofyard.records.operations import OP_VERSION, Operation
from proofyard.records.phone_queue import PhoneQueues, take_queue
from proofyard.storage import BookBusy, Storage
from sqlalchemy import exc
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House
from tests.records.test_no_text_is_poison import ODD


def op(noun: str, body: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {"op_id": new_id(), "action": "put", "noun": noun, "record_id": new_id(), "base_rev": 0, "body": body, **more}


def loose(yard: kit.Yard, label: str = "C1", **more: Any) -> dict[str, Any]:
    body = {
        "label": label,
        "shooting_end": yard.shooting_end,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "archer": yard.archer,
        "purpose": "counted",
        "loosed_at": kit.BEGAN,
    }
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
    here = op("shot_reading", {"hit": "on_panel", "outcome_low": "4"}, record_id=shot["record_id"])
    there = op("shot_reading", {"hit": "on_panel", "depth": "28 mm"}, record_id=shot["record_id"])
    assert statuses(send(archer, here)) == ["applied"]
    assert statuses(send(other, there)) == ["merged"]
    row = kit.row(book, "shot_reading", shot["record_id"])
    assert (row.outcome_low, row.depth_m) == ("4", pytest.approx(0.028))


def test_the_same_field_said_differently_is_a_clash_that_a_person_decides(archer: TestClient, other: TestClient, yard: kit.Yard) -> None:
    shot = loose(yard)
    send(archer, shot)
    record = shot["record_id"]
    send(archer, op("shot_reading", {"hit": "on_panel", "outcome_low": "3", "outcome_high": "3"}, record_id=record))
    said = send(other, op("shot_reading", {"hit": "on_panel", "outcome_low": "4", "outcome_high": "4"}, record_id=record))
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
    send(archer, op("shot_reading", {"hit": "on_panel", "entry": "plate"}, record_id=record))
    send(other, op("shot_reading", {"hit": "on_panel", "entry": "ridge"}, record_id=record))
    told = archer.get("/api/range").json()
    assert [one["field"] for one in told["clashes"]] == ["entry"]
    rev = told["shots"][0]["reading"]["rev"]
    send(other, op("shot_reading", {"entry": "plate"}, record_id=record, base_rev=rev))
    assert archer.get("/api/range").json()["clashes"] == []


def test_a_count_that_an_emptied_phone_uses_again_loses_no_shot(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    first, second, third = loose(yard, "C1", device_seq=1), loose(yard, "C2", device_seq=1), loose(yard, "C3", device_seq=2)
    assert statuses(send(archer, first)) == ["applied"]
    assert statuses(send(archer, second, third)) == ["applied", "applied"]
    assert kit.row(book, "shot", second["record_id"]) is not None


def test_crossing_out_needs_a_reason_and_keeps_it(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    shot = loose(yard)
    cross_out = {"op_id": new_id(), "action": "void", "noun": "shot", "record_id": shot["record_id"]}
    assert statuses(send(archer, shot, cross_out)) == ["applied", "refused"]
    assert statuses(send(archer, {**cross_out, "op_id": new_id(), "reason": "undone at once"})) == ["applied"]
    assert kit.row(book, "shot", shot["record_id"]).voided_rev == 2


def test_the_answer_tells_when_it_came_and_when_it_went(archer: TestClient, yard: kit.Yard) -> None:
    before = time.time_ns() // 1_000_000
    answer = send(archer, loose(yard))
    assert before <= answer["t1"] <= answer["t2"] <= time.time_ns() // 1_000_000


def test_the_form_before_is_still_taken(archer: TestClient, yard: kit.Yard) -> None:
    assert statuses(send(archer, loose(yard, "C1"), op_v=OP_VERSION - 1)) == ["applied"]
    assert "Open the page again" in send(archer, loose(yard, "C2"), op_v=OP_VERSION + 1, status=422)["sentence"]


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"null",
        b"[]",
        b"{}",
        b'{"op_v":1}',
        b'{"op_v":3,"ops":[]}',
        b'{"op_v":"one","ops":[{}]}',
        b'{"op_v":3,"ops":{}}',
        b"{" * 5000,
        b"\xff\xfe\x00",
        b'{"op_v":3,"ops":[' + b"[" * 3000,
    ],
)
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
        {"body": {"label": {"deep": 1}}},
        {"body": {"x" * 5000: "1"}},
        {"body": {"label": "C" * 100_000}},
        {"base_rev": -1},
        {"base_rev": 1e9},
        {"noun": 7},
        {"noun": "op"},
        {"noun": "shot; DROP TABLE shot"},
        {"action": "delete"},
        {"record_id": "../../etc"},
        {"body": {"label": "C1\u0000"}},
        {"body": {"rev": 99}},
        {"body": {"recorded_by": "x"}},
        {"body": ["label"]},
        {"device_seq": 2**70},
        {"t_device": "now"},
        {"body": {"label": True}},
    ],
)
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
    text = '{"op_v":3,"boot":"","ops":[{"op_id":"\\ud800","action":"put","noun":"shot","record_id":"x","body":{}}]}'
    answer = archer.post("/api/ops", content=text.encode(), headers={"Content-Type": "application/json"})
    assert answer.status_code in (200, 422) and json.loads(answer.text)


def test_only_an_archer_may_log(viewer: TestClient, stranger: TestClient, yard: kit.Yard) -> None:
    assert viewer.post("/api/ops", json={"op_v": OP_VERSION, "boot": "", "ops": [loose(yard)]}).status_code == 403
    assert viewer.get("/api/range").status_code == 403
    assert stranger.post("/api/ops", json={"op_v": OP_VERSION, "boot": "", "ops": [loose(yard)]}).status_code == 401


def test_a_busy_book_is_said_with_when_to_come_again(archer: TestClient, yard: kit.Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    def busy(*_: Any) -> None:
        raise BookBusy("Another program holds the book. Nothing was saved.")

    monkeypatch.setattr("proofyard.records.phone_queue.take_those", busy)
    answer = archer.post("/api/ops", json={"op_v": OP_VERSION, "boot": "", "ops": [loose(yard)]})
    assert answer.status_code == 503 and answer.headers["Retry-After"] and answer.json()["trouble"] == "storage"


# Good neighbours of these were never stored, and their phone sent all of them for ever: the answer was a 500.
POISON = [
    ("shot_reading", {"hit": "on_panel", "depth": "12 mm", "depth_bound": "about"}),
    ("shot_reading", {"hit": "on_panel", "depth": "12 mm", "depth_bound": ["equal"]}),
    *[("shooting_end", {"setup": "", "begun_at": moment}) for moment in ("①", "²", "--5")],
    ("bow", {"name": "B9", "marked_weight": "110@31", "marked_draw": ["31"]}),
    ("shot", {"short_draw": 10**4200}),
]


@pytest.mark.parametrize(("noun", "body"), POISON)
def test_a_poisoned_operation_is_refused_alone(archer: TestClient, yard: kit.Yard, book: Storage, noun: str, body: dict[str, Any]) -> None:
    first, last = loose(yard, "C1"), loose(yard, "C2")
    poison = op(noun, {**body, **({"setup": yard.setup} if noun == "shooting_end" else {})})
    answer = send(archer, first, poison, last)
    assert statuses(answer) == ["applied", "refused", "applied"]
    assert answer["answers"][1]["problems"][0]["field"] in body
    assert all(kit.row(book, "shot", one["record_id"]) is not None for one in (first, last))


@pytest.mark.parametrize("noun", TABLES)
def test_no_odd_text_in_any_field_of_a_new_record_answers_for_its_neighbours(archer: TestClient, yard: kit.Yard, noun: str) -> None:
    """The whole way, from bytes to bytes: each field of each noun with a few odd texts, between two good shots."""
    chance = random.Random(noun)
    linked = {
        "shot": yard.shooting_end,
        "shooting_end": yard.shooting_end,
        "setup": yard.setup,
        "archer": yard.archer,
        "trial": yard.trial,
        "session": yard.session,
    }
    odd = [one for one in ODD if one != "\ud800" and not (isinstance(one, int) and one > 1 << 80)]
    fields = {name: linked.get(meaning.noun or "", "1") for name, (_, meaning) in meanings(TABLES[noun]).items()}
    poisons = [op(noun, {**fields, name: value}) for name in fields for value in chance.sample(odd, 3)]
    for start in range(0, len(poisons), 48):
        some = poisons[start : start + 48]
        ops = [loose(yard, f"C{start + 1}"), *some, loose(yard, f"C{start + 2}")]
        answer = archer.post("/api/ops", content=json.dumps({"op_v": OP_VERSION, "boot": "", "ops": ops}))  # NaN and Infinity too
        assert answer.status_code == 200, answer.text
        answers = answer.json()["answers"]
        assert [answers[0]["status"], answers[-1]["status"], len(answers)] == ["applied", "applied", len(some) + 2]
        said = [problem["sentence"] for one in answers for problem in one["problems"]]
        assert not [sentence for sentence in said if "has a fault" in sentence]


def test_half_a_character_in_a_text_is_told_of(archer: TestClient, yard: kit.Yard) -> None:
    whole = json.dumps({"op_v": OP_VERSION, "boot": "", "ops": [loose(yard, "C1", reason="\ud800")]})
    answer = archer.post("/api/ops", content=whole)
    assert answer.status_code == 422 and answer.json()["trouble"] == "malformed"


def faulty(monkeypatch: pytest.MonkeyPatch, fault: Exception) -> None:
    """A fault of ours that one operation brings out: the one whose note says so."""
    from proofyard.records import apply

    sound = apply.check

    def check(session: Any, asked: Any, *more: Any) -> Any:
        if asked.body.get("note") == "brings it out":
            raise fault
        return sound(session, asked, *more)

    monkeypatch.setattr(apply, "check", check)


FAULTS = [ValueError("boom"), KeyError("x"), RecursionError(), exc.OperationalError("SELECT", {}, Exception("string or blob too big"))]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda one: type(one).__name__)
def test_any_fault_that_one_operation_brings_out_refuses_that_one_with_a_code_that_is_in_the_log(
    archer: TestClient, yard: kit.Yard, book: Storage, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, fault: Exception
) -> None:
    faulty(monkeypatch, fault)
    ops = [loose(yard, f"C{n}") for n in range(1, 4)]
    ops[1]["body"]["note"] = "brings it out"
    answers = send(archer, *ops)["answers"]
    assert [one["status"] for one in answers] == ["applied", "refused", "applied"]
    sentence = answers[1]["problems"][0]["sentence"]
    code = sentence.rstrip(".")[-7:]
    assert re.fullmatch(r"[A-Z]{3}-[A-Z]{3}", code) and "boom" not in sentence
    told = next(record for record in caplog.records if code in record.getMessage())
    assert ops[1]["op_id"] in told.getMessage() and told.exc_info
    assert [kit.row(book, "shot", one["record_id"]) is not None for one in ops] == [True, False, True]
    assert send(archer, ops[1])["answers"][0]["status"] == "refused"  # alone, too: 200, and the phone goes on
    monkeypatch.undo()
    assert send(archer, *ops)["answers"][1]["status"] == "applied"  # the same id is taken once the fault is mended


def test_a_fault_of_one_phone_s_operation_is_not_heard_by_the_others(
    book: Storage, house: House, yard: kit.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    faulty(monkeypatch, ValueError("boom"))
    queues = PhoneQueues(book)
    bad = loose(yard, "C1")
    bad["body"]["note"] = "brings it out"
    with book.write():  # so that all three come into one commit
        handed_in = [
            queues.hand_in([Operation(device_id=house.device_ids[who], **one)])
            for who, one in (("archer", loose(yard, "C2")), ("archer", bad), ("owner", loose(yard, "A1")))
        ]
    assert [one.result(10)[0].status for one in handed_in] == ["applied", "refused", "applied"]
    queues.close()


def test_whoever_comes_while_another_has_the_book_shares_the_next_commit(book: Storage, house: House, yard: kit.Yard) -> None:
    """Else two servers on one book take turns with one operation each, however many wait."""
    queues, commits = PhoneQueues(book), []
    asked = [[Operation(device_id=house.device_ids["archer"], **loose(yard, label))] for label in ("C1", "C2", "C3")]
    book.after_commit(lambda: commits.append(1))
    with book.write(quietly=True):
        answers = [queues.hand_in(asked[0])]
        until = time.monotonic() + 10
        while not book._waiting and time.monotonic() < until:
            time.sleep(0.005)
        assert book._waiting == 1
        answers += [queues.hand_in(one) for one in asked[1:]]
    assert [one.result(10)[0].status for one in answers] == ["applied"] * 3 and len(commits) == 1
    queues.close()


def test_whoever_waits_hears_of_a_book_that_can_not_be_had(
    book: Storage, house: House, yard: kit.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(*_: Any) -> Any:
        raise BookBusy("Another program holds the book. Nothing was saved.")

    monkeypatch.setattr(Storage, "_one_transaction", busy)
    queues = PhoneQueues(book)
    waiting = [queues.hand_in([Operation(device_id=house.device_ids["archer"], **loose(yard, label))]) for label in ("C1", "C2")]
    for one in waiting:
        with pytest.raises(BookBusy):
            one.result(10)
    queues.close()


def test_a_book_that_takes_nothing_now_is_no_fault_of_an_operation(
    book: Storage, house: House, yard: kit.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a disk that fails in a way we have no words for would leave every shot under "needs you"."""
    fault = exc.OperationalError("COMMIT", {}, Exception("something that nobody has seen"))

    def broken(*_: Any) -> Any:
        raise fault

    monkeypatch.setattr(Storage, "_one_transaction", broken)
    with pytest.raises(exc.OperationalError):
        take_queue(book, [Operation(device_id=house.device_ids["archer"], **loose(yard))])


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
