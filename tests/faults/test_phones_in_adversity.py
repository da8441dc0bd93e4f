"""Two phones against the real app, through a network that drops, repeats, delays, reorders and cuts.

The model of a phone keeps to what static/js/range/queue.js does: `add` puts on the phone first; `batch` takes the first
waiting operation of each record, fifty at most; `send` marks by answers only; a refused one waits for a person
(`mend`); `offerAgain` offers what a restored book may lack. An operation leaves the outbox when its answer was read.

Always: what a phone was told is in the book; every operation id stands there once; the same again gets the first answer.
In the end, with the network whole: the book equals the set of operations that were asked.
"""

import json
import shutil
import tempfile
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import select, text
from starlette.testclient import TestClient

from server.access.sessions import COOKIE, hash_of, named, new_token
from server.app import create_app
from server.opening import open_book
from server.records import devices
from server.records.book import Clash, Op
from server.records.ids import new_id
from server.records.shot_facts import ShotFact, shot_facts
from server.settings import BOOK_FILE, Settings
from server.storage import Storage
from tests import kit_for_tests as kit
from tests.conftest import ADDRESS, HOST, PORT

FAULTS = ("none", "none", "reply lost", "repeated", "not reached", "busy", "cut body")


@dataclass
class Phone:
    """The outbox of one phone, and what it believes of each record."""

    name: str
    letter: str
    client: TestClient
    shots: int = 0
    waiting: list[dict[str, Any]] = field(default_factory=list)
    answered: dict[str, dict[str, Any]] = field(default_factory=dict)
    needs: list[dict[str, Any]] = field(default_factory=list)
    seen_rev: dict[tuple[str, str], int] = field(default_factory=dict)

    def add(self, noun: str, record_id: str, body: dict[str, Any], *, action: str = "put", reason: str | None = None) -> dict[str, Any]:
        op = {
            "op_id": new_id(), "action": action, "noun": noun, "record_id": record_id, "body": body, "reason": reason,
            "base_rev": self.seen_rev.get((noun, record_id), 0),
        }  # fmt: skip
        self.waiting.append(op)
        return op

    def batch(self) -> list[dict[str, Any]]:
        first: dict[tuple[str, str], dict[str, Any]] = {}
        for op in self.waiting:
            first.setdefault((op["noun"], op["record_id"]), op)
        return list(first.values())[:50]

    def hear(self, answers: list[dict[str, Any]]) -> None:
        for answer in answers:
            op = next((one for one in self.waiting if one["op_id"] == answer["op_id"]), None)
            if op is None:
                continue
            self.waiting.remove(op)
            if answer["status"] == "refused":
                self.needs.append(op)
                continue
            self.answered[op["op_id"]] = answer
            key = (op["noun"], op["record_id"])
            self.seen_rev[key] = max(self.seen_rev.get(key, 0), answer["rev"])
            for later in self.waiting:  # a change of our own does not clash with ourselves
                if (later["noun"], later["record_id"]) == key:
                    later["base_rev"] = max(later["base_rev"], answer["rev"])


