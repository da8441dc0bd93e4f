"""Days and times as people say them: "24 October 2026", "14:21 on 24 October 2026", in the laptop's own time."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime

from proofyard.records.devices import now_ms

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December")


_PINNED: ContextVar[int | None] = ContextVar("pinned", default=None)


@contextmanager
def as_if_at(at_ms: int) -> Iterator[None]:
    """Within it every "today" is that moment's: what is published again of the same state of the book must say the same."""
    before = _PINNED.set(at_ms)
    try:
        yield
    finally:
        _PINNED.reset(before)


def _now_ms() -> int:
    pinned = _PINNED.get()
    return now_ms() if pinned is None else pinned


def today() -> str:
    """The laptop's day, as a form takes it."""
    return date.fromtimestamp(_now_ms() / 1000).isoformat()


def day_words(day: str) -> str:
    """
    >>> day_words("2026-10-24")
    '24 October 2026'
    """
    try:
        found = date.fromisoformat(day)
    except ValueError:
        return day
    return f"{found.day} {MONTHS[found.month - 1]} {found.year}"


def day_at(at_ms: int) -> str:
    """The laptop's day of a moment, as a record keeps one: "2026-10-24"."""
    return datetime.fromtimestamp(at_ms / 1000).date().isoformat()


def clock_words(at_ms: int) -> str:
    return datetime.fromtimestamp(at_ms / 1000).strftime("%H:%M")


def exact_clock_words(at_ms: int) -> str:
    """To the tenth, as a sync card shows it: "14:03:28.4"."""
    moment = datetime.fromtimestamp(at_ms / 1000)
    return f"{moment:%H:%M:%S}.{moment.microsecond // 100_000}"


def moment_words(at_ms: int) -> str:
    moment = datetime.fromtimestamp(at_ms / 1000)
    return f"{moment:%H:%M} on {day_words(moment.date().isoformat())}"


def short_day_words(at_ms: int, *, now: int | None = None) -> str:
    """The day: "24 October", with the year when it isn't this year's."""
    then = datetime.fromtimestamp(at_ms / 1000)
    this_year = datetime.fromtimestamp((_now_ms() if now is None else now) / 1000).year
    return f"{then.day} {MONTHS[then.month - 1]}" + ("" if then.year == this_year else f" {then.year}")


def ago_words(at_ms: int, *, now: int | None = None) -> str:
    """How long ago: "2 seconds ago", "5 minutes ago", then the day."""
    seconds = max(0, (_now_ms() if now is None else now) - at_ms) // 1000
    for count, words in ((seconds, "second"), (seconds // 60, "minute"), (seconds // 3600, "hour")):
        if count < (24 if words == "hour" else 60):
            return f"{count} {words}{'' if count == 1 else 's'} ago"
    return f"on {short_day_words(at_ms, now=now)}"
