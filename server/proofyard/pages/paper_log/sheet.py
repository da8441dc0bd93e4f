"""The log on paper: the same columns as the log on a phone, to print before the day, and to type in after it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Query, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.seats import ArcherSeat, TheBook
from proofyard.answers.session.page import SessionRead, read_session
from proofyard.pages.frame.forms import unit_of
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.paper_log.plain_log import READ, SHOT_FIELDS
from proofyard.records.columns import Noun, meanings
from proofyard.records.shot import Shot, ShotReading
from proofyard.records.speed import SpeedReading
from proofyard.records.trial import CAUTIONS, ShootingEnd

router = APIRouter()

# What the log asks of a shot and of its reading, and before them what a phone knows by itself.
ORDER: tuple[tuple[type[Noun], str], ...] = ((ShootingEnd, "number"), (Shot, "position"))
OF_SHOT: tuple[tuple[type[Noun], str], ...] = (*ORDER, *((Shot, name) for name in SHOT_FIELDS), (SpeedReading, "value"))
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
    """A sheet: two lines a shot, how it was shot and what it did. wide: how many columns the longer line has."""

    read: SessionRead
    shot: Sequence[SheetColumn]
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
            found.append(Key(meaning.label, list(meaning.choices.values())))  # an outcome may be written as its number: that is quicker
    return found


@router.get("/sessions/{session_id}/sheet", response_class=HTMLResponse)
def sheet(request: Request, seat: ArcherSeat, book: TheBook, session_id: str, rows: Annotated[int, Query(ge=1, le=60)] = ROWS) -> Response:
    """One day's sheet, empty. Printed, it is A4 lying on its side."""
    with book.read() as session:
        read = read_session(session, session_id, reader=frame_for(request, title="").reader)
    if read is None:
        raise HTTPException(404, "The book has no such session.")
    page = SheetPage(
        read=read,
        shot=[column(*one) for one in OF_SHOT],
        reading=[column(*one) for one in OF_READING],
        rows=range(1, rows + 1),
        keys=keys_of((*OF_SHOT, *OF_READING)),
        cautions=list(CAUTIONS.values()),
        wide=len(OF_READING),
    )
    return html("paper_log/sheet.html", page, frame=frame_for(request, title=f"Sheet for {read.heading}", nav="trials"))
