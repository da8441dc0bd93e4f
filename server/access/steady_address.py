"""The address that phones know this book by. A phone keeps what it has not sent under that address, so it should stay.

Kept in the book is where the phones that log came to, not where this laptop could be reached: only there can something
be waiting. A phone that comes by another address while the kept one is still ours changes nothing.
"""

import logging
import threading
from dataclasses import dataclass

from server.access.hosts import LOOPBACK, OwnAddresses, split_host
from server.records import devices
from server.storage import Storage, StorageTrouble

log = logging.getLogger("proofyard")


@dataclass(frozen=True)
class Moved:
    """Where phones came last time, which this laptop no longer has, and where they find it now."""

    before: str
    now: str

    @property
    def what(self) -> str:
        now = f"It is http://{self.now} now." if self.now else "It has no address that a phone could reach now."
        return f"Last time the phones came to http://{self.before}. This laptop no longer has that address. {now}"

    @property
    def advice(self) -> str:
        return (
            "A phone keeps what it has not sent under the address that it knew. Before it joins under a new one: join the same network as "
            f"last time, or have its router give this laptop the old address back; then open http://{self.before}/range on that phone until "
            "its strip says that all is in the book. If the old address can’t be had, let it show what it holds as a text, and type that in. "
            "A phone that holds nothing may join at the new address at once."
        )


class SteadyAddress:
    """Compares where phones came last time with what this laptop has now, and remembers it anew once they come."""

    def __init__(self, storage: Storage, addresses: OwnAddresses) -> None:
        self._storage, self._addresses = storage, addresses
        self._lock = threading.Lock()
        with storage.read() as session:
            book = devices.the_book(session)
        self.before = (book.address or "") if book else ""
        self._kept = self.before
        addresses.steady = self._kept

    def moved(self) -> Moved | None:
        """What to say while the address of last time is not ours; asked anew each time, since a network may come back."""
        if not self.before or self._addresses.is_ours(self.before):
            return None
        return Moved(self.before, next(iter(self._addresses.to_join()), ""))

    def is_new(self, host: str) -> bool:
        """Whether a phone that logs came by an address that should be remembered. Quick: this runs for every request."""
        if host == self._kept:
            return False
        parts = split_host(host)
        return parts is not None and parts[0] not in LOOPBACK and not (self._kept and self._addresses.is_ours(self._kept))

    def remember(self, host: str) -> None:
        """Write it into the book."""
        text = host.strip().lower()
        with self._lock:
            if text == self._kept:
                return
            try:
                with self._storage.write() as session:
                    devices.keep_address(session, text)
            except StorageTrouble as trouble:
                log.warning("The address could not be kept: %s", trouble)
                return
            self._kept = self._addresses.steady = text
