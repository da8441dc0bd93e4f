"""A page that is kept is the page that would be made: for every seat, in every unit, and after every change."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from proofyard.access.seats import hash_of, new_token
from proofyard.assembled import app_that_reads, create_app, send_long_pages_to
from proofyard.live.kept_pages import MOST_OF_A_PAGE, KeptPages, asked_for
from proofyard.live.left_pages import LeftPages
from proofyard.live.page_workers import CARRIED
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.settings import Settings
from proofyard.storage import Storage
from sqlalchemy import text
from starlette.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from tests import kit_for_tests as kit
from tests.conftest import HOST, PORT, House, copied

PATHS = ("/results", "/results/table", "/results/shots", "/fifty-percent", "/compare", "/protection")


class WorkersHere:
    """A worker's own app, in this process: it counts the pages that it makes."""

    made, busy = 1, 0

    def __init__(self, app: FastAPI) -> None:
        self.app = app
        self.asked: list[str] = []
        self.left: LeftPages | None = None

    def make_ready(self, wanted: int) -> None: ...

    def likely_s(self, scope: Scope) -> float | None:
        return None

    async def answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.asked.append(scope["path"])
        await self.app({name: scope[name] for name in CARRIED if name in scope} | {"state": dict(scope["state"])}, receive, send)

    def how_many(self, work: Any) -> int:
        before = len(self.asked)
        work()
        return len(self.asked) - before


@dataclass(frozen=True)
class Served(House):
    """plain: the same book, and every page made anew."""

    workers: WorkersHere
    plain: House


@pytest.fixture
def served(tmp_path: Path, demo_book_file: Path) -> Iterator[Served]:
    folder = copied(demo_book_file, tmp_path / "demo")
    settings = Settings(folder, HOST, PORT)
    with closing(open_book(folder)) as storage:
        trial = trials_of(storage)[0]
        tokens: dict[str, str] = {}
        with storage.write() as session:
            for role, only in (("owner", None), ("archer", None), ("viewer", None), ("guest", trial)):
                tokens[role] = new_token()
                devices.add_device(
                    session, call_name=role, role="viewer" if only else role, session_hash=hash_of(tokens[role]), trial_id=only
                )
        app, reading = create_app(storage, settings), app_that_reads(storage.path, settings, demo=True)
        workers: Any = WorkersHere(reading)
        send_long_pages_to(workers, app, storage, settings)
        yield Served(app, storage, settings, tokens, {}, workers, House(create_app(storage, settings), storage, settings, tokens, {}))
        reading.state.storage.close()


def trials_of(storage: Storage) -> list[str]:
    with storage.read() as session:
        return list(session.execute(text("SELECT id FROM trial WHERE voided_rev IS NULL ORDER BY id")).scalars())


def text_of(client: TestClient, path: str, **headers: str) -> tuple[int, str]:
    reply = client.get(path, headers=headers)
    return reply.status_code, reply.text


@pytest.mark.slow
def test_what_is_asked_again_is_not_made_again_and_is_the_same(served: Served) -> None:
    for path in PATHS:
        first = text_of(served.client("viewer"), path)
        assert served.workers.how_many(lambda path=path: text_of(served.client("viewer"), path)) == 0, path
        assert text_of(served.client("viewer"), path) == first == text_of(served.plain.client("viewer"), path), path


@pytest.mark.slow
def test_each_reader_gets_their_own(served: Served) -> None:
    said = set()
    for role in ("viewer", "owner", "guest", "archer"):
        for units in ("metric", "imperial"):
            for more in ({}, {"HX-Request": "true"}):
                client, plain = served.client(role), served.plain.client(role)
                for one in (client, plain):
                    one.cookies.set("units", units, domain=HOST)
                # twice: as it is made, and as it is kept
                first, again = (text_of(client, "/results/table", **more) for _ in range(2))
                assert first == again == text_of(plain, "/results/table", **more)
                said.add(first)
    assert len(said) >= 8, "the pages differ by units, by seat, and by who asks for a part"
    assert text_of(served.client(), "/results")[0] == text_of(served.plain.client(), "/results")[0] != 200, "a stranger gets none"


