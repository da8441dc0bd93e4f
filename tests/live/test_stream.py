"""The stream of "something changed", over a real server and real sockets."""

import asyncio
import contextlib
import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
import uvicorn
from proofyard.access.seats import COOKIE, named
from proofyard.live import doorbell, stream
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.conftest import House

REPOSITORY = Path(__file__).resolve().parents[2]


@dataclass
class Event:
    name: str = "message"
    data: dict[str, int] = field(default_factory=dict)
    id: str | None = None
    retry: str | None = None


class Listener:
    """A page that listens, as a browser's EventSource would."""

    def __init__(self, port: int, token: str | None, *, since: int | None = None, last: int | None = None) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        headers = {"Cookie": f"{named(COOKIE, str(port))}={token}"} if token else {}
        if last is not None:
            headers["Last-Event-ID"] = str(last)
        self.connection.request("GET", "/live" + (f"?since={since}" if since is not None else ""), headers=headers)
        self.answer = self.connection.getresponse()

    def event(self) -> Event | None:
        """The next event; None when the stream has ended."""
        event, seen = Event(), False
        while line := self.answer.readline().decode().rstrip("\r\n") if not self.answer.isclosed() else "":
            seen = seen or not line.startswith(":")
            name, _, value = line.partition(": ")
            if name == "data":
                event.data = json.loads(value)
            elif name == "event":
                event.name = value
            elif name in ("id", "retry"):
                setattr(event, name, value)
        if seen:
            return event
        return None if self.answer.isclosed() else self.event()

    def until_changed(self) -> Event | None:
        while (event := self.event()) is not None and event.name == "beat":
            pass
        return event

    def close(self) -> None:
        self.answer.close()
        self.connection.close()


@dataclass
class Served:
    house: House
    port: int
    server: uvicorn.Server
    listeners: list[Listener] = field(default_factory=list)

    def listen(self, role: str, **more: int) -> Listener:
        self.listeners.append(Listener(self.port, self.house.tokens.get(role), **more))
        return self.listeners[-1]


