"""A bow through its days: checks of its weight, how it drifted within a day, and draws that came up short."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from server.physics.bow import speed_after_drift_m_s
from server.physics.ranges import OutOfRange
from server.quantities import Uncertain
from server.records.bow import BowCheck

# Two draws that differ by more than this are two draws, and their weights say nothing of a drift.
SAME_DRAW_M = 0.005


@dataclass(frozen=True)
class Drift:
    """First and last weight of one archer on one day.

    share        last less first, as a share of the first; None where the two can't be compared, and `why_not` says why
    speed_share  what the stated model makes of that for the same arrow's speed; None where it doesn't reach
    """

    day: str
    archer_id: str | None
    first: BowCheck
    last: BowCheck
    share: float | None
    speed_share: float | None
    why_not: str


@dataclass(frozen=True)
class ShortDraw:
    """A shot that was drawn short. `speed` only where it was read on the shot itself."""

    shot_id: str
    label: str
    archer: str
    arrow_tag: str
    day: str
    speed: Uncertain | None


def day_of(check: BowCheck) -> str:
    """The laptop's day of a check; empty where no time was written down."""
    return "" if check.at is None else datetime.fromtimestamp(check.at / 1000).date().isoformat()


def in_order(checks: Iterable[BowCheck]) -> list[BowCheck]:
    """By the moment they were made; those without one come first, in the order they were written down."""
    return sorted(checks, key=lambda one: (one.at or 0, one.id))


def drifts(checks: Sequence[BowCheck]) -> tuple[Drift, ...]:
    """One for every archer and day with two weights or more, in order."""

    def of(check: BowCheck) -> tuple[str, str]:
        return day_of(check), check.archer_id or ""

    weighed = [check for check in in_order(checks) if check.weight_n is not None and check.at is not None]
    found = []
    for (day, archer_id), group in groupby(sorted(weighed, key=of), key=of):
        some = in_order(group)
        if len(some) > 1:
            found.append(_drift(day, archer_id or None, some[0], last=some[-1]))
    return tuple(found)


def _drift(day: str, archer_id: str | None, first: BowCheck, *, last: BowCheck) -> Drift:
    before, now = first.weight_n or 0.0, last.weight_n or 0.0
    draws = (first.draw_m, last.draw_m)
    why = ""
    if (draws[0] is None) != (draws[1] is None):
        why = "one of the two says no draw"
    elif draws[0] is not None and draws[1] is not None and abs(draws[0] - draws[1]) > SAME_DRAW_M:
        why = "they were read at different draws"
    elif before <= 0 or now <= 0:
        why = "a weight of 0 was written down"
    if why:
        return Drift(day, archer_id, first, last, None, None, why)
    try:
        speed = speed_after_drift_m_s(1.0, before, weight_now_n=now) - 1
    except OutOfRange:
        return Drift(day, archer_id, first, last, now / before - 1, None, "so large a drift asks for speeds anew, not for a model")
    return Drift(day, archer_id, first, last, now / before - 1, speed, "")

