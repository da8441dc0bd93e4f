"""What each phone said last of what it holds. Kept in memory: after a start of the server the phones say it again."""

import threading
from dataclasses import dataclass


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


class Holds:
    """The last word of each phone, by device."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._last: dict[str, Held] = {}

    def say(self, held: Held) -> bool:
        """Keep it; whether it says anything else than the one before, but for its time."""
        with self._lock:
            before = self._last.get(held.device_id)
            self._last[held.device_id] = held
        return before is None or _without_time(before) != _without_time(held)

    def all(self) -> dict[str, Held]:
        with self._lock:
            return dict(self._last)


def _without_time(held: Held) -> tuple[object, ...]:
    return (held.session_id, held.shots, held.unsent, held.photos_unsent, held.needs, held.agrees, held.lacks)
