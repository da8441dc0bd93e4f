"""How far long work is, for whoever waits for it: so many of so many parts, said as each is begun.

What works says it in passing and needs not know whether anybody listens; without a listener it costs next to nothing.
"""

import contextlib
import time
from collections.abc import Callable, Iterator, Sequence
from contextvars import ContextVar
from dataclasses import dataclass
from typing import TypeVar

T = TypeVar("T")

SAID_EVERY_S = 0.2


@dataclass(frozen=True)
class HowFar:
    """`what`: which parts, by a name that has words (wording/being_made.py); `done` of `whole` of them."""

    what: str
    done: int
    whole: int


@dataclass
class _Listener:
    tell: Callable[[HowFar], None]
    said: float = 0.0
    deep: int = 0  # parts within parts are not told: they would only make the number jump


_listening: ContextVar[_Listener | None] = ContextVar("how_far", default=None)


def part_by_part(parts: Sequence[T], what: str) -> Iterator[T]:
    """The parts one after the other; whoever listens hears how many are done.

    >>> heard = []
    >>> with heard_by(heard.append):
    ...     list(part_by_part("ab", "panel types"))
    ['a', 'b']
    >>> heard[0]
    HowFar(what='panel types', done=0, whole=2)
    """
    listener = _listening.get()
    if listener is None or listener.deep:
        yield from parts
        return
    listener.deep += 1
    try:
        for done, part in enumerate(parts):
            now = time.monotonic()
            if not done or now - listener.said >= SAID_EVERY_S:
                listener.said = now
                listener.tell(HowFar(what, done, len(parts)))
            yield part
    finally:
        listener.deep -= 1


@contextlib.contextmanager
def heard_by(tell: Callable[[HowFar], None]) -> Iterator[None]:
    """Tell this how far the work within is, from whatever thread works for it."""
    was = _listening.set(_Listener(tell))
    try:
        yield
    finally:
        _listening.reset(was)
