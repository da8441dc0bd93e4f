"""What the outcome chart is made from, and the same in words: for who can't see it, and for who would rather read."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.scale import number_text


@dataclass(frozen=True)
class ShotMark:
    """A shot that is counted: what stands on the chart. `note` is added to its words ("may be in the next band")."""

    label: str
    href: str
    energy_j: float
    energy_u_j: float | None
    rung_low: int
    rung_high: int
    note: str = ""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.energy_j) and self.energy_j >= 0):
            raise ValueError(f"{self.label}: an energy is 0 or more, not {self.energy_j}")
        if not 0 <= self.rung_low <= self.rung_high <= 5:
            raise ValueError(f"{self.label}: rungs go from 0 to 5, low one first")


@dataclass(frozen=True)
class BandShare:
    """Shots of one energy band: low included, high not. An end may be infinite. No interval: None."""

    low_j: float
    high_j: float
    hits_low: int
    hits_high: int
    shots: int
    interval_low: float | None
    interval_high: float | None

    def __post_init__(self) -> None:
        if not self.low_j < self.high_j:
            raise ValueError(f"a band goes up, not from {self.low_j} to {self.high_j}")
        if not 0 <= self.hits_low <= self.hits_high <= self.shots:
            raise ValueError("a band's counts go hits_low, hits_high, shots, none less than the one before")


def count_text(band: BandShare) -> str:
    """ "4 of 6", "1 or 2 of 3", "2 to 5 of 9", "none shot"."""
    if band.shots == 0:
        return "none shot"
    if band.hits_low == band.hits_high:
        return f"{band.hits_low} of {band.shots}"
    joint = "or" if band.hits_high - band.hits_low == 1 else "to"
    return f"{band.hits_low} {joint} {band.hits_high} of {band.shots}"


def energy_text(shot: ShotMark) -> str:
    """The energy with no more figures than its uncertainty carries: "82.6 ± 1.1", "98" when that isn't known."""
    if not shot.energy_u_j:
        return number_text(shot.energy_j, 0 if shot.energy_j >= 10 else 1)
    places = max(0, 1 - math.floor(math.log10(shot.energy_u_j)))
    places = min(places, 3)
    return f"{number_text(shot.energy_j, places)} \N{PLUS-MINUS SIGN} {number_text(shot.energy_u_j, places)}"


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


def places_of(values: Sequence[float]) -> int:
    """How many decimals these need, four at most: 60 needs none, 2.5 one."""
    return next((places for places in range(4) if all(abs(value - round(value, places)) < 1e-9 for value in values)), 4)


@dataclass(frozen=True)
class Wording:
    """Names of the six rungs, 0 first, what is said of a shot that counts as through ("behind"), and what is along the axis."""

    rung_words: Sequence[str]
    through_words: str
    axis_words: str = "energy"
    unit: str = "J"

    def rung(self, shot: ShotMark) -> str:
        low, high = (self.rung_words[rung].lower() for rung in (shot.rung_low, shot.rung_high))
        if shot.rung_low == shot.rung_high:
            return low
        return f"{low} {'or' if shot.rung_high - shot.rung_low == 1 else 'to'} {high}"

    def shot(self, shot: ShotMark) -> str:
        parts = [f"{shot.label}: {energy_text(shot)} {self.unit}", self.rung(shot)]
        return ", ".join(parts + [shot.note] if shot.note else parts)

    def band(self, band: BandShare) -> str:
        where = f"{band_text(band.low_j, band.high_j)} {self.unit}"
        if band.shots == 0:
            return f"{where}: none shot"
        return f"{where}: {count_text(band)} {self.through_words}"

    def chart(self, name: str, shots: Sequence[ShotMark], bands: Sequence[BandShare], crowded: int) -> str:
        if not shots and not any(band.shots for band in bands):
            return f"{name}: no shots to show."
        many = "1 shot" if len(shots) == 1 else f"{len(shots)} shots"
        said = f"{name}, {many}. " + "; ".join(map(self.band, bands))
        said = said.rstrip(" ;") + ("." if bands else "")
        if crowded:
            said += f" {crowded} of the marks lie partly on others."
        return said

    def band_columns(self) -> tuple[str, ...]:
        return (f"{self.axis_words.capitalize()}, {self.unit}", "Each shot", self.through_words[:1].upper() + self.through_words[1:], "May be, %")

    def shot_rows(self, shots: Sequence[ShotMark]) -> tuple[tuple[str, ...], ...]:
        in_order = sorted(shots, key=lambda shot: (shot.energy_j, shot.label))
        return tuple((shot.label, energy_text(shot), self.rung(shot)) for shot in in_order)

    def band_row(self, band: BandShare, shots: Sequence[ShotMark]) -> tuple[str, ...]:
        inside = [shot for shot in shots if band.low_j <= shot.energy_j < band.high_j]
        tally = Counter((shot.rung_low, shot.rung_high, self.rung(shot)) for shot in inside)
        each = ", ".join(f"{many} {words}" for (_, _, words), many in sorted(tally.items()))
        if band.interval_low is None or band.interval_high is None:
            may_be = "can’t be told" if band.shots == 0 else "not worked out"
        else:
            may_be = f"{number_text(100 * band.interval_low)} to {number_text(100 * band.interval_high)}"
        return (band_text(band.low_j, band.high_j), each or "none", count_text(band), may_be)
