"""Two phones (tests/faults/phone_model.py) against the real app on a real file, through air that does its worst.

Faults, each at any request: never arrives; answer lost after the commit; answer cut; request cut, with the line closed or
not; sent twice; held back and delivered after later ones; 503 before and after the commit. Between them the server starts
again on the same file, and pages are opened again.

After every step: what a phone got an answer for is in the book, each operation once, and the same again got the first
answer. Once the faults end and the phones are empty: the book is the set of operations, worked out here from what the
phones said and what their people had seen. A field that two said differently keeps both.
"""

from __future__ import annotations

import asyncio
import json
import shutil
import tempfile
from collections import defaultdict
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule, run_state_machine_as_test
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.api import changes, operations, snapshot
from proofyard.app import create_app
from proofyard.book_file import library as sqlite3
from proofyard.exchange.backup import backup
from proofyard.exchange.restore import restore
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.records.packed import long_id
from proofyard.settings import BOOK_FILE, Settings
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.conftest import ADDRESS, HOST, PORT
from tests.faults.phone_model import Op, Phone, Reply
from tests.notebook_for_tests import answers_in

pytestmark = pytest.mark.slow

NAMES = ("Wren", "Tallow")
OPS = "SELECT long_id(op_id) FROM revision WHERE op_id IS NOT NULL"
# Beside the lists of the rules: what a person says of a reading. Each text is a value of its own.
SAID = {
    "hit": ("missed", "spoiled"),
    "depth": ("12 mm", "15,5 mm", "3 mm"),
    "note": ("by the light", "seen twice"),
    "damage": ("one ring", "two rings"),
    "head_fate": (["blunted"], ["curled", "loose"]),
    "certainty": ("sure", "unsure"),
}
FAULTS = (
    "none",
    "none",
    "never arrives",
    "answer lost",
    "answer cut",
    "request cut",
    "half a request",
    "twice",
    "held back",
    "busy before",
    "busy after",
)
Answer = dict[str, Any]
readings = st.lists(st.sampled_from(sorted(SAID)), min_size=1, max_size=3, unique=True).flatmap(
    lambda names: st.fixed_dictionaries({name: st.sampled_from(SAID[name]) for name in names})
)


