"""A bow through its days: checks of its weight, how it drifted within a day, and draws that came up short."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import Protocol

from proofyard.physics.bow import speed_after_drift_m_s
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import OutOfRange, Reason, because
from proofyard.records.bow import BowCheck

# Two draws that differ by more than this are two draws, and their weights say nothing of a drift.
SAME_DRAW_M = 0.005


class BowWeighed(Protocol):
    """Any record of a weight at a draw: a check of the bow, or what caveats keep of one."""

    @property
    def weight_n(self) -> float | None: ...
    @property
    def draw_m(self) -> float | None: ...


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
    why_not: Reason | None


@dataclass(frozen=True)
class ShortDraw:
    """A shot that was drawn short. `speed` only where it was read on the shot itself."""

    shot_id: str
    label: str
    archer: str
    arrow_tag: str
    day: str
    speed: Uncertain | None


def day_of(check: BowCheck, days: Mapping[str, str] | None = None) -> str:
    """The day of the session that it was part of (session id -> day), else the laptop's day; empty where no time was written down."""
    if days and check.session_id is not None and check.session_id in days:
        return days[check.session_id]
    return "" if check.at is None else datetime.fromtimestamp(check.at / 1000).date().isoformat()


def in_order(checks: Iterable[BowCheck]) -> list[BowCheck]:
    """By the moment they were made; those without one come first, in the order they were written down."""
    return sorted(checks, key=lambda one: (one.at or 0, one.id))


def drifts(checks: Sequence[BowCheck], days: Mapping[str, str] | None = None) -> tuple[Drift, ...]:
    """One for every archer and day with two weights or more, in order. `days`: session id -> its day."""

    def of(check: BowCheck) -> tuple[str, str]:
        return day_of(check, days), check.archer_id or ""

    weighed = [check for check in in_order(checks) if check.weight_n is not None and check.at is not None]
    found = []
    for (day, archer_id), group in groupby(sorted(weighed, key=of), key=of):
        some = in_order(group)
        if len(some) > 1:
            found.append(_drift(day, archer_id or None, some[0], last=some[-1]))
    return tuple(found)


def weight_change(first: BowWeighed, last: BowWeighed) -> tuple[float | None, Reason | None]:
    """Last less first as a share of the first, wherever it is said; None and why not where the two can't be compared."""
    before, now = first.weight_n or 0.0, last.weight_n or 0.0
    if (first.draw_m is None) != (last.draw_m is None):
        return None, because("one_weight_without_a_draw")
    if first.draw_m is not None and last.draw_m is not None and abs(first.draw_m - last.draw_m) > SAME_DRAW_M:
        return None, because("weights_at_different_draws")
    if before <= 0 or now <= 0:
        return None, because("weight_of_zero")
    return now / before - 1, None


def _drift(day: str, archer_id: str | None, first: BowCheck, *, last: BowCheck) -> Drift:
    share, why = weight_change(first, last)
    if share is None:
        return Drift(day, archer_id, first, last, None, None, why)
    try:
        speed = speed_after_drift_m_s(1.0, first.weight_n or 0.0, weight_now_n=last.weight_n or 0.0) - 1
    except OutOfRange:
        return Drift(day, archer_id, first, last, share, None, because("drift_too_large_for_a_model"))
    return Drift(day, archer_id, first, last, share, speed, None)
