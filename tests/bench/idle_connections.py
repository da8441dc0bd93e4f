"""Connections that ask nothing, and five hundred who listen: who is still served? This version, and another beside it.

    python -m tests.bench.idle_connections [ANOTHER_CHECKOUT ...]

In turn, against a real server on loopback, each crowd from addresses of its own (Linux lends out all of 127/8):
256 and 600 connections that never ask, from eight addresses; 256 that send half a head of a request; 500 who listen at
once, as phones that are in. Beside each crowd a stranger asks for /join, a phone that is in saves shots and the laptop's
own browser looks, each on a new connection for every request. Told: how many of those were answered, p95 in ms, and after
how many seconds a connection that never finishes its head is closed (15 s are waited).

Wanted: with every crowd all are answered, and no save is refused; half a head is closed within 10 s (and one of grace).
"""

from __future__ import annotations

import contextlib
import json
import re
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from proofyard.access.seats import COOKIE, named
from proofyard.records.ids import new_id

from tests import kit_for_tests as kit

HERE = Path(__file__).resolve().parents[2]
HALF_A_HEAD = b"GET / HTTP/1.1\r\nHost: "
TRIES = 20
# A version of before has another name for its package and for an end, and counts its operations' form by itself.
SETUP = """
import importlib, json, sys
from pathlib import Path
from tests import kit_for_tests as kit
package = "proofyard" if Path("server/proofyard").exists() else "server"
open_book = importlib.import_module(package + ".opening").open_book
op_version = importlib.import_module(package + ".records.operations").OP_VERSION
from tests.faults.a_real_server import let_in
folder = Path(sys.argv[1])
token = let_in(folder)
storage = open_book(folder)
yard = kit.yard(storage)
storage.close()
end = "shooting_end" if hasattr(yard, "shooting_end") else "walk"
print(json.dumps([token, getattr(yard, end), yard.bow.build, yard.arrow.build, yard.archer, end, op_version]))
"""


