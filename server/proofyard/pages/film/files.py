"""A film's files: captions, chapters and a timeline, made of its clip times when they are asked for."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.answers.film.clip_times import FilmRead, film_read
from proofyard.exchange.film_captions import chapters_text, ffmetadata, srt, webvtt
from proofyard.exchange.film_cues import Cue, cues_of
from proofyard.exchange.film_timeline import timeline
from proofyard.pages.frame.rendering import frame_for
from proofyard.records.film import Film
from proofyard.records.listing import one
from proofyard.records.trial import Session as Day
from proofyard.wording.reasons.said import sentence
from proofyard.wording.when import day_words

router = APIRouter()


@dataclass(frozen=True)
class FilmFile:
    """One file on offer, by the end of its address. `make`: of the film, its cues, what it is called, what its times are good to."""

    name: str
    words: str
    media: str
    make: Callable[[FilmRead, Sequence[Cue], str, str], str]


FILES = {
    one.name: one
    for one in (
        FilmFile(
            "captions.vtt",
            "Captions for a web player (WebVTT)",
            "text/vtt",
            lambda read, cues, name, note: webvtt(cues, note=f"{name}. {note}"),
        ),
        FilmFile(
            "captions.srt", "Captions for an editor or player (SubRip)", "application/x-subrip", lambda read, cues, name, note: srt(cues)
        ),
        FilmFile(
            "chapters.txt",
            "Chapters as text, to put under a film",
            "text/plain",
            lambda read, cues, name, note: chapters_text(cues, first=name),
        ),
        FilmFile(
            "chapters.ffmetadata",
            "Chapters for FFmpeg (FFMETADATA)",
            "text/plain",
            lambda read, cues, name, note: ffmetadata(cues, title=name, plays_s=read.plays_s),
        ),
        FilmFile(
            "timeline.otio",
            "A timeline with a marker a shot, for an editor (OpenTimelineIO)",
            "application/json",
            lambda read, cues, name, note: timeline(read, cues, name=name),
        ),
    )
}


@router.get("/sessions/{session_id}/films/{film_id}/files/{film_file}")
def film_file(request: Request, seat: ViewerSeat, book: TheBook, session_id: str, film_id: str, film_file: str) -> Response:
    """One file; 404 where the film has no clip times yet."""
    wanted, reader = FILES.get(film_file), frame_for(request, title="").reader
    with book.read() as session:
        film, day = one(session, Film, film_id), one(session, Day, session_id)
        if wanted is None or film is None or day is None or film.session_id != session_id:
            raise HTTPException(404, "This session has no such file of a film.")
        read = film_read(session, film)
        cues = cues_of(session, read, reader=reader)
    if not cues:
        raise HTTPException(404, "No shot is known to lie in this film yet. Tie it to the book’s clock first.")
    name = f"{film.camera}, {day_words(day.day)}"
    content = wanted.make(read, cues, name, sentence(read.says, reader))
    headers = {"Content-Disposition": f'attachment; filename="{film_file}"', "Cache-Control": "no-store"}
    return Response(content.encode(), media_type=f"{wanted.media}; charset=utf-8", headers=headers)
