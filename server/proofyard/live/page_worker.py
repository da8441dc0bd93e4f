"""One worker: what runs in a process of its own and makes pages that take long (server/proofyard/live/page_workers.py)."""

import asyncio
import contextlib
import gc
import os
import re
import signal
import sys
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from starlette.types import Message

from proofyard.how_far import HowFar, heard_by
from proofyard.kept_fits import FitsAsked
from proofyard.live.fits import told_to

NICE = 10  # at 5 the threads that save waited for a page now and then: p95 of saves 1.4 to 2.0 times that without readers
IDLE_S = 300.0
OWN_STATUS = Path("/proc/self/status")
GROWN_BYTES = 700_000_000  # a worker that ever took so much ends after its page, and gives it back
MOST_BYTES = 3_000_000_000  # past this the page fails and not the laptop


def serve_pages(line: Connection, make_app: Callable[[], Any]) -> None:
    """Answer what comes down the line, one request at a time, until it ends, nothing comes for long, or this has grown."""
    _stand_back()
    app = make_app()
    if not line.poll(0):  # nobody waits yet
        app.state.warm_up()
    _collect_seldom()
    with asyncio.Runner() as runner, contextlib.suppress(EOFError, OSError):
        while line.poll(IDLE_S):
            scope = line.recv()
            began = time.process_time()
            runner.run(_answer(app, scope, line))
            took = time.process_time() - began
            grown = _most_taken() > GROWN_BYTES
            if grown:
                app.state.storage.close()
            line.send(took)  # all is said; how much work it was tells which page to take first
            if grown:
                break
    app.state.storage.close()


async def _answer(app: Any, scope: dict[str, Any], line: Connection) -> None:
    """The app's own messages, as they come. Its fault page is one of them, and the log has the code."""

    asked = False
    one_at_a_time = threading.Lock()  # how far it is, is said by the thread that works

    def say(what: Message | HowFar | FitsAsked) -> None:
        with one_at_a_time:
            line.send(what)

    async def receive() -> Message:
        """The question, once. A streamed answer then listens for whoever asked to leave: told anything else, and at once,
        it would listen in a ring for ever and never say a word."""
        nonlocal asked
        if asked:
            await asyncio.Event().wait()
        asked = True
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Message) -> None:
        say(message)

    ended = False

    async def noted(message: Message) -> None:
        nonlocal ended
        await send(message)
        ended = message["type"] == "http.response.body" and not message.get("more_body", False)

    told_to.set(say)
    with contextlib.suppress(Exception), heard_by(say):
        await app(scope, receive, noted)
    if not ended:
        os._exit(1)  # no answer, or half of one: the other side sees a worker that died


def _stand_back() -> None:
    """Behind everything else, and the first to go if memory runs out."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C goes to all; the server says when to end
    if os.name == "nt":
        return
    with contextlib.suppress(OSError):
        os.nice(NICE)
    with contextlib.suppress(OSError):
        Path("/proc/self/oom_score_adj").write_text("500", encoding="ascii")
    if sys.platform == "linux":
        import resource

        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_DATA, (MOST_BYTES, MOST_BYTES))


def _collect_seldom() -> None:
    """Look for rings of dead objects less often: a page makes many objects that all live till its end, and going through
    them again and again took a tenth to a quarter of it. What was loaded till now stays and need not be gone through."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


def _most_taken() -> int:
    """The most memory that this process ever held, in bytes; 0 where that can't be told."""
    if sys.platform == "win32":
        return 0
    import resource

    if sys.platform == "darwin":
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # Linux counts in `ru_maxrss` what the process held that began this one: beside a server of 700 MB each worker ended after one page.
    found = re.search(r"^VmHWM:\s+(\d+) kB", OWN_STATUS.read_text(), re.MULTILINE) if OWN_STATUS.exists() else None
    return 1024 * (int(found[1]) if found else resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
