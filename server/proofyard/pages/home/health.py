"""How the book stands on this laptop, for the owner."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.gate import TheGate
from proofyard.access.seats import OwnerSeat, TheBook
from proofyard.exchange.checkup import checkup
from proofyard.exchange.finding import Finding
from proofyard.pages.frame.rendering import frame_for, html

router = APIRouter()


@dataclass(frozen=True)
class HealthPage:
    """findings: those that want a hand first. addresses: where phones find this laptop."""

    findings: tuple[Finding, ...]
    wanted: int
    addresses: tuple[str, ...]


@router.get("/health")
def health(request: Request, _: OwnerSeat, book: TheBook, gate: TheGate) -> HTMLResponse:
    trouble = " ".join(made.trouble for made in request.app.state.copies.last if made.trouble)
    order = ("wrong", "look", "good")
    settings = request.app.state.settings
    found = checkup(book.path.parent, also_to=settings.also_to, trouble=trouble, address=settings.database, photos=settings.photos)
    findings = sorted(found, key=lambda one: order.index(one.verdict))
    addresses = gate.addresses.to_join(asked_by=request.headers.get("host", ""))
    page = HealthPage(
        tuple(findings), sum(one.verdict != "good" for one in findings), tuple(gate.addresses.link(one, "/join") for one in addresses)
    )
    return html("health/page.html", page, frame=frame_for(request, title="Health", nav="more"))
