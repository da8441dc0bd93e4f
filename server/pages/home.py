"""The first address: on to where this reader belongs."""

from fastapi import APIRouter
from fastapi.responses import RedirectResponse

from server.access.seats import AnySeat, Seat

router = APIRouter()


def first_page(seat: Seat) -> str:
    """Where a phone begins: at the door, at its one trial, or in the book."""
    if seat.role == "stranger":
        return "/join"
    return f"/trials/{seat.trial_id}" if seat.trial_id else "/trials"


@router.get("/")
async def home(seat: AnySeat) -> RedirectResponse:
    return RedirectResponse(first_page(seat), 303)