class Range(RuleBasedStateMachine):
    """Wren's phone and Tallow's, and a laptop that is not always there."""

    folder: Path
    template: Path  # a book with a yard to shoot in, made once
    yard: kit.Yard

    @initialize()
    def set_out(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="adversity"))
        shutil.copyfile(self.template, self.folder / BOOK_FILE)
        self.tokens = {name: new_token() for name in ("Wren", "Tallow")}
        self.storage = open_book(self.folder)
        with self.storage.write() as session:
            letters = {
                name: devices.add_device(session, call_name=name, role="archer", session_hash=hash_of(token)).letter or ""
                for name, token in self.tokens.items()
            }
        self.app = create_app(self.storage, Settings(self.folder, host=HOST, port=PORT))
        self.phones = {name: Phone(name, letters[name], self._client(token)) for name, token in self.tokens.items()}
        self.before = set(_operations(self.storage))  # what the yard was made with
        self.loosed: dict[str, str] = {}
        self.struck: set[str] = set()
        self.first_answers: dict[str, tuple[Any, ...]] = {}

    def teardown(self) -> None:
        if hasattr(self, "phones"):
            try:
                self.drain()
            finally:
                self.storage.close()
                shutil.rmtree(self.folder, ignore_errors=True)

    def _client(self, token: str) -> TestClient:
        client = TestClient(self.app, base_url=ADDRESS, headers={"Origin": ADDRESS}, follow_redirects=False)
        client.cookies.set(named(COOKIE, ADDRESS), token, domain=HOST)
        return client

    def _send(self, phone: Phone, ops: list[dict[str, Any]], fault: str, *, listen: bool = True) -> None:
        if not ops or fault == "not reached":
            return
        body = json.dumps({"op_v": 1, "boot": "model", "ops": ops})
        if fault == "cut body":
            answer = phone.client.post("/api/ops", content=body[: len(body) // 2], headers={"Content-Type": "application/json"})
            assert answer.status_code == 422
            return
        for _ in range(2 if fault == "repeated" else 1):
            answer = phone.client.post("/api/ops", content=body, headers={"Content-Type": "application/json"})
            assert answer.status_code == 200, answer.text
            told = answer.json()["answers"]
            assert [one["op_id"] for one in told] == [op["op_id"] for op in ops]
            for one in told:
                if one["status"] != "refused":
                    what = (one["status"], one["rev"], one["seq"])
                    assert self.first_answers.setdefault(one["op_id"], what) == what
        if fault not in ("reply lost", "busy") and listen:
            phone.hear(told)

    @rule(name=st.sampled_from(["Wren", "Tallow"]), speed=st.sampled_from(["52,6", "", "fast"]))
    def loose(self, name: str, speed: str) -> None:
        phone = self.phones[name]
        phone.shots += 1
        shot, label = new_id(), f"{phone.letter}{phone.shots}"
        body = {
            "label": label, "walk": self.yard.walk, "bow_build": self.yard.bow.build, "arrow_build": self.yard.arrow.build,
            "archer": self.yard.archer, "purpose": "counted", "loosed_at": kit.BEGAN + 1000 * len(self.loosed),
        }  # fmt: skip
        phone.add("shot", shot, body)
        self.loosed[shot] = label
        if speed:
            phone.add("speed_reading", new_id(), {"shot": shot, "value": speed, "method": "chronograph"})

    @precondition(lambda self: self.loosed)
    @rule(name=st.sampled_from(["Wren", "Tallow"]), data=st.data(), rung=st.sampled_from("012345"), depth=st.booleans())
    def read(self, name: str, data: st.DataObject, rung: str, depth: bool) -> None:
        """Either phone reads any shot it may know of, in the same fields or in others."""
        shot = data.draw(st.sampled_from(sorted(self.loosed)))
        body = {"depth": "12 mm", "depth_method": "film"} if depth else {"hit": "fair_target", "outcome_low": rung, "outcome_high": rung}
        self.phones[name].add("shot_reading", shot, body)

    @precondition(lambda self: self.loosed)
    @rule(data=st.data(), back=st.booleans())
    def strike_or_take_back(self, data: st.DataObject, back: bool) -> None:
        shot = data.draw(st.sampled_from(sorted(self.loosed)))
        owner = next(p for p in self.phones.values() if self.loosed[shot].startswith(p.letter))
        owner.add("shot", shot, {}, action="unstrike" if back else "strike", reason="undone at once")
        (self.struck.discard if back else self.struck.add)(shot)

    @rule(name=st.sampled_from(["Wren", "Tallow"]), fault=st.sampled_from(FAULTS), late=st.booleans())
    def send(self, name: str, fault: str, late: bool) -> None:
        phone = self.phones[name]
        ops = phone.batch()
        if late:
            ops = ops[::-1]  # what was made later arrives first
        self._send(phone, ops, fault)

    @rule(name=st.sampled_from(["Wren", "Tallow"]), data=st.data())
    def an_old_request_arrives_late(self, name: str, data: st.DataObject) -> None:
        """A request that the network held back is delivered after all; nobody hears its answer."""
        phone = self.phones[name]
        if phone.waiting:
            self._send(phone, [data.draw(st.sampled_from(phone.batch()))], "none", listen=False)

    @rule()
    def the_server_is_started_anew(self) -> None:
        self.storage.close()
        self.storage = open_book(self.folder)
        self.app = create_app(self.storage, Settings(self.folder, host=HOST, port=PORT))
        for phone in self.phones.values():
            phone.client = self._client(self.tokens[phone.name])

    @invariant()
    def what_a_phone_was_told_is_in_the_book_once(self) -> None:
        if not hasattr(self, "phones"):
            return
        with self.storage.read() as session:
            ids = list(session.execute(select(Op.op_id)).scalars())
        assert len(ids) == len(set(ids))
        told = {op_id for phone in self.phones.values() for op_id in phone.answered}
        assert told <= set(ids)

    def drain(self) -> None:
        """The network is whole: everything is sent, a person mends what was refused, and the book is complete."""
        for _ in range(200):
            for phone in self.phones.values():
                self._send(phone, phone.batch(), "none")
            for phone in self.phones.values():
                for op in list(phone.needs):
                    phone.needs.remove(op)
                    mended = {**op["body"], "value": "52.6"} if op["body"].get("value") == "fast" else op["body"]
                    # As `mend` does: another operation where the words changed, the same one where they did not.
                    phone.waiting.append({**op, "body": mended, **({"op_id": new_id()} if mended != op["body"] else {})})
            if not any(phone.waiting or phone.needs for phone in self.phones.values()):
                break
        self._book_is_the_set_of_operations()

    def _book_is_the_set_of_operations(self) -> None:
        assert not any(phone.waiting or phone.needs for phone in self.phones.values())
        with self.storage.read() as session:
            facts: list[ShotFact] = shot_facts(session, struck=True)
            taken = {row.op_id: row for row in session.execute(select(Op)).scalars()}
            clashes = session.execute(select(Clash)).scalars().all()
            assert session.execute(text("PRAGMA integrity_check")).scalar_one() == "ok"
            assert session.execute(text("PRAGMA foreign_key_check")).all() == []
        assert sorted(f.label for f in facts) == sorted(self.loosed.values())
        assert {f.shot_id for f in facts} == set(self.loosed)
        answered = {op_id for phone in self.phones.values() for op_id in phone.answered}
        assert answered == set(taken) - self.before
        for fact in facts:
            said = [json.loads(row.body)[4] for row in taken.values() if row.noun == "shot_reading" and row.record_id == fact.shot_id]
            rungs = {body["outcome_low"] for body in said if "outcome_low" in body}
            kept = {json.loads(c.offered)[0] for c in clashes if c.record_id == fact.shot_id and c.field == "outcome_low"}
            if rungs:
                # Every rung that somebody read stands, or is kept beside it, or was changed by one who had seen it.
                assert str(fact.outcome_low) in rungs and kept <= rungs
            assert (fact.depth_m is not None) == any("depth" in body for body in said)


@pytest.fixture
def adversity(book: Storage) -> type[Range]:
    yard = kit.yard(book)
    book.close()
    return type("Adversity", (Range,), {"template": book.path, "yard": yard})


def run(machine: type[Range], *, examples: int, steps: int) -> None:
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples, stateful_step_count=steps, deadline=None, phases=(Phase.explicit, Phase.generate),
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
        ),
    )  # fmt: skip


