"""Two groups at one energy level: their counts, what so many shots could show, and how far apart their shares may be."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from server.findings.bands import Band
from server.findings.cells import Cell, joules
from server.findings.comparison.kinds import ASPECTS, Kind
from server.findings.sentences import energies_alike
from server.quantities import with_unit
from server.records.shot_facts import ShotFact
from server.statistics.comparing import CouldShow, difference_of_shares, exact_test, most_these_could_show
from server.statistics.refusals import CantTell

PLENTY = 25  # a side: all against none has then p under 1 in 10 to the 14th, and finding how few would do takes long


@dataclass(frozen=True)
class ShareGap:
    """First share less the second, in points of a hundred, and where the true one may lie.

    difference_low and difference_high differ while a shot's outcome is still open, such as "3 or 4"; low and high hold
    whichever way those turn out. p_value: the open ones taken so that the groups come out as alike as they can.
    """

    low: float
    high: float
    difference_low: float
    difference_high: float
    p_value: float


@dataclass(frozen=True)
class Unlike:
    """Why two groups may not be ranked at a level: in general, and with its figures."""

    words: str
    figures: str = ""

    @property
    def full(self) -> str:
        return f"{self.words}, {self.figures}" if self.figures else self.words


@dataclass(frozen=True)
class LevelPair:
    """`unlike`: why the two may not be ranked here; None where they may. Only then there is a gap."""

    band: Band
    first: Cell
    second: Cell
    unlike: Unlike | None
    gap: ShareGap | None

    @property
    def both(self) -> bool:
        return bool(self.first.shots and self.second.shots)

    @property
    def comparable(self) -> bool:
        return self.both and not self.unlike

    @property
    def facts(self) -> tuple[list[ShotFact], list[ShotFact]]:
        return [one.shot.fact for one in self.first.shots], [one.shot.fact for one in self.second.shots]

    @property
    def plenty(self) -> bool:
        """So many of each that a clear difference is sure to show; how few would do is then no question."""
        return min(self.first.tally.shots, self.second.tally.shots) >= PLENTY

    def could_show(self, *, questions: int = 1, level: float = 0.95) -> CouldShow | None:
        """What these n could show at most; None where one of the two was not shot here, or both were plenty."""
        if self.plenty:
            return None
        found = _could_show(self.first.tally.shots, self.second.tally.shots, level, questions)
        return None if isinstance(found, CantTell) else found


@lru_cache(maxsize=4096)
def _could_show(shots: int, other_shots: int, level: float, questions: int) -> CouldShow | CantTell:
    return most_these_could_show(shots, other_shots, level=level, questions=questions)


@lru_cache(maxsize=4096)
def _p_of(hits: int, shots: int, other_hits: int, other_shots: int) -> float:
    found = exact_test(hits, shots, other_hits=other_hits, other_shots=other_shots)
    return 1.0 if isinstance(found, CantTell) else found.p_value


def level_pair(first: Cell, second: Cell, *, kind: Kind, level: float) -> LevelPair:
    """Two groups in one band of energy."""
    unlike = why_unlike(first, second, kind=kind) if first.shots and second.shots else None
    gap = _gap(first, second, level=level) if first.shots and second.shots and not unlike else None
    return LevelPair(first.band, first, second, unlike, gap)


def why_unlike(first: Cell, second: Cell, *, kind: Kind) -> Unlike | None:
    """What else but the thing compared parts these two, so that no sentence may rank them; None for nothing known."""
    unlike = unlike_energies(first, second)
    if unlike:
        return unlike
    values = {key: [{of(one.shot.fact) for one in cell.shots} for cell in (first, second)] for key, (_, of) in ASPECTS.items()}
    mixed = [key for key, sides in values.items() if key not in kind.about and any(len(side) > 1 for side in sides)]
    if mixed:
        return Unlike(f"one of them mixes {_several(mixed)}, so pick one of those")
    apart = [key for key, (one, other) in values.items() if key not in kind.about and one != other]
    if len(apart) > kind.free:
        words = " and the ".join(ASPECTS[key][0] for key in apart)
        return Unlike(f"the {words} differ{'s' if len(apart) == 1 else ''} too")
    return None


def _several(keys: Sequence[str]) -> str:
    plural = {"form": "head forms", "sort": "sorts of panel"}
    return " and ".join(plural[key] for key in keys)


def unlike_energies(first: Cell, second: Cell) -> Unlike | None:
    """Whether two mean energies differ by more than their doubt, or can't be told to be alike; None where they are."""
    if energies_alike(first, second):
        return None
    what = "energies" if first.band.unit == "J" else "figures"
    if first.energy is None or second.energy is None:
        return Unlike(f"the mean {what} aren’t known")
    means = [cell.energy.mean for cell in (first, second) if cell.energy]
    if any(mean.standard_uncertainty is None for mean in means):
        return Unlike(f"how far the mean {what} may be off isn’t known")
    said = " and ".join(with_unit(joules(mean), first.band.unit) for mean in means)
    return Unlike(f"their mean {what} differ by more than their doubt", said)


def _gap(first: Cell, second: Cell, *, level: float) -> ShareGap:
    one, other = first.tally, second.tally
    least = difference_of_shares(one.hits_low, one.shots, other_hits=other.hits_high, other_shots=other.shots, level=level)
    most = difference_of_shares(one.hits_high, one.shots, other_hits=other.hits_low, other_shots=other.shots, level=level)
    assert not isinstance(least, CantTell) and not isinstance(most, CantTell)
    hits, other_hits = min(
        ((a, b) for a in range(one.hits_low, one.hits_high + 1) for b in range(other.hits_low, other.hits_high + 1)),
        key=lambda pair: abs(pair[0] / one.shots - pair[1] / other.shots),
    )
    p_value = _p_of(hits, one.shots, other_hits, other.shots)
    return ShareGap(least.low, most.high, least.difference, most.difference, p_value)
