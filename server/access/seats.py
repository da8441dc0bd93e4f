"""Who is asking, and whether they may: the seat that a request sits in, and what a route needs.

    owner     the laptop that started the server
    archer    a phone that was let in to log
    viewer    a phone that was let in to look, maybe at one trial only
    stranger  anyone else

No right comes from a network address.

A viewer may be let in to one trial only. Such a seat reaches the routes that name that trial, or a session or shot of
it, in their path (`trial_id`, `session_id`, `shot_id`); every other route refuses it unless it says ScopedViewerSeat,
and then the route itself shows no more than `may_see_trial` allows.
"""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, HTTPException, Request
from starlette.concurrency import run_in_threadpool

from server.records import listing, shot, trial
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


async def seat_of_request(request: Request) -> Seat:
    """`seat_of` for a route; async, since a plain function would be sent to another thread."""
    return seat_of(request)


def seat_of(request: Request) -> Seat:
    """The seat that the door found for this request (server/access/door.py)."""
    return getattr(request.state, "seat", STRANGER)


def may_see_trial(seat: Seat, trial_id: str | None) -> bool:
    """Whether this seat may look at a trial: any that was let in, but for a viewer of another one."""
    return seat.at_least("viewer") and (seat.trial_id is None or seat.trial_id == trial_id)


def trial_of(storage: Storage, path: dict[str, str]) -> str | None:
    """The trial that a path's parameters lead to, by trial, session or shot; None if they lead to none."""
    if "trial_id" in path:
        return path["trial_id"]
    with storage.read() as session:
        session_id = path.get("session_id")
        if "shot_id" in path:
            loosed = listing.one(session, shot.Shot, path["shot_id"])
            walk = loosed and listing.one(session, trial.Walk, loosed.walk_id)
            setup = walk and listing.one(session, trial.Setup, walk.setup_id)
            session_id = setup.session_id if setup else None
        day = listing.one(session, trial.Session, session_id) if session_id else None
    return day.trial_id if day else None


def needs(role: str, *, narrows_itself: bool = False) -> Callable[[Request], Awaitable[Seat]]:
    """A dependency that lets a request in from a role upwards: 401 for a stranger, 403 for too small a role.

    narrows_itself  the route is open to a viewer of one trial, and takes care of what it shows
    """

    async def seat(request: Request) -> Seat:
        found = seat_of(request)
        if not found.at_least(role):
            raise HTTPException(401 if found.role == "stranger" else 403)
        if found.trial_id is not None and not narrows_itself:
            reached = await run_in_threadpool(trial_of, the_storage(request), dict(request.path_params))
            if not may_see_trial(found, reached):
                raise HTTPException(403)
        return found

    return seat


async def the_book(request: Request) -> Storage:
    return the_storage(request)


def the_storage(request: Request) -> Storage:
    storage: Storage = request.app.state.storage
    return storage


AnySeat = Annotated[Seat, Depends(seat_of_request)]
ViewerSeat = Annotated[Seat, Depends(needs("viewer"))]
ScopedViewerSeat = Annotated[Seat, Depends(needs("viewer", narrows_itself=True))]
ArcherSeat = Annotated[Seat, Depends(needs("archer"))]
OwnerSeat = Annotated[Seat, Depends(needs("owner"))]
TheBook = Annotated[Storage, Depends(the_book)]
