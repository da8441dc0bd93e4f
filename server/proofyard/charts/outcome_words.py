"""Shots, hits and counts as charts take them, and the words that all charts of outcomes share."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.scale import number_text, places_of
from proofyard.quantities import Uncertain, written_with_uncertainty

FIRST_THROUGH = 4  # the outcome level from which the point was past the rear face


@dataclass(frozen=True)
class ShotMark:
    """A counted shot. `note` is added to its words; `depth_m` None: nobody wrote one down; `at_least`: it was no less than that."""

    label: str
    href: str
    energy_j: float
    energy_u_j: float | None
    outcome_low: int
    outcome_high: int
    note: str = ""
    depth_m: float | None = None
    at_least: bool = False

    def __post_init__(self) -> None:
        check_number(self.label, "an energy", self.energy_j)
        if self.depth_m is not None:
            check_number(self.label, "a depth", self.depth_m)
        check_levels(self.label, self.outcome_low, self.outcome_high)

    @property
    def levels(self) -> tuple[int, ...]:
        """Each level that it may be, lowest first."""
        return tuple(range(self.outcome_low, self.outcome_high + 1))

    def outcome(self, outcome_words: Sequence[str]) -> str:
        return outcome_text(self.outcome_low, self.outcome_high, outcome_words)


@dataclass(frozen=True)
class Hit:
    """A hit on a panel as read: both outcome levels None while nobody has read it, or where it `clipped` the edge and has none;
    both places None while nobody knows where. `fair`: fair, not_fair, not_known, or empty; `note` why."""

    order: int
    label: str
    x_m: float | None
    y_m: float | None
    outcome_low: int | None
    outcome_high: int | None
    href: str = ""
    clipped: bool = False
    fair: str = ""
    note: str = ""

    @property
    def levels(self) -> tuple[int, ...]:
        """Each level that it may be, lowest first; empty where it has none."""
        return () if self.outcome_low is None or self.outcome_high is None else tuple(range(self.outcome_low, self.outcome_high + 1))

    @property
    def glyph(self) -> str:
        """What stands for a hit without an outcome level."""
        return "partial" if self.clipped else "unread"

    def outcome(self, outcome_words: Sequence[str]) -> str:
        if self.levels:
            return outcome_text(self.levels[0], self.levels[-1], outcome_words)
        return "clipped the edge, no outcome" if self.clipped else "not read yet"


@dataclass(frozen=True)
class Share:
    """How many of how many were through, and where the true share may lie; ends None: that can't be told."""

    hits_low: int
    hits_high: int
    shots: int
    interval_low: float | None
    interval_high: float | None

    def __post_init__(self) -> None:
        if not 0 <= self.hits_low <= self.hits_high <= self.shots:
            raise ValueError("counts go hits_low, hits_high, shots, none less than the one before")
        if (self.interval_low is None) != (self.interval_high is None):
            raise ValueError("an interval has two ends or none")

    @property
    def words(self) -> str:
        return share_text(self.hits_low, self.hits_high, self.shots)

    @property
    def interval(self) -> tuple[float, float] | None:
        return None if self.interval_low is None or self.interval_high is None else (self.interval_low, self.interval_high)

    @property
    def interval_words(self) -> str:
        """The interval in percent: "26 to 94"."""
        return " to ".join(number_text(100 * end) for end in self.interval) if self.interval else "can’t be told"

    @property
    def parts(self) -> list[float]:
        """The share, or the least and the greatest that it may be; none without shots."""
        return [hits / self.shots for hits in sorted({self.hits_low, self.hits_high})] if self.shots else []


@dataclass(frozen=True)
class BandShare:
    """Shots of one energy band: low included, high not. An end may be infinite."""

    low_j: float
    high_j: float
    share: Share

    def __post_init__(self) -> None:
        if not self.low_j < self.high_j:
            raise ValueError(f"a band goes up, not from {self.low_j} to {self.high_j}")


def check_number(label: str, what: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{label}: {what} is 0 or more, not {value}")


def check_levels(label: str, low: int, high: int) -> None:
    if not 0 <= low <= high <= 5:
        raise ValueError(f"{label}: outcome levels go from 0 to 5, low one first")


def check_words(outcome_words: Sequence[str]) -> None:
    if len(outcome_words) != 6:
        raise ValueError("there are six outcome levels, so six words")


def outcome_text(low: int, high: int, outcome_words: Sequence[str]) -> str:
    """ "opened (3)", "opened or point through (3 or 4)": a word and the number of its level."""
    if low == high:
        return f"{outcome_words[low].lower()} ({low})"
    joint = "or" if high - low == 1 else "to"
    return f"{outcome_words[low].lower()} {joint} {outcome_words[high].lower()} ({low} {joint} {high})"


def share_text(low: int, high: int, shots: int) -> str:
    """ "4 of 6", "1 or 2 of 3", "2 to 5 of 9", "none shot"."""
    if shots == 0:
        return "none shot"
    hits = str(low) if low == high else f"{low} {'or' if high - low == 1 else 'to'} {high}"
    return f"{hits} of {shots}"


def energy_text(shot: ShotMark) -> str:
    """The energy with no more figures than its uncertainty carries: "82.6 ± 1.1", "98" when that isn't known."""
    if not shot.energy_u_j:
        return number_text(shot.energy_j, 0 if shot.energy_j >= 10 else 1)
    return written_with_uncertainty(Uncertain(shot.energy_j, shot.energy_u_j), "1")


def band_text(low_j: float, high_j: float) -> str:
    """ "60 to 80", "under 60", "105 and more"."""
    if math.isinf(low_j) and math.isinf(high_j):
        return "any"
    places = places_of([edge for edge in (low_j, high_j) if math.isfinite(edge)])
    if math.isinf(low_j):
        return f"under {number_text(high_j, places)}"
    if math.isinf(high_j):
        return f"{number_text(low_j, places)} and more"
    return f"{number_text(low_j, places)} to {number_text(high_j, places)}"


def in_order(shots: Sequence[ShotMark]) -> list[ShotMark]:
    return sorted(shots, key=lambda shot: (shot.energy_j, shot.label))


def counts_of(outcome_levels: Sequence[tuple[int, int]]) -> tuple[tuple[tuple[int, int], int], ...]:
    """Outcome levels with how many got there, lowest first; "3 or 4" between 3 and 4."""
    return tuple(sorted(Counter(outcome_levels).items(), key=lambda one: (sum(one[0]), one[0])))


def counts_text(outcome_levels: Sequence[tuple[int, int]], outcome_words: Sequence[str]) -> str:
    """ "2 dented (2), 1 opened or point through (3 or 4)"."""
    return ", ".join(f"{count} {outcome_text(low, high, outcome_words)}" for (low, high), count in counts_of(outcome_levels))
