"""The log on paper: the same columns as the log on a phone, to print before the day, and to type in after it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Query, Request, Response
from fastapi.responses import HTMLResponse

from server.access.seats import ArcherSeat, TheBook
from server.findings.session_page import SessionRead, read_session
from server.pages.figures import reader_of
from server.pages.forms import unit_of
from server.pages.plain_log import LOOSE, READ
from server.pages.rendering import frame_for, html
from server.records.columns import Noun, meanings
from server.records.shot import Shot, ShotReading
from server.records.speed import SpeedReading
from server.records.trial import CAUTIONS, Walk

router = APIRouter()

# What the log asks of a loose and of its reading, and before them what a phone knows by itself.
ORDER: tuple[tuple[type[Noun], str], ...] = ((Walk, "number"), (Shot, "position"))
OF_LOOSE: tuple[tuple[type[Noun], str], ...] = (*ORDER, *((Shot, name) for name in LOOSE), (SpeedReading, "value"))
OF_READING: tuple[tuple[type[Noun], str], ...] = tuple((ShotReading, name) for name in READ)
ROWS = 8  # of two lines each: what a sheet of A4 holds, lying


@dataclass(frozen=True)
class SheetColumn:
    """One column: its heading, with the unit that a bare number takes."""

    name: str
    words: str
    hint: str


@dataclass(frozen=True)
class Key:
    """The words that one column takes."""

    words: str
    choices: Sequence[str]


@dataclass(frozen=True)
class SheetPage:
    """A sheet: two lines a shot, what was loosed and what was read. wide: columns of the longer line, what was read."""

    read: SessionRead
    loose: Sequence[SheetColumn]
    reading: Sequence[SheetColumn]
    rows: Sequence[int]
    keys: Sequence[Key]
    cautions: Sequence[str]
    wide: int


def column(table: type[Noun], name: str) -> SheetColumn:
    meaning = meanings(table)[name][1]
    unit = unit_of(meaning, {})[0] if meaning.value == "quantity" else ""
    return SheetColumn(name, meaning.label + (f", {unit}" if unit else ""), meaning.hint)


def keys_of(columns: Sequence[tuple[type[Noun], str]]) -> list[Key]:
    """What may be written under the columns that take only certain words."""
    found = []
    for table, name in columns:
        meaning: Any = meanings(table)[name][1]
        if meaning.choices and name != "outcome_high":
            # A rung is written as its figure: that is quicker, and what the ladder shows.
            words = [f"{key} {said}" for key, said in meaning.choices.items()] if name == "outcome_low" else list(meaning.choices.values())
            found.append(Key(meaning.label, words))
    return found


@router.get("/sessions/{session_id}/sheet", response_class=HTMLResponse)
def sheet(
    request: Request, seat: ArcherSeat, book: TheBook, session_id: str, rows: Annotated[int, Query(ge=1, le=60)] = ROWS
) -> Response:
    """One day's sheet, empty. Printed, it is A4 lying on its side."""
    with book.read() as session:
        read = read_session(session, session_id, reader=reader_of(frame_for(request, title="")))
    if read is None:
        raise HTTPException(404, "The book has no such session.")
    page = SheetPage(
        read=read, loose=[column(*one) for one in OF_LOOSE], reading=[column(*one) for one in OF_READING], rows=range(1, rows + 1),
        keys=keys_of((*OF_LOOSE, *OF_READING)), cautions=list(CAUTIONS.values()), wide=len(OF_READING),
    )  # fmt: skip
    return html("sheet/page.html", page, frame=frame_for(request, title=f"Sheet for {read.heading}", nav="trials"))
