"""The first page: five steps while nothing was shot, then the newest day with what is still to do, and the trials."""

from dataclasses import dataclass

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from proofyard.access.gate import AddressMoved
from proofyard.access.seats import AnySeat, Seat, TheBook
from proofyard.access.steady_address import Moved
from proofyard.answers.claims.page import read_claim
from proofyard.answers.home.begun import Begun, read_begun
from proofyard.answers.home.first_steps import FirstSteps, read_first_steps
from proofyard.pages.frame.rendering import frame_for, html, part, wants_part
from proofyard.records.trial import STATES
from proofyard.wording.when import today

router = APIRouter()


@dataclass(frozen=True)
class HomePage:
    """One of the two. today: the laptop's day; may_write, is_owner: what this reader may press; moved: only the owner is told."""

    begun: Begun | None
    first: FirstSteps | None
    today: str
    reader: str
    may_write: bool
    is_owner: bool
    moved: Moved | None = None


def first_page(seat: Seat) -> str:
    """Where a phone begins: at the door, at its one trial, or on the first page."""
    if seat.role == "stranger":
        return "/join"
    return f"/trials/{seat.trial_id}" if seat.trial_id else "/"


@router.get("/")
def home(request: Request, seat: AnySeat, book: TheBook, moved: AddressMoved) -> Response:
    """Who isn't in goes to the door, a viewer of one trial to that trial."""
    if first_page(seat) != "/":
        return RedirectResponse(first_page(seat), 303)
    with book.read() as session:
        begun = read_begun(session, states=STATES, judge=read_claim)
        first = None if begun else read_first_steps(session)
    frame = frame_for(request, title=_title(begun), live=True)
    page = HomePage(begun, first, today(), frame.reader, seat.at_least("archer"), seat.role == "owner", moved)
    template = "home/_begun.html" if begun else "home/_first.html"
    return part(template, page) if wants_part(request) else html("home/page.html", page, frame=frame)


def _title(begun: Begun | None) -> str:
    if begun is None:
        return "First steps"
    return "Today" if begun.shown.day == today() else begun.shown.words
