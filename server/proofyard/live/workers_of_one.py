"""One group's part of the processes that make long pages, on a server that has several groups."""

import asyncio
import contextlib
import time
from collections.abc import Iterator
from typing import Any

from starlette.types import Receive, Scope, Send

from proofyard.live.left_pages import LeftPages
from proofyard.live.page_workers import GROUP, HELD_S, PageWorkers

LOOKS_AGAIN_S = 0.02


class WorkersOfOne:
    """Like the workers of a server with one book: the app of a group can't tell the difference.

    place  where the group's book lies, with its `name`; it is sent to another process, so it must be a plain record
    """

    def __init__(self, workers: PageWorkers, place: Any) -> None:
        self._workers, self.place = workers, place
        self._at_work, self._held = 0, 0
        self.left: LeftPages | None = None

    @property
    def made(self) -> int:
        return self._workers.made

    @property
    def busy(self) -> int:
        """How many make a page of this group now, or are about to."""
        return self._at_work

    def make_ready(self, wanted: int) -> None:
        self._workers.make_ready(wanted)

    async def answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        """As `PageWorkers.answer`."""
        until = time.monotonic() + HELD_S
        while self._held and time.monotonic() < until:
            await asyncio.sleep(LOOKS_AGAIN_S)
        self._at_work += 1
        try:
            await self._workers.answer({**scope, GROUP: self.place}, receive, send)
        finally:
            self._at_work -= 1

    def likely_s(self, scope: Scope) -> float | None:
        """As `PageWorkers.likely_s`; such a page of another group counts too."""
        return self._workers.likely_s(scope)

    async def forget_left_pages(self) -> None:
        """Nobody comes back for a page of this group: its book is closed."""
        if self.left:
            await self.left.close()

    @contextlib.contextmanager
    def held(self) -> Iterator[bool]:
        """No page of this group is begun meanwhile; pages of others are."""
        self._held += 1
        try:
            until = time.monotonic() + HELD_S
            while self.busy and time.monotonic() < until:
                time.sleep(LOOKS_AGAIN_S)
            yield self.busy == 0
        finally:
            self._held -= 1

    def close(self) -> None:
        """Nothing: the processes are the server's, and none keeps a group's book open between two pages."""
