"""What the texts of a film and of its marks say: its files with their lengths, a place in them, a moment on the sync card."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from proofyard.quantities.timecode import FilmTime, FilmTimeFault, FrameRate, frame_rate, read_film_time
from proofyard.records.film import Film

CODE = "proofyard"  # what the text of a card's code begins with
CODE_STEP_S = 0.1  # how often the card draws another code
_CODE = re.compile(rf"{CODE}\|([0-9a-f]{{8}})\|(\d{{1,9}})\|(\d{{12,14}})\|(\d{{0,5}})", re.ASCII)
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d):([0-5]\d)(?:[.,](\d{1,3}))?", re.ASCII)


@dataclass(frozen=True)
class FilmFile:
    """One file of a film. `plays_s`: how long it plays; None where nobody said, which only the last one may."""

    name: str
    plays_s: float | None


@dataclass(frozen=True)
class CardSaid:
    """What was read off a card. `to_the_second`: no thousandths were said. `error_ms`: how far that phone's clock may be off."""

    at_ms: int
    to_the_second: bool
    book: str | None = None
    error_ms: int | None = None


def rate_of(film: Film) -> FrameRate:
    return frame_rate(film.frame_rate)


def files_of(text: str, rate: FrameRate) -> list[FilmFile] | str:
    """The files of a film, a line each; or the first line that can't be read."""
    found: list[FilmFile] = []
    for line in filter(None, (one.strip() for one in text.splitlines())):
        name, _, last = line.rpartition(" ")
        played = read_film_time(last, rate) if name else FilmTimeFault.UNREADABLE
        if isinstance(played, FilmTime) and played.seconds > 0 and not name.endswith((",", ";")):
            found.append(FilmFile(name.strip(), played.seconds))
        elif isinstance(played, FilmTime):
            return line
        else:
            found.append(FilmFile(line, None))
    unknown = next((nth for nth, one in enumerate(found) if one.plays_s is None), len(found))
    return found if unknown >= len(found) - 1 else found[unknown].name


def before_file(files: Sequence[FilmFile], number: int) -> float:
    """What plays before the file of that number, counted from 1: the sum of those before it, never their dates."""
    return sum(one.plays_s or 0.0 for one in files[: number - 1])


def place_in_film(
    text: str, number: int | None, *, rate: FrameRate, files: Sequence[FilmFile], first: str | None
) -> FilmTime | FilmTimeFault:
    """A place counted from the first frame of the first file.

    A timecode of a camera whose first one is known runs on through its files; all else is counted in its own file.
    """
    read = read_film_time(text, rate)
    if isinstance(read, FilmTimeFault):
        return read
    begun = read_film_time(first, rate) if first and read.by_timecode else None
    if isinstance(begun, FilmTime):
        return replace(read, seconds=read.seconds - begun.seconds)
    return replace(read, seconds=before_file(files, number or 1) + read.seconds)


def read_card(text: str, day: str) -> CardSaid | None:
    """What a sync card showed, on that day of the laptop's own time; None if that can't be read."""
    plain = text.strip()
    if found := _CODE.fullmatch(plain):
        return CardSaid(int(found[3]), False, found[1], int(found[4]) if found[4] else None)
    if found := _CLOCK.fullmatch(plain):
        shown = datetime.fromisoformat(f"{day}T{int(found[1]):02d}:{found[2]}:{found[3]}")
        return CardSaid(round(shown.timestamp() * 1000) + int((found[4] or "").ljust(3, "0")), found[4] is None)
    return None


def code_of_card(*, book_id: str, seq: int, at_ms: int, error_ms: int | None) -> str:
    """The text of a card's code: book, the number of its last change, the moment, and how far the clock may be off."""
    return f"{CODE}|{book_id[:8]}|{seq}|{at_ms}|{'' if error_ms is None else error_ms}"
