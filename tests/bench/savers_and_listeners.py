"""Fifty who save and a hundred who listen, against a real server on loopback; and the same fifty with nobody listening.

    python -m tests.bench.savers_and_listeners [seconds of each] [savers] [listeners]

A saver is a phone that sends a shot every two seconds: fifty of them are more than a range full of archers. Of the
listeners as many as may hold the laptop's stream of changes open and ask what changed when it rings, as the page does
(static/js/live.js: rings within 250 to 500 ms are one); the others are phones that ask every two seconds what is new. Each has
an address of its own where the system lends out all of 127/8. Turn by turn: nobody listens, all listen, nobody listens.
Then the fifty save without a pause, and the same fifty at a bare route that inserts one row with the same durability
(a_child.py), in turns: the ratio of their throughputs.

Wanted: no save refused or failed; p95 of saves with listeners at most three times that without.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import random
import statistics
import sys
import tempfile
import time
from collections import Counter
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from proofyard.access.seats import COOKIE, named
from proofyard.live.doorbell import MOST_STREAMS
from proofyard.opening import open_book
from proofyard.records.ids import new_id
from proofyard.records.operations import OP_VERSION

from tests import kit_for_tests as kit
from tests.bench.a_child import child
from tests.faults.a_real_server import ask_book, assert_whole, let_in

PAUSE_S = 2.0
POLL_S = 2.0
GATHER_S = 0.25
OWN_ADDRESSES = sys.platform == "linux"  # there each of 127/8 is this machine's


@dataclass
class Turn:
    """What one stretch of time showed. Milliseconds of each save; what was answered otherwise than by "applied"."""

    took: list[float] = field(default_factory=list)
    failed: Counter[str] = field(default_factory=Counter)
    heard: int = 0
    polled: int = 0
    not_heard: Counter[str] = field(default_factory=Counter)

    @property
    def median(self) -> float:
        return statistics.median(self.took)

    @property
    def p95(self) -> float:
        return sorted(self.took)[int(0.95 * (len(self.took) - 1))]


@dataclass(frozen=True)
class Found:
    alone: Turn
    among: Turn
    again: Turn
    ours_a_second: float
    bare_a_second: float
    stored: int

    @property
    def p95_ratio(self) -> float:
        return self.among.p95 / max(self.alone.p95, self.again.p95)


class Line:
    """One connection that is kept open, and requests on it, as plain text: the client must cost less than the server."""

    def __init__(self, port: int, token: str, number: int) -> None:
        self.port = port
        self.own = (f"127.0.1.{number % 250 + 1}", 0) if OWN_ADDRESSES else None
        at = f"127.0.0.1:{port}"
        self.head = f"Host: {at}\r\nOrigin: http://{at}\r\nCookie: {named(COOKIE, str(port))}={token}\r\n"
        self.reader: asyncio.StreamReader | None = None
        self.writer: asyncio.StreamWriter | None = None

    async def ask(self, method: str, path: str, body: bytes = b"") -> tuple[int, bytes]:
        if self.writer is None:
            self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.port, local_addr=self.own)
        assert self.reader
        kind = f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n" if body else ""
        self.writer.write(f"{method} {path} HTTP/1.1\r\n{self.head}{kind}\r\n".encode() + body)
        status, headers = await self._begin()
        return status, await self.reader.readexactly(int(headers.get("content-length", 0)))

    async def _begin(self) -> tuple[int, dict[str, str]]:
        assert self.reader
        lines = (await self.reader.readuntil(b"\r\n\r\n")).decode("latin-1").split("\r\n")
        pairs = (line.partition(":") for line in lines[1:] if line)
        return int(lines[0].split()[1]), {name.lower(): value.strip() for name, _, value in pairs}

    @contextlib.asynccontextmanager
    async def stream(self) -> AsyncIterator[tuple[int, asyncio.StreamReader]]:
        self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.port, local_addr=self.own)
        self.writer.write(f"GET /live HTTP/1.1\r\nAccept: text/event-stream\r\n{self.head}\r\n".encode())
        try:
            status, _ = await self._begin()
            yield status, self.reader
        finally:
            await self.close()

    async def close(self) -> None:
        if self.writer is not None:
            writer, self.writer = self.writer, None
            writer.close()
            with contextlib.suppress(OSError):
                await writer.wait_closed()


@dataclass
class Range:
    """The server and what the savers need to make shots of."""

    port: int
    tokens: dict[str, str]
    yard: kit.Yard
    made: int = 0

    def shot(self) -> bytes:
        self.made += 1
        body = {
            "label": f"A{self.made}",
            "shooting_end": self.yard.shooting_end,
            "bow_build": self.yard.bow.build,
            "arrow_build": self.yard.arrow.build,
            "archer": self.yard.archer,
            "purpose": "counted",
            "loosed_at": kit.BEGAN + self.made * 1000,
        }
        op = {
            "op_id": new_id(),
            "action": "put",
            "noun": "shot",
            "record_id": new_id(),
            "base_rev": 0,
            "body": body,
            "device_seq": self.made,
        }
        return json.dumps({"op_v": OP_VERSION, "boot": "bench", "ops": [op]}).encode()

    async def turn(self, seconds: float, savers: int, listeners: int) -> Turn:
        found = Turn()
        streams = min(listeners, MOST_STREAMS)
        listening = [asyncio.create_task(self._hear(found, savers + number)) for number in range(streams)]
        listening += [asyncio.create_task(self._poll(found, number, listeners - streams)) for number in range(listeners - streams)]
        if listeners:
            await asyncio.sleep(min(POLL_S, seconds))  # till each has heard for the first time
        until = time.perf_counter() + seconds
        await asyncio.gather(*(self._save(found, until, number, savers) for number in range(savers)))
        for task in listening:
            task.cancel()
        await asyncio.gather(*listening, return_exceptions=True)
        return found

    async def _save(self, found: Turn, until: float, number: int, savers: int) -> None:
        line = Line(self.port, self.tokens["archer"], number)
        due = time.perf_counter() + number / savers * min(PAUSE_S, (until - time.perf_counter()) / 2)
        while due < until:
            await asyncio.sleep(max(0.0, due - time.perf_counter()))
            body, began = self.shot(), time.perf_counter()
            status, said = await line.ask("POST", "/api/ops", body)
            found.took.append(1000 * (time.perf_counter() - began))
            what = json.loads(said)["answers"][0]["status"] if status == 200 else f"{status} {said[:120]!r}"
            if what != "applied":
                found.failed[what] += 1
            # By the clock, not by the answer: savers that were once held up must not come all together ever after.
            due = max(due + PAUSE_S, time.perf_counter())
        await line.close()

    async def _hear(self, found: Turn, number: int) -> None:
        """A page that is looked at: the bell rings, it asks what changed."""
        token = self.tokens["viewer"]
        asks, outcome_level = Line(self.port, token, number), asyncio.Event()
        asking = asyncio.create_task(self._ask_when_outcome_level(found, asks, outcome_level))
        try:
            async with Line(self.port, token, number).stream() as (status, reader):
                if status != 200:
                    found.not_heard[f"stream {status}"] += 1
                    return
                while line := await reader.readline():
                    if line.startswith(b"id:"):
                        found.heard += 1
                        outcome_level.set()
        finally:
            asking.cancel()
            await asks.close()

    async def _ask_when_outcome_level(self, found: Turn, asks: Line, outcome_level: asyncio.Event) -> None:
        seq = 0
        while True:
            await outcome_level.wait()
            await asyncio.sleep(GATHER_S * (1 + random.random()))
            outcome_level.clear()
            status, said = await asks.ask("GET", f"/api/changes?since={seq}")
            if status == 200:
                seq = int(json.loads(said)["seq"])
            elif status != 204:
                found.not_heard[f"changes {status}"] += 1

    async def _poll(self, found: Turn, number: int, pollers: int) -> None:
        """A phone at the range: every two seconds, what is new?"""
        line, told = Line(self.port, self.tokens["archer"], 100 + number), {"seq": 0, "epoch": ""}
        await asyncio.sleep(number / pollers * POLL_S)
        try:
            while True:
                path = f"/api/range?since={told['seq']}&epoch={told['epoch']}" if told["seq"] else "/api/range"
                status, said = await line.ask("GET", path)
                found.polled += 1
                if status == 200:
                    told = {name: json.loads(said)[name] for name in ("seq", "epoch")}
                elif status != 204:
                    found.not_heard[f"range {status}"] += 1
                await asyncio.sleep(POLL_S)
        finally:
            await line.close()

    async def without_a_pause(self, seconds: float, savers: int) -> float:
        """Saves a second of them all together."""

        async def save(line: Line) -> str:
            status, said = await line.ask("POST", "/api/ops", self.shot())
            return str(json.loads(said)["answers"][0]["status"]) if status == 200 else f"{status} {said[:120]!r}"

        return await _all_at_once([Line(self.port, self.tokens["archer"], number) for number in range(savers)], save, seconds, "applied")


async def bare_without_a_pause(port: int, seconds: float, savers: int) -> float:
    async def save(line: Line) -> str:
        status, _ = await line.ask("POST", "/items", json.dumps({"id": new_id(), "label": "A", "body": {"purpose": "counted"}}).encode())
        return str(status)

    return await _all_at_once([Line(port, "", number) for number in range(savers)], save, seconds, "200")


async def _all_at_once(lines: list[Line], save: Callable[[Line], Awaitable[str]], seconds: float, wanted: str) -> float:
    until, done = time.perf_counter() + seconds, 0

    async def go_on(line: Line) -> None:
        nonlocal done
        while time.perf_counter() < until:
            what = await save(line)
            assert what == wanted, what
            done += 1
        await line.close()

    began = time.perf_counter()
    await asyncio.gather(*map(go_on, lines))
    return done / (time.perf_counter() - began)


def measure(seconds: float = 30.0, savers: int = 50, listeners: int = 100) -> Found:
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place:
        folder = Path(place)
        tokens: dict[str, Any] = {role: let_in(folder / "ours", role, name) for role, name in (("archer", "Wren"), ("viewer", "Pip"))}
        storage = open_book(folder / "ours")
        yard = kit.yard(storage)
        storage.close()
        with child("bare", folder / "bare") as (_, bare), child("ours", folder / "ours") as (_, port):
            at = Range(port, tokens, yard)

            async def all_of_it() -> Found:
                await at.turn(min(1.0, seconds), savers, listeners)  # not counted: everything for the first time
                turns = [await at.turn(seconds, savers, count) for count in (0, listeners, 0)]
                short = min(5.0, seconds)
                rates = [
                    (await at.without_a_pause(short / 2, savers), await bare_without_a_pause(bare, short / 2, savers)) for _ in range(2)
                ]
                ours, theirs = (sum(some) / len(rates) for some in zip(*rates, strict=True))
                return Found(turns[0], turns[1], turns[2], ours, theirs, at.made)

            found = asyncio.run(all_of_it())
        stored = ask_book(folder / "ours" / "proofyard.db", "SELECT count(*) FROM shot")[0][0]
        assert_whole(folder / "ours" / "proofyard.db")
        assert stored == found.stored or any(turn.failed for turn in (found.alone, found.among, found.again)), (
            "a save that was acknowledged is not there"
        )
    return found


def main() -> None:
    asked = [float(one) for one in sys.argv[1:]]
    seconds, savers, listeners = asked[0] if asked else 30.0, *(int(one) for one in (asked[1:3] if len(asked) == 3 else (50, 100)))
    found = measure(seconds, savers, listeners)
    for words, turn in (("nobody listens", found.alone), (f"{listeners} listen", found.among), ("nobody listens", found.again)):
        print(
            f"{savers} save, {words}: {len(turn.took)} saves in {seconds:.0f} s, median {turn.median:.1f} ms, p95 {turn.p95:.1f} ms; "
            f"failed {dict(turn.failed) or 0}; streams heard {turn.heard}, polls {turn.polled}, refused {dict(turn.not_heard) or 0}"
        )
    print(f"p95 with listeners over p95 without: {found.p95_ratio:.2f} (wanted 3 or less)")
    print(
        f"{savers} save without a pause: ours {found.ours_a_second:.0f}/s, bare durable route {found.bare_a_second:.0f}/s, ratio "
        f"{found.ours_a_second / found.bare_a_second:.2f}"
    )


if __name__ == "__main__":
    main()
