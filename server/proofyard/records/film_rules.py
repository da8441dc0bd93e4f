"""What must hold of a film and of what is seen in it, said in a sentence by its field."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from proofyard.quantities.timecode import FilmTimeFault, frame_rate, read_film_time
from proofyard.records.book import Book
from proofyard.records.film import Film
from proofyard.records.film_words import CardSaid, before_file, files_of, place_in_film, read_card
from proofyard.records.operations import Operation
from proofyard.records.shot import Shot
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd
from proofyard.records.typed_values import Problem

Row = Mapping[str, Any]
_SLACK_S = 1.0  # a player rounds the length of a file up or down
_FAULTS = {
    FilmTimeFault.UNREADABLE: "“{}” is no place in a film. Type it as 12:03.480, as a timecode such as 00:12:03:14, or as frame 21614.",
    FilmTimeFault.NO_SUCH_FRAME: "“{}” has more frames than a second of this film. Check it, or the film’s frame rate.",
    FilmTimeFault.DROPPED: "“{}” does not exist in drop-frame timecode: its number is left out. Check the last two digits.",
    FilmTimeFault.NO_DROP_FRAME: "“{}” is a drop-frame timecode, and this film’s frame rate has none. Type : before the frames.",
}


def film_problems(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    rate, problems = frame_rate(whole["frame_rate"]), []
    files = files_of(whole["files"], rate)
    if isinstance(files, str):
        problems.append(Problem("files", f"“{files[:60]}”: type the file’s name and how long it plays, for example GX010034.MP4 17:42.06."))
    elif len(files) > 99:
        problems.append(Problem("files", f"{len(files)} files are too many for one run. Make a film of each run."))
    if whole.get("first_timecode"):
        first = read_film_time(whole["first_timecode"], rate)
        if isinstance(first, FilmTimeFault):
            problems.append(Problem("first_timecode", _said(first, whole["first_timecode"])))
        elif not first.by_timecode:
            problems.append(Problem("first_timecode", "Type it with its frames, for example 01:00:00:00."))
    if whole["timing"] == "slowed" and (whole.get("filmed_rate_hz") or 0) <= rate.fps:
        problems.append(
            Problem("filmed_rate", "Enter the frames a second that it was filmed at, for example 240 fps: more than the file’s.")
        )
    return problems


def moment_of_card(session: Session, row: Row | None, values: dict[str, Any]) -> dict[str, Any]:
    """`card_at` follows from what the card showed, while the laptop still has the time zone of that day."""
    if "card" not in values:
        return {}
    said = _card(session, {**(row or {}), **values})
    return {"card_at": said.at_ms if said else None}


def _card(session: Session, whole: Row) -> CardSaid | None:
    day = session.execute(select(Day.day).join(Film, Film.session_id == Day.id).where(Film.id == whole["film_id"])).scalar()
    return read_card(whole["card"], day) if day and whole.get("card") else None


def mark_problems(session: Session, op: Operation, row: Row | None, whole: dict[str, Any]) -> list[Problem]:
    film = session.get(Film, whole["film_id"])
    if film is None or op.action == "void":
        return []
    of_moment = _card_problems(session, film, whole) if whole["seen"] == "card" else _shot_problems(session, film, whole)
    return _place_problems(film, whole) + of_moment


def _place_problems(film: Film, whole: Row) -> list[Problem]:
    rate = frame_rate(film.frame_rate)
    files, number = files_of(film.files, rate), whole.get("file")
    if isinstance(files, str):
        return []
    if number is not None and not 1 <= number <= len(files):
        return [Problem("file", f"This film has {len(files)} {'file' if len(files) == 1 else 'files'}. Enter 1 to {len(files)}.")]
    found = place_in_film(whole["seen_at"], number, rate=rate, files=files, first=film.first_timecode)
    if isinstance(found, FilmTimeFault):
        return [Problem("seen_at", _said(found, whole["seen_at"]))]
    if found.frame is not None and film.timing == "variable":
        return [
            Problem("seen_at", "With a variable frame rate a frame’s number is no time. Type the player’s clock, for example 12:03.480.")
        ]
    if len(files) > 1 and number is None and not (found.by_timecode and film.first_timecode):
        return [Problem("file", f"Enter in which of the {len(files)} files it is.")]
    ends = files[(number or 1) - 1].plays_s
    if found.by_timecode and film.first_timecode:
        ends, number = (None if any(one.plays_s is None for one in files) else before_file(files, len(files) + 1)), 1
    if found.seconds < 0 or ends is not None and found.seconds - before_file(files, number or 1) > ends + _SLACK_S:
        return [Problem("seen_at", f"“{whole['seen_at']}” lies outside the film. Check it, the file, and how long that plays.")]
    return []


def _card_problems(session: Session, film: Film, whole: Row) -> list[Problem]:
    problems = []
    said = _card(session, whole)
    if said is None:
        typed = whole.get("card")
        problems.append(
            Problem(
                "card",
                f"“{typed[:40]}” is not on a card. Type its time, for example 14:03:28.480." if typed else "Enter what the card shows.",
            )
        )
    elif said.book and (mine := session.execute(select(Book.book_id)).scalar()) and said.book != mine[:8]:
        problems.append(Problem("card", "This code was shown by another book’s sync card. Check which film it is from."))
    read = whole.get("card_read")
    if read is None:
        problems.append(Problem("card_read", "Choose from which frame it was read."))
    elif said is not None and read == "paused" and said.to_the_second:
        problems.append(Problem("card", "Add the thousandths, for example 14:03:28.480, or choose “seconds only”."))
    return problems


def _shot_problems(session: Session, film: Film, whole: Row) -> list[Problem]:
    if whole.get("shot_id") is None:
        return [Problem("shot", "Choose the shot that is seen.")]
    row = session.execute(
        select(Shot.loosed_at, Setup.session_id)
        .join(ShootingEnd, ShootingEnd.id == Shot.shooting_end_id)
        .join(Setup, Setup.id == ShootingEnd.setup_id)
        .where(Shot.id == whole["shot_id"])
    ).first()
    if row is None or row.session_id != film.session_id:
        return [Problem("shot", "This shot is of another session. Choose one of the film’s own.")]
    if row.loosed_at is None:
        return [Problem("shot", "The book has no time for this shot, so it ties nothing. Choose one that was logged on a phone.")]
    return []


def _said(fault: FilmTimeFault, typed: str) -> str:
    return _FAULTS[fault].format(typed[:20])
