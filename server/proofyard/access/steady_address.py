"""The address that phones know this book by. A phone keeps what it has not sent under that address, so it should stay.

Kept in the book is where the phones that log came to, not where this laptop could be reached: only there can something
be waiting. A phone that comes by another address while the kept one is still ours changes nothing.
"""

import logging
import threading
from dataclasses import dataclass

from proofyard.access.hosts import LOOPBACK, OwnAddresses, split_host
from proofyard.quantities.reason import Reason, because
from proofyard.records import devices
from proofyard.storage import Storage, StorageTrouble

log = logging.getLogger("proofyard")


@dataclass(frozen=True)
class Moved:
    """Where phones came last time, which this laptop no longer has, and where they find it now ("" where they can't).

    name_is_ours  the old address is this laptop's, and only the number after it is another
    """

    before: str
    now: str
    name_is_ours: bool

    @property
    def what(self) -> Reason:
        return because("address_moved", before=self.before, now=self.now)

    @property
    def advice(self) -> Reason:
        """For whoever sits at the laptop."""
        if self.name_is_ours:
            parts = split_host(self.before)
            return because("address_port_advice", port=(parts[1] if parts else None) or 80)
        return because("address_network_advice", before=self.before)

    @property
    def for_a_phone(self) -> Reason:
        """For a phone that stands at the door of the new address."""
        return because("address_for_a_phone", before=self.before)


class SteadyAddress:
    """Compares where phones came last time with what this laptop has now, and remembers it again once they come."""

    def __init__(self, storage: Storage, addresses: OwnAddresses) -> None:
        self._storage, self._addresses = storage, addresses
        self._lock = threading.Lock()
        with storage.read() as session:
            book = devices.the_book(session)
        self.before = (book.address or "") if book else ""
        self._kept = self.before
        addresses.steady = self._kept

    def moved(self) -> Moved | None:
        """What to say while the address of last time is not ours; asked again each time, since a network may come back."""
        if not self.before or self._addresses.is_ours(self.before):
            return None
        return Moved(self.before, next(iter(self._addresses.to_join()), ""), self._addresses.has_name_of(self.before))

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
