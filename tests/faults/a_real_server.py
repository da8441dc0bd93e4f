"""The real command in a process of its own, on a real file: for tests that kill it, stop it or start it twice."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import httpx
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.book_file import library as sqlite3
from proofyard.opening import open_book
from proofyard.records import devices

from tests.notebook_for_tests import FUNCTIONS

REPOSITORY = Path(__file__).resolve().parents[2]
STARTS_WITHIN_S = 30
HERE = "127.0.0.1"


def command(*words: object) -> list[str]:
    return [sys.executable, "-m", "proofyard.cli", *map(str, words)]


def environment() -> dict[str, str]:
    return {**os.environ, "PYTHONPATH": str(REPOSITORY), "PYTHONUTF8": "1"}


def run(*words: object, timeout: float = 60) -> subprocess.CompletedProcess[str]:
    """One command to its end."""
    return subprocess.run(
        command(*words), cwd=REPOSITORY, env=environment(), capture_output=True, text=True, timeout=timeout, check=False, encoding="utf-8"
    )


@dataclass
class Server:
    """A running `proofyard serve`; `said` grows line by line."""

    process: subprocess.Popen[str]
    folder: Path
    said: list[str] = field(default_factory=list)
    trusts: Path | None = None  # the authority of its certificate, where it was given one

    @property
    def link(self) -> str:
        return next(line.strip() for line in self.said if "/owner/" in line)

    @property
    def address(self) -> str:
        found = re.search(r":(\d+)/", self.link)
        assert found
        return f"{self.link.partition(':')[0]}://{HERE}:{found[1]}"

    def client(self, token: str = "") -> httpx.Client:
        client = httpx.Client(base_url=self.address, headers={"Origin": self.address}, timeout=10, trust_env=False, verify=self._trust())
        if token:
            client.cookies.set(named(COOKIE, self.address), token, domain=HERE)
        return client

    def _trust(self) -> ssl.SSLContext | bool:
        return ssl.create_default_context(cafile=self.trusts) if self.trusts else True

    def kill(self) -> None:
        """What a pulled plug does to the program."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(10)

    def stop(self, number: signal.Signals = signal.SIGTERM) -> tuple[int, float]:
        """Tell it to stop; its exit code and the seconds that it took."""
        began = time.monotonic()
        self.process.send_signal(number)
        return self.process.wait(20), time.monotonic() - began


@contextlib.contextmanager
def serving(folder: Path, *words: object, trusts: Path | None = None) -> Iterator[Server]:
    """The server, once it listens. Whatever is left of it at the end is killed."""
    process = subprocess.Popen(
        command("serve", "--data", folder, "--host", HERE, "--port", "0", *words),
        cwd=REPOSITORY,
        env=environment(),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
    )
    server = Server(process, folder, trusts=trusts)
    reader = threading.Thread(target=_listen, args=(server,), daemon=True)
    reader.start()
    try:
        until = time.monotonic() + STARTS_WITHIN_S
        while not any("Ctrl+C" in line for line in server.said):
            assert process.poll() is None and time.monotonic() < until, "".join(server.said)
            time.sleep(0.02)
        _wait_till_it_answers(server, until)
        yield server
    finally:
        if process.poll() is None:
            process.kill()
        process.wait(10)
        # A killed server's page workers hold the pipe until they have done the page that they are at.
        reader.join(60)
        assert process.stdout
        process.stdout.close()


def _listen(server: Server) -> None:
    assert server.process.stdout
    for line in server.process.stdout:
        server.said.append(line)


def _wait_till_it_answers(server: Server, until: float) -> None:
    with server.client() as client:
        while True:
            with contextlib.suppress(httpx.TransportError):
                if client.get("/api/ping").status_code == 200:
                    return
            assert time.monotonic() < until, "".join(server.said)
            time.sleep(0.02)


def let_in(folder: Path, role: str = "archer", call_name: str = "Wren") -> str:
    """A device that is in already, in a book that no server has open; the cookie that it shows."""
    token = new_token()
    folder.mkdir(parents=True, exist_ok=True)
    storage = open_book(folder)
    try:
        with storage.write() as session:
            devices.make_book(session)
            devices.add_device(session, call_name=call_name, role=role, session_hash=hash_of(token))
    finally:
        storage.close()
    return token


def ask_book(book: Path, query: str, *values: object) -> list[tuple[object, ...]]:
    """Rows of a book's file, as they are stored."""
    with contextlib.closing(sqlite3.connect(book)) as connection:
        for name, function in FUNCTIONS.items():
            connection.create_function(name, 1, function, deterministic=True)
        return connection.execute(query, values).fetchall()


def assert_whole(book: Path) -> None:
    assert ask_book(book, "PRAGMA integrity_check") == [("ok",)]
    assert ask_book(book, "PRAGMA foreign_key_check") == []
