"""From a cookie to a seat, without asking the book each time; and when each phone was last heard.

What is held is forgotten at once when a role changes. `heard` is kept in memory and written now and then, when nobody
saves, so that a phone that only looks costs the book nothing.
"""

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from server.access.seats import STRANGER, Seat
from server.access.sessions import hash_of
from server.records import devices
from server.storage import Storage, StorageTrouble

MOST_HELD = 512
WRITE_EVERY_MS = 60_000
QUIET_S = 5.0


@dataclass(frozen=True)
class Held:
    """A seat as it was read, and when it ends by itself."""

    seat: Seat
    expires_at: int | None = None

    def now(self) -> Seat:
        return STRANGER if self.expires_at is not None and devices.now_ms() >= self.expires_at else self.seat


class SeatBook:
    """The seats of one book."""

    def __init__(self, storage: Storage) -> None:
        self._storage = storage
        self._held: dict[bytes, Held] = {}
        self._turn = 0  # counts the forgettings, so that a read that began before one is not kept after it
        self._lock = threading.Lock()
        self._heard: dict[str, int] = {}
        self._written: dict[str, int] = {}
        self._saved_at = 0.0
        self._when_changed: list[Callable[[], None]] = []
        storage.after_commit(self._saved)

    def _saved(self) -> None:
        self._saved_at = time.monotonic()

    def held(self, token: str) -> Seat | None:
        """The seat of a cookie if it is known already; None: `read` it."""
        found = self._held.get(hash_of(token))
        return None if found is None else self._note(found.now())

    def read(self, token: str) -> Seat:
        """The seat of a cookie, out of the book."""
        key, turn = hash_of(token), self._turn
        with self._storage.read() as session:
            device = devices.device_of_session(session, key)
            if device is None or device.role not in ("owner", "archer", "viewer"):
                found = Held(STRANGER)
            else:
                seat = Seat(device.role, device.id, device.call_name, device.letter, device.trial_id)
                found = Held(seat, device.expires_at)
        with self._lock:
            if turn == self._turn:
                if len(self._held) >= MOST_HELD:
                    self._held.clear()
                self._held[key] = found
        return self._note(found.now())

    def seat_of(self, token: str) -> Seat:
        """The seat of a cookie, wherever it is known."""
        return self.held(token) or self.read(token)

    def forget(self) -> None:
        """A role changed: every cookie is looked up anew, and whoever holds a stream open is told to look."""
        with self._lock:
            self._turn += 1
            self._held.clear()
        for listener in self._when_changed:
            listener()

    def when_changed(self, listener: Callable[[], None]) -> None:
        """Call this after roles changed, from the thread that changed them."""
        self._when_changed.append(listener)

    def _note(self, seat: Seat) -> Seat:
        if seat.device_id is not None:
            self._heard[seat.device_id] = devices.now_ms()
        return seat

    def heard_at(self, device_id: str) -> int | None:
        """When a phone was last heard, as far as this server's memory goes."""
        return self._heard.get(device_id)

    def write_heard(self, *, quiet_s: float = QUIET_S) -> int:
        """Write down who was heard, unless somebody has saved within `quiet_s`; how many lines were written.

        It comes a minute later rather than stand in the way of a save.
        """
        if time.monotonic() - self._saved_at < quiet_s:
            return 0
        due = {key: at for key, at in list(self._heard.items()) if at - self._written.get(key, 0) >= WRITE_EVERY_MS}
        if not due:
            return 0
        try:
            with self._storage.write() as session:
                for device_id, at in due.items():
                    devices.heard(session, device_id, at)
        except StorageTrouble:
            return 0  # worth nothing next to a shot: the next round tries again
        self._written.update(due)
        return len(due)
