"""Work done in a process of its own, which is killed if it takes too long: whoever saves a shot meanwhile must not wait for it."""

import multiprocessing
import os
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from typing import Any

NICE = 10


def said_by(work: Callable[..., None], *given: Any, name: str, most_s: float) -> Any:
    """What `work` sent along the line that it gets first; None if it said nothing in that time or ended by itself.

    work  is sent to another process with what it is given, so all of it must be importable by name
    """
    spawn = multiprocessing.get_context("spawn")  # a fork would take along locks that other threads hold
    ours, theirs = spawn.Pipe(duplex=False)
    process = spawn.Process(target=_behind_all_else, args=(work, theirs, given), name=name, daemon=True)
    process.start()
    theirs.close()
    said = None
    try:
        said = ours.recv() if ours.poll(most_s) else None
    except EOFError:
        pass
    finally:
        ours.close()
        process.kill() if said is None else process.join(5.0)
    return said


def _behind_all_else(work: Callable[..., None], line: Connection, given: tuple[Any, ...]) -> None:
    with suppress(OSError, AttributeError):
        os.nice(NICE)
    work(line, *given)
