"""Film time: frame rates as fractions, timecodes, and what a person types who looks at a film.

A rate is kept as its fraction: 29.97 is 30000/1001, and the decimal would be a frame out after nine hours.
"""

import re
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from math import isfinite

MOST_S = 100 * 3600.0  # a clock of a film has two digits for its hours

_CLOCK = re.compile(r"(?:(?:(\d{1,2}):)?(\d{1,2}):)?(\d{1,6})(?:[.,](\d{1,6}))?\s*(s)?", re.ASCII)
_TIMECODE = re.compile(r"(\d{1,2}):(\d{2}):(\d{2})([:;.])(\d{2,3})", re.ASCII)
_FRAME = re.compile(r"(?:frame\s*|#\s*)(\d{1,9})|(\d{1,9})\s*(?:f|frames?)", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True)
class FrameRate:
    """Frames a second as a fraction in lowest terms, such as 30000/1001."""

    numerator: int
    denominator: int = 1

    def __post_init__(self) -> None:
        if self.numerator < 1 or self.denominator < 1:
            raise ValueError(f"a frame rate is above 0, not {self.numerator}/{self.denominator}")

    @property
    def fps(self) -> float:
        return self.numerator / self.denominator

    @property
    def frame_s(self) -> float:
        return self.denominator / self.numerator

    @property
    def counted(self) -> int:
        """The frames that a timecode counts in its second: 30 where 29.97 pass."""
        return round(self.fps)

    @property
    def may_drop(self) -> bool:
        """Whether drop-frame timecode is known for it: 30000/1001 and 60000/1001."""
        return self.denominator == 1001 and self.counted in (30, 60)

    def __str__(self) -> str:
        return f"{self.numerator}/{self.denominator}" if self.denominator != 1 else str(self.numerator)


def frame_rate(text: str) -> FrameRate:
    """
    >>> frame_rate("30000/1001").fps
    29.97002997002997
    """
    found = Fraction(text)
    return FrameRate(found.numerator, found.denominator)


def _dropped(rate: FrameRate) -> int:
    """Frame numbers that drop-frame leaves out at the start of a minute: 2 of 30, 4 of 60."""
    return rate.counted // 15


def timecode(frame: int, rate: FrameRate, *, drop: bool = False) -> str:
    """The timecode of a frame, counted from 0: "00:01:00;02" is frame 1800 at 29.97 with drop-frame.

    Drop-frame leaves out two numbers (four at 59.94) at each minute but the tenth, so that the clock keeps to the day's.
    Source: SMPTE ST 12-1, from memory; checked against opentimelineio.
    """
    if frame < 0:
        raise ValueError(f"frames are counted from 0, not {frame}")
    if drop:
        if not rate.may_drop:
            raise ValueError(f"no drop-frame timecode is known for {rate}")
        drops = _dropped(rate)
        tens, rest = divmod(frame, 600 * rate.counted - 9 * drops)
        frame += 9 * drops * tens + drops * max(0, (rest - drops) // (60 * rate.counted - drops))
    seconds, frames = divmod(frame, rate.counted)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}{';' if drop else ':'}{frames:02d}"


class FilmTimeFault(Enum):
    """Why a text is no place in a film."""

    UNREADABLE = "unreadable"
    NO_SUCH_FRAME = "no_such_frame"
    DROPPED = "dropped"
    NO_DROP_FRAME = "no_drop_frame"


@dataclass(frozen=True)
class FilmTime:
    """A place in a film.

    step_s       what it was said to: a frame, or the last digit of a player's clock
    frame        it was said by its frame's number or by a timecode
    by_timecode  by a timecode, which may be the camera's own
    """

    seconds: float
    step_s: float
    frame: int | None = None
    by_timecode: bool = False


def read_film_time(text: str, rate: FrameRate) -> FilmTime | FilmTimeFault:
    """What a person types of a place in a film: a player's clock, an editor's timecode, or a frame's number.

    >>> read_film_time("12:03.48", FrameRate(25)).seconds
    723.48
    >>> read_film_time("00:12:03:12", FrameRate(25)).seconds
    723.48
    >>> read_film_time("frame 18087", FrameRate(25)).seconds
    723.48
    """
    plain = text.strip()
    if found := _FRAME.fullmatch(plain):
        frame = int(found[1] or found[2])
        return FilmTime(frame * rate.frame_s, rate.frame_s, frame) if frame * rate.frame_s < MOST_S else FilmTimeFault.UNREADABLE
    if (found := _TIMECODE.fullmatch(plain)) and found[4] != ".":
        return _of_timecode(*(int(found[nth]) for nth in (1, 2, 3, 5)), rate=rate, drop=found[4] == ";")
    if found := _CLOCK.fullmatch(plain):
        return _of_clock(found)
    return FilmTimeFault.UNREADABLE


def _of_clock(found: re.Match[str]) -> FilmTime | FilmTimeFault:
    hours, minutes, seconds = int(found[1] or 0), int(found[2] or 0), float(f"{found[3]}.{found[4] or 0}")
    if found[2] and (seconds >= 60 or found[1] and minutes >= 60):
        return FilmTimeFault.UNREADABLE
    whole = hours * 3600 + minutes * 60 + seconds
    return FilmTime(whole, 10.0 ** -len(found[4] or "")) if isfinite(whole) and whole < MOST_S else FilmTimeFault.UNREADABLE


def _of_timecode(hours: int, minutes: int, seconds: int, frames: int, *, rate: FrameRate, drop: bool) -> FilmTime | FilmTimeFault:
    if minutes >= 60 or seconds >= 60:
        return FilmTimeFault.UNREADABLE
    if frames >= rate.counted:
        return FilmTimeFault.NO_SUCH_FRAME
    frame = ((hours * 60 + minutes) * 60 + seconds) * rate.counted + frames
    if drop:
        if not rate.may_drop:
            return FilmTimeFault.NO_DROP_FRAME
        if seconds == 0 and frames < _dropped(rate) and minutes % 10:
            return FilmTimeFault.DROPPED
        frame -= _dropped(rate) * (60 * hours + minutes - (60 * hours + minutes) // 10)
    return FilmTime(frame * rate.frame_s, rate.frame_s, frame, by_timecode=True)
