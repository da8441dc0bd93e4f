"""Camera time and book time: one straight line through what was seen of both, and how sure it is of each moment."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, Uncertain, because

# Of two clocks that nobody compared. Quartz in cameras and phones is sold as good to 20 to 50 ppm; common practice, from memory.
DRIFT_NOT_KNOWN = 30e-6
# No camera's clock is so far off: the wrong card, the wrong file, or slow motion that nobody told.
MOST_DRIFT = 500e-6
ODD_FROM = 4.0  # standard uncertainties that a mark may lie off before it is named


@dataclass(frozen=True)
class ClockMark:
    """One moment seen in the film: when by the book, where in the film, and the standard uncertainty of the two together, in book time."""

    book_s: float
    film_s: float
    uncertainty_s: float


@dataclass(frozen=True)
class FilmClock:
    """film = film_s + pace (1 + drift) (book - book_s).

    pace           film seconds in one of the book's: 1, or 8 where 240 frames a second play at 30
    drift          of the camera's clock against the book's; 0 where one moment alone was seen
    drift_u        its standard uncertainty; level_u of the moment book_s
    marks          what it was made from
    """

    book_s: float
    film_s: float
    pace: float
    drift: float
    drift_u: float
    level_u: float
    drift_seen: bool
    marks: tuple[ClockMark, ...]

    def at(self, book_s: float, *, own_u_s: float = 0.0) -> Uncertain:
        """Where in the film a moment of the book is; own_u_s: how sure that moment is by itself."""
        away = book_s - self.book_s
        u = math.sqrt(self.level_u**2 + (self.drift_u * away) ** 2 + own_u_s**2)
        return Uncertain(self.film_s + self.pace * (1 + self.drift) * away, self.pace * u)

    def off(self, mark: ClockMark) -> float:
        """How far a mark lies from the line, in its own standard uncertainties."""
        return (mark.film_s - self.at(mark.book_s).value) / self.pace / mark.uncertainty_s


def film_clock(marks: Sequence[ClockMark], *, pace: float = 1.0) -> FilmClock | CantTell:
    """The line that leads from the book's time to a film's, from moments that were seen of both.

    t_film = a + p (1 + b) t_book
    (a, b) minimise sum ((t_film / p - a / p - (1 + b) t_book) / u)^2 + (b / 30 ppm)^2
    u^2(t) = u^2(a) + u^2(b) (t - t0)^2, t0 where a and b are independent

    Takes
        marks  ClockMark, one or more   u^2 of each: frame^2 / 12 + refresh^2 / 12 + clock error^2
        pace   scalar, above 0          p, film seconds a second: 1, or more for slow motion
    Gives
        FilmClock; CantTell for no mark, or for a drift above 500 ppm by more than the marks leave open
    Refuses
        CantUse  figures that aren't finite, an uncertainty or a pace not above 0
    Holds while
        the camera's clock runs evenly, and no frame was left out or put twice
    Weak when
        the marks lie close together: then the drift is what it was before, 0 ± 30 ppm; or warmth bends a long run
    Source
        Weighted least squares of a line with one observation more, the drift that quartz is sold for (common practice).
        Uniform parts: half-width over the root of 3 (GUM 4.3.7, from memory). Coverage by simulation:
        tests/bench/film_clock_coverage.py
    >>> clock = film_clock([ClockMark(0.0, 12.0, 0.01), ClockMark(7200.0, 7212.144, 0.01)])
    >>> round(clock.drift * 1e6), round(clock.at(3600.0).value, 2), round(clock.at(3600.0).standard_uncertainty, 3)
    (20, 3612.07, 0.007)
    """
    _check(marks, pace)
    if not marks:
        return CantTell(because("film_no_mark"))
    # About their middle, so that a moment of the year 2026 in seconds costs no digits.
    weights = [mark.uncertainty_s**-2 for mark in marks]
    total = math.fsum(weights)
    book = marks[0].book_s + math.fsum(w * (mark.book_s - marks[0].book_s) for w, mark in zip(weights, marks, strict=True)) / total
    film = math.fsum(w * mark.film_s for w, mark in zip(weights, marks, strict=True)) / total
    across = math.fsum(w * (mark.book_s - book) ** 2 for w, mark in zip(weights, marks, strict=True))
    lean = math.fsum(
        w * (mark.book_s - book) * ((mark.film_s - film) / pace - (mark.book_s - book)) for w, mark in zip(weights, marks, strict=True)
    )
    if across > 0 and abs(lean / across) > MOST_DRIFT + 2 / math.sqrt(across):
        return CantTell(because("film_drift_too_great", drift_ppm=lean / across * 1e6, most_ppm=MOST_DRIFT * 1e6))
    known = across + DRIFT_NOT_KNOWN**-2
    return FilmClock(
        book_s=book,
        film_s=film,
        pace=pace,
        drift=lean / known,
        drift_u=known**-0.5,
        level_u=total**-0.5,
        drift_seen=across > 0,
        marks=tuple(marks),
    )


def _check(marks: Sequence[ClockMark], pace: float) -> None:
    if not (math.isfinite(pace) and pace > 0):
        raise CantUse("pace", pace, "above 0 and finite")
    for mark in marks:
        if not all(map(math.isfinite, (mark.book_s, mark.film_s))):
            raise CantUse("marks", mark, "finite moments")
        if not (math.isfinite(mark.uncertainty_s) and mark.uncertainty_s > 0):
            raise CantUse("marks", mark, "an uncertainty above 0")
