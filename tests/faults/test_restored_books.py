"""The program is killed (SIGKILL) again and again under two phones, and in the end an older backup takes the book's place.

The phones (tests/faults/phone_model.py) speak real HTTP to the real command. Once they have offered again what the
restored book lacks, by themselves, all that was ever acknowledged is in it, once.
"""

from __future__ import annotations

import json
import random
import threading
from pathlib import Path
from typing import Any

import httpx
import pytest
from proofyard.exchange.backup import backup
from proofyard.opening import open_book
from proofyard.records.ids import new_id
from proofyard.settings import BOOK_FILE

from tests import kit_for_tests as kit
from tests.faults.a_real_server import Server, ask_book, assert_whole, let_in, run, serving
from tests.faults.phone_model import Ask, Op, Phone, Reply

pytestmark = pytest.mark.slow


class Yard:
    """A folder with a book ready to shoot, and two phones that are in: Wren's at the line, Tallow's at the butt."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.tokens = {name: let_in(folder, call_name=name) for name in ("Wren", "Tallow")}
        storage = open_book(folder)
        try:
            self.yard = kit.yard(storage)
        finally:
            storage.close()
        self.clients: dict[str, httpx.Client] = {}
        self.wren, self.tallow = (Phone(name, self._ask(name)) for name in self.tokens)
        self.phones = (self.wren, self.tallow)
        self.book = folder / BOOK_FILE

    def _ask(self, name: str) -> Ask:
        def ask(method: str, path: str, body: bytes | None) -> Reply | None:
            try:
                reply = self.clients[name].request(method, path, content=body, headers={"Content-Type": "application/json"})
                return Reply(reply.status_code, reply.text)
            except httpx.TransportError:
                return None

        return ask

    def meet(self, server: Server) -> None:
        self.leave()
        self.clients = {name: server.client(token) for name, token in self.tokens.items()}

    def leave(self) -> None:
        for client in self.clients.values():
            client.close()

    def loose(self) -> None:
        body = {
            "label": self.wren.next_label(),
            "shooting_end": self.yard.shooting_end,
            "bow_build": self.yard.bow.build,
            "arrow_build": self.yard.arrow.build,
            "archer": self.yard.archer,
            "purpose": "counted",
            "loosed_at": kit.BEGAN + self.wren.count,
        }
        self.wren.add({"noun": "shot", "record_id": new_id(), "body": body})

    def read(self, dice: random.Random) -> None:
        """Tallow reads the newest shot that the phone knows of, or says it otherwise."""
        shots = sorted(one["id"] for one in (self.tallow.told or {"shots": []})["shots"])
        if shots:
            body = {"hit": "missed", "depth": f"{dice.randint(1, 40)} mm"}
            self.tallow.add(
                {"noun": "shot_reading", "record_id": shots[-1], "base_rev": self.tallow.rev_of("shot_reading", shots[-1]), "body": body}
            )

    def shoot(self, dice: random.Random, server: Server) -> None:
        """Until the server is gone."""
        while server.process.poll() is None:
            self.loose()
            self.wren.send()
            self.tallow.look()
            self.read(dice)
            self.tallow.send()

    def acknowledged(self) -> dict[str, Op]:
        return {op["op_id"]: op for phone in self.phones for op in phone.held("book")}

    def in_book(self) -> set[str]:
        return {str(row[0]) for row in ask_book(self.book, "SELECT long_id(op_id) FROM revision WHERE op_id IS NOT NULL")}


def _each_once(at: Yard) -> None:
    assert_whole(at.book)
    shots = [op["record_id"] for op in at.wren.ops if op["noun"] == "shot"]
    assert sorted(shots) == sorted(str(row[0]) for row in ask_book(at.book, "SELECT id FROM shot"))
    labels = ask_book(at.book, "SELECT label, count(*) FROM shot GROUP BY label HAVING count(*) > 1")
    assert not labels, labels
    readings = {str(row[0]): json.loads(str(row[1])) for row in ask_book(at.book, "SELECT id, typed FROM shot_reading")}
    last: dict[str, Any] = {}
    for op in at.tallow.ops:
        last.setdefault(op["record_id"], {}).update(op["body"])
    assert {shot: {name: typed[name] for name in last[shot]} for shot, typed in readings.items()} == last


@pytest.mark.parametrize("rounds", [3, pytest.param(50, marks=pytest.mark.long)])
def test_nothing_acknowledged_is_lost_by_kills_and_a_restore_of_an_older_backup(tmp_path: Path, rounds: int) -> None:
    at, dice, older = Yard(tmp_path / "book"), random.Random(14), tmp_path / "older.db"
    for number in range(rounds):
        with serving(at.folder) as server:
            at.meet(server)
            for phone in at.phones:
                phone.look()
            threading.Timer(dice.uniform(0.2, 0.7), server.process.kill).start()
            at.shoot(dice, server)
        assert at.acknowledged().keys() <= at.in_book(), "lost by a kill"
        if number == rounds // 2:
            backup(at.book, older)
    told = at.acknowledged()
    done = run("restore", older, "--yes", "--data", at.folder)
    assert done.returncode == 0, done.stdout + done.stderr
    lost = told.keys() - at.in_book()
    assert lost, "the backup had all of it, so this tests nothing"
    with serving(at.folder) as server:
        at.meet(server)
        # The reader comes first: its readings wait for shots that only the other phone can bring.
        for phone in (at.tallow, at.wren, at.tallow, at.wren):
            phone.look()
            phone.send()
        at.leave()
        code, _ = server.stop()
        assert code == 0
    assert [op["problems"] for phone in at.phones for op in phone.ops if op["state"] != "book"] == []
    assert told.keys() <= at.in_book()
    _each_once(at)
    print(f"{rounds} kills, {len(told)} operations acknowledged, {len(lost)} of them not in the backup, all in the book once")


def test_a_phone_offers_a_restored_book_two_weeks_and_no_more(tmp_path: Path) -> None:
    at, older = Yard(tmp_path / "book"), tmp_path / "older.db"
    backup(at.book, older)
    with serving(at.folder) as server:
        at.meet(server)
        at.wren.look()
        at.loose()
        at.wren.send()
        at.wren.now_ms += 15 * 24 * 3600 * 1000
        at.loose()
        at.wren.send()
        assert len(at.acknowledged()) == 2
        at.wren.load()  # the page is opened again
        at.leave()
        server.stop()
    assert run("restore", older, "--yes", "--data", at.folder).returncode == 0
    with serving(at.folder) as server:
        at.meet(server)
        at.wren.look()
        at.wren.send()
        at.leave()
        server.stop()
    kept = [op["body"]["label"] for op in at.wren.ops]
    assert [row[0] for row in ask_book(at.book, "SELECT label FROM shot")] == kept and len(kept) == 1
