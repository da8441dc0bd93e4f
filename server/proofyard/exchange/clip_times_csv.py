"""clip_times.csv: where each shot is in each film of its session, and how sure that is."""

import math

from proofyard.answers.film.clip_times import FilmRead, films_read
from proofyard.exchange.csv_writing import Column, Table, Value, yes_no
from proofyard.exchange.fetched import Fetched
from proofyard.quantities.timecode import timecode
from proofyard.records.columns import Noun
from proofyard.records.film import Film, FilmMark
from proofyard.records.film_facts import FilmFacts, LoggedShot
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Session as Day

NAME = "clip_times.csv"
WORDS = "Where each shot is in each film of its session, and how sure that is."
TABLES: tuple[type[Noun], ...] = (Film, FilmMark, Day)
COLUMNS = (
    Column("shot", "Label of the shot, as in shots.csv", "", "given"),
    Column("shot_id", "Identifier of the shot", "", "given"),
    Column("camera", "The camera that filmed it", "", "typed"),
    Column("file", "Number of the file, in the order that the camera wrote them", "1", "worked out", number=True),
    Column("file_name", "The file’s name", "", "typed"),
    Column("in_file_s", "When the shot was logged, from the first frame of that file", "s", "worked out", number=True),
    Column("in_film_s", "The same from the first frame of the first file", "s", "worked out", number=True),
    Column(
        "in_film_u_s",
        "Its standard uncertainty; of the moment that was logged, not of how late the tap came that logged it",
        "s",
        "worked out",
        number=True,
    ),
    Column("timecode", "The same as the file’s timecode from 00:00:00:00; ; before the frames means drop-frame", "", "worked out"),
    Column("seen", "The shot itself was seen in the film, so this is its frame", "", "read", values="yes; no"),
    Column("frame_rate", "Frames a second of the file, as a fraction", "", "typed"),
    Column(
        "drift_ppm", "The camera’s clock against the book’s, millionths; empty where one mark alone ties it", "1", "worked out", number=True
    ),
    Column("film_id", "Identifier of the film", "", "given"),
    Column("session_id", "Identifier of the session, as in shots.csv", "", "given"),
)


def clip_times_table(fetched: Fetched) -> Table:
    """One row a shot and film, of films and shots that stand."""
    shots = tuple(_logged(fetched, one.fact) for one in fetched.loosed.shots)
    within = {shot.session_id for shot in shots}
    films = tuple(one for one in fetched.of(Film) if one.voided_rev is None and one.session_id in within)
    marks: dict[str, tuple[FilmMark, ...]] = {}
    for mark in fetched.of(FilmMark):
        if mark.voided_rev is None:
            marks[mark.film_id] = (*marks.get(mark.film_id, ()), mark)
    days = {day.id: day.day for day in fetched.of(Day)}
    rows = tuple(row for read in films_read(FilmFacts(films, marks, shots), days) for row in _rows(read))
    return Table(NAME, WORDS, COLUMNS, rows)


def _logged(fetched: Fetched, fact: ShotFact) -> LoggedShot:
    written = fetched.written.get(fact.shot_id)
    return LoggedShot(fact.shot_id, fact.label, fact.session_id, fact.loosed_at, written.clock_error_ms if written else None)


def _rows(read: FilmRead) -> list[tuple[Value, ...]]:
    drift = getattr(read.clock, "drift", None) if getattr(read.clock, "drift_seen", False) else None
    found: list[tuple[Value, ...]] = []
    for clip in read.clips:
        frame = max(0, math.floor(clip.in_file_s / read.rate.frame_s + 1e-9))
        found.append(
            (
                clip.shot.label,
                clip.shot.shot_id,
                read.film.camera,
                clip.file_number,
                clip.file_name,
                round(clip.in_file_s, 4),
                round(clip.at.value, 4),
                round(clip.at.standard_uncertainty or 0.0, 4),
                timecode(frame, read.rate, drop=read.rate.may_drop),
                yes_no(clip.seen),
                str(read.rate),
                None if drift is None else round(drift * 1e6, 2),
                read.film.id,
                read.film.session_id,
            )
        )
    return found
