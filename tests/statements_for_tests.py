"""What a page asks of the book, counted: the readers' statements alone.

The server writes down now and then which phone was heard, and copies the book, on threads of its own; neither is the page's.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from proofyard.storage import Storage
from sqlalchemy import event

NOT_A_PAGES = ("copies", "warm-up")


@contextmanager
def statements(book: Storage) -> Iterator[list[str]]:
    """The statements that readers send meanwhile; opening and closing a snapshot is not one."""
    said: list[str] = []

    def hear(_c: object, _cursor: object, statement: str, *_: object) -> None:
        if not statement.startswith(("BEGIN", "PRAGMA")) and threading.current_thread().name not in NOT_A_PAGES:
            said.append(statement)

    event.listen(book._readers, "before_cursor_execute", hear)
    try:
        yield said
    finally:
        event.remove(book._readers, "before_cursor_execute", hear)
