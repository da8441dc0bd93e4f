"""The doubt of some shots' energies, taken apart by whom it touches: all shots alike, a pairing's together, one alone."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from server.findings.cells import CountedShot
from server.findings.impact import Impact
from server.findings.shot_energy import NO_WAY
from server.physics.uncertainty_budget import Budget, uncertainty_budget


@dataclass(frozen=True)
class EnergyParts:
    """Standard uncertainties over the energy itself.

    instrument  the same for all these shots; where it differs the least sure speaks for all
    pairing     pairing id -> of that pairing's shots together, its own part only
    shot        root of the mean square of what each shot has alone
    unknown     how many shots have an energy whose doubt can't be told: they are in none of these
    each_own    every shot has a speed of its own: none stands at its pairing's mean
    """

    instrument: float
    pairing: Mapping[str, float]
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
    pairing = {one.shot.fact.pairing_id: 0.0 for one in shots}
    for one, budget in told:
        key = one.shot.fact.pairing_id
        pairing[key] = max(pairing[key], budget.by_scope["pairing"] / budget.value)
    alone = [(budget.by_scope["shot"] / budget.value) ** 2 for _, budget in told]
    return EnergyParts(
        instrument=max((budget.by_scope["instrument"] / budget.value for _, budget in told), default=0.0),
        pairing=pairing,
        shot=math.sqrt(math.fsum(alone) / len(alone)) if alone else 0.0,
        unknown=len(shots) - len(told),
        shots=len(shots),
        each_own=all(one.shot.impact.basis == "own" for one in shots),
    )


def budget_at(impact: Impact, place: str) -> Budget | None:
    """Where the doubt of a shot's energy there comes from; None where it can't be told."""
    if place == "target":
        there = impact.at_target
        return None if there is None or there.missing else there.budget
    energy = impact.energy_at_chronograph_j
    if energy is None or energy.standard_uncertainty is None or impact.mass is None or impact.speed is None:
        return None
    inputs = replace(NO_WAY, mass_kg=impact.mass.value, speed_m_s=impact.speed.value)
    return uncertainty_budget(inputs, impact.doubts, step="energy_at_chronograph_j")
