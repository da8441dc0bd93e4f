"""What was read out of a book, held for as long as nobody writes to it: a copy that pages are published from, and nothing else.

Every page of a site reads the same shots and speeds; read again for each, the cost of a site grows with the square of its book.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, TypeVar

Read = TypeVar("Read")

_kept: ContextVar[dict[object, Any] | None] = ContextVar("kept", default=None)


@contextmanager
def while_nobody_writes() -> Iterator[None]:
    """Within it, and in what is started from within, a thing is read once. The caller answers for the book being still."""
    before = _kept.set({})
    try:
        yield
    finally:
        _kept.reset(before)


def nobody_writes() -> bool:
    """Whether what is read is held."""
    return _kept.get() is not None


def held(what: object, read: Callable[[], Read]) -> Read:
    """What `read` gives, read anew unless the book is still. `what` tells one thing from another."""
    kept = _kept.get()
    if kept is None:
        return read()
    if what not in kept:
        kept[what] = read()
    found: Read = kept[what]
    return found