class Laptop:
    """The app on its file; `start` again is what a restart of the program is to the phones."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.runner = asyncio.Runner()
        self.storage: Storage | None = None
        self.start()

    def start(self) -> None:
        if self.storage:
            self.storage.close()
        self.storage = open_book(self.folder)
        self.app = create_app(self.storage, Settings(self.folder, HOST, PORT), addresses=list)

    def stop(self) -> None:
        assert self.storage
        self.storage.close()
        self.runner.close()

    def ask(self, token: str, method: str, path: str, body: bytes | None, *, cut: bool = False) -> Reply | None:
        return self.runner.run(self._ask(token, method, path, body or b"", cut))

    async def _ask(self, token: str, method: str, path: str, body: bytes, cut: bool) -> Reply | None:
        """One request over ASGI; `cut`: half of the body comes, then the line is closed."""
        name, _, query = path.partition("?")
        headers = {
            "host": f"{HOST}:{PORT}",
            "origin": ADDRESS,
            "cookie": f"{named(COOKIE, ADDRESS)}={token}",
            "content-type": "application/json",
            "content-length": str(len(body)),
        }
        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": method,
            "scheme": "http",
            "path": name,
            "raw_path": name.encode(),
            "query_string": query.encode(),
            "headers": [(key.encode(), value.encode()) for key, value in headers.items()],
            "client": ("192.0.2.7", 50_000),
            "server": (HOST, PORT),
            "root_path": "",
        }
        come: list[dict[str, Any]] = [{"type": "http.request", "body": body, "more_body": False}, {"type": "http.disconnect"}]
        if cut:
            come[0] = {"type": "http.request", "body": body[: len(body) // 2], "more_body": True}
        went: list[dict[str, Any]] = []

        async def receive() -> dict[str, Any]:
            return come.pop(0) if come else {"type": "http.disconnect"}

        async def send(message: dict[str, Any]) -> None:
            went.append(message)

        await self.app(scope, receive, send)
        if cut or not went:
            return None
        return Reply(went[0]["status"], b"".join(one.get("body", b"") for one in went[1:]).decode())


class Air:
    """What lies between one phone and the laptop. `faults` are used up, one a request; then all goes through."""

    def __init__(self, laptop: Laptop, token: str) -> None:
        self.laptop, self.token = laptop, token
        self.faults: list[str] = []
        self.held: list[tuple[str, str, bytes | None]] = []
        self.first: dict[str, Answer] = {}
        self.again = 0

    def ask(self, method: str, path: str, body: bytes | None) -> Reply | None:
        fault = self.faults.pop(0) if self.faults else "none"
        if fault in ("never arrives", "busy before"):
            return Reply(503, '{"detail": "The laptop has its hands full."}') if fault == "busy before" else None
        if fault == "held back":
            self.held.append((method, path, body))
            return None
        if fault == "request cut":
            return self.laptop.ask(self.token, method, path, body, cut=True)
        if fault == "half a request" and body:
            return self._arrives(method, path, body[: len(body) // 2])
        reply = self._arrives(method, path, body)
        if fault == "twice":
            reply = self._arrives(method, path, body)
        if fault == "busy after":
            return Reply(503, "")
        if fault == "answer cut":
            return Reply(reply.status, reply.text[: len(reply.text) // 2])
        return None if fault == "answer lost" else reply

    def let_through(self, which: int) -> None:
        """What was held back arrives after all; nobody waits for its answer any more."""
        self._arrives(*self.held.pop(which))

    def _arrives(self, method: str, path: str, body: bytes | None) -> Reply:
        reply = self.laptop.ask(self.token, method, path, body)
        assert reply and reply.status in (200, 204, 422), reply
        for answer in reply.said.get("answers", []):
            if answer["status"] == "refused":
                continue
            first = self.first.setdefault(answer["op_id"], answer)
            assert {**first, "again": answer["again"]} == answer, "the same again got another answer"
            self.again += first is not answer
        return reply


class Phones(RuleBasedStateMachine):
    """Wren's phone and Tallow's. `template`: a folder with a yard ready to shoot, and their cookies."""

    template: Path
    tokens: dict[str, str]
    yard: kit.Yard

    @initialize()
    def set_out(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="proofyard-phones-"))
        shutil.copyfile(self.template / BOOK_FILE, self.folder / BOOK_FILE)
        self.laptop = Laptop(self.folder)
        self.before = {row[0] for row in self.rows(OPS)}
        self.air = {name: Air(self.laptop, self.tokens[name]) for name in NAMES}
        self.phones = {name: Phone(name, self.air[name].ask) for name in NAMES}
        for phone in self.phones.values():
            phone.look()
            assert phone.letter
        wren, tallow = self.phones.values()
        for _ in range(2):
            self.loose_one(wren, "", None)
        wren.send()
        tallow.look()
        self.moved = True

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        with closing(sqlite3.connect(self.folder / BOOK_FILE)) as book:
            book.create_function("long_id", 1, long_id)
            return book.execute(query).fetchall()

    # -- what people do

    who = st.sampled_from(NAMES)

    @rule(
        name=who,
        speeds=st.lists(st.sampled_from(["", "52,6", "fast"]), min_size=1, max_size=3),
        place=st.sampled_from([None, None, None, "first"]),
    )
    def loose(self, name: str, speeds: list[str], place: str | None) -> None:
        """Some shots, one after the other; a speed or a place may not be what the book can read."""
        for speed in speeds:
            self.loose_one(self.phones[name], speed, place)

    def loose_one(self, phone: Phone, speed: str, place: str | None) -> None:
        shooting_ends = [self.yard.shooting_end, *self.known(phone, "shooting_end")]
        body = {
            "label": phone.next_label(),
            "shooting_end": shooting_ends[-1],
            "bow_build": self.yard.bow.build,
            "arrow_build": self.yard.arrow.build,
            "archer": self.yard.archer,
            "purpose": "counted",
            "loosed_at": kit.BEGAN + phone.count,
            **({"position": place} if place else {}),
        }
        shot = phone.add({"noun": "shot", "record_id": new_id(), "body": body})[0]["record_id"]
        if speed:
            phone.add({"noun": "speed_reading", "record_id": new_id(), "body": {"shot": shot, "value": speed, "method": "chronograph"}})

    @rule(name=who)
    def shooting_end_to_the_butt(self, name: str) -> None:
        """The end ends and the next begins. Two phones may end one end."""
        phone = self.phones[name]
        shooting_end = [self.yard.shooting_end, *self.known(phone, "shooting_end")][-1]
        begun = {"noun": "shooting_end", "record_id": new_id(), "body": {"setup": self.yard.setup, "begun_at": kit.BEGAN + phone.count}}
        phone.add(
            {
                "noun": "shooting_end",
                "record_id": shooting_end,
                "base_rev": phone.rev_of("shooting_end", shooting_end),
                "body": {"at_butt_at": kit.BEGAN + phone.count},
            },
            begun,
        )

    def known(self, phone: Phone, noun: str) -> list[str]:
        """The records that somebody at this phone can see, in the order that they were made."""
        told = [one["id"] for one in (phone.told or {}).get(f"{noun}s", [])]
        return sorted({*told, *(op["record_id"] for op in phone.ops if op["noun"] == noun and op["state"] != "dropped")})

    @rule(name=who, data=st.data())
    def read(self, name: str, data: st.DataObject) -> None:
        """Anybody reads any shot that the phone shows, in any fields: the first reading, or a correction of one."""
        shot = data.draw(st.sampled_from(self.known(self.phones[name], "shot")[-3:]))
        self.say(name, "shot_reading", shot, data.draw(readings))

    @rule(first=readings, second=readings, between=st.sampled_from(["nothing", "look", "send"]))
    def both_read_the_same_hit(self, first: dict[str, Any], second: dict[str, Any], between: str) -> None:
        wren, tallow = self.phones.values()
        both = sorted(set(self.known(wren, "shot")) & set(self.known(tallow, "shot")))
        self.say("Wren", "shot_reading", both[-1], first)
        if between == "send":
            wren.send()
        if between != "nothing":
            tallow.look()
        self.say("Tallow", "shot_reading", both[-1], second)

    @rule(name=who, data=st.data(), wrong=st.booleans())
    def correct(self, name: str, data: st.DataObject, wrong: bool) -> None:
        shots = self.known(self.phones[name], "shot")
        body = {"note": data.draw(st.sampled_from(["gust", "let go early"])), **({"position": "second"} if wrong else {})}
        self.say(name, "shot", data.draw(st.sampled_from(shots[-3:])), body)

    def say(self, name: str, noun: str, record_id: str, body: dict[str, Any]) -> None:
        phone = self.phones[name]
        phone.add({"noun": noun, "record_id": record_id, "base_rev": phone.rev_of(noun, record_id), "body": body, "reason": "seen again"})

    @rule(name=who, data=st.data(), back=st.booleans(), noun=st.sampled_from(["shot", "shot_reading"]))
    def cross_out_or_put_back(self, name: str, data: st.DataObject, back: bool, noun: str) -> None:
        phone = self.phones[name]
        shots = self.known(phone, "shot")
        if noun == "shot_reading":
            shots = [
                one for one in shots if phone.rev_of(noun, one) or any(op["noun"] == noun and op["record_id"] == one for op in phone.ops)
            ]
        if shots:
            voided = data.draw(st.sampled_from(shots[-3:]))
            phone.add({"noun": noun, "record_id": voided, "action": "unvoid" if back else "void", "reason": "undone at once"})

    # -- what phones and the air do

    @rule(name=who, faults=st.lists(st.sampled_from(FAULTS), max_size=4))
    def send(self, name: str, faults: list[str]) -> None:
        self.air[name].faults = faults
        self.phones[name].send()
        self.moved = True

    @rule(name=who, fault=st.sampled_from(FAULTS))
    def look(self, name: str, fault: str) -> None:
        self.air[name].faults = [fault]
        self.phones[name].look()

    @rule(name=who, what=st.sampled_from(["mend", "page", "server", "late", "late"]), which=st.integers(0, 9))
    def meanwhile(self, name: str, what: str, which: int) -> None:
        """Somebody looks at what needs a person, opens the page again, starts the server again; or what was held back arrives."""
        if what == "mend":
            self.mend(name)
        if what == "page":
            self.phones[name].load()
        if what == "server":
            self.laptop.start()
        if what == "late" and self.air[name].held:
            self.air[name].let_through(which % len(self.air[name].held))
        self.moved = True

    def mend(self, name: str) -> None:
        for op in self.phones[name].held("needs"):
            self.phones[name].mend(op, self.mended(op))

    @staticmethod
    def mended(op: Op) -> dict[str, Any] | None:
        if op["body"].get("value") == "fast":
            return {"value": "52,6"}
        return {"position": "2"} if op["body"].get("position") in ("first", "second") else None

    # -- what must hold

    @invariant()
    def what_was_answered_is_in_the_book_once(self) -> None:
        if not getattr(self, "moved", False):
            return
        self.moved = False
        there = [row[0] for row in self.rows(OPS)]
        assert len(there) == len(set(there))
        for phone in self.phones.values():
            lost = {op["op_id"] for op in phone.held("book")} - set(there)
            assert not lost, f"{phone.name} was told of operations that are not in the book: {lost}"

    def teardown(self) -> None:
        if not hasattr(self, "phones"):
            return
        try:
            self.end()
        finally:
            self.laptop.stop()
            shutil.rmtree(self.folder, ignore_errors=True)

    def end(self) -> None:
        self.drain()
        check_the_book(self)

    def drain(self) -> None:
        """The air is clear, and nobody is away from the phones."""
        for air in self.air.values():
            air.faults = []
            while air.held:
                air.let_through(0)
        for _ in range(30):
            for name, phone in self.phones.items():
                phone.look()
                phone.send()
                self.mend(name)
            if not any(phone.held("queued") or phone.held("needs") for phone in self.phones.values()):
                break
        left = [(phone.name, op) for phone in self.phones.values() for op in phone.ops if op["state"] in ("queued", "needs")]
        assert not left, f"never taken: {left}"
        for phone in self.phones.values():
            phone.look()
        self.moved = True
        self.what_was_answered_is_in_the_book_once()


ONCE = frozenset({"at_butt_at", "back_at"})  # what two phones may say at once, and the first of them stands


# -- the book worked out from what the phones said


def check_the_book(at: Phones) -> None:
    """Record by record, in the order in which the book took the operations."""
    said = {op["op_id"]: {**op, "phone": phone} for phone in at.phones.values() for op in phone.held("book")}
    answers = answers_in(at.folder / BOOK_FILE)
    there = {op_id: json.loads(answer) for op_id, answer in answers.items() if op_id not in at.before}
    assert there.keys() == said.keys(), "the book and the phones do not hold the same operations"
    clashes = {(row[0], row[1]): row for row in at.rows("SELECT long_id(op_id), field, stands, offered, settled_op_id FROM clash")}
    records = defaultdict(list)
    for op in said.values():
        records[op["noun"], op["record_id"]].append(op)
    for (noun, record_id), ops in records.items():
        ops.sort(key=lambda op: int(op["answer"]["rev"]))
        revs = [op["answer"]["rev"] for op in ops]
        first = 2 if record_id == at.yard.shooting_end else 1
        assert revs == list(range(first, first + len(ops))), "a revision is missing, or two operations made the same"
        _check_record(at, noun, record_id, ops, clashes)
    assert not clashes, f"kept beside, though nobody said otherwise: {list(clashes)}"
    assert {row[0] for row in at.rows("SELECT id FROM shot")} == {key[1] for key in records if key[0] == "shot"}
    labels = [row[0] for row in at.rows("SELECT label FROM shot")]
    assert len(labels) == len(set(labels))
    assert at.rows("PRAGMA integrity_check") == [("ok",)] and at.rows("PRAGMA foreign_key_check") == []
    _check_what_phones_show(at)


def _check_record(at: Phones, noun: str, record_id: str, ops: list[Op], clashes: dict[tuple[str, str], tuple[Any, ...]]) -> None:
    stands: dict[str, Op] = {}
    voided = None
    for place, op in enumerate(ops):
        if op["action"] != "put":
            voided = op["answer"]["rev"] if op["action"] == "void" else None
            continue
        for name, value in op["body"].items():
            kept = clashes.pop((op["op_id"], name), None)
            before = stands.get(name)
            if name in ONCE and before is not None:
                assert kept is None, f"{name}: over since the first, so the second is no other opinion"
                continue
            if before is not None and before["body"][name] != value:
                must = _said_otherwise_unseen(ops, op, before)
                assert must is None or must == (kept is not None), f"{name}: {value!r} over {before['body'][name]!r}, kept beside: {kept}"
            else:
                assert kept is None, f"{name}: kept beside though nobody said otherwise"
            if kept is None:
                stands[name] = op if before is None or before["body"][name] != value else before
                continue
            assert before is not None
            assert [json.loads(one)[1] for one in kept[2:4]] == [_text(before["body"][name]), _text(value)]
            if kept[4] is not None:
                decided = next(one for one in ops if one["op_id"] == kept[4])
                assert _had_seen(ops, decided) >= op["answer"]["rev"], f"{name}: a clash was decided by one who had not seen it"
                assert ops.index(decided) > place and name in decided["body"]
    ((rev, voided_rev, typed),) = at.rows(f"SELECT rev, voided_rev, typed FROM {noun} WHERE id = '{record_id}'")
    assert (rev, voided_rev) == (ops[-1]["answer"]["rev"], voided)
    assert {name: json.loads(typed)[name] for name in stands} == {name: _text(op["body"][name]) for name, op in stands.items()}


def _had_seen(ops: list[Op], op: Op) -> int:
    """The revision that this phone had shown by the time of an operation of its own."""
    return max(int(one["saw"]) for one in ops if one["phone"] is op["phone"] and one["n"] <= op["n"])


def _said_otherwise_unseen(ops: list[Op], op: Op, before: Op) -> bool | None:
    """Whether `op` differs from what stands without its person having seen that; None where it may be taken either way."""
    if before["phone"] is op["phone"]:
        return False if before["n"] < op["n"] else None  # later by its own count: the person changed their mind
    if before["answer"]["rev"] > _had_seen(ops, op):
        return True
    return False if before["answer"]["rev"] <= op["base_rev"] else None


def _text(value: Any) -> str | None:
    return value if value is None or isinstance(value, str) else json.dumps(value, ensure_ascii=False)


def _check_what_phones_show(at: Phones) -> None:
    """Told bit by bit, each phone shows what the book has."""
    for phone in at.phones.values():
        assert phone.told
        shown = {one["id"]: (one["rev"], one["voided"]) for one in phone.told["shots"]}
        assert shown == {row[0]: (row[1], row[2] is not None) for row in at.rows("SELECT id, rev, voided_rev FROM shot")}
        readings = {one["id"]: one["reading"]["rev"] for one in phone.told["shots"] if one["reading"]}
        assert readings == dict(at.rows("SELECT id, rev FROM shot_reading"))
        shooting_ends = {one["id"]: one["rev"] for one in phone.told["shooting_ends"]}
        assert shooting_ends == dict(at.rows("SELECT id, rev FROM shooting_end"))


class PhonesAndARestore(Phones):
    """The same, and now and then a backup takes the place of the book. The phones bring back what it lacks, by themselves."""

    copies = 0

    @rule()
    def make_a_backup(self) -> None:
        self.copies += 1
        backup(self.folder / BOOK_FILE, self.folder / f"copy-{self.copies}.db")

    @precondition(lambda self: self.copies)
    @rule(data=st.data())
    def restore_a_backup(self, data: st.DataObject) -> None:
        copy = self.folder / f"copy-{data.draw(st.integers(1, self.copies))}.db"
        assert self.laptop.storage
        self.laptop.storage.close()
        restore(copy, self.folder)
        for left in self.folder.glob("*-before-restore-*"):
            left.rename(left.with_name(f"aside-{new_id()}.db"))  # two within one second would want one name
        self.laptop.start()
        for air in self.air.values():
            air.first.clear()  # the answers of a book that is no more
        for phone in self.phones.values():
            self.air[phone.name].faults = []
            phone.look()  # the phones hear of it

    def end(self) -> None:
        self.drain()
        there = {row[0] for row in self.rows(OPS)} - self.before
        assert there == {op["op_id"] for phone in self.phones.values() for op in phone.held("book")}
        shots = {op["record_id"] for phone in self.phones.values() for op in phone.held("book") if op["noun"] == "shot"}
        assert {row[0] for row in self.rows("SELECT id FROM shot")} == shots
        labels = [row[0] for row in self.rows("SELECT label FROM shot")]
        assert len(labels) == len(set(labels))
        assert self.rows("PRAGMA integrity_check") == [("ok",)] and self.rows("PRAGMA foreign_key_check") == []
        _check_what_phones_show(self)


@pytest.fixture(autouse=True)
def only_what_phones_ask(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pages are left out: each start of the app would take longer over their routes than all its steps."""
    monkeypatch.setattr("proofyard.assembled.ROUTERS", tuple(one.router for one in (operations, snapshot, changes)))


