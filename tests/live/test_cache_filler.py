"""What is kept of shots is filled by a worker that works out and a server that writes, and nothing is written once the book is closed."""

from __future__ import annotations

import asyncio
from functools import partial
from typing import Any

import pytest
from proofyard.assembled import app_that_reads
from proofyard.live.cache_filler import BATCH, PARTS, CacheFiller, Stopped
from proofyard.live.page_workers import PageWorkers
from proofyard.settings import Settings
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage
from sqlalchemy import text
from starlette.types import Receive, Scope, Send

from tests import kit_for_tests as kit
from tests.conftest import HOST, PORT, House
from tests.live.apps_of_workers import abreast
from tests.shots.test_cache import kept_and_right, plainly, told


class Here:
    """The app of a worker, in this process."""

    made = 1

    def __init__(self, book: Storage) -> None:
        self.app = app_that_reads(book.path, Settings(book.path.parent, HOST, PORT), demo=True)

    async def answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        await self.app({**scope, "app": self.app}, receive, send)


def shots_in(book: Storage) -> int:
    with book.read() as session:
        return int(session.execute(text("SELECT count(*) FROM shot")).scalar_one())


def test_all_shots_are_kept_and_then_only_what_a_change_touched(demo_book: Storage) -> None:
    here: Any = Here(demo_book)
    filler = CacheFiller(demo_book, here)
    heard: list[str] = []
    demo_book.after_commit(lambda: heard.append("rang"))
    assert asyncio.run(filler.look()) == shots_in(demo_book)
    assert not heard, "nobody is told: nothing that anybody said has changed"
    assert asyncio.run(filler.look()) == 0
    with demo_book.read() as session:
        shot = session.execute(text("SELECT id, rev FROM shot_reading WHERE hit = 'on_panel' ORDER BY id")).first()
    assert shot is not None
    kit.put(demo_book, "shot_reading", {"x": "5 mm"}, record_id=shot[0], base_rev=shot[1])
    assert 0 < asyncio.run(filler.look()) <= 60
    with demo_book.read() as session:
        assert kept_and_right(session) == shots_in(demo_book)
        assert told(load_loosed(session)) == told(plainly(session))
    here.app.state.storage.close()


def test_a_server_that_is_told_to_stop_writes_no_more(demo_book: Storage) -> None:
    here: Any = Here(demo_book)
    filler = CacheFiller(demo_book, here)

    async def closed_at_once() -> None:
        filler.begin()
        await filler.close()
        with pytest.raises(Stopped):
            await filler.look()

    asyncio.run(closed_at_once())
    with demo_book.read() as session:
        assert session.execute(text("SELECT count(*) FROM cache_shot")).scalar_one() <= 100, "the commit that was being made"
    here.app.state.storage.close()


def test_no_address_of_the_server_leads_to_what_a_worker_is_asked(demo_house: House) -> None:
    for path in (PARTS, f"{BATCH}?build=1"):
        assert demo_house.client("owner").get(path).status_code == 404


@pytest.mark.slow
def test_a_real_worker_fills_it_while_somebody_saves(demo_book: Storage) -> None:
    make_app = partial(abreast, partial(app_that_reads, demo_book.path, Settings(demo_book.path.parent, HOST, PORT), demo=True))
    workers = PageWorkers(make_app, 1)
    filler = CacheFiller(demo_book, workers)
    yard = kit.yard(demo_book)

    async def both() -> None:
        looking = asyncio.create_task(filler.look())
        for _ in range(8):
            await asyncio.to_thread(kit.read_shot, demo_book, yard)
            await asyncio.sleep(0.05)
        await looking
        await filler.look()

    try:
        asyncio.run(both())
    finally:
        workers.close()
    with demo_book.read() as session:
        assert kept_and_right(session) == shots_in(demo_book)
        assert told(load_loosed(session)) == told(plainly(session))