@pytest.mark.slow
def test_a_change_is_in_the_next_page(served: Served) -> None:
    client, plain = served.client("viewer"), served.plain.client("viewer")
    before = text_of(client, "/results")
    kit.put(served.storage, "archer", {"call_name": "Somebody new"})
    assert served.workers.how_many(lambda: text_of(client, "/results")) == 1, "whatever was changed"
    assert text_of(client, "/results") == text_of(plain, "/results") == before, "this change shows nowhere"
    trial = trials_of(served.storage)[-1]
    kit.put(
        served.storage,
        "trial",
        {"question": "Is anything kept that no longer holds?"},
        record_id=trial,
        base_rev=kit.row(served.storage, "trial", trial).rev,
    )
    after = text_of(client, "/results")
    assert after == text_of(plain, "/results") != before


def scope_of(path: str = "/results", *headers: tuple[str, str], method: str = "GET") -> Scope:
    told = [(name.encode(), value.encode()) for name, value in headers]
    return {"type": "http", "method": method, "scheme": "http", "path": path, "query_string": b"", "headers": told, "state": {}}


def test_only_what_rests_on_records_is_kept() -> None:
    assert asked_for(scope_of("/results")) and asked_for(scope_of("/fifty-percent/drawings/a"))
    for path in ("/", "/trials", "/phones", "/shots", "/resultsome", "/kit"):
        assert asked_for(scope_of(path)) is None
    assert asked_for(scope_of(method="HEAD")) is None


def test_what_a_page_may_look_at_tells_one_from_another() -> None:
    plain = asked_for(scope_of())
    assert plain == asked_for(
        scope_of("/results", ("user-agent", "A"), ("sec-fetch-mode", "navigate"), ("cookie", "proofyard_seat=secret; other=1"))
    )
    different = [
        ("hx-request", "true"),
        ("host", "elsewhere"),
        ("accept-encoding", "gzip"),
        ("cookie", "units=imperial"),
        ("cookie", "theme=dark"),
    ]
    different += [("if-none-match", '"a"'), ("range", "bytes=0-1"), ("x-forwarded-proto", "https")]
    assert len({plain, *(asked_for(scope_of("/results", one)) for one in different)}) == 1 + len(different)


class Kitchen:
    """Makes pages of a size, and counts them; `stands` is how the book stands."""

    def __init__(self, **more: int) -> None:
        self.made, self.stands, self.size, self.status, self.during = 0, 1, 10, 200, 0
        self.pages = KeptPages(self.make, lambda: self.stands, **more)

    async def make(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.made += 1
        self.stands += self.during
        await send({"type": "http.response.start", "status": self.status, "headers": []})
        await send({"type": "http.response.body", "body": b"x" * self.size, "more_body": True})
        await send({"type": "http.response.body", "body": str(self.made).encode()})

    def ask(self, path: str = "/results") -> bytes:
        said: list[Message] = []

        async def receive() -> Message:
            raise AssertionError

        async def send(message: Message) -> None:
            said.append(message)

        asyncio.run(self.pages.answer(scope_of(path), receive, send))
        assert said[0]["status"] == self.status
        return b"".join(one.get("body", b"") for one in said).lstrip(b"x")


def test_a_page_holds_only_while_the_book_stands() -> None:
    kitchen = Kitchen()
    assert [kitchen.ask(), kitchen.ask()] == [b"1", b"1"]
    kitchen.stands = 2
    assert [kitchen.ask(), kitchen.ask()] == [b"2", b"2"]
    kitchen.stands = 1
    assert kitchen.ask() == b"3", "nor is one kept of a state that the book has left"


def test_a_page_during_which_somebody_saved_is_not_kept() -> None:
    kitchen = Kitchen()
    kitchen.during = 1
    assert [kitchen.ask(), kitchen.ask()] == [b"1", b"2"]
    kitchen.during = 0
    assert [kitchen.ask(), kitchen.ask()] == [b"3", b"3"]


def test_what_is_no_page_is_not_kept() -> None:
    kitchen = Kitchen()
    kitchen.status = 422
    assert [kitchen.ask(), kitchen.ask()] == [b"1", b"2"]


def test_no_more_is_kept_than_there_is_room_for() -> None:
    kitchen = Kitchen(most_bytes=35)
    assert [kitchen.ask(f"/results/{n}") for n in (1, 2, 3, 1, 3)] == [b"1", b"2", b"3", b"1", b"3"]
    assert kitchen.ask("/results/4") == b"4"
    assert [kitchen.ask(f"/results/{n}") for n in (3, 4, 1)] == [b"3", b"4", b"1"], "what was not asked for longest went"
    assert kitchen.ask("/results/2") == b"5"
    kitchen.size = MOST_OF_A_PAGE
    assert [kitchen.ask("/compare"), kitchen.ask("/compare")] == [b"6", b"7"], "one page is not the room of all"
