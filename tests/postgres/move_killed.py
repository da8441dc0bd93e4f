"""`proofyard move`, killed just before or just after its n-th step: python -m tests.postgres.move_killed N FROM TO [--data DIR].

A step is whatever leaves something behind: a commit, some rows, a file that takes its name. With N = 0 nothing is killed, and the
number of moments (two a step) is printed last.
"""

from __future__ import annotations

import os
import signal
import sys
from typing import Any

import psycopg
from proofyard.cli import main
from proofyard.moving.ends import File

STEPS: tuple[tuple[Any, str], ...] = (
    (psycopg.Connection, "commit"),
    (File, "begin"),
    (File, "put"),
    (File, "make_whole"),
    (File, "finish"),
    (os, "rename"),  # a path's own `rename` and `replace` go through these
    (os, "replace"),
)


class Moments:
    def __init__(self, killed_at: int) -> None:
        self.passed, self.killed_at = 0, killed_at

    def one(self) -> None:
        self.passed += 1
        if self.passed == self.killed_at:
            os.kill(os.getpid(), signal.SIGKILL)

    def watch(self, owner: Any, name: str) -> None:
        real = getattr(owner, name)

        def step(*given: Any, **named: Any) -> Any:
            self.one()
            done = real(*given, **named)
            self.one()
            return done

        setattr(owner, name, step)


if __name__ == "__main__":
    moments = Moments(int(sys.argv[1]))
    for owner, name in STEPS:
        moments.watch(owner, name)
    ended = main(["move", *sys.argv[2:]])
    print(moments.passed)
    sys.exit(ended)
