"""Pages that take long can be left: the work goes on, is found again by whoever asked, and by nobody else."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Awaitable, Callable
from typing import Any

import pytest
from proofyard.access.seats import STRANGER, Seat
from proofyard.how_far import HowFar
from proofyard.live import left_pages
from proofyard.live.left_pages import HEARS, MOST_KEPT_EACH, BeingMade, LeftPages, opened_by_a_person
from proofyard.pages.frame.being_made import still_being_made
from starlette.types import Message, Receive, Scope, Send

from tests.conftest import House


def scope_of(path: str = "/results", *, cookie: str = "a", accept: str = "text/html,*/*", **more: str) -> Scope:
    headers = {"cookie": cookie, "accept": accept, **{name.replace("_", "-"): value for name, value in more.items()}}
    found = [(name.encode(), value.encode()) for name, value in headers.items()]
    return {"type": "http", "method": "GET", "path": path, "query_string": b"", "headers": found, "state": {"seat": Seat("archer", "D")}}


class Kitchen:
    """Makes pages when it is told to, and counts how often each was begun."""

    def __init__(self) -> None:
        self.begun: list[str] = []
        self.given_up: list[str] = []
        self.ready = asyncio.Event()
        self.trouble: Exception | None = None
        self.says: HowFar | None = None
        self.said: list[HowFar | None] = []
        self.pages = LeftPages(self.make, lambda scope: 40.0, self.waiting, patience_s=0.02)

    async def make(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.begun.append(scope["path"])
        if self.says:
            scope[HEARS](self.says)
        done, heard = asyncio.ensure_future(self.ready.wait()), asyncio.ensure_future(receive())
        await asyncio.wait({done, heard}, return_when=asyncio.FIRST_COMPLETED)
        if heard.done():
            done.cancel()
            self.given_up.append(scope["path"])
            return
        heard.cancel()
        if self.trouble:
            raise self.trouble
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b"the page"})

    async def waiting(self, scope: Scope, receive: Receive, send: Send) -> None:
        said: BeingMade = scope["state"]["being_made"]
        assert said.so_far_s > 0 and said.likely_s == 40.0
        self.said.append(said.parts)
        await send({"type": "http.response.start", "status": 202, "headers": []})
        await send({"type": "http.response.body", "body": b"being worked out"})

    async def asked(self, scope: Scope, *, leaves: bool = False) -> list[Message]:
        got: list[Message] = []

        async def receive() -> Message:
            if not leaves:
                await asyncio.Event().wait()
            return {"type": "http.disconnect"}

        async def send(message: Message) -> None:
            got.append(message)

        await self.pages.answer(scope, receive, send)
        return got


def run(what: Callable[[Kitchen], Awaitable[None]]) -> None:
    async def within() -> None:
        kitchen = Kitchen()
        try:
            await asyncio.wait_for(what(kitchen), 20)
        finally:
            await kitchen.pages.close()

    asyncio.run(within())


@pytest.fixture(autouse=True)
def looks_again_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(left_pages, "LOOKED_AGAIN_S", 0.02)


def status(got: list[Message]) -> int:
    found: int = got[0]["status"]
    return found


def test_what_comes_soon_comes_as_it_is() -> None:
    async def soon(kitchen: Kitchen) -> None:
        kitchen.ready.set()
        got = await kitchen.asked(scope_of())
        assert status(got) == 200 and got[1]["body"] == b"the page"

    run(soon)


def test_what_takes_long_is_said_to_and_is_there_on_looking_again_made_once() -> None:
    async def long(kitchen: Kitchen) -> None:
        assert [status(await kitchen.asked(scope_of())) for _ in range(3)] == [202, 202, 202]
        kitchen.ready.set()
        assert status(await kitchen.asked(scope_of())) == 200
        assert kitchen.begun == ["/results"]
        await kitchen.asked(scope_of())
        assert kitchen.begun == ["/results"] * 2, "who asks again then wants it as the book stands now"

    run(long)


def test_what_is_done_of_the_work_is_told_to_whoever_waits() -> None:
    async def told(kitchen: Kitchen) -> None:
        await kitchen.asked(scope_of())
        kitchen.says = HowFar("heads", 2, 5)
        for cookie in ("b", "b"):
            await kitchen.asked(scope_of(cookie=cookie))
        await kitchen.asked(scope_of())
        assert kitchen.said == [None, kitchen.says, kitchen.says, None], "each hears of its own page"

    run(told)


def test_another_browser_gets_a_page_of_its_own() -> None:
    async def two(kitchen: Kitchen) -> None:
        await kitchen.asked(scope_of(cookie="seat of one"))
        await kitchen.asked(scope_of(cookie="seat of another"))
        assert len(kitchen.begun) == 2

    run(two)


def test_who_leaves_before_anything_was_said_leaves_no_work_behind() -> None:
    async def left(kitchen: Kitchen) -> None:
        assert await kitchen.asked(scope_of(), leaves=True) == []
        await asyncio.sleep(0)
        await asyncio.sleep(0.01)
        assert kitchen.given_up == ["/results"]

    run(left)


def test_who_leaves_the_page_of_waiting_finds_the_page_later(monkeypatch: pytest.MonkeyPatch) -> None:
    async def left(kitchen: Kitchen) -> None:
        await kitchen.asked(scope_of())
        await kitchen.asked(scope_of(), leaves=True)
        kitchen.ready.set()
        assert status(await kitchen.asked(scope_of())) == 200 and kitchen.begun == ["/results"] and not kitchen.given_up

    run(left)


def test_what_nobody_looks_for_any_more_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    async def forgotten(kitchen: Kitchen) -> None:
        await kitchen.asked(scope_of("/results"))
        monkeypatch.setattr(left_pages, "KEPT_S", 0.0)
        await asyncio.sleep(0.01)
        await kitchen.asked(scope_of("/compare"))
        await asyncio.sleep(0.01)
        assert kitchen.given_up == ["/results"]

    run(forgotten)


def test_a_fault_is_told_to_whoever_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    async def faulty(kitchen: Kitchen) -> None:
        await kitchen.asked(scope_of())
        kitchen.trouble = OSError("no worker")
        kitchen.ready.set()
        with pytest.raises(OSError, match="no worker"):
            await kitchen.asked(scope_of())
        kitchen.trouble = None
        assert status(await kitchen.asked(scope_of())) == 200

    run(faulty)


def test_one_browser_keeps_only_so_many(monkeypatch: pytest.MonkeyPatch) -> None:
    async def many(kitchen: Kitchen) -> None:
        for number in range(MOST_KEPT_EACH):
            assert status(await kitchen.asked(scope_of(f"/shots/{number}"))) == 202
        one_more = asyncio.ensure_future(kitchen.asked(scope_of("/one-more")))
        await asyncio.sleep(0.1)
        assert not one_more.done(), "it waits as any page did before"
        assert status(await kitchen.asked(scope_of("/another", cookie="b"))) == 202
        kitchen.ready.set()
        assert status(await one_more) == 200

    run(many)


@pytest.mark.parametrize(
    ("scope", "person"),
    [
        (scope_of(), True),
        (scope_of() | {"state": {"seat": STRANGER}}, False),
        (scope_of(accept="*/*"), False),
        (scope_of(hx_request="true"), False),
        (scope_of("/download/shots.csv"), False),
        (scope_of("/trials/T/report.html"), False),
        (scope_of("/api/v1/shots"), False),
    ],
    ids=["a page", "a stranger", "a program", "a script", "a file", "a report to keep", "the programs' interface"],
)
def test_only_a_page_that_a_person_opens_is_kept(scope: dict[str, Any], person: bool) -> None:
    assert opened_by_a_person(scope) is person


def test_the_page_of_waiting_says_how_far_and_looks_again_without_a_script(house: House) -> None:
    got: list[Message] = []

    async def send(message: Message) -> None:
        got.append(message)

    async def receive() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    scope = scope_of("/results") | {"query_string": b"trial=T", "server": ("localhost", 80), "scheme": "http", "app": house.app}
    asyncio.run(still_being_made({**scope, "state": {"being_made": BeingMade(12.4, 41.0, HowFar("books", 2, 1_200))}}, receive, send))
    page = got[1]["body"].decode()
    assert status(got) == 202 and '<meta http-equiv="refresh" content="5">' in page
    assert "at work for 12\xa0s" in page and "about 41\xa0s" in page and 'href="/results?trial=T"' in page
    assert "2 of 1,200 books are read." in page
    assert re.search(r'<progress max="41.0" value="12.4"', page)
    assert (b"cache-control", b"no-store") in got[0]["headers"]
