"""Which other shots at a panel build can have something to say of a hit, found without asking of every two shots.

A thousand shots at one panel are half a million pairs. Nearly all of them say nothing: the two lie far apart. So
distances are taken all at once, and only shots that lie within their own reach are asked about one by one.
"""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from server.findings.fair_rules import FairRules
from server.records.panel import SMALL_PLATED
from server.records.shot_facts import ShotFact

if TYPE_CHECKING:
    import numpy.typing as npt

RUNG_UNSAID = 2  # a hit whose rung nobody wrote down counts as a dent
SLACK_M = 1e-9  # distances taken all at once may differ in their last digit; the exact one decides later
_NEVER = ("let_down", "speed_only")


class HitNeighbours:
    """The shots at one panel build, in the order given; `place` below is a shot's place in that order."""

    def __init__(self, shots: Sequence[ShotFact]) -> None:
        import numpy as np  # late: a page without hits needs none

        self._labels = {shot.shot_id: shot.label for shot in shots}
        self.silent = [
            (place, shot) for place, shot in enumerate(shots) if shot.purpose not in _NEVER and (shot.hit is None or shot.x_m is None)
        ]
        self._placed = [(place, shot) for place, shot in enumerate(shots) if shot.hit and None not in (shot.x_m, shot.y_m)]
        self._x = np.array([shot.x_m for _, shot in self._placed], dtype=float)
        self._y = np.array([shot.y_m for _, shot in self._placed], dtype=float)
        self._low = np.array([_rung(shot.outcome_low) for _, shot in self._placed], dtype=int)
        self._high = np.array([_rung(shot.outcome_high) for _, shot in self._placed], dtype=int)
        self._plates: dict[str, list[int]] = {}
        for index, (_, shot) in enumerate(self._placed):
            self._plates.setdefault(plate_called(shot) or "", []).append(index)

    def near(self, fact: ShotFact, rules: FairRules) -> Iterator[tuple[int, ShotFact]]:
        """The placed hits within whose reach `fact` may lie, and those on its small plate, with their places in order."""
        if fact.x_m is None or fact.y_m is None:
            return
        import numpy as np

        reach_of = np.array([rules.reach_of(rung) for rung in range(6)])
        reach = np.maximum(reach_of[self._low], reach_of[self._high])
        within = (reach > 0) & (self._away(fact) < reach + rules.finger_m + SLACK_M)
        if plate := plate_called(fact):
            within[self._plates.get(plate, [])] = True
        for index in np.flatnonzero(within):
            if self._placed[index][1] is not fact:
                yield self._placed[index]

    def outwards(self, fact: ShotFact) -> Iterator[tuple[float, ShotFact]]:
        """The placed hits, nearest first, each with its distance to within the last digit; none if `fact` has no place."""
        if fact.x_m is None or fact.y_m is None:
            return
        away = self._away(fact)
        for index in away.argsort(kind="stable"):
            if self._placed[index][1] is not fact:
                yield float(away[index]), self._placed[index][1]

    def label_of(self, shot_id: str, *, otherwise: str) -> str:
        return self._labels.get(shot_id, otherwise)

    def _away(self, fact: ShotFact) -> "npt.NDArray[Any]":
        import numpy as np

        return np.hypot(self._x - fact.x_m, self._y - fact.y_m)


def plate_called(shot: ShotFact) -> str | None:
    """Small plates are told apart by what the reader called them, such as "row 3, plate 5"; distance says the rest."""
    if shot.construction not in SMALL_PLATED or not shot.plate:
        return None
    return " ".join(shot.plate.casefold().split())


def _rung(outcome: int | None) -> int:
    return RUNG_UNSAID if outcome is None else outcome
