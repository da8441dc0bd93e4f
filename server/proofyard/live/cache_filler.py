"""What each shot was is kept up to date (server/proofyard/shots/cache.py) while somebody looks at pages.

A page worker works it out, some panel builds at a time. This process, which alone writes, stores it in small commits and rests after each
several times as long as it took. So who saves hardly waits, and a book that nobody looks at is left alone.
"""

import asyncio
import contextlib
import json
import logging
import threading
import time
from collections.abc import Iterable
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request, Response
from starlette.concurrency import run_in_threadpool
from starlette.types import Message

from proofyard.live.fits import FitsToKeep
from proofyard.live.page_workers import PageWorkers, WorkerLost
from proofyard.live.workers_of_one import WorkersOfOne
from proofyard.records.notebook import latest_seq
from proofyard.shots.cache import batch_of, in_parts, of_json, store
from proofyard.storage import Storage, StorageTrouble

log = logging.getLogger("proofyard")

PARTS, BATCH = "/kept/parts", "/kept/batch"
LOOKS_EVERY_S = 5.0
RESTS = 4.0  # times as long as a commit took
PARTS_REST = 20.0  # times as long as it took to find what is wanting: that looks at every shot
LEAST_REST_S = 0.01

# Of a worker's app alone: no seat stands behind these, and no address of the server leads here.
router = APIRouter()


@router.get(PARTS)
def parts(request: Request) -> Response:
    """Panel builds that have a shot wanting, in parts."""
    book: Storage = request.app.state.storage
    with book.read() as session:
        return Response(json.dumps(in_parts(session)), media_type="application/json")


@router.get(BATCH)
def batch(request: Request, build: Annotated[list[str], Query()]) -> Response:
    """What is wanting of these, worked out."""
    book: Storage = request.app.state.storage
    with book.read() as session:
        return Response(batch_of(session, build).as_json(), media_type="application/json")


class Stopped(Exception):
    """The book is about to be closed."""


class CacheFiller:
    """Looks now and then whether something is wanting."""

    def __init__(self, storage: Storage, workers: PageWorkers | WorkersOfOne, fits: FitsToKeep | None = None) -> None:
        self._storage, self._workers, self._fits = storage, workers, fits or FitsToKeep()
        self._stopping = threading.Event()
        self._seen: int | None = None  # up to which change nothing is wanting
        self._task: asyncio.Task[None] | None = None

    def begin(self) -> None:
        self._task = asyncio.create_task(self._for_ever())

    async def close(self) -> None:
        """Nothing is written after this."""
        self._stopping.set()
        if self._task is not None:
            self._task.cancel()
            await asyncio.wait([self._task])

    async def _for_ever(self) -> None:
        rest = LOOKS_EVERY_S
        while True:
            await asyncio.sleep(rest)
            began = time.monotonic()
            if self._workers.made:  # else nobody looks, and nobody is to wait for a process
                with contextlib.suppress(StorageTrouble, WorkerLost, OSError, Stopped):  # another time
                    await self.keep_fits()
                    await self.look()
            rest = max(LOOKS_EVERY_S, min(PARTS_REST * (time.monotonic() - began), 12 * LOOKS_EVERY_S))

    async def look(self) -> int:
        """Keep what is wanting now; how many shots that was."""
        latest = await run_in_threadpool(self._latest)
        if latest == self._seen:
            return 0
        done = 0
        for builds in json.loads(await self._ask(PARTS)):
            found = of_json(await self._ask(BATCH, builds))
            done += len(found.rows)
            await run_in_threadpool(store, self._storage, found, pause=self._pause)
        self._seen = latest
        return done

    async def keep_fits(self) -> int:
        """Store the fits that pages had to work out; how many those were."""
        return await run_in_threadpool(self._fits.store, self._storage, pause=self._pause)

    def _latest(self) -> int:
        with self._storage.read() as session:
            return latest_seq(session)

    def _pause(self, took_s: float) -> None:
        if self._stopping.wait(max(RESTS * took_s, LEAST_REST_S)):
            raise Stopped

    async def _ask(self, path: str, builds: Iterable[str] = ()) -> str:
        query = urlencode([("build", build) for build in builds]).encode()
        said: list[Message] = []

        async def receive() -> Message:
            await asyncio.Event().wait()
            raise AssertionError("nothing more is asked")

        async def send(message: Message) -> None:
            said.append(message)

        await self._workers.answer(_scope(path, query), receive, send)
        if said[0]["status"] != 200:
            log.warning("what is kept of shots could not be brought up to date: a worker answered %s", said[0]["status"])
            raise Stopped
        return b"".join(one.get("body", b"") for one in said[1:]).decode()


def _scope(path: str, query: bytes) -> dict[str, Any]:
    return {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": query,
        "root_path": "",
        "headers": [],
        "client": None,
        "server": None,
        "state": {},
    }
