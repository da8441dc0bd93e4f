"""Where each shot is in a film, and how sure that is: the marks' two times, the line through them, each shot's moment along it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.quantities.reason import CantTell, Reason, Uncertain, because
from proofyard.quantities.timecode import FilmTimeFault, FrameRate
from proofyard.records.film import Film, FilmMark
from proofyard.records.film_facts import FilmFacts, LoggedShot, film_facts
from proofyard.records.film_words import CODE_STEP_S, FilmFile, before_file, files_of, place_in_film, rate_of, read_card
from proofyard.records.listing import one
from proofyard.records.trial import Session as Day
from proofyard.statistics.film_clock import ODD_FROM, ClockMark, FilmClock, film_clock
from proofyard.storage import Session

REFRESH_S = 1 / 60  # of a phone's screen (common practice, no source); a faster one is a little better
CLOCK_ERROR_MS = 25  # of a clock of which nobody said more: what phones on one Wi-Fi mostly stay within (common practice, no source)
TAP_S = 0.3  # between an arrow’s release and the tap that logs it: spread assumed, no source
SECONDS_U = 1 / math.sqrt(12)
COVERS_95 = 1.96


@dataclass(frozen=True)
class MarkRead:
    """A mark as it counts. `off`: how far it lies from the line of all, in its own uncertainties; None while there is no line.

    place_u_s   of its place in the film alone, in the book's seconds; uncertainty_s: of both times
    """

    mark: FilmMark
    label: str
    place_s: float | None
    book_s: float | None
    uncertainty_s: float
    place_u_s: float
    off: float | None = None

    @property
    def odd(self) -> bool:
        return self.off is not None and abs(self.off) > ODD_FROM


@dataclass(frozen=True)
class ClipTime:
    """Where a shot is: from the first frame of the first file, and within its own.

    at     seconds, with the standard uncertainty of the moment that was logged, not of how late the tap came
    seen   it was seen itself, so it is that frame
    """

    shot: LoggedShot
    at: Uncertain
    file_number: int
    file_name: str
    in_file_s: float
    seen: bool

    @property
    def within_s(self) -> float:
        """Half of the 95 % interval."""
        return COVERS_95 * (self.at.standard_uncertainty or 0.0)


@dataclass(frozen=True)
class FilmRead:
    """A film, its clock against the book's, and its shots in the film's order. `timeless`: labels of shots that have no time."""

    film: Film
    files: tuple[FilmFile, ...]
    rate: FrameRate
    pace: float
    marks: tuple[MarkRead, ...]
    clock: FilmClock | CantTell
    clips: tuple[ClipTime, ...]
    timeless: tuple[str, ...]

    @property
    def plays_s(self) -> float | None:
        """How long all of it plays, where every file's length is known."""
        return None if any(one.plays_s is None for one in self.files) else math.fsum(one.plays_s or 0.0 for one in self.files)

    @property
    def says(self) -> Reason:
        """What its marks came to, in one sentence."""
        if isinstance(self.clock, CantTell):
            return self.clock.reason
        worst = max((one.within_s for one in self.clips if not one.seen), default=None)
        cards = sum(one.mark.seen == "card" for one in self.marks)
        drift = Uncertain(self.clock.drift * 1e6, self.clock.drift_u * 1e6) if self.clock.drift_seen else None
        return because("film_clock", cards=cards, shots=len(self.marks) - cards, within_s=worst, clips=len(self.clips), drift_ppm=drift)


def films_of(session: Session, session_id: str) -> tuple[FilmRead, ...]:
    """Every film of a session that stands; three statements, one where there is none."""
    facts = film_facts(session, session_id=session_id)
    day = one(session, Day, session_id) if facts.films else None
    return films_read(facts, {session_id: day.day} if day else {})


def films_read(facts: FilmFacts, days: dict[str, str]) -> tuple[FilmRead, ...]:
    """days: of each session, the day that its cards' times are of."""
    shots: dict[str, list[LoggedShot]] = {}  # by session: a package reads all films of the book
    for shot in facts.shots if facts.films else ():
        shots.setdefault(shot.session_id, []).append(shot)
    return tuple(
        _read(film, replace(facts, shots=tuple(shots.get(film.session_id, ()))), day=days[film.session_id]) for film in facts.films
    )


def film_read(session: Session, film: Film) -> FilmRead:
    """One film, a crossed-out one too."""
    facts = film_facts(session, session_id=film.session_id, voided=True)
    day = one(session, Day, film.session_id)
    assert day is not None
    standing = {key: tuple(mark for mark in marks if mark.voided_rev is None) for key, marks in facts.marks.items()}
    return _read(film, FilmFacts(facts.films, standing, facts.shots), day=day.day)