@dataclass
class Served:
    """A running server, and what a saver needs."""

    port: int
    token: str
    ids: list[Any]
    made: int = 0

    def ask(self, own: str, method: str, path: str, *, body: bytes = b"", inside: bool = True) -> tuple[int, float]:
        """Status (0: no answer) and milliseconds of one request on a connection of its own."""
        began = time.perf_counter()
        try:
            with contextlib.closing(connect(self.port, own)) as line:
                line.sendall(self.head(method, path, len(body), inside=inside) + body)
                said = line.recv(4096)
                status = int(said.split()[1]) if said.startswith(b"HTTP/1.1 ") else 0
        except OSError:
            status = 0
        return status, 1000 * (time.perf_counter() - began)

    def head(self, method: str, path: str, length: int = 0, *, inside: bool = True) -> bytes:
        at = f"127.0.0.1:{self.port}"
        cookie = f"Cookie: {named(COOKIE, at)}={self.token}\r\n" if inside else ""
        kind = f"Content-Type: application/json\r\nContent-Length: {length}\r\n" if length else ""
        return f"{method} {path} HTTP/1.1\r\nHost: {at}\r\nOrigin: http://{at}\r\n{cookie}{kind}\r\n".encode()

    def save(self, own: str) -> tuple[int, float]:
        self.made += 1
        shooting_end, bow, arrow, archer, end_field, op_version = self.ids
        body = {
            "label": f"A{self.made}",
            end_field: shooting_end,
            "bow_build": bow,
            "arrow_build": arrow,
            "archer": archer,
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
        return self.ask(own, "POST", "/api/ops", body=json.dumps({"op_v": op_version, "boot": "bench", "ops": [op]}).encode())


def connect(port: int, own: str) -> socket.socket:
    line = socket.create_connection(("127.0.0.1", port), timeout=5, source_address=(own, 0))
    line.settimeout(5)
    return line


def python_of(checkout: Path) -> str:
    own = checkout / ".venv" / "bin" / "python"
    return str(own) if own.exists() else sys.executable


def package_of(checkout: Path) -> str:
    return "proofyard" if (checkout / "server" / "proofyard").exists() else "server"


@contextlib.contextmanager
def served(checkout: Path) -> Iterator[Served]:
    """The server of a checkout, on a new book with one archer's phone in it."""
    python = python_of(checkout)
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as folder:
        made = subprocess.run([python, "-c", SETUP, folder], cwd=checkout, capture_output=True, text=True, check=True).stdout
        token, *ids = json.loads(made.splitlines()[-1])
        process = subprocess.Popen(
            [python, "-m", f"{package_of(checkout)}.cli", "serve", "--data", folder, "--host", "127.0.0.1", "--port", "0"],
            cwd=checkout,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        try:
            assert process.stdout
            port = next(int(found[1]) for line in process.stdout if (found := re.search(r":(\d+)/owner/", line)))
            here = Served(port, token, ids)
            until = time.monotonic() + 20
            while here.ask("127.0.0.1", "GET", "/api/ping")[0] != 200 and time.monotonic() < until:
                time.sleep(0.1)
            here.save("127.0.9.2")
            yield here
        finally:
            process.kill()
            process.wait(10)
            if process.stdout:
                process.stdout.close()


def crowd(here: Served, count: int, say: bytes, *, net: int) -> list[socket.socket]:
    """So many connections from eight addresses, each of which has said this much."""
    lines = []
    for number in range(count):
        with contextlib.suppress(OSError):
            line = connect(here.port, f"127.0.{net}.{number % 8 + 1}")
            if say:
                line.sendall(say)
            lines.append(line)
    time.sleep(1.0)
    return lines


def beside(here: Served, tries: int) -> dict[str, tuple[int, int, float]]:
    """Who asks -> (answered, asked, p95 in ms)."""
    asks: dict[str, Callable[[], tuple[int, float]]] = {
        "a stranger": lambda: here.ask("127.0.9.1", "GET", "/join", inside=False),
        "a saver": lambda: here.save("127.0.9.2"),
        "the laptop": lambda: here.ask("127.0.0.1", "GET", "/join", inside=False),
    }
    told = {}
    for who, ask in asks.items():
        found = [ask() for _ in range(tries)]
        took = sorted(ms for _, ms in found)
        told[who] = (sum(200 <= status < 400 for status, _ in found), tries, took[int(0.95 * (tries - 1))])
    return told


def closed_after(here: Served, wait_s: float) -> float | None:
    """Seconds till a connection is closed that never finishes its head; None: still open then."""
    began = time.monotonic()
    with contextlib.closing(connect(here.port, "127.0.8.1")) as line:
        line.sendall(HALF_A_HEAD)
        line.settimeout(wait_s)
        try:
            line.recv(100)
        except TimeoutError:
            return None
        except OSError:
            pass
    return time.monotonic() - began


def measure(
    checkout: Path, *, idle: tuple[int, ...] = (256, 600), listeners: int = 500, tries: int = TRIES, wait_s: float = 15.0
) -> dict[str, object]:
    """Crowd -> what those beside it met; and after how long half a head is closed."""
    with served(checkout) as here:
        told: dict[str, object] = {"nobody": beside(here, tries)}
        crowds = [(f"{count} idle", count, b"") for count in idle] + [(f"{idle[0]} half heads", idle[0], HALF_A_HEAD)]
        crowds.append((f"{listeners} listeners", listeners, here.head("GET", "/live")))
        for net, (name, count, say) in enumerate(crowds, 2):
            lines = crowd(here, count, say, net=net)
            told[name] = beside(here, tries)
            for line in lines:
                line.close()
            time.sleep(0.5)
        told["half a head is closed after"] = closed_after(here, wait_s) if wait_s else None
    return told


def main() -> None:
    for checkout in (HERE, *map(Path, sys.argv[1:])):
        print(f"\n{'this version' if checkout == HERE else 'the other version'}")
        for name, found in measure(checkout).items():
            if isinstance(found, dict):
                print(f"  {name:16}" + "".join(f"   {who}: {good}/{asked}, p95 {ms:.0f} ms" for who, (good, asked, ms) in found.items()))
            else:
                print(f"  {name} {'more than 15 s' if found is None else f'{found:.1f} s'}")


if __name__ == "__main__":
    main()
