"""Two servers on one database, phones that save, readers of heavy pages; one server killed -9 again and again, the database restarted.

    python -m tests.bench.several_servers [seconds] [phones] [readers] [seconds between kills] [restarts of the database]

A phone keeps each operation until a server answers it, as its own page does: what fails is sent again, to the other server if this one
doesn't answer, with the same id. PostgreSQL is as Debian starts it (fsync on). At the end every operation that was sent has been
answered, and the book is asked: each acknowledged shot is there once, with one revision, and the notebook's numbers have no hole.

Wanted: 0 acknowledged lost or doubled, whatever is killed.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import math
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from proofyard.access.seats import hash_of, new_token
from proofyard.postgres.book import PostgresBook, url_of
from proofyard.records import devices
from proofyard.records.book import Revision
from proofyard.records.ids import new_id
from proofyard.records.operations import OP_VERSION
from proofyard.serving import fill_with_demo
from proofyard.settings import BOOK_FILE
from sqlalchemy import select, text

from tests import kit_for_tests as kit
from tests.bench.savers_and_listeners import Line
from tests.faults.a_real_server import HERE, STARTS_WITHIN_S, command, environment
from tests.postgres_for_tests import Server, running_server

PAUSE_S = 4.0
TRIED_AGAIN_S = 0.5
ANSWERED_WITHIN_S = 15.0
PAGES = ("/results?trial={trial}", "/trials/{trial}", "/panels/{panel}", "/results", "/shots", "/trials", "/fifty-percent?trial={trial}")


class Process:
    """One `proofyard serve` on the database, on a port that it keeps through kills."""

    def __init__(self, folder: Path, port: int, address: str) -> None:
        self.port = port
        self._line = command("serve", "--data", folder, "--host", HERE, "--port", port)
        self._environment = {**environment(), "PROOFYARD_DATABASE": address}
        self._running: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self._running = subprocess.Popen(
            self._line, env=self._environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        )

    def kill(self) -> None:
        """The server and its page workers, which are of its session."""
        if self._running:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self._running.pid, signal.SIGKILL)
            self._running.wait()

    async def answers(self) -> None:
        until = time.monotonic() + STARTS_WITHIN_S
        while True:
            with contextlib.suppress(OSError, asyncio.IncompleteReadError):
                line = Line(self.port, "", 0)
                if (await line.ask("GET", "/api/ping"))[0] == 200:
                    return await line.close()
            assert time.monotonic() < until
            await asyncio.sleep(0.05)


@dataclass
class Found:
    """Milliseconds of saves from the first try to the answer, outages and all; of pages that came; what was tried in vain."""

    saves: list[float] = field(default_factory=list)
    pages: list[float] = field(default_factory=list)
    acknowledged: dict[str, str] = field(default_factory=dict)  # op id -> record id
    in_vain: Counter[str] = field(default_factory=Counter)
    pages_in_vain: Counter[str] = field(default_factory=Counter)
    kills: int = 0
    restarts: int = 0
    seconds: float = 0.0
    lost: int = -1
    doubled: int = -1
    holes: int = -1


@dataclass
class Days:
    """What the phones shoot at, and what they have in common."""

    servers: list[Process]
    tokens: list[str]
    viewer: str
    yard: kit.Yard
    found: Found = field(default_factory=Found)
    over: bool = False

    def operation(self, phone: int, number: int) -> dict[str, object]:
        body = {
            "label": f"A{number}",
            "shooting_end": self.yard.shooting_end,
            "bow_build": self.yard.bow.build,
            "arrow_build": self.yard.arrow.build,
            "archer": self.yard.archer,
            "purpose": "counted",
            "loosed_at": kit.BEGAN + (phone * 1000 + number) * 1000,
        }
        about = {"op_id": new_id(), "action": "put", "noun": "shot", "record_id": new_id(), "base_rev": 0, "device_seq": number}
        return {**about, "body": body}

    async def phone(self, which: int, pause_s: float) -> None:
        lines = [Line(server.port, self.tokens[which], which) for server in self.servers]
        at, number = which % len(lines), 0
        await asyncio.sleep(pause_s * (which % 97) / 97)
        while not self.over:
            number += 1
            op = self.operation(which, number)
            sent = json.dumps({"op_v": OP_VERSION, "boot": "bench", "ops": [op]}).encode()
            began = time.perf_counter()
            while not await self._taken(lines[at], op, sent):
                await lines[at].close()
                at = (at + 1) % len(lines)
                await asyncio.sleep(TRIED_AGAIN_S)
            took = time.perf_counter() - began
            self.found.saves.append(1000 * took)
            await asyncio.sleep(max(0.0, pause_s - took))
        for line in lines:
            await line.close()

    async def _taken(self, line: Line, op: dict[str, object], sent: bytes) -> bool:
        try:
            status, said = await asyncio.wait_for(line.ask("POST", "/api/ops", sent), ANSWERED_WITHIN_S)
        except (OSError, asyncio.IncompleteReadError, TimeoutError) as error:
            self.found.in_vain[type(error).__name__] += 1
            return False
        if status != 200:
            self.found.in_vain[f"{status} {said[:90].decode(errors='replace')}"] += 1
            return False
        answer = json.loads(said)["answers"][0]
        assert answer["status"] == "applied", answer
        self.found.acknowledged[str(op["op_id"])] = str(op["record_id"])
        return True

    async def reader(self, which: int) -> None:
        turn, line = which, Line(self.servers[which % len(self.servers)].port, self.viewer, which)
        while not self.over:
            page = PAGES[turn % len(PAGES)].format(trial=self.yard.trial, panel=self.yard.panel.build)
            turn, began = turn + 1, time.perf_counter()
            try:
                status, said = await asyncio.wait_for(line.ask("GET", page), 60)
            except (OSError, asyncio.IncompleteReadError, TimeoutError) as error:
                self.found.pages_in_vain[type(error).__name__] += 1
                await line.close()
                await asyncio.sleep(TRIED_AGAIN_S)
                continue
            if status == 200:
                self.found.pages.append(1000 * (time.perf_counter() - began))
            else:
                self.found.pages_in_vain[f"{status} {page.partition('?')[0]}"] += 1
                await asyncio.sleep(TRIED_AGAIN_S)
        await line.close()

    async def trouble(self, seconds: float, kill_s: float, restarts: int, database: Server) -> None:
        """Kill one server after the other, and restart the database in between, till the time is over and all of it was done."""
        began = time.monotonic()
        until, restart_at = began + seconds, [began + seconds * (n + 1) / (restarts + 1) for n in range(restarts)]
        kill_at, kills = began + kill_s, math.ceil(seconds / kill_s) - 1
        while (now := time.monotonic()) < until or restart_at or self.found.kills < kills:
            if now >= kill_at:
                server = self.servers[self.found.kills % len(self.servers)]
                server.kill()
                server.start()
                self.found.kills += 1
                kill_at += kill_s
            if restart_at and now >= restart_at[0]:
                restart_at.pop(0)
                await asyncio.to_thread(database.restart)
                self.found.restarts += 1
            await asyncio.sleep(0.05)
        self.over = True


def judge(book: PostgresBook, found: Found) -> None:
    """Ask the database itself."""
    with book.read() as session:
        ops = Counter(row[0] for row in session.execute(select(Revision.op_id).where(Revision.op_id.is_not(None))))
        shots = Counter(row[0] for row in session.execute(text("SELECT id FROM shot")))
        told = Counter(row[0] for row in session.execute(text("SELECT record_id FROM revision WHERE noun = 'shot' AND action = 'make'")))
        numbers = [row[0] for row in session.execute(text("SELECT seq FROM revision ORDER BY seq"))]
    records = list(found.acknowledged.values())
    found.lost = sum(not ops[op] for op in found.acknowledged) + sum(not shots[one] or not told[one] for one in records)
    found.doubled = sum(ops[op] > 1 for op in found.acknowledged) + sum(shots[one] > 1 or told[one] > 1 for one in records)
    found.holes = sum(one != n for n, one in enumerate(numbers, 1))


def measure(
    seconds: float = 120.0, phones: int = 200, readers: int = 20, kill_s: float = 10.0, restarts: int = 2, pause_s: float = PAUSE_S
) -> Found:
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place, running_server(hurried=False) as database:
        address = database.new_database("empty_book")
        tokens = [new_token() for _ in range(phones + 1)]
        with closing(PostgresBook(Path(place) / BOOK_FILE, url_of(address))) as book:
            fill_with_demo(book)
            yard = kit.yard(book)
            with book.write() as session:
                for n, token in enumerate(tokens[:-1]):
                    devices.add_device(session, call_name=f"Phone {n}", role="archer", session_hash=hash_of(token))
                devices.add_device(session, call_name="Pip", role="viewer", session_hash=hash_of(tokens[-1]))
        servers = [Process(Path(place) / f"server-{n}", port, address) for n, port in enumerate(free_ports(2))]
        days = Days(servers, tokens, tokens[-1], yard)

        async def all_of_it() -> None:
            for server in servers:
                server.start()
            for server in servers:
                await server.answers()
            began = time.monotonic()
            busy = [days.phone(which, pause_s) for which in range(phones)] + [days.reader(which) for which in range(readers)]
            await asyncio.gather(days.trouble(seconds, kill_s, restarts, database), *busy)
            days.found.seconds = time.monotonic() - began

        try:
            asyncio.run(all_of_it())
        finally:
            for server in servers:
                server.kill()
        with closing(PostgresBook(Path(place) / BOOK_FILE, url_of(address))) as book:
            judge(book, days.found)
    return days.found


def free_ports(many: int) -> list[int]:
    import socket

    with contextlib.ExitStack() as held:
        taken = [held.enter_context(socket.socket()) for _ in range(many)]
        for one in taken:
            one.bind((HERE, 0))
        return [int(one.getsockname()[1]) for one in taken]


def share(some: list[float], part: float) -> float:
    return sorted(some)[int(part * (len(some) - 1))] if some else float("nan")


def main() -> None:
    asked = [float(one) for one in sys.argv[1:]]
    seconds, phones, readers, kill_s, restarts = (*asked, *(120.0, 200.0, 20.0, 10.0, 2.0)[len(asked) :])
    found = measure(seconds, int(phones), int(readers), kill_s, int(restarts))
    print(
        f"{found.seconds:.0f} s, {phones:.0f} phones, {readers:.0f} readers, {found.kills} kills, {found.restarts} restarts of the database"
    )
    print(f"acknowledged {len(found.acknowledged)}; lost {found.lost}, doubled {found.doubled}, holes in the numbers {found.holes}")
    for what, took, vain in (("saves", found.saves, found.in_vain), ("pages", found.pages, found.pages_in_vain)):
        shares = ", ".join(f"{name} {share(took, part):.0f}" for name, part in (("p50", 0.5), ("p95", 0.95), ("max", 1.0)))
        print(f"{what}: {len(took)}, {len(took) / found.seconds:.1f} a second, {shares} ms; tried in vain {dict(vain) or 0}")


if __name__ == "__main__":
    main()
