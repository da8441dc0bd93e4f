"""The page that stands where another is still being worked out: how far it is, and that it may be left."""

from dataclasses import dataclass

from fastapi import Request
from starlette.types import Receive, Scope, Send

from proofyard.live.left_pages import KEPT_S, BeingMade
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.wording.being_made import how_far, parts_done

LOOKS_AGAIN_S = 5


@dataclass(frozen=True)
class Waiting:
    """`so_far`, `likely`: seconds, of which the second is not known for a page that was never made. `parts`: what is done of the work."""

    so_far: float
    likely: float | None
    words: str
    parts: str
    again_s: int
    kept_minutes: int
    here: str


async def still_being_made(scope: Scope, receive: Receive, send: Send) -> None:
    """An app of one page, for a request whose state says how far it is."""
    request = Request(scope, receive)
    found: BeingMade = request.state.being_made
    here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    page = Waiting(
        so_far=found.so_far_s,
        likely=found.likely_s,
        words=how_far(found.so_far_s, found.likely_s),
        parts=parts_done(found.parts.what, found.parts.done, found.parts.whole) if found.parts else "",
        again_s=LOOKS_AGAIN_S,
        kept_minutes=round(KEPT_S / 60),
        here=here,
    )
    frame = frame_for(request, title="Being worked out")
    answer = html("oops/not_ready.html", page, frame=frame, status=202, headers={"Cache-Control": "no-store"})
    await answer(scope, receive, send)
