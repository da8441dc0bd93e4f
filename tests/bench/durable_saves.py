"""A durable save of a shot by POST /api/ops against a bare FastAPI route that inserts one row with the same durability.

    python -m tests.bench.durable_saves [saves of each]

One save at a time over one kept-open connection each, in turns (A, A', B, A, A', B, …) so that what else the machine
does falls on all alike. A and A' are the same bare route in two processes: how far their ratio is from 1 says how far
the other ratio can be trusted. Wanted: at least 0.35.
"""

from __future__ import annotations

import http.client
import json
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from proofyard.access.seats import COOKIE, named
from proofyard.opening import open_book
from proofyard.records.ids import new_id
from proofyard.records.operations import OP_VERSION

from tests import kit_for_tests as kit
from tests.bench.a_child import child
from tests.faults.a_real_server import ask_book, let_in


@dataclass(frozen=True)
class Saves:
    """Median milliseconds of one save. `ratio`: our saves in the time of one bare save; `control` the same, bare to bare."""

    saves: int
    bare_ms: float
    ours_ms: float
    ratio: float
    control: float
    stored: int


def measure(saves: int = 300) -> Saves:
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place:
        folder = Path(place)
        token = let_in(folder / "ours")
        storage = open_book(folder / "ours")
        yard = kit.yard(storage)
        storage.close()
        with child("bare", folder / "a") as (a, _), child("bare", folder / "b") as (b, _), child("ours", folder / "ours") as (ours, port):
            headers = {
                "Cookie": f"{named(COOKIE, str(port))}={token}",
                "Origin": f"http://127.0.0.1:{port}",
                "Content-Type": "application/json",
            }
            took: dict[str, list[float]] = {"a": [], "b": [], "ours": []}
            for number in range(saves + 20):
                shot = {
                    "label": f"A{number}",
                    "shooting_end": yard.shooting_end,
                    "bow_build": yard.bow.build,
                    "arrow_build": yard.arrow.build,
                    "archer": yard.archer,
                    "purpose": "counted",
                    "loosed_at": kit.BEGAN + number * 1000,
                }
                op = {
                    "op_id": new_id(),
                    "action": "put",
                    "noun": "shot",
                    "record_id": new_id(),
                    "base_rev": 0,
                    "body": shot,
                    "device_seq": number + 1,
                }
                asked = {
                    "a": (
                        a,
                        "/items",
                        json.dumps({"id": new_id(), "label": f"A{number}", "body": shot}),
                        {"Content-Type": "application/json"},
                    ),
                    "b": (
                        b,
                        "/items",
                        json.dumps({"id": new_id(), "label": f"A{number}", "body": shot}),
                        {"Content-Type": "application/json"},
                    ),
                    "ours": (ours, "/api/ops", json.dumps({"op_v": OP_VERSION, "boot": "bench", "ops": [op]}), headers),
                }
                # The order turns, so that none always comes after the same other.
                for name in ("a", "b", "ours") if number % 2 else ("ours", "b", "a"):
                    seconds = _ask(*asked[name])
                    if number >= 20:
                        took[name].append(seconds)
        stored = ask_book(folder / "ours" / "proofyard.db", "SELECT count(*) FROM shot")[0][0]
        assert stored == saves + 20, "a save was refused, so this measured nothing"
    a_ms, b_ms, ours_ms = (1000 * statistics.median(took[name]) for name in ("a", "b", "ours"))
    return Saves(saves, a_ms, ours_ms, ratio=a_ms / ours_ms, control=a_ms / b_ms, stored=int(str(stored)))


def _ask(connection: http.client.HTTPConnection, path: str, body: str, headers: dict[str, str]) -> float:
    began = time.perf_counter()
    connection.request("POST", path, body, headers)
    reply = connection.getresponse()
    said = reply.read()
    seconds = time.perf_counter() - began
    assert reply.status == 200, said
    return seconds


if __name__ == "__main__":
    found = measure(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
    print(f"bare {found.bare_ms:.2f} ms, ours {found.ours_ms:.2f} ms a save (medians of {found.saves}, in turns)")
    print(f"ours for one bare save: {found.ratio:.2f} (wanted 0.35 or more); bare against bare: {found.control:.2f}")
