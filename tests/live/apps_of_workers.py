"""What a page worker of a test calls to get its app: a file of its own, since each worker reads it when it begins."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from typing import Any


def abreast(make_app: Callable[[], Any]) -> Any:
    """The app of a worker that has done standing back, where a process may: behind a busy suite a page waits for half a minute."""
    with contextlib.suppress(OSError):
        os.setpriority(os.PRIO_PROCESS, 0, 0)
    return make_app()


def dies_at_once() -> object:
    os._exit(3)
