"""How many shots an answer takes, and what so many can settle: the planning part of a trial's plan page, in words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from server.findings.planning.making import form_counts
from server.findings.range_kit import soundness
from server.findings.view_settings import form_words
from server.quantities import Read, Refused, read, sentence
from server.records.range_facts import CurrentArrow
from server.statistics.comparing import CouldShow, most_these_could_show
from server.statistics.planning import (
    MOST_COUNTED,
    Settles,
    shots_all_alike,
    shots_for_difference,
    shots_for_width,
    what_these_settle,
)
from server.statistics.refusals import CantTell

MOST_FORMS = 4
USUAL = (3, 5, 8, 10, 15, 20, 30)
FIELDS = {"shots": "Shots with each head", "share": "One head gets through in", "other": "the other in", "width": "Interval no wider than"}


@dataclass(frozen=True)
class SettledLine:
    """What a number of shots can settle: a row of the table."""

    shots: str
    width: str
    none: str
    apart: str
    asked: bool


@dataclass(frozen=True)
class ShotsAsked:
    """What was typed, what is wrong with it, the sentences that answer it, and the table."""

    typed: Mapping[str, str]
    problems: Mapping[str, str]
    answers: tuple[str, ...]
    lines: tuple[SettledLine, ...]


def shots_asked(query: Mapping[str, str]) -> ShotsAsked:
    """Empty boxes ask for nothing. Every number here is of independent fair shots over the same energies."""
    typed = {name: query.get(name, "").strip()[:20] for name in FIELDS}
    problems: dict[str, str] = {}
    shares = {name: _share(name, typed[name], problems) for name in ("share", "other", "width")}
    shots = _shots(typed["shots"], problems)
    answers = []
    share, other, width = shares["share"], shares["other"], shares["width"]
    if width is not None and not 0 < width < 1:
        problems["width"] = "Give more than 0 and less than 100 %, for example 40 %."
        width = None
    if share is not None and other is not None:
        answers.append(_difference(share, other))
    if width is not None:
        answers.append(_width(share if share is not None else 0.5, width, guessed=share is None))
    if share is not None and 0 < share < 1 and other is None:
        answers.append(f"To rule out a share of {_percent(share)} or more, {shots_all_alike(share)} fair shots must be stopped in a row (95\u00a0%).")
    wanted = sorted({*USUAL, *([shots] if shots else [])})
    return ShotsAsked(typed, problems, tuple(answers), tuple(_line(what_these_settle(n), asked=n == shots) for n in wanted))


def settled_by_arrows(arrows: Sequence[CurrentArrow]) -> tuple[str, ...]:
    """What one shot with each sound arrow at hand can settle, head by head and of two heads at most: a line each.

    The arrows themselves are what runs out: each must be looked at before it flies again.
    """
    count = form_counts([one for one in arrows if soundness(one) == "sound"])
    if not count:
        return ("No arrow is sound: each must be looked at before it flies.",)
    most = sorted(count, key=lambda form: -count[form])[:MOST_FORMS]
    lines = [f"{form_words(form)}: {count[form]} sound. One shot with each {_alone(count[form])}." for form in most]
    for one, other in combinations(most, 2):
        found = _could_show(count[one], count[other])
        lines.append(f"{form_words(one)} and {form_words(other).lower()}, {found}.")
    return tuple(lines)


def _alone(shots: int) -> str:
    found = what_these_settle(min(shots, MOST_COUNTED))
    return f"leaves an interval {_points(found.width_half)} wide if half get through, and if none do, the share may still be {_percent(found.none_below)}"


@lru_cache(maxsize=256)
def _could_show(shots: int, other_shots: int) -> str:
    found = most_these_could_show(shots, other_shots)
    assert isinstance(found, CouldShow)
    return found.words


def _share(name: str, text: str, problems: dict[str, str]) -> float | None:
    if not text:
        return None
    found = read(text, "chance")
    if isinstance(found, Refused):
        problems[name] = sentence(found)
    return found.value_si if isinstance(found, Read) else None


def _shots(text: str, problems: dict[str, str]) -> int | None:
    if not text:
        return None
    if text.isascii() and text.isdigit() and 1 <= int(text) <= MOST_COUNTED:
        return int(text)
    problems["shots"] = f"“{text}” is no number of shots that can be counted out. Give 1 to {MOST_COUNTED}."
    return None


def _difference(share: float, other: float) -> str:
    found = shots_for_difference(share, other)
    if isinstance(found, CantTell):
        return f"{found.reason[0].upper()}{found.reason[1:]}."
    return (
        f"To tell {_percent(share)} from {_percent(other)}, shoot {found.shots} with each head: such a trial shows the difference "
        f"{_percent(found.reached)} of the time, if the shares are as you think ({found.method})."
    )


def _width(share: float, width: float, *, guessed: bool) -> str:
    found = shots_for_width(share, width)
    about = "if half get through, which is the worst case" if guessed else f"if {_percent(share)} get through"
    if isinstance(found, CantTell):
        return f"{found.reason[0].upper()}{found.reason[1:]}, {about}."
    return f"For an interval no wider than {_points(width)}, shoot {found.shots}: {_points(found.reached)} are to be expected, {about}."


def _line(found: Settles, *, asked: bool) -> SettledLine:
    apart = "nothing" if found.apart is None else _percent(found.apart)
    return SettledLine(str(found.shots), _points(found.width_half), _percent(found.none_below), apart, asked)


def _percent(share: float) -> str:
    return f"{100 * share:.0f}\u00a0%"


def _points(width: float) -> str:
    return f"{100 * width:.0f} points"
