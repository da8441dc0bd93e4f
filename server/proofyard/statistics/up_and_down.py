"""Were the energies chosen by the outcomes so far? Down after a shot that got through, up after one that was stopped.

A test may be shot so on purpose. Either way shares over all energies then mean nothing: the rule itself brings them near
a half, whatever was shot. And a test that is meant to go up and down should be told where it didn't.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, as_readings, because


@dataclass(frozen=True)
class RuleBreak:
    """After this shot, counted from 1, the next energy didn't go where the rule sends it."""

    after_shot: int
    outcome: int
    energy: float
    next_energy: float


@dataclass(frozen=True)
class UpAndDown:
    """How far a run of shots went up and down by its outcomes. one_step: the factor from one energy to the next, where
    all steps are one within 3 %, else None."""

    energies: tuple[float, ...]
    through: tuple[int, ...]
    breaks: tuple[RuleBreak, ...]
    one_step: float | None

    @property
    def moves(self) -> int:
        return len(self.energies) - 1

    @property
    def followed_share(self) -> float:
        return 1 - len(self.breaks) / self.moves


def up_and_down(energies: Sequence[float], through: Sequence[int]) -> UpAndDown | CantTell:
    """Whether each energy follows from the outcome before it, and where not.

    rule kept after shot i: E(i+1) < E(i) if it got through, E(i+1) > E(i) if it was stopped

    Takes
        energies  array, above 0, in the order shot  J, or whatever was set: height, draw
        through   0 or 1 a shot
    Gives
        UpAndDown with every break of the rule; CantTell below two shots
    Refuses
        CantUse  energies not above 0, not as many as outcomes, outcomes other than 0 and 1
    Holds while
        the order is the order shot
    Weak when
        energies come from speeds that scatter: a shot meant for more may have had less. Round to the energy that was
        meant, not the one that was measured
    Source
        The rule: Dixon and Mood, Journal of the American Statistical Association 1948 43:109 (from memory).
        Checked in tests/published/test_up_and_down_runs.py
    >>> found = up_and_down([40, 45, 50, 45, 40, 35], [0, 0, 1, 0, 1, 1])
    >>> found.breaks
    (RuleBreak(after_shot=4, outcome=0, energy=45.0, next_energy=40.0),)
    >>> found.followed_share
    0.8
    """
    values = as_readings("energies", energies)
    if len(values) != len(through):
        raise CantUse("energies", len(values), f"one for each of the {len(through)} shots")
    for value, outcome in zip(values, through, strict=True):
        if value <= 0:
            raise CantUse("energies", value, "above 0")
        if outcome not in (0, 1):
            raise CantUse("through", outcome, "0 or 1")
    if len(values) < 2:
        return CantTell(because("one_shot_follows_nothing"))
    moves = list(zip(values, values[1:], strict=False))
    breaks = tuple(
        RuleBreak(at + 1, int(through[at]), here, there)
        for at, (here, there) in enumerate(moves)
        if not (there < here if through[at] else there > here)
    )
    return UpAndDown(values, tuple(int(one) for one in through), breaks, _one_step(moves))


def _one_step(moves: list[tuple[float, float]]) -> float | None:
    steps = [abs(math.log(there / here)) for here, there in moves if there != here]
    if not steps or max(steps) - min(steps) > 0.03:
        return None
    return math.exp(math.fsum(steps) / len(steps))
