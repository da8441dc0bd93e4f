"""The films of a session, what was seen in them, and when each of its shots was logged: three statements."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlmodel import Session

from proofyard.records.book import Revision
from proofyard.records.film import Film, FilmMark
from proofyard.records.of_newest import OfLowest
from proofyard.records.shot import Shot
from proofyard.records.speed import SpeedReading
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd


@dataclass(frozen=True)
class LoggedShot:
    """When a shot was logged by the book's clock, and how far its phone's clock may have been off; None where nobody knows."""

    shot_id: str
    label: str
    session_id: str
    loosed_at: int | None
    clock_error_ms: int | None


@dataclass(frozen=True)
class FilmFacts:
    """Films in the order they were written down, the marks of each, the shots of their sessions in the order they were loosed."""

    films: tuple[Film, ...]
    marks: dict[str, tuple[FilmMark, ...]]
    shots: tuple[LoggedShot, ...]


def film_facts(session: Session, *, session_id: str | None = None, voided: bool = False) -> FilmFacts:
    """Of one session, or of all. voided: crossed-out films and marks too."""
    query = select(Film).order_by(Film.id)
    if session_id is not None:
        query = query.where(Film.session_id == session_id)
    if not voided:
        query = query.where(Film.voided_rev.is_(None))
    films = tuple(session.execute(query).scalars())
    if not films:
        return FilmFacts((), {}, ())
    seen = select(FilmMark).where(FilmMark.film_id.in_([film.id for film in films])).order_by(FilmMark.id)
    if not voided:
        seen = seen.where(FilmMark.voided_rev.is_(None))
    marks: dict[str, tuple[FilmMark, ...]] = {film.id: () for film in films}
    for mark in session.execute(seen).scalars():
        marks[mark.film_id] += (mark,)
    return FilmFacts(films, marks, tuple(logged_shots(session, {film.session_id for film in films})))


def logged_shots(session: Session, session_ids: Sequence[str] | set[str]) -> list[LoggedShot]:
    """One statement; those without a time come first."""
    put = Revision.op_id.is_not(None) & Revision.action.in_(("make", "change"))
    said = (Revision.record_id == Shot.id) & (Revision.noun == "shot") & put
    query = (
        select(Shot.id, Shot.label, Setup.session_id, Shot.loosed_at, OfLowest(Revision.clock_error_ms, Revision.at), func.min(Revision.at))
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .join(Revision, said, isouter=True)
        .where(Shot.voided_rev.is_(None), Setup.session_id.in_(sorted(session_ids)))
        .group_by(Shot.id, Setup.session_id)
        .order_by(Shot.loosed_at, Shot.id)
    )
    return [LoggedShot(*row[:5]) for row in session.execute(query)]


def films_to_pick(session: Session) -> list[tuple[str, str]]:
    """Id and name of every film, the newest day first."""
    query = select(Film.id, Film.camera, Day.day).join(Day, Day.id == Film.session_id).where(Film.voided_rev.is_(None))
    return [(row[0], f"{row[1]}, {row[2]}") for row in session.execute(query.order_by(Day.day.desc(), Film.id))]


def counted_in(session: Session, film_id: str) -> list[tuple[str, str]]:
    """Id and label of the shots whose speeds were counted in this film."""
    query = (
        select(Shot.id, Shot.label)
        .join(SpeedReading, SpeedReading.shot_id == Shot.id)
        .where(SpeedReading.film_id == film_id, SpeedReading.voided_rev.is_(None), Shot.voided_rev.is_(None))
    )
    return [(row[0], row[1]) for row in session.execute(query.order_by(Shot.id))]
