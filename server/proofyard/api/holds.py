"""`POST /api/holds`: a phone says what it holds, and hears what the book lacks of it, or has of it that it lacks."""

from typing import Annotated, Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.answers.session.close_of_day import Compared, compare
from proofyard.live.holds import Held, Holds
from proofyard.records.devices import now_ms
from proofyard.records.ids import is_id

router = APIRouter()

MOST_IDS = 5000
COUNT = Annotated[int, Field(ge=0, le=1_000_000)]


class Said(BaseModel):
    """What a phone holds of the shots that it recorded: of one day, or all of them.

    count, xor  how many, and their ids laid over each other (32 hexadecimal digits)
    ids         the ids themselves, once the laptop asked for them
    unsent, photos_unsent, needs  what waits on the phone only
    """

    model_config = ConfigDict(extra="ignore")
    session: Annotated[str, StringConstraints(max_length=36)] | None = None
    count: COUNT
    xor: Annotated[str, StringConstraints(pattern="^[0-9a-f]{32}$")]
    ids: Annotated[list[Annotated[str, StringConstraints(max_length=36)]], Field(max_length=MOST_IDS)] | None = None
    unsent: COUNT = 0
    photos_unsent: COUNT = 0
    needs: COUNT = 0


@router.post("/api/holds", include_in_schema=False)
def say_what_a_phone_holds(request: Request, seat: ArcherSeat, book: TheBook, said: Said) -> Response:
    ids = None if said.ids is None else [one for one in said.ids if is_id(one)]
    with book.read() as session:
        found = compare(session, seat.device_id or "", session_id=said.session or None, count=said.count, xor=said.xor, ids=ids)
    held = Held(
        seat.device_id or "",
        now_ms(),
        said.session or None,
        said.count,
        said.unsent,
        said.photos_unsent,
        said.needs,
        found.agrees,
        len(found.lacks),
    )
    holds: Holds = request.app.state.holds
    if holds.say(held):
        request.app.state.doorbell.ring()  # open session pages show it
    return JSONResponse(_told(found, asked_ids=ids is None))


def _told(found: Compared, *, asked_ids: bool) -> dict[str, Any]:
    return {
        "agree": bool(found.agrees),
        "want_ids": asked_ids and not found.agrees,
        "in_book": found.in_book,
        "lacks": list(found.lacks),
        "book_only": list(found.book_only),
        "gaps": list(found.gaps),
        "sentence": _sentence(found),
        "now_ms": now_ms(),
    }


def _sentence(found: Compared) -> str:
    if found.agrees:
        if found.in_book == 1:
            return "The book has the one shot of this phone."
        return f"The book has all {found.in_book} shots of this phone." if found.in_book else "This phone has logged no shot yet."
    if found.agrees is None:
        return "The laptop and this phone count differently. They now compare shot by shot."
    said = []
    if found.lacks:
        said.append(f"{len(found.lacks)} of this phone’s shots {'are' if len(found.lacks) > 1 else 'is'} not in the book")
    if found.book_only:
        said.append(f"the book has {', '.join(found.book_only[:12])}, which this phone no longer holds")
    whole = "; ".join(said)
    return whole[:1].upper() + whole[1:] + "."
