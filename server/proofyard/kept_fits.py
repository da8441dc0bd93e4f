"""Work whose outcome rests on numbers alone is asked for by a name made of those numbers, and done only where nobody kept it.

What works (`server/proofyard/views/kept_fits.py`) needs not know who keeps; without a keeper it works each time.
"""

import contextlib
from collections.abc import Callable, Iterator
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import TypeVar

T = TypeVar("T")


@dataclass
class FitsAsked:
    """What one page asked for: `found` was worked out, by its name and as text; `asked` was kept already."""

    found: dict[str, str] = field(default_factory=dict)
    asked: set[str] = field(default_factory=set)

    def __bool__(self) -> bool:
        return bool(self.found or self.asked)


@dataclass(frozen=True)
class _Keeper:
    kept: Callable[[str], str | None]
    fits: FitsAsked


_keeper: ContextVar[_Keeper | None] = ContextVar("keeper_of_fits", default=None)


def kept_or_done(name: Callable[[], str], work: Callable[[], T], *, said: Callable[[T], str], read: Callable[[str], T]) -> T:
    """What is kept under this name, or what `work` gives.

    said, read  what `work` gives as text, and back: the same to the last digit

    >>> with kept_by({"fit of 1 2 3": "2.0"}.get) as fits:
    ...     kept_or_done(lambda: "fit of 1 2 3", lambda: 1 / 0, said=repr, read=float)
    ...     kept_or_done(lambda: "fit of 4 5 6", lambda: 5.0, said=repr, read=float)
    2.0
    5.0
    >>> fits.found, sorted(fits.asked)
    ({'fit of 4 5 6': '5.0'}, ['fit of 1 2 3'])
    """
    keeper = _keeper.get()
    if keeper is None:
        return work()
    key = name()
    kept = keeper.fits.found.get(key) or keeper.kept(key)
    if kept is not None:
        keeper.fits.asked.add(key)
        return read(kept)
    done = work()
    keeper.fits.found[key] = said(done)
    return done


@contextlib.contextmanager
def kept_by(kept: Callable[[str], str | None]) -> Iterator[FitsAsked]:
    """Within it, fits are asked of `kept`; gives what was asked for and what was worked out, in whatever thread."""
    fits = FitsAsked()
    was = _keeper.set(_Keeper(kept, fits))
    try:
        yield fits
    finally:
        _keeper.reset(was)
