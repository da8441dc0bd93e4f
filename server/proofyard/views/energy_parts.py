"""The uncertainty of some shots' energies, taken apart by whom it touches: all shots alike, a combination's together, one alone."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.shots.loosed import LoosedShot
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
    known = [(one, parts_at(one.shot, place)) for one in shots]
    told = [(one, *parts) for one, parts in known if parts is not None and parts[0] > 0]
    combination = {one.shot.fact.combination_id: 0.0 for one in shots}
    for one, energy_j, by_scope in told:
        key = one.shot.fact.combination_id
        combination[key] = max(combination[key], by_scope["combination"] / energy_j)
    alone = [(by_scope["shot"] / energy_j) ** 2 for _, energy_j, by_scope in told]
    return EnergyParts(
        instrument=max((by_scope["instrument"] / energy_j for _, energy_j, by_scope in told), default=0.0),
        combination=combination,
        shot=math.sqrt(math.fsum(alone) / len(alone)) if alone else 0.0,
        unknown=len(shots) - len(told),
        shots=len(shots),
        each_own=all(one.shot.basis == "own" for one in shots),
    )


def parts_at(shot: LoosedShot, place: str) -> tuple[float, Mapping[str, float]] | None:
    """The energy there, in J, and what each of SCOPES adds to its uncertainty; None where that can't be told."""
    if place == "target":
        return shot.parts_at_target()
    budget = budget_at_chronograph(shot.impact)
    return None if budget is None else (budget.value, budget.by_scope)
