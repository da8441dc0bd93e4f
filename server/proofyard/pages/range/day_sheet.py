"""The range-day sheet: one page to read on the way, and to print and put up beside the line."""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.gate import TheGate
from proofyard.access.joining import JoinCode, join_code
from proofyard.access.seats import ScopedViewerSeat
from proofyard.access.steady_address import Moved
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.range.shell import CAUTIONS as AT_PLACES
from proofyard.records.trial import CAUTIONS

router = APIRouter()

# What the strip on the phones says (static/js/range/strip.js), and what to do then. A test holds the two together.
STRIP = (
    ("All in the book, 14:02", "Every shot of this phone is on the laptop’s disk. 14:02 is when the laptop last answered."),
    ("3 on this phone only, oldest 2 min – sending", "They are safe on this phone and on their way. Go on logging."),
    (
        "Laptop not reachable, keep logging",
        "The phone keeps everything, also if it is locked or restarted. It sends by itself once the laptop answers.",
    ),
    (
        "1 needs you",
        "The book could not take an entry as it is, or two people entered different answers. Tap the strip; nothing else waits for it.",
    ),
    (
        "Not saving. See below",
        "The phone can’t store anything. Stop logging on this phone, show what it holds as text, and write on paper.",
    ),
    (
        "This phone is not let in",
        "Ask the owner: Phones, on the laptop. What the phone holds stays on it and goes into the book afterwards.",
    ),
)
PLACES = {"line": "At the line", "butt": "At the butt", "bench": "On the bench"}


@dataclass(frozen=True)
class RangeDaySheet:
    """code: of the address where phones join; moved: another computer has last time's address now; https: spoken here."""

    code: JoinCode | None
    address: str
    others: Sequence[str]
    moved: Moved | None
    strip: Sequence[tuple[str, str]]
    cautions: Sequence[str]
    places: Sequence[tuple[str, str]]
    https: bool


@router.get("/range-day-sheet", response_class=HTMLResponse)
def range_day_sheet(request: Request, seat: ScopedViewerSeat, gate: TheGate) -> Response:
    addresses = gate.addresses.to_join(asked_by=request.headers.get("host", ""))
    page = RangeDaySheet(
        code=join_code(gate.addresses.link(addresses[0], "/join")) if addresses else None,
        address=gate.addresses.link(addresses[0]) if addresses else "",
        others=[gate.addresses.link(one) for one in addresses[1:4]],
        moved=gate.steady.moved() if seat.at_least("archer") else None,
        strip=STRIP,
        cautions=list(CAUTIONS.values()),
        places=[(PLACES[place], words) for place, words in AT_PLACES.items()],
        https=gate.addresses.https,
    )
    return html("range_day_sheet/page.html", page, frame=frame_for(request, title="Range-day sheet", nav="more"))
