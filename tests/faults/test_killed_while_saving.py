"""The program is killed (SIGKILL) in the middle of saves, again and again, on one book.

What was acknowledged must be in the book, once; what was sent without an answer may be in or not, and sending it again
must leave it there once. This is the death of a program; that of the whole machine rests on SQLite's own promise for
synchronous=FULL (WAL) and EXTRA (DELETE): https://www.sqlite.org/pragma.html#pragma_synchronous
"""

from __future__ import annotations

import contextlib
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
from proofyard.opening import HeldFolder, open_book
from proofyard.records.apply import apply_each
from proofyard.records.operations import OP_VERSION, Operation
from proofyard.settings import BOOK_FILE

from tests import kit_for_tests as kit
from tests.conftest import copied
from tests.faults.a_real_server import REPOSITORY, Server, ask_book, assert_whole, environment, let_in, serving
from tests.faults.saving_child import a_shot

pytestmark = pytest.mark.slow

CHILD = Path(__file__).with_name("saving_child.py")


def _yard(folder: Path) -> tuple[dict[str, str], str, str]:
    """A book ready to shoot: the ids that a shot names, the archer's phone and its cookie."""
    token = let_in(folder)
    storage = open_book(folder)
    try:
        yard, device = kit.yard(storage), kit.recorder(storage)
    finally:
        storage.close()
    ids = {"shooting_end": yard.shooting_end, "bow_build": yard.bow.build, "arrow_build": yard.arrow.build, "archer": yard.archer}
    return ids, device, token


def _all_stored_once(book: Path, acknowledged: list[str], *, before: frozenset[str] = frozenset()) -> None:
    """`before`: shots that the book held already."""
    assert_whole(book)

    def column(query: str) -> list[str]:
        return [str(row[0]) for row in ask_book(book, query) if row[0] not in before]

    shots = column("SELECT record_id FROM revision WHERE noun = 'shot' AND op_id IS NOT NULL")
    stored = {row[0] for row in ask_book(book, "SELECT long_id(op_id) FROM revision WHERE noun = 'shot' AND op_id IS NOT NULL")}
    lost = set(acknowledged) - stored
    assert not lost, f"{len(lost)} acknowledged shots are gone"
    assert len(shots) == len(set(shots)), "a shot was stored by two operations"
    # Whole or not at all: the row and its revision, with the operation, come together.
    assert set(shots) == set(column("SELECT id FROM shot"))
    assert sorted(shots) == sorted(column("SELECT record_id FROM revision WHERE noun = 'shot'"))
    labels = [label for shot, label in ask_book(book, "SELECT id, label FROM shot") if shot not in before]
    assert len(labels) == len(set(labels)), "a label names two shots"


@pytest.mark.parametrize("rounds", [4, pytest.param(10, marks=pytest.mark.slow)])
def test_nothing_acknowledged_is_lost_or_doubled_when_the_program_is_killed_again_and_again(tmp_path: Path, rounds: int) -> None:
    folder = tmp_path / "book"
    ids, device, _ = _yard(folder)
    book, yard_file = folder / BOOK_FILE, tmp_path / "yard.json"
    yard_file.write_text(json.dumps(ids))
    dice = random.Random(14)
    tried: dict[str, Operation] = {}
    acknowledged: list[str] = []
    for _ in range(rounds):
        line = [sys.executable, str(CHILD), str(folder), str(yard_file), device, str(len(tried) + 1)]
        with subprocess.Popen(line, cwd=REPOSITORY, env=environment(), stdout=subprocess.PIPE, text=True) as child:
            _read_till_killed(child, tried, acknowledged, wanted=len(acknowledged) + dice.randint(5, 25), after_s=dice.uniform(0, 0.02))
        assert child.returncode == -signal.SIGKILL
        with HeldFolder(folder):
            storage = open_book(folder)  # as the next start does
            try:
                assert ask_book(book, "SELECT count(op_id) FROM revision")
                _all_stored_once(book, acknowledged)
                answers = apply_each(storage, list(tried.values())[-3:])  # the phone asks again after the silence
                acknowledged += [one.op_id for one in answers if one.op_id not in acknowledged]
            finally:
                storage.close()
        _all_stored_once(book, acknowledged)
    assert len(acknowledged) == len(tried)
    assert len(acknowledged) >= 5 * rounds


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
    _kill_again_and_again(folder, ids, device=device, token=token, rounds=rounds, readers=0)


