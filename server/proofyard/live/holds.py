"""What each phone said last of what it holds.

A book in a file has one server, which keeps it in memory: after a start the phones say it again, and no save waits for it. A book in
PostgreSQL may have several, and a phone's page another server than its word: there it has a table.
"""

import threading
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Protocol

from proofyard.records.phone_word import all_words, say_word, word_of
from proofyard.storage import Storage


@dataclass(frozen=True)
class Held:
    """One phone's word. Counts of what is on that phone only; `agrees`: its shots and the book's are the same ones.

    session_id  the day it spoke of; None for all that it holds
    lacks       how many of its shots the book has not
    """

    device_id: str
    at: int
    session_id: str | None
    shots: int
    unsent: int
    photos_unsent: int
    needs: int
    agrees: bool | None
    lacks: int


class Holds(Protocol):
    """The last word of each phone, by device."""

    def say(self, held: Held) -> bool:
        """Keep it; whether it says anything else than the one before, but for its time."""

    def all(self) -> dict[str, Held]: ...


def holds_of(book: Storage) -> Holds:
    """Where the words of this book's phones are kept."""
    return HoldsInMemory() if book.in_a_file else HoldsInBook(book)


class HoldsInMemory:
    """Of a book that has one server."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._last: dict[str, Held] = {}

    def say(self, held: Held) -> bool:
        with self._lock:
            before = self._last.get(held.device_id)
            self._last[held.device_id] = held
        return before is None or _without_time(before) != _without_time(held)

    def all(self) -> dict[str, Held]:
        with self._lock:
            return dict(self._last)


class HoldsInBook:
    """Of a book that may have several servers. The others are rung only if it says anything new."""

    def __init__(self, book: Storage) -> None:
        self._book = book

    def say(self, held: Held) -> bool:
        with self._book.read() as session:
            before = word_of(session, held.device_id)
        new = before is None or _without_time(_held(before)) != _without_time(held)
        with self._book.aside(heard=new) as session:
            say_word(session, {**asdict(held), "agrees": None if held.agrees is None else int(held.agrees)})
        return new

    def all(self) -> dict[str, Held]:
        with self._book.read() as session:
            return {row["device_id"]: _held(row) for row in all_words(session)}


def _held(row: Mapping[str, Any]) -> Held:
    return Held(**{**row, "agrees": None if row["agrees"] is None else bool(row["agrees"])})


def _without_time(held: Held) -> tuple[object, ...]:
    return (held.session_id, held.shots, held.unsent, held.photos_unsent, held.needs, held.agrees, held.lacks)
