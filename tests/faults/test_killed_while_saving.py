"""The program is killed (SIGKILL) in the middle of saves, again and again, on one book.

What was acknowledged must be in the book, once; what was sent without an answer may be in or not, and sending it again
must leave it there once. This is the death of a program; that of the whole machine rests on SQLite's own promise for
synchronous=FULL (WAL) and EXTRA (DELETE): https://www.sqlite.org/pragma.html#pragma_synchronous
"""

from __future__ import annotations

import json
import random
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import httpx
import pytest

from server.opening import HeldFolder, open_book
from server.records.apply import apply_each
from server.records.operations import Operation
from server.settings import BOOK_FILE
from tests import kit_for_tests as kit
from tests.faults.a_real_server import REPOSITORY, ask_book, assert_whole, environment, let_in, serving
from tests.faults.saving_child import a_shot

CHILD = Path(__file__).with_name("saving_child.py")


def _yard(folder: Path) -> tuple[dict[str, str], str, str]:
    """A book ready to shoot: the ids that a shot names, the archer's phone and its cookie."""
    token = let_in(folder)
    storage = open_book(folder)
    try:
        yard, device = kit.yard(storage), kit.recorder(storage)
    finally:
        storage.close()
    ids = {"walk": yard.walk, "bow_build": yard.bow.build, "arrow_build": yard.arrow.build, "archer": yard.archer}
    return ids, device, token


def _all_stored_once(book: Path, acknowledged: list[str]) -> None:
    assert_whole(book)
    shots = [row[0] for row in ask_book(book, "SELECT record_id FROM op WHERE noun = 'shot'")]
    stored = {row[0] for row in ask_book(book, "SELECT op_id FROM op WHERE noun = 'shot'")}
    lost = set(acknowledged) - stored
    assert not lost, f"{len(lost)} acknowledged shots are gone"
    assert len(shots) == len(set(shots)), "a shot was stored by two operations"
    # Whole or not at all: row, revision and operation come together.
    assert set(shots) == {row[0] for row in ask_book(book, "SELECT id FROM shot")}
    assert sorted(shots) == sorted(row[0] for row in ask_book(book, "SELECT record_id FROM revision WHERE noun = 'shot'"))
    labels = ask_book(book, "SELECT label, count(*) FROM shot GROUP BY label HAVING count(*) > 1")
    assert not labels, labels


def test_nothing_acknowledged_is_lost_or_doubled_when_the_program_is_killed_ten_times(tmp_path: Path) -> None:
    folder = tmp_path / "book"
    ids, device, _ = _yard(folder)
    book, yard_file = folder / BOOK_FILE, tmp_path / "yard.json"
    yard_file.write_text(json.dumps(ids))
    dice = random.Random(14)
    tried: dict[str, Operation] = {}
    acknowledged: list[str] = []
    for _ in range(10):
        line = [sys.executable, str(CHILD), str(folder), str(yard_file), device, str(len(tried) + 1)]
        with subprocess.Popen(line, cwd=REPOSITORY, env=environment(), stdout=subprocess.PIPE, text=True) as child:
            _read_till_killed(child, tried, acknowledged, wanted=len(acknowledged) + dice.randint(5, 25), after_s=dice.uniform(0, 0.02))
        assert child.returncode == -signal.SIGKILL
        with HeldFolder(folder):
            storage = open_book(folder)  # as the next start does
            try:
                assert ask_book(book, "SELECT count(*) FROM op")
                _all_stored_once(book, acknowledged)
                answers = apply_each(storage, list(tried.values())[-3:])  # the phone asks again after the silence
                acknowledged += [one.op_id for one in answers if one.op_id not in acknowledged]
            finally:
                storage.close()
        _all_stored_once(book, acknowledged)
    assert len(acknowledged) == len(tried)
    assert len(acknowledged) >= 50


