"""What changed since a number, and what time it is here: how phones at the range keep up."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import JSONResponse

from proofyard.access.seats import AnySeat, ScopedViewerSeat, Seat, TheBook
from proofyard.records import devices, notebook
from proofyard.records.operations import OP_VERSION
from proofyard.storage import Storage

router = APIRouter()

MOST_CHANGES = 500


@router.get("/api/changes")
async def changes(request: Request, seat: ScopedViewerSeat, book: TheBook, since: Annotated[int, Query(ge=0, le=1 << 60)] = 0) -> Response:
    """The changes after a number, oldest first, at most 500: ask again with the last one's number. 204 when there are none.

    A viewer of one trial learns that something changed and looks at its own pages; not what changed elsewhere.
    """
    answer: Response = await request.app.state.listening.do(_changes, seat, book, since)
    return answer


def _changes(seat: Seat, book: Storage, since: int) -> Response:
    with book.read() as session:
        latest = notebook.latest_seq(session)
        found = notebook.changes_since(session, since, most=MOST_CHANGES) if latest > since and seat.trial_id is None else []
    if latest <= since:
        return Response(status_code=204)
    names = ("seq", "noun", "id", "rev", "action")
    # The number is the last one told, so that a phone which was away long asks on from there.
    told = found[-1][0] if found else latest
    return JSONResponse({"seq": told, "latest": latest, "changes": [dict(zip(names, line, strict=True)) for line in found]})


@router.get("/api/ping")
def ping(seat: AnySeat, book: TheBook) -> dict[str, Any]:
    """The laptop's clock, for anyone; which book this is and how far it has come, for those who were let in."""
    answer: dict[str, Any] = {"now_ms": devices.now_ms()}
    if seat.at_least("viewer"):
        with book.read() as session:
            the_book = devices.the_book(session)
            seq = notebook.latest_seq(session)
        assert the_book is not None
        answer |= {"book_id": the_book.book_id, "epoch": the_book.epoch, "seq": seq, "op_version": OP_VERSION, "role": seat.role}
        answer |= {"letter": seat.letter, "call_name": seat.call_name}
    answer["now_ms"] = devices.now_ms()
    return answer