@pytest.fixture
def served(house: House) -> Iterator[Served]:
    """The house behind a real server, on a port of its own."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen(100)
        port = listening.getsockname()[1]
        server = uvicorn.Server(uvicorn.Config(house.app, log_level="error", timeout_graceful_shutdown=3))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        wait_until(lambda: server.started)
        around = Served(house, port, server)
        yield around
        for listener in around.listeners:
            listener.close()
        house.app.state.doorbell.close()
        server.should_exit = True
        thread.join(10)
        assert not thread.is_alive()


def wait_until(true, *, within_s: float = 5.0) -> None:  # type: ignore[no-untyped-def]
    until = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < until, "waited too long"
        time.sleep(0.005)


def test_a_save_is_heard_with_its_number_and_how_to_come_back(served: Served, book: Storage) -> None:
    page = served.listen("viewer")
    assert page.answer.status == 200
    assert page.answer.headers["content-type"].startswith("text/event-stream")
    assert "no-store" in page.answer.headers["cache-control"] or "no-cache" in page.answer.headers["cache-control"]
    first = page.event()
    assert first is not None
    assert (first.name, first.retry) == ("beat", "3000")
    kit.archer(book, "Wren")
    heard = page.until_changed()
    assert heard is not None
    assert heard.id == str(heard.data["seq"])
    assert heard.data["seq"] == first.data["seq"] + 1
    page.close()


def test_what_was_missed_is_told_at_once(served: Served, book: Storage) -> None:
    before = served.listen("archer")
    begun = before.event()
    assert begun is not None
    before.close()
    kit.archer(book, "Wren")
    kit.archer(book, "Tallow")
    for more in ({"last": begun.data["seq"]}, {"since": begun.data["seq"]}, {"last": begun.data["seq"], "since": 9999}):
        page = served.listen("archer", **more)
        heard = page.until_changed()
        assert heard is not None and heard.data["seq"] == begun.data["seq"] + 2, more
        page.close()


def test_a_number_from_another_book_or_no_number_is_no_fault(served: Served, book: Storage) -> None:
    page = served.listen("archer", last=10**17)
    page.event()
    made = kit.archer(book, "Wren")
    heard = page.until_changed()
    assert made and heard is not None and heard.data["seq"] < 100
    page.close()
    assert [stream.number_in(text) for text in (None, "", "7", "-7", "x", "٣", "1" * 30)] == [None, None, 7, None, None, None, None]


def test_a_commit_that_changed_no_record_is_not_told(served: Served, book: Storage, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stream, "BEAT_S", 0.3)
    page = served.listen("viewer")
    page.event()
    with book.write():
        pass
    next_one = page.event()
    assert next_one is not None and next_one.name == "beat"
    page.close()


def test_a_beat_is_heard_in_the_silence(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    assert stream.BEAT_S <= 15, "a page opens again after 35 s of silence"
    monkeypatch.setattr(stream, "BEAT_S", 0.05)
    page = served.listen("viewer")
    beats = [page.event() for _ in range(4)]
    assert all(beat is not None and beat.name == "beat" and beat.id is None for beat in beats)
    page.close()


def test_a_stranger_hears_nothing(served: Served) -> None:
    page = served.listen("stranger")
    assert page.answer.status == 401
    assert served.house.app.state.doorbell.listening == 0


def test_putting_out_ends_the_stream_at_once(served: Served) -> None:
    page, other = served.listen("archer"), served.listen("viewer")
    page.event()
    other.event()
    began = time.monotonic()
    served.house.app.state.gate.joining.remove(served.house.device_ids["archer"], by=served.house.device_ids["owner"], why="lost")
    while page.event() is not None:
        pass
    assert time.monotonic() - began < 1.0
    assert other.until_changed() is not None, "the others listen on"
    wait_until(lambda: served.house.app.state.doorbell.listening == 1)
    other.close()


def test_a_page_that_goes_away_leaves_its_place(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stream, "BEAT_S", 0.05)
    page = served.listen("archer")
    page.event()
    assert served.house.app.state.doorbell.listening == 1
    page.close()
    wait_until(lambda: served.house.app.state.doorbell.listening == 0)


def test_at_most_forty_listen_and_the_next_is_told(served: Served) -> None:
    pages = [served.listen("viewer") for _ in range(doorbell.MOST_STREAMS)]
    for page in pages:
        page.event()
    one_more = served.listen("viewer")
    assert one_more.answer.status == 503
    assert one_more.answer.headers["retry-after"] == "30"
    assert "still works" in json.loads(one_more.answer.read())["detail"]
    ping = http.client.HTTPConnection("127.0.0.1", served.port, timeout=5)
    ping.request("GET", "/api/ping")
    assert ping.getresponse().status == 200, "streams take no other request's place"
    for page in (*pages, one_more):
        page.close()
    ping.close()


def test_many_saves_and_many_listeners_each_hear_the_last(served: Served, book: Storage) -> None:
    pages = [served.listen("viewer") for _ in range(10)]
    for page in pages:
        page.event()
    ids = kit.put_all(book, [("archer", {"call_name": f"Archer {n}"}) for n in range(20)])
    for name in ("one", "two", "three"):
        kit.archer(book, f"Last {name}")
    latest = asyncio.run(served.house.app.state.doorbell.latest())
    assert len(ids) == 20
    for page in pages:
        event = page.until_changed()
        while event is not None and event.data["seq"] < latest:
            event = page.until_changed()
        assert event is not None and event.data["seq"] == latest
        page.close()


def test_a_ring_after_its_loop_has_ended_is_no_fault(book: Storage) -> None:
    bell = doorbell.Doorbell(book)

    async def opens() -> doorbell.Ear | None:
        return bell.open_ear()

    assert asyncio.run(opens()) is not None
    bell.ring()
    assert bell.listening == 0


def test_closing_ends_streams_and_takes_no_new_ones(served: Served) -> None:
    page = served.listen("archer")
    page.event()
    served.house.app.state.doorbell.close()
    began = time.monotonic()
    while page.event() is not None:
        pass
    assert time.monotonic() - began < 1.0
    assert served.listen("archer").answer.status == 503


RUN = """
import sys, pathlib, uvicorn
from proofyard.app import create_app
from proofyard.opening import open_book
from proofyard.settings import Settings
folder, port = pathlib.Path(sys.argv[1]), int(sys.argv[2])
app = create_app(open_book(folder), Settings(folder=folder, host="127.0.0.1", port=port))
print("link", app.state.gate.owner_link(), flush=True)
uvicorn.run(app, host="127.0.0.1", port=port, log_level="error")
"""


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_the_server_stops_within_a_second_though_pages_listen(tmp_path: Path, empty_book_file: Path, number: signal.Signals) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    (tmp_path / empty_book_file.name).write_bytes(empty_book_file.read_bytes())
    server = subprocess.Popen(
        [sys.executable, "-c", RUN, str(tmp_path), str(port)],
        cwd=REPOSITORY,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(REPOSITORY)},
    )
    try:
        assert server.stdout is not None
        link = server.stdout.readline().split()[1]
        wait_until(lambda: can_connect(port), within_s=15)
        owner = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
        owner.request("POST", link, headers={"Origin": f"http://127.0.0.1:{port}", "Content-Length": "0"})
        token = owner.getresponse().headers["set-cookie"].split(";")[0].split("=")[1]
        owner.close()
        pages = [Listener(port, token) for _ in range(3)]
        for page in pages:
            assert page.event() is not None
        began = time.monotonic()
        server.send_signal(number)
        server.wait(5)
        took = time.monotonic() - began
        for page in pages:
            page.close()
        assert took < 1.0
    finally:
        server.kill()
        server.wait(5)
        assert server.stdout is not None
        server.stdout.close()


def can_connect(port: int) -> bool:
    with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), timeout=0.2):
        return True
    return False


def test_a_head_of_the_stream_ends_with_its_headers(served: Served) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", served.port, timeout=5)
    connection.request("HEAD", "/live", headers={"Cookie": f"{named(COOKIE, str(served.port))}={served.house.tokens['viewer']}"})
    answer = connection.getresponse()
    assert (answer.status, answer.read()) == (200, b"")
    assert answer.headers["content-type"].startswith("text/event-stream")
    wait_until(lambda: not served.house.app.state.doorbell.listening)  # its place among the listeners is free again
    connection.close()
