"""The uncertainty of some shots' energies, taken apart by whom it touches: all shots alike, a combination's together, one alone."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.physics.uncertainty_budget import Budget
from proofyard.shots.impact import Impact
from proofyard.shots.shot_energy import budget_at_chronograph
from proofyard.views.cells import CountedShot


@dataclass(frozen=True)
class EnergyParts:
    """Standard uncertainties over the energy itself.

    instrument  the same for all these shots; where it differs the least sure speaks for all
    combination     combination id -> of that combination's shots together, its own part only
    shot        root of the mean square of what each shot has alone
    unknown     how many shots have an energy whose uncertainty can't be told: they are in none of these
    each_own    every shot has a speed of its own: none stands at its combination's mean
    """

    instrument: float
    combination: Mapping[str, float]
    shot: float
    unknown: int
    shots: int
    each_own: bool

    @property
    def known(self) -> bool:
        return self.unknown < self.shots


def energy_parts(shots: Sequence[CountedShot], place: str) -> EnergyParts:
    """Of shots that have an energy at this place."""
    budgets = [(one, budget_at(one.shot.impact, place)) for one in shots]
    told = [(one, budget) for one, budget in budgets if budget is not None and budget.value > 0]
    combination = {one.shot.fact.combination_id: 0.0 for one in shots}
    for one, budget in told:
        key = one.shot.fact.combination_id
        combination[key] = max(combination[key], budget.by_scope["combination"] / budget.value)
    alone = [(budget.by_scope["shot"] / budget.value) ** 2 for _, budget in told]
    return EnergyParts(
        instrument=max((budget.by_scope["instrument"] / budget.value for _, budget in told), default=0.0),
        combination=combination,
        shot=math.sqrt(math.fsum(alone) / len(alone)) if alone else 0.0,
        unknown=len(shots) - len(told),
        shots=len(shots),
        each_own=all(one.shot.impact.basis == "own" for one in shots),
    )


def budget_at(impact: Impact, place: str) -> Budget | None:
    """Where the uncertainty of a shot's energy there comes from; None where it can't be told."""
    if place == "target":
        there = impact.at_target
        return None if there is None or there.missing else there.budget
    return budget_at_chronograph(impact)