@pytest.fixture(scope="module")
def yard_ready(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str], kit.Yard]:
    folder = tmp_path_factory.mktemp("yard")
    tokens = {name: new_token() for name in NAMES}
    storage = open_book(folder)
    try:
        with storage.write() as session:
            devices.make_book(session)
            for name, token in tokens.items():
                devices.add_device(session, call_name=name, role="archer", session_hash=hash_of(token))
        yard = kit.yard(storage)
    finally:
        storage.close()
    return folder, tokens, yard


def run(machine: type[Phones], ready: tuple[Path, dict[str, str], kit.Yard], *, examples: int, steps: int) -> None:
    prepared = type(machine.__name__, (machine,), {"template": ready[0], "tokens": ready[1], "yard": ready[2]})
    run_state_machine_as_test(
        prepared,
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
        ),
    )


def test_the_book_is_the_set_of_operations_whatever_the_air_does(yard_ready: tuple[Path, dict[str, str], kit.Yard]) -> None:
    run(Phones, yard_ready, examples=15, steps=30)


@pytest.mark.long
def test_the_book_is_the_set_of_operations_in_thousands_of_steps(yard_ready: tuple[Path, dict[str, str], kit.Yard]) -> None:
    run(Phones, yard_ready, examples=120, steps=60)


def test_phones_bring_back_what_a_restored_book_lacks(yard_ready: tuple[Path, dict[str, str], kit.Yard]) -> None:
    run(PhonesAndARestore, yard_ready, examples=6, steps=30)


@pytest.mark.long
def test_phones_bring_back_what_a_restored_book_lacks_in_thousands_of_steps(yard_ready: tuple[Path, dict[str, str], kit.Yard]) -> None:
    run(PhonesAndARestore, yard_ready, examples=60, steps=60)
