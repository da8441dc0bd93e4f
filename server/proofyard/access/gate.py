"""The gate of one book: all that stands at its door, whom the app, its pages and the command line ask."""

import hmac
import threading
from collections.abc import Awaitable, Callable, Iterable
from typing import Annotated, Protocol

from fastapi import Depends, Request, Response

from proofyard.access.connections import Connections, InHand, Places
from proofyard.access.hosts import OwnAddresses, own_addresses
from proofyard.access.joining import Joining
from proofyard.access.programs import Programs
from proofyard.access.seats import SeatBook, hash_of, new_token
from proofyard.access.steady_address import Moved, SteadyAddress
from proofyard.settings import Settings
from proofyard.storage import Storage

# The one-time link that makes its opener the owner: made in memory, printed by `serve`, worth nothing once used.


class OwnerLinks:
    """At most one link is open at a time; a new one closes the one before."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._open: bytes | None = None

    def new(self) -> str:
        """The token of a new link."""
        token = new_token()
        with self._lock:
            self._open = hash_of(token)
        return token

    def is_open(self, token: str) -> bool:
        """Whether this token would be taken. Looking doesn't use it up: a browser may fetch a link before a person does."""
        given = hash_of(token)
        with self._lock:
            return self._open is not None and hmac.compare_digest(self._open, given)

    def use(self, token: str) -> bool:
        """Use it up. Of two that come at once one wins."""
        given = hash_of(token)
        with self._lock:
            if self._open is None or not hmac.compare_digest(self._open, given):
                return False
            self._open = None
            return True


# The gate itself.

MOST_IN_HAND = 96
MOST_IN_HAND_EACH = 24  # a browser keeps six connections open; a few phones may share one address


class Links(Protocol):
    """Where the owner's links are kept: in memory, or where another program makes them."""

    def new(self) -> str: ...

    def is_open(self, token: str) -> bool: ...

    def use(self, token: str) -> bool: ...


TroublePage = Callable[[Request, Exception], Awaitable[Response]]


class Gate:
    """The door of one book.

    seats       cookie -> seat
    joining     asking, letting in, putting out
    links       the owner's one-time link
    addresses   which Host headers are ours
    steady      where phones came last time, and whether that is still this laptop
    in_hand     requests that are being answered now
    programs    letting programs in by tokens, and how often each may ask
    connections whose connection may stay
    """

    def __init__(
        self,
        storage: Storage,
        settings: Settings,
        *,
        names: Iterable[str] = (),
        now: Callable[[], list[str]] = own_addresses,
        links: Links | None = None,
        connections: Places | None = None,
    ) -> None:
        self.seats = SeatBook(storage)
        self.joining = Joining(storage, self.seats)
        self.links: Links = links or OwnerLinks()
        self.programs = Programs(storage, self.seats)
        https, further = settings.certificate is not None, settings.https_port if settings.also_https else None
        self.addresses = OwnAddresses(
            host=settings.host, port=settings.port, names=names, now=now, https=https, also_https=further, path=settings.path
        )
        self.steady = SteadyAddress(storage, self.addresses, certified=not https and settings.own_https.pair.shown.exists())
        for name in settings.names:
            self.addresses.answers_to(name)
        self.connections: Places = connections or Connections(proxies=settings.proxies)
        self.trouble_page: TroublePage | None = None  # the pages', set when the app is put together
        self.in_hand = InHand(most=MOST_IN_HAND, most_each=MOST_IN_HAND_EACH)

    def owner_link(self) -> str:
        """The path of a new one-time owner link; the one before is worth nothing from now on."""
        return f"/owner/{self.links.new()}"


def the_gate(request: Request) -> Gate:
    gate: Gate = request.app.state.gate
    return gate


TheGate = Annotated[Gate, Depends(the_gate)]


def address_moved(request: Request) -> Moved | None:
    """What the door found for the owner's first page: also there where the page is made in a process without a gate."""
    moved: Moved | None = request.state.moved
    return moved


AddressMoved = Annotated[Moved | None, Depends(address_moved)]