def test_nothing_lost_and_nothing_twice_whatever_the_network_does(adversity: type[Range]) -> None:
    run(adversity, examples=40, steps=30)


@pytest.mark.long
def test_nothing_lost_and_nothing_twice_in_thousands_of_steps(adversity: type[Range]) -> None:
    run(adversity, examples=400, steps=50)


def test_a_restored_older_book_is_offered_again_what_it_lacks(tmp_path: Path, adversity: type[Range]) -> None:
    machine = adversity()
    machine.set_out()
    try:
        machine.loose("Wren", "52,6")
        machine.send("Wren", "none", False)
        older = tmp_path / "older.db"
        with closing(open_book(machine.folder)) as book, book.read() as session:
            session.execute(text("SELECT 1"))
        machine.storage.close()
        shutil.copyfile(machine.folder / BOOK_FILE, older)
        machine.the_server_is_started_anew()
        machine.loose("Wren", "53.1")
        machine.loose("Tallow", "")
        for name in ("Wren", "Tallow"):
            machine.send(name, "none", False)
        sent = {name: dict(phone.answered) for name, phone in machine.phones.items()}
        assert all(sent.values())
        made = {op_id: op for op_id, op in _operations(machine.storage).items()}
        machine.storage.close()
        shutil.copyfile(older, machine.folder / BOOK_FILE)
        machine.the_server_is_started_anew()
        machine.first_answers.clear()
        # As `offerAgain`: all that the book had said to have is queued again; what it still has it knows by its id.
        for name, phone in machine.phones.items():
            phone.answered, phone.seen_rev = {}, {}
            phone.waiting = [made[op_id] for op_id in sent[name]]
        machine.drain()
        with machine.storage.read() as session:
            assert sorted(f.label for f in shot_facts(session)) == sorted(machine.loosed.values())
    finally:
        machine.storage.close()
        shutil.rmtree(machine.folder, ignore_errors=True)


def _operations(storage: Storage) -> dict[str, dict[str, Any]]:
    with storage.read() as session:
        rows = session.execute(select(Op)).scalars().all()
    return {
        row.op_id: {
            "op_id": row.op_id, "action": row.action, "noun": row.noun, "record_id": row.record_id, "base_rev": row.base_rev,
            "body": json.loads(row.body)[4], "reason": json.loads(row.body)[5],
        }
        for row in rows
    }  # fmt: skip
