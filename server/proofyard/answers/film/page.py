"""What a film's page shows, and what a session's and a shot's page say of films."""

from dataclasses import dataclass

from proofyard.answers.film.clip_times import ClipTime, FilmRead, MarkRead, film_read, films_of
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.film import FRAME_RATES, Film
from proofyard.records.film_facts import counted_in
from proofyard.storage import Session


@dataclass(frozen=True)
class MarkLine:
    mark_id: str
    number: str
    words: Reason
    small: Reason
    need: bool


@dataclass(frozen=True)
class ClipLine:
    shot_id: str
    label: str
    words: Reason
    small: Reason


@dataclass(frozen=True)
class FileLine:
    number: str
    name: str
    plays: Reason


@dataclass(frozen=True)
class FilmShown:
    """`tied`: the film's time is tied to the book's, so there are clip times. `cards`: how many of its marks are sync cards;
    `counted`: id and label of shots whose speeds were counted in it."""

    read: FilmRead
    frames: Reason
    files: tuple[FileLine, ...]
    marks: tuple[MarkLine, ...]
    clips: tuple[ClipLine, ...]
    tied: bool
    cards: int
    counted: tuple[tuple[str, str], ...]


def film_shown(session: Session, film: Film) -> FilmShown:
    read = film_read(session, film)
    many = len(read.files) > 1
    return FilmShown(
        read=read,
        frames=because("film_frames", rate=FRAME_RATES[film.frame_rate], fraction=str(read.rate), timing=film.timing, slower=read.pace),
        files=tuple(FileLine(str(n), one.name, because("film_file", plays_s=one.plays_s)) for n, one in enumerate(read.files, 1)),
        marks=tuple(_mark(n, one, many=many) for n, one in enumerate(read.marks, 1)),
        clips=tuple(clip_line(read, one) for one in read.clips),
        tied=not isinstance(read.clock, CantTell),
        cards=sum(one.mark.seen == "card" for one in read.marks),
        counted=tuple(counted_in(session, film.id)),
    )


def _mark(number: int, one: MarkRead, *, many: bool) -> MarkLine:
    words = because("film_mark", label=one.label, card_at=one.mark.card_at, at=one.mark.seen_at, file=one.mark.file if many else None)
    if one.place_s is None or one.book_s is None:
        small = because("film_mark_unread")
    elif one.odd:
        small = because("film_mark_odd", u_s=one.uncertainty_s, off_s=(one.off or 0.0) * one.uncertainty_s)
    else:
        small = because("film_mark_good", u_s=one.uncertainty_s)
    return MarkLine(one.mark.id, str(number), words, small, one.odd or one.place_s is None or one.book_s is None)


def clip_line(read: FilmRead, clip: ClipTime) -> ClipLine:
    """Where a shot is in a film. The line names the file where the film has several."""
    file = clip.file_name if len(read.files) > 1 else None
    words = because("film_clip", in_file_s=clip.in_file_s, within_s=clip.within_s)
    return ClipLine(clip.shot.shot_id, clip.shot.label, words, because("film_clip_file", file=file, seen=clip.seen))


@dataclass(frozen=True)
class FilmLine:
    """A film in the list of its session."""

    film_id: str
    camera: str
    says: Reason
    need: bool


def film_lines(session: Session, session_id: str) -> tuple[FilmLine, ...]:
    """Three statements; one where there is no film."""
    return tuple(_line(read) for read in films_of(session, session_id))


def _line(read: FilmRead) -> FilmLine:
    return FilmLine(read.film.id, read.film.camera, read.says, isinstance(read.clock, CantTell) or any(one.odd for one in read.marks))


@dataclass(frozen=True)
class ShotInFilm:
    """A shot's place in one film of its session."""

    film_id: str
    session_id: str
    camera: str
    clip: ClipLine


def shot_in_films(session: Session, session_id: str, shot_id: str) -> tuple[ShotInFilm, ...]:
    """Every film that has the shot."""
    return tuple(
        ShotInFilm(read.film.id, session_id, read.film.camera, clip_line(read, clip))
        for read in films_of(session, session_id)
        for clip in read.clips
        if clip.shot.shot_id == shot_id
    )