@pytest.mark.long
@pytest.mark.parametrize("rounds", [1, 30])
def test_nothing_is_lost_when_the_server_is_killed_while_others_read_long_pages(tmp_path: Path, demo_book_file: Path, rounds: int) -> None:
    """Long pages are made by processes of their own, which outlive the server that is killed by a page: the next one
    opens the book beside them."""
    folder = copied(demo_book_file, tmp_path / "book")
    ids, device, token = _yard(folder)
    read = _kill_again_and_again(folder, ids, device=device, token=token, rounds=rounds, readers=4)
    assert read > 0, "no long page was made, so nobody read beside"


LONG_PAGES = ("/results", "/compare/wear", "/download/shots.csv", "/kit", "/combinations")


def _kill_again_and_again(folder: Path, ids: dict[str, str], *, device: str, token: str, rounds: int, readers: int) -> int:
    """How many long pages were read meanwhile."""
    dice = random.Random(50)
    sent: list[Operation] = []
    acknowledged: list[str] = []
    read: list[str] = []
    journals = []
    before = _shots(folder)
    for _ in range(rounds):
        with serving(folder) as server, server.client(token) as phone:
            reading = [threading.Thread(target=_read_on, args=(server, token, number, read)) for number in range(readers)]
            for thread in reading:
                thread.start()
            killing = threading.Thread(target=_kill_soon, args=(server, dice.uniform(0.15, 0.6), read if readers else None))
            killing.start()
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
            for thread in (killing, *reading):
                thread.join(20)
        journal = folder / f"{BOOK_FILE}-wal"
        journals.append(journal.stat().st_size if journal.exists() else 0)
        with HeldFolder(folder):
            open_book(folder).close()
        _all_stored_once(folder / BOOK_FILE, acknowledged, before=before)
    with serving(folder) as server, server.client(token) as phone:
        for start in range(0, len(sent), 50):
            again = _send(phone, sent[start : start + 50])
            assert {one["status"] for one in again} == {"applied"}
        code, _ = server.stop()
        assert code == 0
    _all_stored_once(folder / BOOK_FILE, [op.op_id for op in sent], before=before)
    assert len(_shots(folder) - before) == len(sent)
    print(
        f"{rounds} kills, {len(sent)} shots sent, {len(acknowledged)} acknowledged before a kill, all stored once; "
        f"{len(read)} long pages read beside; -wal left {min(journals) // 1000} to {max(journals) // 1000} KB"
    )
    return len(read)


def _shots(folder: Path) -> frozenset[str]:
    return frozenset(str(row[0]) for row in ask_book(folder / BOOK_FILE, "SELECT id FROM shot"))


def _kill_soon(server: Server, after_s: float, read: list[str] | None) -> None:
    """With readers: so long after the first long page of this server, since workers that get ready read nothing yet."""
    had, until = len(read or ()), time.monotonic() + 60
    while read is not None and len(read) == had and time.monotonic() < until:
        time.sleep(0.05)
    time.sleep(after_s)
    server.process.kill()


def _read_on(server: Server, token: str, number: int, read: list[str]) -> None:
    with contextlib.suppress(httpx.TransportError), server.client(token) as reader:
        while server.process.poll() is None:
            path = LONG_PAGES[number % len(LONG_PAGES)]
            number += 1
            reply = reader.get(path, timeout=60)
            assert reply.status_code == 200, reply.text
            read.append(path)


def _send(phone: httpx.Client, ops: list[Operation]) -> list[dict[str, object]]:
    fields = ("op_id", "action", "noun", "record_id", "base_rev", "body", "device_seq")
    asked = [{name: getattr(op, name) for name in fields} for op in ops]
    until = time.monotonic() + 10
    while True:
        reply = phone.post("/api/ops", json={"op_v": OP_VERSION, "boot": "test", "ops": asked})
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
    book.execute("INSERT INTO archer (id, rev, typed, call_name) VALUES (?, 1, '{}', ?)", (str(number), f"{number} " + "x" * 200))
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
