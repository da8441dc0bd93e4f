"""The address that phones know this book by. A phone keeps what it has not sent under that address, so it should stay.

Kept in the book is where the phones that log came to, not where this laptop could be reached: only there can something
be waiting. A phone that comes by another address while the kept one is still ours changes nothing.
"""

import logging
import threading
from dataclasses import dataclass

from proofyard.access.hosts import HTTPS, LOOPBACK, OwnAddresses, as_link, split_host
from proofyard.quantities.reason import Reason, because
from proofyard.records import devices
from proofyard.storage import Storage, StorageTrouble

log = logging.getLogger("proofyard")


@dataclass(frozen=True)
class Moved:
    """Where phones came last time, which this laptop no longer has, and where they find it now ("" where they can't).

    before          as the book keeps it: with its scheme where that was https
    name_is_ours    the old address is this laptop's, and only the scheme before it or the number after it is another
    scheme_changed  https then and plain http alone now, or the other way round
    certified       this laptop has a certificate of its own, which is served at the port after that of plain http
    """

    before: str
    now: str
    name_is_ours: bool
    scheme_changed: bool = False
    certified: bool = False

    @property
    def what(self) -> Reason:
        return because("address_moved", before=as_link(self.before), now=self.now and as_link(self.now))

    @property
    def advice(self) -> Reason:
        """For whoever sits at the laptop."""
        if self.name_is_ours:
            https = self.before.startswith(HTTPS)
            parts = split_host(self.before.removeprefix(HTTPS))
            port = ((parts[1] if parts else None) or (443 if https else 80)) - (https and self.certified)
            if self.scheme_changed:
                return because("address_scheme_advice", https=https, port=port, certified=self.certified)
            return because("address_port_advice", port=port)
        return because("address_network_advice", before=as_link(self.before))

    @property
    def for_a_phone(self) -> Reason:
        """For a phone that stands at the door of the new address."""
        return because("address_for_a_phone", before=as_link(self.before))


class SteadyAddress:
    """Compares where phones came last time with what this laptop has now, and remembers it again once they come."""

    def __init__(self, storage: Storage, addresses: OwnAddresses, *, certified: bool = False) -> None:
        self._storage, self._addresses, self._certified = storage, addresses, certified
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
        ours = self._addresses
        now = next((ours.kept_as(one) for one in ours.to_join()), "")
        unspoken = ours.port_of(https=self.before.startswith(HTTPS)) is None
        return Moved(self.before, now, ours.has_name_of(self.before), unspoken, self._certified)

    def is_new(self, host: str, *, https: bool | None = None) -> bool:
        """Whether a phone that logs came by an address that should be remembered. Quick: this runs for every request."""
        if self._addresses.kept_as(host, https=https) == self._kept:
            return False
        parts = split_host(host)
        return parts is not None and parts[0] not in LOOPBACK and not (self._kept and self._addresses.is_ours(self._kept))

    def remember(self, host: str, https: bool | None = None) -> None:
        """Write it into the book."""
        text = self._addresses.kept_as(host.strip().lower(), https=https)
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
