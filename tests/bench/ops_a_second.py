"""How many operations a second a book takes, by how many clients: in a file, and in PostgreSQL with two servers' queues.

    python -m tests.bench.ops_a_second [seconds of each]

A client hands in one shot and waits until it is on the disk, then the next. What waits at the same moment shares a commit, as on a
real server (records/phone_queue.py). In a file one process has all clients; in PostgreSQL two have half of them each. Both as they
are by themselves: WAL with synchronous FULL, fsync on. In turns, so that what else the machine does falls on both alike.

Wanted: 200 a second or more for 32 clients.
"""

from __future__ import annotations

import multiprocessing
import sys
import tempfile
import threading
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from proofyard.opening import open_book
from proofyard.postgres.book import PostgresBook, url_of
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.records.operations import Operation
from proofyard.records.phone_queue import PhoneQueues
from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.bench.several_servers import share
from tests.postgres_for_tests import running_server

CLIENTS = (1, 8, 32)


@dataclass(frozen=True)
class Rate:
    """Of one place and number of clients. cpu_ms: of the savers' processes, an operation; the database's own is not in it."""

    place: str
    clients: int
    done: int
    seconds: float
    p95_ms: float
    cpu_ms: float

    @property
    def a_second(self) -> float:
        return self.done / self.seconds


def take_for(seconds: float, clients: int, book: Storage, body: dict[str, object], device: str) -> tuple[int, list[float], float]:
    """Operations done by this process, the milliseconds of each, the processor's seconds."""
    queues, took, hands = PhoneQueues(book), list[float](), threading.Lock()
    until = time.monotonic() + seconds

    def client(which: int) -> None:
        number, mine = 0, []
        while time.monotonic() < until:
            number += 1
            op = Operation(new_id(), device, "put", "shot", new_id(), body={**body, "label": f"Q{which}x{number}"})
            began = time.perf_counter()
            assert queues.hand_in([op]).result()[0].taken
            mine.append(1000 * (time.perf_counter() - began))
        with hands:
            took.extend(mine)

    began = time.process_time()
    threads = [threading.Thread(target=client, args=(n,)) for n in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    queues.close()
    return len(took), took, time.process_time() - began


def in_a_process(
    seconds: float, clients: int, folder: str, address: str, body: dict[str, object], device: str
) -> tuple[int, list[float], float]:
    with closing(PostgresBook(Path(folder) / BOOK_FILE, url_of(address)) if address else open_book(Path(folder))) as book:
        return take_for(seconds, clients, book, body, device)


def prepared(book: Storage) -> tuple[dict[str, object], str]:
    with book.write() as session:
        devices.make_book(session)
    yard = kit.yard(book)
    shot = {"shooting_end": yard.shooting_end, "bow_build": yard.bow.build, "arrow_build": yard.arrow.build, "archer": yard.archer}
    return {**shot, "purpose": "counted", "loosed_at": kit.BEGAN}, kit.recorder(book)


def rate(place: str, clients: int, seconds: float, folder: Path, address: str, body: dict[str, object], device: str) -> Rate:
    parts = [clients] if not address or clients == 1 else [clients // 2, clients - clients // 2]
    with multiprocessing.get_context("spawn").Pool(len(parts)) as pool:
        asked = [(seconds, part, str(folder), address, body, device) for part in parts]
        found = pool.starmap(in_a_process, asked)
    took = [one for _, some, _ in found for one in some]
    return Rate(place, clients, len(took), seconds, share(took, 0.95), 1000 * sum(cpu for *_, cpu in found) / max(1, len(took)))


def measure(seconds: float = 5.0, clients: tuple[int, ...] = CLIENTS) -> list[Rate]:
    rates = []
    with tempfile.TemporaryDirectory(prefix="proofyard-bench-") as place, running_server(hurried=False) as database:
        folder, address = Path(place) / "file", database.new_database("empty_book")
        folder.mkdir()
        with closing(open_book(folder)) as book:
            file = prepared(book)
        with closing(PostgresBook(Path(place) / BOOK_FILE, url_of(address))) as book:
            there = prepared(book)
        for many in clients:
            rates.append(rate("a file", many, seconds, folder, "", *file))
            rates.append(rate("PostgreSQL", many, seconds, Path(place), address, *there))
    return rates


if __name__ == "__main__":
    for one in measure(float(sys.argv[1]) if len(sys.argv) > 1 else 5.0):
        took = f"p95 {one.p95_ms:6.1f} ms, {one.cpu_ms:.2f} ms of processor each"
        print(f"{one.place:10}  {one.clients:2} clients: {one.a_second:6.0f} a second, {took}")
