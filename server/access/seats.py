"""Who is asking, and whether they may: the seat that a request sits in, and what a route needs.

    owner     the laptop that started the server
    archer    a phone that was let in to log
    viewer    a phone that was let in to look, maybe at one trial only
    stranger  anyone else

No right comes from a network address.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, HTTPException, Request

from server.storage import Storage

ORDER = ("stranger", "viewer", "archer", "owner")


@dataclass(frozen=True)
class Seat:
    """Who is asking. `trial_id` narrows a viewer to one trial."""

    role: str = "stranger"
    device_id: str | None = None
    call_name: str = ""
    letter: str | None = None
    trial_id: str | None = None

    def at_least(self, role: str) -> bool:
        return ORDER.index(self.role) >= ORDER.index(role)


STRANGER = Seat()


def seat_of(request: Request) -> Seat:
    """The seat that the middleware found for this request (server/access/sessions.py)."""
    return getattr(request.state, "seat", STRANGER)


def needs(role: str) -> Callable[[Request], Seat]:
    """A dependency that lets a request in from a role upwards: 401 for a stranger, 403 for too small a role."""

    def seat(request: Request) -> Seat:
        found = seat_of(request)
        if found.at_least(role):
            return found
        raise HTTPException(401 if found.role == "stranger" else 403)

    return seat


def the_storage(request: Request) -> Storage:
    storage: Storage = request.app.state.storage
    return storage


AnySeat = Annotated[Seat, Depends(seat_of)]
ViewerSeat = Annotated[Seat, Depends(needs("viewer"))]
ArcherSeat = Annotated[Seat, Depends(needs("archer"))]
OwnerSeat = Annotated[Seat, Depends(needs("owner"))]
TheBook = Annotated[Storage, Depends(the_storage)]
