"""How every figure is worked out: formula, units, range and source, as they stand with the code that does it."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from server.access.seats import AnySeat
from server.findings.methods import Topic, topics
from server.pages.rendering import frame_for, html

router = APIRouter()


@dataclass(frozen=True)
class MethodsPage:
    topics: tuple[Topic, ...]


@router.get("/methods", response_class=HTMLResponse)
def methods(request: Request, seat: AnySeat) -> HTMLResponse:
    """It tells nothing of the book, so whoever reads a printed figure may look it up."""
    return html("methods/page.html", MethodsPage(topics()), frame=frame_for(request, title="How every figure is worked out"))
