"""Films of a session: what each is, what is seen in it of the book's clock, where its shots are."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.answers.film.page import FilmShown, film_shown
from proofyard.pages.film import files as film_files
from proofyard.pages.film import sync_card
from proofyard.pages.frame.form_page import WORDS, Asked, Block, Form, form_routes
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.frame.row_page import Row, row_routes
from proofyard.records.film import Film, FilmMark
from proofyard.records.film_facts import logged_shots
from proofyard.records.film_words import files_of, rate_of
from proofyard.records.listing import one
from proofyard.records.trial import Session as Day
from proofyard.storage import Storage
from proofyard.wording.when import day_words

router = APIRouter()
router.include_router(film_files.router)
router.include_router(sync_card.router)

FILM_FIELDS = ("camera", "files", "frame_rate", "timing", "filmed_rate", "first_timecode", "note")
SEEN_FIELDS = {"card": ("card", "card_read", "file", "seen_at", "note"), "shot": ("shot", "file", "seen_at", "note")}
NEW_FILM = "Only names and times are kept here. The film itself stays on your laptop or card."
SEEN_HEADINGS = {"card": "Where the sync card is seen", "shot": "A shot seen in the film"}
SEEN_LEADS = {
    "card": "Stop the film where the card is sharp. One card near the film’s start and one near its end fix the camera’s clock.",
    "shot": "Step to the first frame in which the arrow is off the string. A shot’s time is that of a tap, so a card is surer.",
}


@dataclass(frozen=True)
class FilmPage:
    """One film."""

    film: Film
    day: Day
    heading: str
    shown: FilmShown
    reader: str
    may_write: bool
    files: Sequence[film_files.FilmFile]


def _film(asked: Asked, session_id: str, film_id: str) -> Film:
    film = asked.found(Film, film_id)
    if film.session_id != session_id:
        raise HTTPException(404, "This session has no such film.")
    return film


@form_routes(router, "/sessions/{session_id}/films/new")
def new_film(asked: Asked, session_id: str) -> Form:
    day = asked.found(Day, session_id)
    back = f"/sessions/{session_id}"
    return Form(
        heading="A new film",
        lead=f"One run of one camera, {day_words(day.day)}. {NEW_FILM}",
        back=f"{back}#session-films",
        after=f"{back}/films/{asked.nth_id()}",
        blocks=[Block(table=Film, names=FILM_FIELDS, typed={"timing": "constant"}, fixed={"session": session_id}, whole=True)],
        nav="trials",
        classes=WORDS,
        label="This film",
    )


@row_routes(router, "/sessions/{session_id}/films/{film_id}/correct")
def correct_film(asked: Asked, session_id: str, film_id: str) -> Row:
    film = _film(asked, session_id, film_id)
    back = f"/sessions/{session_id}/films/{film_id}"
    return Row(
        row=film,
        names=FILM_FIELDS,
        heading=f"Correct the film by {film.camera}",
        lead=NEW_FILM,
        address=f"{back}/correct",
        back=back,
        options={},
        linked={},
    )


@router.get("/sessions/{session_id}/films/{film_id}", response_class=HTMLResponse)
def film_page(request: Request, seat: ViewerSeat, book: TheBook, session_id: str, film_id: str) -> Response:
    asked = Asked(request, seat, book)
    film, day = _film(asked, session_id, film_id), asked.found(Day, session_id)
    with book.read() as session:
        shown = film_shown(session, film)
    heading = f"Film by {film.camera}, {day_words(day.day)}"
    page = FilmPage(film, day, heading, shown, asked.reader, seat.at_least("archer"), tuple(film_files.FILES.values()))
    return html("film/page.html", page, frame=frame_for(request, title=heading, nav="trials"))


def _asked_of(book: Storage, film: Film, seen: str) -> dict[str, Any]:
    """What is asked of a mark; the file only where there are several."""
    files = files_of(film.files, rate_of(film))
    names = tuple(name for name in SEEN_FIELDS[seen] if name != "file" or isinstance(files, str) or len(files) > 1)
    with book.read() as session:
        shots = [(one.shot_id, one.label) for one in logged_shots(session, {film.session_id}) if one.loosed_at is not None]
    return {"names": names, "options": {"shot": shots}}


def _new_mark(asked: Asked, film: Film, seen: str) -> Form:
    back = f"/sessions/{film.session_id}/films/{film.id}"
    return Form(
        heading=SEEN_HEADINGS[seen],
        lead=SEEN_LEADS[seen],
        back=back,
        after=f"{back}#film-marks",
        blocks=[Block(table=FilmMark, fixed={"film": film.id, "seen": seen}, **_asked_of(asked.book, film, seen))],
        nav="trials",
        classes=WORDS,
        label="This mark",
    )


@form_routes(router, "/sessions/{session_id}/films/{film_id}/card")
def card_seen(asked: Asked, session_id: str, film_id: str) -> Form:
    return _new_mark(asked, _film(asked, session_id, film_id), "card")


@form_routes(router, "/sessions/{session_id}/films/{film_id}/shot")
def shot_seen(asked: Asked, session_id: str, film_id: str) -> Form:
    return _new_mark(asked, _film(asked, session_id, film_id), "shot")


@row_routes(router, "/sessions/{session_id}/films/{film_id}/marks/{film_mark_id}")
def correct_mark(asked: Asked, session_id: str, film_id: str, film_mark_id: str) -> Row:
    film = _film(asked, session_id, film_id)
    with asked.book.read() as session:
        mark = one(session, FilmMark, film_mark_id)
    if mark is None or mark.film_id != film_id:
        raise HTTPException(404, "This film has no such mark.")
    back = f"/sessions/{session_id}/films/{film_id}"
    wanted = _asked_of(asked.book, film, mark.seen)
    return Row(
        row=mark,
        heading=SEEN_HEADINGS[mark.seen],
        lead=SEEN_LEADS[mark.seen],
        address=f"{back}/marks/{film_mark_id}",
        back=back,
        linked=dict(wanted["options"]["shot"]),
        fixed={"seen": mark.seen},
        **wanted,
    )
