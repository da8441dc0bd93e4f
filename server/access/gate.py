"""All that stands at the door of one book, in one place: whom the app, its pages and the command line ask."""

from collections.abc import Callable, Iterable
from typing import Annotated

from fastapi import Depends, Request

from server.access.hosts import OwnAddresses, own_addresses
from server.access.joining import Joining
from server.access.limits import InHand
from server.access.owner_links import OwnerLinks
from server.access.seat_book import SeatBook
from server.access.steady_address import SteadyAddress
from server.settings import Settings
from server.storage import Storage

MOST_IN_HAND = 96
MOST_IN_HAND_EACH = 24  # a browser keeps six connections open; a few phones may share one address


class Gate:
    """The door of one book.

    seats       cookie -> seat
    joining     asking, letting in, putting out
    links       the owner's one-time link
    addresses   which Host headers are ours
    steady      where phones came last time, and whether that is still this laptop
    in_hand     requests that are being answered now
    """

    def __init__(
        self, storage: Storage, settings: Settings, *, names: Iterable[str] = (), now: Callable[[], list[str]] = own_addresses
    ) -> None:
        self.seats = SeatBook(storage)
        self.joining = Joining(storage, self.seats)
        self.links = OwnerLinks()
        self.addresses = OwnAddresses(host=settings.host, port=settings.port, names=names, now=now)
        self.steady = SteadyAddress(storage, self.addresses)
        self.in_hand = InHand(most=MOST_IN_HAND, most_each=MOST_IN_HAND_EACH)

    def owner_link(self) -> str:
        """The path of a new one-time owner link; the one before is worth nothing from now on."""
        return f"/owner/{self.links.new()}"


def the_gate(request: Request) -> Gate:
    gate: Gate = request.app.state.gate
    return gate


TheGate = Annotated[Gate, Depends(the_gate)]
