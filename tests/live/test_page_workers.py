"""Long pages are made in processes of their own: the same answers, the same rights, and the book stays open when one dies."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi.routing import iter_route_contexts
from proofyard.access.gate import the_gate
from proofyard.access.seats import COOKIE, hash_of, named, new_token
from proofyard.assembled import app_that_reads, create_app, tidy
from proofyard.how_far import HowFar
from proofyard.live import page_worker, page_workers
from proofyard.live.left_pages import HEARS
from proofyard.live.page_workers import LONG, PageWorkers
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.records.ids import new_id
from proofyard.settings import Settings
from proofyard.storage import Storage
from sqlalchemy.exc import OperationalError
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.bench.multiplied import ID
from tests.conftest import ADDRESS, HOST, PORT, House, copied
from tests.faults.a_real_server import ask_book
from tests.live.apps_of_workers import abreast, dies_at_once, works_part_by_part

pytestmark = [pytest.mark.slow, pytest.mark.skipif(os.name == "nt", reason="signals are another thing there")]


@dataclass
class Yard:
    """The demo, served twice: with a worker, and without."""

    storage: Storage
    settings: Settings
    tokens: dict[str, str]
    with_worker: object
    without: object
    trial: str
    ids: dict[str, str]

    @property
    def workers(self) -> PageWorkers:
        found: PageWorkers = self.with_worker.state.page_workers
        return found

    def client(self, app: object, role: str) -> TestClient:
        client = TestClient(app, base_url=ADDRESS, headers={"Origin": ADDRESS}, raise_server_exceptions=False, follow_redirects=False)
        if role in self.tokens:
            client.cookies.set(named(COOKIE, ADDRESS), self.tokens[role], domain=HOST)
        return client


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[Yard]:
    folder = copied(demo_book_file, tmp_path_factory.mktemp("workers") / "demo")
    storage = open_book(folder)
    settings = Settings(folder, HOST, PORT)
    trial, session, panel, arrow, shot, combination, bow = ask_book(
        storage.path,
        "SELECT session.trial_id, session.id, setup.panel_build_id, arrow_build.arrow_id, shot.id, combination.id, shot.bow_build_id "
        "FROM shot "
        "JOIN shooting_end ON shooting_end.id = shooting_end_id JOIN setup ON setup.id = setup_id JOIN session ON session.id = "
        "session_id JOIN arrow_build ON "
        "arrow_build.id = shot.arrow_build_id JOIN combination USING (bow_build_id, arrow_build_id, archer_id) LIMIT 1",
    )[0]
    tokens = {}
    with storage.write() as writing:
        for role, only in (("owner", None), ("archer", None), ("viewer", None), ("guest", str(trial))):
            tokens[role] = new_token()
            devices.add_device(writing, call_name=role, role="viewer" if only else role, session_hash=hash_of(tokens[role]), trial_id=only)
    with_worker, without = create_app(storage, settings, page_workers=1), create_app(storage, settings)
    workers = with_worker.state.page_workers
    workers._make_app = partial(abreast, workers._make_app)
    ids = {"trial": trial, "session": session, "panel": panel, "arrow": arrow, "shot": shot, "combination": combination, "bow": bow}
    yield Yard(storage, settings, tokens, with_worker, without, str(trial), {name: str(one) for name, one in ids.items()})
    workers.close()
    storage.close()


PATHS = [
    "/results?trial={trial}",
    "/fifty-percent?energy=odd&trial={trial}",
    "/compare/wear?trial={trial}",
    "/download/shots.csv",
    "/download/nothing.csv",
    "/download/speeds.csv?form=odd",
    "/combinations/{combination}",
    "/what-if",
    "/bows/{bow}",
    "/panels/{panel}",
    "/panels/nothing",
    "/arrows/{arrow}",
    "/shots/{shot}",
    "/shots?trial={trial}",
    "/shots.csv",
    "/trials/{trial}",
    "/trials/{trial}/plan",
    "/sessions/{session}/day",
    "/",  # last: before any worker is made the server makes it
]


# One of each kind is asked in every run: of many shots, a day, a calculation, a file, an address that is none. The others wait for --long.
ASKED_LATER = {
    "/compare/wear?trial={trial}",
    "/panels/{panel}",
    "/shots.csv",
    "/trials/{trial}/plan",
    "/download/speeds.csv?form=odd",
    "/combinations/{combination}",
    "/bows/{bow}",
    "/arrows/{arrow}",
    "/shots/{shot}",
    "/shots?trial={trial}",
    "/trials/{trial}",
}


@pytest.mark.parametrize("path", [pytest.param(one, marks=[pytest.mark.long] if one in ASKED_LATER else []) for one in PATHS])
def test_a_worker_answers_every_role_as_the_server_itself_would(yard: Yard, path: str) -> None:
    path = path.format(**yard.ids)
    assert LONG.fullmatch(path.partition("?")[0])
    for role in ("owner", "archer", "guest", "stranger"):
        here, there = (yard.client(app, role).get(path) for app in (yard.without, yard.with_worker))
        assert there.status_code == here.status_code, role
        assert there.headers.get("content-type") == here.headers.get("content-type")
        assert there.headers["content-security-policy"] == here.headers["content-security-policy"]
        assert _lasting(there.text, here.text) == _lasting(here.text, there.text), role
    assert yard.workers._all, "no worker was asked, so this compared a page with itself"


def test_no_long_page_asks_for_what_a_worker_does_not_have(yard: Yard) -> None:
    """A worker has no gate. The first page asked for one and was a fault for everybody from its second showing on."""
    long = 0
    for one in iter_route_contexts(yard.without.routes):
        if "GET" in (one.methods or ()) and LONG.fullmatch(re.sub("{[^}]*}", "x", str(one.path))):
            long += 1
            assert the_gate not in _calls(one.route.dependant), one.path
    assert long > len(PATHS)


def _calls(dependant: Any) -> set[object]:
    """What a route calls before it begins, by way of others too."""
    return {dependant.call}.union(*map(_calls, dependant.dependencies))


def test_the_owner_is_told_of_another_address_on_the_first_page_that_a_worker_makes(yard: Yard) -> None:
    gate = yard.with_worker.state.gate
    gate.steady.before, kept = "10.1.2.3:8014", gate.steady.before
    try:
        pages = {role: yard.client(yard.with_worker, role).get("/").text for role in ("owner", "archer")}
    finally:
        gate.steady.before = kept
    assert yard.workers.made
    assert "http://10.1.2.3:8014" in pages["owner"] and "10.1.2.3" not in pages["archer"]


def _lasting(text: str, other: str) -> str:
    """Without ids that are made again for each showing of a form: those that the other showing lacks."""
    return ID.sub(lambda found: found.group() if found.group() in other else "new", text)


def test_what_a_phone_needs_while_it_shoots_and_every_change_stay_with_the_server(yard: Yard) -> None:
    for path in (
        "/range",
        "/api/range",
        "/api/ops",
        "/live",
        "/trials",
        "/trials/new",
        "/sessions/x",
        "/static/app.css",
        "/join",
        "/kit/arrow/new",
        "/phones",
        "/health",
    ):
        assert not LONG.fullmatch(path)
    before = yard.workers._at_work
    asked = []
    yard.workers.answer, kept = lambda *given: asked.append(given), yard.workers.answer  # type: ignore[assignment, method-assign]
    try:
        assert yard.client(yard.with_worker, "archer").post(f"/trials/{yard.trial}").status_code == 405
        assert yard.client(yard.with_worker, "archer").get("/trials").status_code == 200
    finally:
        yard.workers.answer = kept  # type: ignore[method-assign]
    assert asked == [] and yard.workers._at_work == before


def test_a_page_that_takes_long_says_so_and_comes_on_looking_again(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    path, asked = f"/results?trial={yard.trial}", {"Accept": "text/html", "Accept-Encoding": "identity"}
    as_ever = yard.client(yard.with_worker, "archer").get(path, headers={"Accept-Encoding": "identity"})
    left = yard.workers.left
    assert left is not None
    monkeypatch.setattr(left, "_patience_s", 0.0)

    async def look() -> list[httpx.Response]:
        got = []
        async with httpx.AsyncClient(transport=httpx.ASGITransport(yard.with_worker), base_url=ADDRESS, headers=asked) as client:
            got.append(await client.get(path))  # a stranger: never kept
            client.cookies.set(named(COOKIE, ADDRESS), yard.tokens["archer"], domain=HOST)
            until = time.monotonic() + 60
            while len(got) < 2 or (got[-1].status_code == 202 and time.monotonic() < until):
                got.append(await client.get(path))
        return got

    got = asyncio.run(look())
    assert [got[0].status_code, got[1].status_code, got[-1].status_code] == [401, 202, 200]
    assert "Being worked out" in got[1].text and "last ones like it took about" in got[1].text
    assert got[-1].text == as_ever.text


def test_a_save_is_seen_by_the_next_page(yard: Yard) -> None:
    owner = yard.client(yard.with_worker, "owner")
    assert "Bodkin of Tuesday" not in owner.get("/kit").text
    kit.put(yard.storage, "bow", {"name": "Bodkin of Tuesday"})
    assert "Bodkin of Tuesday" in owner.get("/kit").text


def test_a_worker_can_not_write_the_book(yard: Yard) -> None:
    app = app_that_reads(yard.storage.path, yard.settings, demo=False)
    with pytest.raises(RuntimeError, match="only read"), app.state.storage.write():
        pass
    with app.state.storage.read() as session, pytest.raises(OperationalError, match="readonly"):
        session.connection().exec_driver_sql("DELETE FROM shot")
    app.state.storage.close()


def _the_worker(yard: Yard) -> multiprocessing.process.BaseProcess:
    (worker,) = yard.workers._all
    return worker.process


def test_a_worker_that_died_between_two_pages_is_replaced_and_the_page_is_answered(yard: Yard) -> None:
    owner = yard.client(yard.with_worker, "owner")
    assert owner.get("/what-if").status_code == 200
    died = _the_worker(yard)
    assert died.pid
    os.kill(died.pid, signal.SIGKILL)
    died.join(5)
    assert owner.get("/what-if").status_code == 200
    assert _the_worker(yard).pid != died.pid


def test_a_worker_that_dies_over_a_page_is_replaced_and_the_page_is_answered(yard: Yard) -> None:
    owner = yard.client(yard.with_worker, "owner")
    assert owner.get("/what-if").status_code == 200
    died = _the_worker(yard)
    assert died.pid
    os.kill(died.pid, signal.SIGSTOP)  # it takes the question and says nothing
    threading.Timer(0.5, os.kill, (died.pid, signal.SIGKILL)).start()
    began = time.monotonic()
    assert owner.get("/what-if").status_code == 200
    assert time.monotonic() - began >= 0.5
    assert _the_worker(yard).pid != died.pid


def test_a_page_that_every_worker_dies_over_is_a_fault_with_a_code_and_the_book_goes_on(yard: Yard) -> None:
    app = create_app(yard.storage, yard.settings, page_workers=1)
    app.state.page_workers = workers = PageWorkers(dies_at_once, 1)
    next(one for one in app.user_middleware if one.cls.__name__ == "InWorkers").kwargs["workers"] = workers
    owner = yard.client(app, "owner")
    reply = owner.get("/results")
    assert reply.status_code == 500 and "fault" in reply.text
    assert owner.get("/trials").status_code == 200
    workers.close()


def test_how_far_a_worker_is_reaches_whoever_waits_and_is_no_part_of_the_answer() -> None:
    workers = PageWorkers(works_part_by_part, 1)
    heard: list[HowFar] = []
    got: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        await asyncio.Event().wait()
        raise AssertionError

    async def send(message: dict[str, Any]) -> None:
        got.append(message)

    asked = {"type": "http", "method": "GET", "path": "/results", "raw_path": b"/results", "query_string": b"", "root_path": ""}
    scope = {**asked, "headers": [], "state": {}}
    try:
        asyncio.run(workers.answer({**scope, HEARS: heard.append}, receive, send))
        assert heard == [HowFar("heads", done, 3) for done in range(3)]
        assert got[0]["status"] == 200 and b"".join(one.get("body", b"") for one in got) == b"adebdecde"
        asyncio.run(workers.answer(scope, receive, send))
        assert len(heard) == 3 and sum(one["type"] == "http.response.start" for one in got) == 2
    finally:
        workers.close()


def test_a_worker_that_has_grown_ends_after_its_page(yard: Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    for mine in ("_stand_back", "_collect_seldom"):  # of this whole process
        monkeypatch.setattr(page_worker, mine, lambda: None)
    monkeypatch.setattr(page_worker, "GROWN_BYTES", 0)
    ours, theirs = multiprocessing.Pipe()
    app = app_that_reads(yard.storage.path, yard.settings, demo=False)
    thread = threading.Thread(target=page_worker.serve_pages, args=(theirs, lambda: app))
    thread.start()
    ours.send(
        {
            "type": "http",
            "method": "GET",
            "path": "/what-if",
            "raw_path": b"/what-if",
            "query_string": b"",
            "headers": [],
            "root_path": "",
            "scheme": "http",
            "http_version": "1.1",
        }
    )
    assert ours.recv()["status"] == 401, "a request that nobody vouched for is a stranger's"
    while not isinstance(ours.recv(), float):
        pass
    thread.join(10)
    assert not thread.is_alive()


def test_the_end_leaves_no_worker_and_nothing_beside_the_book(house: House) -> None:
    app = create_app(house.storage, house.settings, page_workers=1)
    with TestClient(app, base_url=ADDRESS, headers={"Origin": ADDRESS}) as client:
        client.cookies.set(named(COOKIE, ADDRESS), house.tokens["owner"], domain=HOST)
        assert client.get("/results").status_code == 200
        workers = list(app.state.page_workers._all)
        assert len(workers) == 1 and workers[0].process.is_alive()
    assert not workers[0].process.is_alive()
    assert [path.name for path in Path(house.settings.folder).iterdir() if "db" in path.name] == ["proofyard.db"]


def test_the_journal_is_emptied_once_nobody_reads_and_grows_no_further_while_somebody_does(book: Storage) -> None:
    with book.read() as session:
        session.connection().exec_driver_sql("SELECT count(*) FROM archer").fetchone()
        for number in range(400):
            kit.put(book, "bow", {"name": f"Bow {number}", "note": new_id() * 40})
        grown = book.journal_bytes()
        assert grown > 1_000_000 and book.tidy() is False
        kit.archer(book, "Wren")
    assert tidy(book, None) and book.journal_bytes() == 0
    kit.archer(book, "Tallow")
    book.close()
    assert ask_book(book.path, "SELECT count(*) FROM archer") == [(2,)]


def test_a_worker_gets_ready_while_somebody_looks_at_a_page_that_leads_to_long_ones(yard: Yard) -> None:
    workers = PageWorkers(dies_at_once, 1)
    workers.close()  # closed: none is begun, and asking does no harm
    workers.make_ready(1)
    app = create_app(yard.storage, yard.settings, page_workers=2)
    owner = yard.client(app, "owner")
    workers = app.state.page_workers
    assert owner.get("/range").status_code == 200 and not workers._all, "a phone that shoots needs none"
    assert owner.get("/trials").status_code == 200
    until = time.monotonic() + 10
    while not workers._idle and time.monotonic() < until:
        time.sleep(0.01)
    (ready,) = workers._idle
    assert owner.get("/what-if").status_code == 200
    assert ready in workers._all and ready.process.is_alive(), "the one that was ready was asked"
    while len(workers._all) < 2 and time.monotonic() < until:
        time.sleep(0.01)
    assert len(workers._all) == 2
    workers.close()
    assert not ready.process.is_alive()


class _AtHand:
    """As much of a worker as taking one asks for."""

    def __init__(self, has_worked: bool) -> None:
        self.has_worked, self.process = has_worked, threading.current_thread()


@pytest.mark.parametrize(("has_worked", "taken"), [(False, True), (True, False)])
def test_a_page_that_a_worker_died_over_takes_the_one_made_ready_meanwhile(
    monkeypatch: pytest.MonkeyPatch, has_worked: bool, taken: bool
) -> None:
    """Another beside it would be one more than there is room for. One that has made pages may be dying too: then another is made."""
    ready: Any = _AtHand(has_worked)
    monkeypatch.setattr(page_workers, "_Worker", lambda make_app: _AtHand(False))
    workers = PageWorkers(lambda: None, 1)
    workers._idle.append(ready)
    workers._all.add(ready)
    assert (workers._one(fresh=True) is ready) is taken
    assert len(workers._all) == (1 if taken else 2)
    workers._threads.close()


LARGE = """
import subprocess, sys
held = b"x" * 600_000_000
asks = "from proofyard.live import page_worker; print(page_worker._most_taken())"
print(subprocess.run([sys.executable, "-c", asks], capture_output=True, text=True, check=True).stdout)
"""


def test_a_worker_of_a_large_server_has_not_grown_when_it_begins() -> None:
    """Linux hands on to a process what the one held that began it: each worker of a server of 700 MB would end after one page."""
    taken = subprocess.run([sys.executable, "-c", LARGE], capture_output=True, text=True, check=True).stdout
    assert 1_000_000 < int(taken) < 500_000_000
