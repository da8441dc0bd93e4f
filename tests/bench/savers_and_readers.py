"""Two who save, alone and beside ten who leaf through the heaviest pages, at a thousand shots and at ten thousand.

    python -m tests.bench.savers_and_readers [seconds of each turn] [shots,shots] [other checkout with .venv] [/page=/its-name-there ...]

A page whose name there is empty is left out of both (`/compare/wear=`: at ten thousand shots it takes minutes in either).

A saver sends a shot, waits 0.15 s, and sends the next; a reader asks for the next heavy page as soon as it has one. Turn
by turn: nobody reads, ten read, nobody reads. The other checkout goes through the same turns with a book of its own, made
by its own program, in the same run.

Pages are counted twice. By number, which flatters whoever lets light pages slip between heavy ones and says little where
only a few were done. And by work: each page done counts the seconds of processor that it takes in the version before, in
one process with nobody beside; which version made it doesn't matter. Both versions are warm before the first turn: each
page was made as often as there are processes that make pages, so that what is loaded late has been loaded.

Wanted: p95 of saves beside readers at most 1.5 times that without; no save refused; twice the pages of the version before.
On a machine that does other things too, pages of this version lose more than those of the one before, since they are
made behind everything else (nice): look at the load that is printed before believing a ratio.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from proofyard.access.seats import COOKIE, named
from proofyard.records.ids import new_id

from tests.bench.checkouts import Checkout
from tests.faults.a_real_server import HERE, ask_book

HERE_AND_NOW = Checkout()
SAVERS, READERS, PAUSE_S = 2, 10, 0.15
WARMED = 2  # pages asked at once to warm: as many as there are workers
BEGAN = 1_790_000_000_000
PAGES = (
    "/results?trial={trial}",
    "/trials/{trial}",
    "/panels/{panel}",
    "/results",
    "/fifty-percent?trial={trial}",
    "/compare/wear",
    "/download/shots.csv",
)
LOCKED = re.compile(rb"database is locked|Another program holds|busy with", re.IGNORECASE)


@dataclass
class Turn:
    """What one stretch of time showed: milliseconds of saves, pages that came whole, what was answered otherwise."""

    took: list[float] = field(default_factory=list)
    refused: Counter[str] = field(default_factory=Counter)
    pages: Counter[str] = field(default_factory=Counter)
    pages_refused: Counter[str] = field(default_factory=Counter)
    locked: int = 0

    def share(self, part: float) -> float:
        return sorted(self.took)[int(part * (len(self.took) - 1))] if self.took else float("nan")

    @property
    def done(self) -> int:
        return sum(self.pages.values())

    def work_s(self, costs: Mapping[str, float]) -> float:
        """The pages done, each by what it costs."""
        return sum(costs[page] * number for page, number in self.pages.items())

    def words(self) -> str:
        return (
            f"saves {len(self.took):4d}, p50 {self.share(0.5):7.1f}, p95 {self.share(0.95):7.1f}, max {self.share(1):7.1f} ms, "
            f"refused {dict(self.refused) or 0}; "
            f"pages {self.done} {dict(self.pages) or ''}, refused {dict(self.pages_refused) or 0}; lock errors {self.locked}"
        )


@dataclass(frozen=True)
class Found:
    """One checkout at one size."""

    shots: int
    alone: Turn
    beside: Turn
    again: Turn
    stored: int
    wal_bytes: int
    costs: dict[str, float]

    @property
    def p95_ratio(self) -> float:
        """Beside readers to the mean of the two turns alone."""
        return self.beside.share(0.95) / statistics.mean([self.alone.share(0.95), self.again.share(0.95)])


@contextlib.contextmanager
def served(checkout: Checkout, folder: Path) -> Iterator[int]:
    with socket.socket() as free:
        free.bind((HERE, 0))
        port = int(free.getsockname()[1])
    line = checkout.line("serve", "--data", str(folder), "--host", HERE, "--port", str(port))
    process = subprocess.Popen(line, cwd=checkout.folder, env=checkout.environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        until = time.monotonic() + 60
        while True:
            with contextlib.suppress(OSError), socket.create_connection((HERE, port), 1):
                break
            assert process.poll() is None and time.monotonic() < until
            time.sleep(0.05)
        yield port
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(20)


@dataclass
class Yard:
    checkout: Checkout
    port: int
    made: dict[str, Any]
    pages: Sequence[str] = PAGES
    sent: int = 0

    async def warm(self) -> None:
        """Each page, as many at once as could be made at once."""
        for page in self.pages:
            asked = (self._ask(2, "GET", self.checkout.address(page, self.made), number=number) for number in range(WARMED))
            assert {status for status, _ in await asyncio.gather(*asked)} == {200}, page

    async def turn(self, seconds: float, readers: int) -> Turn:
        found, until = Turn(), time.monotonic() + seconds
        reading = [asyncio.create_task(self._read(number, found, until)) for number in range(readers)]
        if readers:
            await asyncio.sleep(min(2.0, seconds / 4))  # let them begin
        await asyncio.gather(*(self._save(number, found, until) for number in range(SAVERS)))
        for task in reading:
            task.cancel()
        await asyncio.gather(*reading, return_exceptions=True)
        return found

    async def _save(self, number: int, found: Turn, until: float) -> None:
        while time.monotonic() < until:
            body = self._shot()
            began = time.perf_counter()
            status, said = await self._ask(number, "POST", "/api/ops", body)
            found.took.append(1000 * (time.perf_counter() - began))
            if status != 200 or b'"applied"' not in said:
                found.refused[f"{status}"] += 1
                found.locked += bool(LOCKED.search(said))
            await asyncio.sleep(PAUSE_S)

    async def _read(self, number: int, found: Turn, until: float) -> None:
        turn = number
        while time.monotonic() < until:
            page = self.pages[turn % len(self.pages)]
            turn += 1
            status, said = await self._ask(2, "GET", self.checkout.address(page, self.made), number=number)
            if status == 200:
                found.pages[page] += 1
            else:
                found.pages_refused[f"{status}"] += 1
                found.locked += bool(LOCKED.search(said))
                await asyncio.sleep(PAUSE_S)

    def _shot(self) -> bytes:
        self.sent += 1
        body = {name: self.made[name] for name in (self.made["end"], "bow_build", "arrow_build", "archer")} | {
            "label": f"Z{self.sent}",
            "purpose": "counted",
            "loosed_at": BEGAN + self.sent * 1000,
        }
        op = {"op_id": new_id(), "action": "put", "noun": "shot", "record_id": new_id(), "base_rev": 0, "body": body}
        return json.dumps({"op_v": self.made["op_v"], "boot": "bench", "ops": [op]}).encode()

    async def _ask(self, seat: int, method: str, path: str, body: bytes = b"", *, number: int = 0) -> tuple[int, bytes]:
        own = (f"127.0.2.{10 * seat + number + 1}", 0) if sys.platform == "linux" else None
        try:
            reader, writer = await asyncio.open_connection(HERE, self.port, local_addr=own)
            at = f"{HERE}:{self.port}"
            head = f"{method} {path} HTTP/1.1\r\nHost: {at}\r\nOrigin: http://{at}\r\n"
            head += f"Cookie: {named(COOKIE, at)}={self.made['tokens'][seat]}\r\n"
            head += "Accept-Encoding: gzip\r\nConnection: close\r\n"
            head += f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n" if body else ""
            writer.write(head.encode() + b"\r\n" + body)
            try:
                said = await reader.read(-1)
            finally:
                writer.close()
            return int(said.split(b" ", 2)[1]), said
        except (OSError, IndexError):
            return 0, b""


def measure(seconds: float, shots: int, checkout: Checkout = HERE_AND_NOW, pages: Sequence[str] = PAGES) -> Found:
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place:
        folder = Path(place) / "yard"
        made = checkout.make_book(folder, shots)
        costs = checkout.costs(folder, made, pages)
        before = ask_book(folder / "proofyard.db", "SELECT count(*) FROM shot")[0][0]
        with served(checkout, folder) as port:
            yard = Yard(checkout, port, made, pages)
            asyncio.run(yard.warm())
            alone = asyncio.run(yard.turn(seconds, 0))
            beside = asyncio.run(yard.turn(seconds, READERS))
            wal = folder / "proofyard.db-wal"
            wal_bytes = wal.stat().st_size if wal.exists() else 0
            asyncio.run(asyncio.sleep(min(seconds, 3)))
            again = asyncio.run(yard.turn(seconds, 0))
        stored = ask_book(folder / "proofyard.db", "SELECT count(*) FROM shot")[0][0]
        shutil.rmtree(folder)
        return Found(made["shots"], alone, beside, again, int(str(stored)) - int(str(before)), wal_bytes, costs)


def say(checkout: Checkout, one: Found, seconds: float) -> None:
    load = f"load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "load not known"
    print(f"\n{checkout.words}, {one.shots} shots, {seconds:g} s a turn; -wal {one.wal_bytes / 1e6:.1f} MB; {load} at its end")
    for name, turn in (("alone", one.alone), (f"{READERS} readers", one.beside), ("alone again", one.again)):
        print(f"  {name:12} {turn.words()}")
    print(f"  seconds of processor a page: { {page: round(cost, 2) for page, cost in one.costs.items()} }")
    print(f"  p95 beside to alone: {one.p95_ratio:.2f} (wanted 1.5 or less)", flush=True)


def main(seconds: float = 20, sizes: str = "1000,10000", *more: str) -> None:
    # A page's own address may hold an equals sign; what follows the right one is an address or nothing.
    renamed = {word[: at.start()]: word[at.end() :] for word in more if (at := re.search(r"=(?=/|$)", word))}
    pages = [page for page in PAGES if renamed.get(page, page)]
    others = [Checkout(Path(word).resolve(), renamed) for word in more if not re.search(r"=(?=/|$)", word)]
    for shots in map(int, sizes.split(",")):
        found = []
        for checkout in (HERE_AND_NOW, *others):
            found.append(measure(seconds, shots, checkout, pages))
            say(checkout, found[-1], seconds)
        ours = found[0]
        for other in found[1:]:
            work, theirs = ours.beside.work_s(other.costs), other.beside.work_s(other.costs)
            done, before = ours.beside.done, other.beside.done
            print(f"pages done: {done} to {before}, {done / max(before, 1):.2f} times (wanted 2)")
            print(f"work done: {work:.1f} to {theirs:.1f} s of the other's processor, {work / max(theirs, 0.01):.2f} times", flush=True)


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 20, *sys.argv[2:])
