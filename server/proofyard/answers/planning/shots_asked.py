"""How many shots an answer takes, and what so many can settle: the planning part of a trial's plan page, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

from proofyard.answers.planning.making import form_counts
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.range_facts import CurrentArrow
from proofyard.shots.soundness import soundness
from proofyard.statistics.comparing import CouldShow, most_these_could_show
from proofyard.statistics.planning import MOST_COUNTED, Settles, shots_all_alike, shots_for_difference, shots_for_width, what_these_settle
from proofyard.views.address import Amount, AsTyped, Query, Reading, Unusable, Written
from proofyard.views.settings import form_words
from proofyard.wording.reasons.said import said

MOST_FORMS = 4
USUAL = (3, 5, 8, 10, 15, 20, 30)
FEW_FOR_A_RATIO = (
    8  # a head: with no more, a head that needs 1.3 times the energy is shown in under 3 of 10 (tests/bench/pair_error_rates.py)
)


def _shots(text: str) -> int | None | Unusable:
    text = text[:20]
    if text.isascii() and text.isdigit() and 1 <= int(text) <= MOST_COUNTED:
        return int(text)
    return Unusable(said(because("asked_no_number_of_shots", typed=text, most=MOST_COUNTED)))


SHOTS: Written[int | None] = Written(name="shots", label="Shots with each head", control="number", default=None, reader=_shots)
SHARE = Amount(name="share", label="One head gets through in", kind="chance")
OTHER = Amount(name="other", label="the other in", kind="chance")
WIDTH = Amount(
    name="width",
    label="Interval no wider than",
    kind="chance",
    fits=lambda width: 0 < width < 1,
    outside="Give more than 0 and less than 100 %, for example 40 %.",
)


@dataclass(frozen=True)
class SettledLine:
    """What a number of shots can settle: a row of the table."""

    shots: str
    width: str
    none: str
    apart: str
    asked: bool


@dataclass(frozen=True, kw_only=True)
class ShotsAsked(AsTyped):
    """The sentences that answer what was asked, and the table."""

    answers: tuple[Reason, ...]
    lines: tuple[SettledLine, ...]
    limits: tuple[Reason, ...]


def shots_asked(query: Query) -> ShotsAsked:
    """Empty boxes ask for nothing. Every number here is of independent fair shots over the same energies."""
    reading = Reading(query)
    shots, share, other, width = reading.one(SHOTS), reading.one(SHARE), reading.one(OTHER), reading.one(WIDTH)
    answers = []
    if share is not None and other is not None:
        answers.append(_difference(share, other))
    if width is not None:
        answers.append(_width(share if share is not None else 0.5, width, guessed=share is None))
    if share is not None and 0 < share < 1 and other is None:
        answers.append(because("shots_to_rule_out", share=share, shots=shots_all_alike(share)))
    wanted = sorted({*USUAL, *([shots] if shots else [])})
    lines = tuple(_line(what_these_settle(n), asked=n == shots) for n in wanted)
    return ShotsAsked(answers=tuple(answers), lines=lines, limits=_limits(shots), **reading.as_typed())


def _limits(shots: int | None) -> tuple[Reason, ...]:
    """What so many shots over several energies can hardly show of two heads, whatever is true."""
    return because("ratio_hardly_shown", shots=min(shots or FEW_FOR_A_RATIO, FEW_FOR_A_RATIO)), because("tenth_hardly_settled")


def settled_by_arrows(arrows: Sequence[CurrentArrow]) -> tuple[Reason, ...]:
    """What one shot with each sound arrow at hand can settle, head by head and of two heads at most: a line each.

    The arrows themselves are what runs out: each must be looked at before it flies again.
    """
    count = form_counts([one for one in arrows if soundness(one) == "sound"])
    if not count:
        return (because("no_arrow_is_sound"),)
    most = sorted(count, key=lambda form: -count[form])[:MOST_FORMS]
    lines = []
    for form in most:
        found = what_these_settle(min(count[form], MOST_COUNTED))
        width, none_below = found.width_half, found.none_below
        lines.append(because("one_shot_with_each", head=form_words(form), arrows=count[form], width=width, none_below=none_below))
    for one, other in combinations(most, 2):
        could = _could_show(count[one], count[other])
        lines.append(because("two_heads_could_show", first=form_words(one), second=form_words(other).lower(), could=could))
    return tuple(lines)


@lru_cache(maxsize=256)
def _could_show(shots: int, other_shots: int) -> Reason:
    found = most_these_could_show(shots, other_shots)
    assert isinstance(found, CouldShow)
    return found.reason


def _difference(share: float, other: float) -> Reason:
    found = shots_for_difference(share, other)
    if isinstance(found, CantTell):
        return because("sentence_of_its_own", why=found.reason)
    return because("shots_to_tell_apart", share=share, other=other, shots=found.shots, reached=found.reached, method=found.method)


def _width(share: float, width: float, *, guessed: bool) -> Reason:
    found = shots_for_width(share, width)
    about = because("if_half_go_through") if guessed else because("if_so_many_go_through", share=share)
    if isinstance(found, CantTell):
        return because("no_shots_for_a_width", why=found.reason, about=about)
    return because("shots_for_a_width", width=width, shots=found.shots, reached=found.reached, about=about)


def _line(found: Settles, *, asked: bool) -> SettledLine:
    apart = "nothing" if found.apart is None else _percent(found.apart)
    return SettledLine(str(found.shots), _points(found.width_half), _percent(found.none_below), apart, asked)


def _percent(share: float) -> str:
    return f"{100 * share:.0f}\u00a0%"


def _points(width: float) -> str:
    return f"{100 * width:.0f} points"