def _read_till_killed(
    child: subprocess.Popen[str], tried: dict[str, Operation], acknowledged: list[str], *, wanted: int, after_s: float
) -> None:
    """Hear what it tries and got stored; once enough was, kill it at any moment of the saves that follow."""
    assert child.stdout
    try:
        for line in child.stdout:
            if not line.endswith("\n"):
                break  # killed in the middle of a word: nobody heard it
            word, rest = line.split(" ", 1)
            assert word != "refused", rest
            if word == "try":
                op = Operation(**json.loads(rest))
                tried[op.op_id] = op
            else:
                acknowledged.append(rest.split()[0])
            if len(acknowledged) == wanted:
                threading.Timer(after_s, child.kill).start()
    finally:
        child.kill()


@pytest.mark.parametrize("rounds", [2, pytest.param(50, marks=pytest.mark.long)])
def test_nothing_that_a_phone_got_an_answer_for_is_lost_when_the_server_is_killed(tmp_path: Path, rounds: int) -> None:
    folder = tmp_path / "book"
    ids, device, token = _yard(folder)
    dice = random.Random(50)
    sent: list[Operation] = []
    acknowledged: list[str] = []
    for _ in range(rounds):
        with serving(folder) as server, server.client(token) as phone:
            threading.Timer(dice.uniform(0.15, 0.6), server.process.kill).start()
            while server.process.poll() is None:
                op = a_shot(ids, device, len(sent) + 1)
                sent.append(op)
                try:
                    answers = _send(phone, [op])
                except httpx.TransportError:
                    break
                assert answers[0]["status"] == "applied", answers
                acknowledged.append(op.op_id)
            server.process.wait(10)
        with HeldFolder(folder):
            open_book(folder).close()
        _all_stored_once(folder / BOOK_FILE, acknowledged)
    with serving(folder) as server, server.client(token) as phone:
        for start in range(0, len(sent), 50):
            again = _send(phone, sent[start : start + 50])
            assert {one["status"] for one in again} == {"applied"}
        code, _ = server.stop()
        assert code == 0
    _all_stored_once(folder / BOOK_FILE, [op.op_id for op in sent])
    assert len(ask_book(folder / BOOK_FILE, "SELECT id FROM shot")) == len(sent)
    print(f"{rounds} kills, {len(sent)} shots sent, {len(acknowledged)} acknowledged before a kill, all stored once")


def _send(phone: httpx.Client, ops: list[Operation]) -> list[dict[str, object]]:
    fields = ("op_id", "action", "noun", "record_id", "base_rev", "body", "device_seq")
    asked = [{name: getattr(op, name) for name in fields} for op in ops]
    until = time.monotonic() + 10
    while True:
        reply = phone.post("/api/ops", json={"op_v": 1, "boot": "test", "ops": asked})
        if reply.status_code == 200:
            answers: list[dict[str, object]] = reply.json()["answers"]
            return answers
        assert reply.status_code == 503 and time.monotonic() < until, reply.text
        time.sleep(0.1)


def test_a_book_whose_program_died_in_the_middle_of_a_commit_opens_again(tmp_path: Path) -> None:
    """A rollback journal is left behind; it has to be rolled back, which a read-only look can't do."""
    folder = tmp_path / "book"
    folder.mkdir()
    open_book(folder).close()
    script = """
import os, sqlite3, sys
book = sqlite3.connect(sys.argv[1], isolation_level=None)
book.execute("PRAGMA journal_mode=DELETE"); book.execute("PRAGMA cache_size=1")
book.execute("BEGIN IMMEDIATE")
for number in range(2000):
    book.execute("INSERT INTO archer (id, rev, typed, call_name) VALUES (?, 1, '{}', ?)", (str(number), "x" * 200))
os.kill(os.getpid(), 9)
"""
    subprocess.run([sys.executable, "-c", script, str(folder / BOOK_FILE)], check=False)
    assert (folder / f"{BOOK_FILE}-journal").stat().st_size > 0, "the child left no half-written commit, so this tests nothing"
    with HeldFolder(folder):
        storage = open_book(folder)
        kit.archer(storage, "Wren")
        storage.close()
    assert ask_book(folder / BOOK_FILE, "SELECT call_name FROM archer") == [("Wren",)]
    assert_whole(folder / BOOK_FILE)
