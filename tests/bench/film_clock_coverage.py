"""How far clip times lie from where the shots are in the film, and how often the 95 % interval holds.

    python tests/bench/film_clock_coverage.py [films]

Each film is played through from the frame up: a phone draws the card at 60 Hz, a camera whose clock drifts (30 ppm standard) opens its
shutter for a frame, somebody reads what that frame shows and types it with the frame's timecode; shots are logged by phones whose clocks
are off by up to 12 ms. What is typed goes through the same reading that a page asks. Seed fixed.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.answers.film.clip_times import ClipTime, films_read
from proofyard.quantities.timecode import FrameRate, frame_rate, timecode
from proofyard.records.film import Film, FilmMark
from proofyard.records.film_facts import FilmFacts, LoggedShot

SEED = 20261130
DAY = "2026-10-10"
HOURS_S, SHOTS, ERROR_MS, DRIFT, REFRESH_S = 7200.0, 20, 12, 30e-6, 1 / 60
CASES = {
    "two cards, start and end": (30.0, HOURS_S - 60.0),
    "one card, at the start": (30.0,),
    "one card, in the middle": (HOURS_S / 2,),
    "two cards ten minutes apart, at the start": (30.0, 630.0),
}


def errors_of(cards: tuple[float, ...], *, rate: str, how: str, films: int) -> tuple[list[float], float]:
    """The errors of all clip times in seconds, and the share of 95 % intervals that hold."""
    rng, errors, held = Random(SEED), [], 0
    for _ in range(films):
        found, true = _one_film(rng, cards, frame_rate(rate), how)
        for clip in found:
            error = clip.at.value - true[clip.shot.shot_id]
            errors.append(error)
            held += abs(error) <= clip.within_s
    return errors, held / len(errors)


def _one_film(rng: Random, cards: tuple[float, ...], rate: FrameRate, how: str) -> tuple[tuple[ClipTime, ...], dict[str, float]]:
    begun = datetime.fromisoformat(f"{DAY}T09:00:00").timestamp() + rng.random()
    drift, phase = rng.gauss(0.0, DRIFT), rng.random() * rate.frame_s
    off = rng.uniform(-ERROR_MS, ERROR_MS) / 1000
    draws = rng.random() * REFRESH_S

    def in_film(book_s: float) -> float:
        return (book_s - begun) * (1 + drift)

    marks = [_card(rng, begun + at, in_film, rate=rate, off=off, phase=phase, draws=draws, how=how) for at in cards]
    film = Film(
        id="film", rev=1, session_id="day", camera="A", files=f"A.MP4 {HOURS_S + 60}", frame_rate=str(rate), timing="constant", typed="{}"
    )
    shots, true = [], {}
    for nth in range(SHOTS):
        at = begun + rng.uniform(60, HOURS_S - 60)
        logged = round((at + rng.uniform(-ERROR_MS, ERROR_MS) / 1000) * 1000)
        shots.append(LoggedShot(str(nth), f"A{nth}", "day", logged, ERROR_MS))
        true[str(nth)] = in_film(at) - phase  # the film's own time begins with its first frame
    (read,) = films_read(FilmFacts((film,), {"film": tuple(marks)}, tuple(shots)), {"day": DAY})
    return read.clips, true


def _card(
    rng: Random, near_s: float, in_film: Callable[[float], float], *, rate: FrameRate, off: float, phase: float, draws: float, how: str
) -> FilmMark:
    """What somebody reads off a frame: of the second that begins next, or of any frame."""
    turn = math.ceil(near_s)
    drawn = _next(turn - off, REFRESH_S, draws) if how == "changed" else near_s  # the phone's own clock says when it changes
    number = math.floor((in_film(drawn) - phase) / rate.frame_s) + 1
    if how == "paused":
        shown_at = near_s + number * rate.frame_s + phase - in_film(near_s)  # the frame is exposed a little later than that
        latest = _next(shown_at, REFRESH_S, draws) - REFRESH_S
        text = f"{datetime.fromtimestamp(latest + off):%H:%M:%S.%f}"[:-3]
    else:
        text = f"{datetime.fromtimestamp(turn):%H:%M:%S}"
    card_at = round((turn if how == "changed" else latest + off) * 1000)
    seen = {"seen_at": timecode(number, rate), "card": text, "card_read": how, "card_at": card_at}
    return FilmMark(id=str(rng.random()), rev=1, typed="{}", film_id="film", seen="card", **seen)


def _next(at: float, step: float, first: float) -> float:
    return first + math.ceil((at - first) / step) * step


def within_95(errors: list[float]) -> float:
    return sorted(map(abs, errors))[math.ceil(0.95 * len(errors)) - 1]


def main(films: int = 1000) -> None:
    print(f"{films} films of {HOURS_S / 3600:g} h, {SHOTS} shots each: 95 % of clip times lie within, s; the 95 % interval holds, %")
    for name, cards in CASES.items():
        for rate in ("30000/1001", "240"):
            for how in ("changed", "paused"):
                errors, holds = errors_of(cards, rate=rate, how=how, films=films)
                print(f"{name:42} {float(frame_rate(rate).fps):6.2f} fps  {how:8} {within_95(errors):.3f}  {100 * holds:.1f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
