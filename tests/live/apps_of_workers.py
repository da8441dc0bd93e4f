"""What a page worker of a test calls to get its app: a file of its own, since each worker reads it when it begins."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Callable
from typing import Any

from proofyard.how_far import SAID_EVERY_S, part_by_part
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.routing import Route


def abreast(make_app: Callable[[], Any]) -> Any:
    """The app of a worker that has done standing back, where a process may: behind a busy suite a page waits for half a minute."""
    with contextlib.suppress(OSError):
        os.setpriority(os.PRIO_PROCESS, 0, 0)
    return make_app()


def dies_at_once() -> object:
    os._exit(3)


class _NoBook:
    def close(self) -> None:
        """None is open."""


def works_part_by_part() -> Starlette:
    """An app with one page, of three parts; worked out in a thread, as pages are."""

    def page(_: Request) -> PlainTextResponse:
        done = []
        for part in part_by_part("abc", "heads"):
            done += [part, *part_by_part("de", "panels")]
            time.sleep(SAID_EVERY_S)
        return PlainTextResponse("".join(done))

    app = Starlette(routes=[Route("/results", page)])
    app.state.storage, app.state.warm_up = _NoBook(), lambda: None
    return app