def _read(film: Film, facts: FilmFacts, *, day: str) -> FilmRead:
    rate = rate_of(film)
    found = files_of(film.files, rate)
    files = tuple(found) if not isinstance(found, str) else (FilmFile(found, None),)
    pace = film.filmed_rate_hz / rate.fps if film.timing == "slowed" and film.filmed_rate_hz else 1.0
    shots = {shot.shot_id: shot for shot in facts.shots if shot.session_id == film.session_id}
    marks = [_mark(one, film, files, rate, pace=pace, shots=shots, day=day) for one in facts.marks.get(film.id, ())]
    good = [one for one in marks if one.place_s is not None and one.book_s is not None]
    clock = film_clock([_clock_mark(one) for one in good], pace=pace)
    if isinstance(clock, FilmClock):
        marks = [MarkRead(**{**vars(one), "off": clock.off(_clock_mark(one))}) if one in good else one for one in marks]
    clips = _clips(clock, list(shots.values()), marks, files) if isinstance(clock, FilmClock) else []
    timeless = tuple(shot.label for shot in shots.values() if shot.loosed_at is None)
    return FilmRead(film, files, rate, pace, tuple(marks), clock, tuple(clips), timeless)


def _clock_mark(one: MarkRead) -> ClockMark:
    assert one.place_s is not None and one.book_s is not None
    return ClockMark(one.book_s, one.place_s, one.uncertainty_s)


def _mark(
    mark: FilmMark, film: Film, files: Sequence[FilmFile], rate: FrameRate, *, pace: float, shots: dict[str, LoggedShot], day: str
) -> MarkRead:
    """The two times of a mark, each at the middle of what it leaves open."""
    place = place_in_film(mark.seen_at, mark.file, rate=rate, files=files, first=film.first_timecode)
    frame_s = rate.frame_s / pace
    parts = [frame_s / math.sqrt(12)]
    place_s = None if isinstance(place, FilmTimeFault) else place.seconds
    if not isinstance(place, FilmTimeFault) and place.step_s > rate.frame_s:
        parts.append(place.step_s / pace / math.sqrt(3))  # a player's clock may round or cut off
    place_u_s = math.hypot(*parts)
    if mark.seen == "shot":
        shot = shots.get(mark.shot_id or "")
        book_s = None if shot is None or shot.loosed_at is None else shot.loosed_at / 1000
        parts += [TAP_S, _clock_u(shot.clock_error_ms if shot else None)]
        label = shot.label if shot else ""
        first_seen = True
    else:
        late_s, own, first_seen = _of_card(mark)
        book_s = None if mark.card_at is None else mark.card_at / 1000 + late_s
        said = read_card(mark.card or "", day)
        parts += [own, REFRESH_S / math.sqrt(12), _clock_u(said.error_ms if said else None)]
        label = ""
    if place_s is not None and first_seen:
        place_s -= rate.frame_s / 2  # it happened between the frame before and this one
    return MarkRead(mark, label, place_s, book_s, math.hypot(*parts), place_u_s)


def _of_card(mark: FilmMark) -> tuple[float, float, bool]:
    """How much later than it says a card stood as it was seen, how sure that is, and whether the frame is the first of it."""
    if mark.card_read == "seconds":
        return 0.5, SECONDS_U, False
    code = "|" in (mark.card or "")
    if mark.card_read == "paused":
        return (CODE_STEP_S / 2, CODE_STEP_S / math.sqrt(12), False) if code else (REFRESH_S / 2, 0.0, False)
    return REFRESH_S / 2, 0.0, True


def _clock_u(error_ms: int | None) -> float:
    return (CLOCK_ERROR_MS if error_ms is None else error_ms) / 1000 / math.sqrt(3)


def _clips(clock: FilmClock, shots: Sequence[LoggedShot], marks: Sequence[MarkRead], files: Sequence[FilmFile]) -> list[ClipTime]:
    """The shots that lie within the film, in its order; one that was seen is where it was seen."""
    seen = {one.mark.shot_id: one for one in marks if one.mark.seen == "shot" and one.place_s is not None}
    found = []
    for shot in shots:
        if shot.loosed_at is None:
            continue
        at, mine = clock.at(shot.loosed_at / 1000, own_u_s=_clock_u(shot.clock_error_ms)), seen.get(shot.shot_id)
        if mine is not None and mine.place_s is not None:
            at = Uncertain(mine.place_s, mine.place_u_s * clock.pace)
        place = _file_at(at.value, files)
        if place is not None:
            found.append(ClipTime(shot, at, *place, seen=mine is not None))
    return sorted(found, key=lambda clip: (clip.at.value, clip.shot.label))


def _file_at(at_s: float, files: Sequence[FilmFile]) -> tuple[int, str, float] | None:
    """The file that plays then: its number, its name, the seconds within it; None before the first frame and after the last."""
    for number, file in enumerate(files, 1):
        begun = before_file(files, number)
        if at_s >= begun and (file.plays_s is None or at_s < begun + file.plays_s):
            return number, file.name, at_s - begun
    return None
