"""What a bow gives to arrows of different mass, shot by one archer: efficiency of each, virtual mass, speed to expect."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.physics.bow import efficiency, grains_per_pound
from proofyard.physics.virtual_mass import FURTHEST_ABOVE, FURTHEST_BELOW, ArrowSpeed, VirtualMass, expected_speed, fit_virtual_mass
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.speed_facts import CombinationFact
from proofyard.shots.bow_curve import Stored
from proofyard.shots.impact import CombinationSpeed, Impacts, energy_of
from proofyard.statistics.pooled_readings import pool_readings

STEPS_OF_A_CURVE = 40
MOST_ARROWS = 300  # of one archer with one build: the newest, on every page; a fit of thousands says no more and takes 20 s


@dataclass(frozen=True)
class ArrowWithBow:
    """One arrow build as this bow shoots it. `efficiency`: why_no_efficiency says why there is none."""

    fact: CombinationFact
    found: CombinationSpeed
    mass: Uncertain
    speed: Uncertain
    energy: Uncertain
    efficiency: Uncertain | None
    why_no_efficiency: Reason | None
    grains_per_pound: float | None


@dataclass(frozen=True)
class CurvePoint:
    """Mass, speed by the fit and that one's uncertainty; `inside`: among the masses that were shot."""

    mass_kg: float
    speed_m_s: float
    u_m_s: float | None
    inside: bool


@dataclass(frozen=True)
class BowSpeeds:
    """All arrows of one archer with one bow build, lightest first.

    not_used         combinations that lack a speed or a mass, with what they lack
    fit              or why there is none
    scale_u          the chronograph's own relative uncertainty, in the bow's energy and in speeds to expect; None where not known
    for_the_fit      what was fitted: each arrow's mean with its own uncertainty only
    """

    arrows: tuple[ArrowWithBow, ...]
    not_used: tuple[tuple[CombinationFact, Reason], ...]
    fit: VirtualMass | CantTell
    scale_u: float | None
    for_the_fit: tuple[ArrowSpeed, ...]
    curve: tuple[CurvePoint, ...]

    @property
    def scale_known(self) -> bool:
        return self.scale_u is not None


@dataclass(frozen=True)
class Expected:
    """An arrow that was not shot yet, by the fit."""

    mass_kg: float
    speed: Uncertain
    energy: Uncertain
    inside: bool


def bow_speeds(impacts: Impacts, facts: Sequence[CombinationFact], *, stored: Stored | CantTell, weight_n: float | None) -> BowSpeeds:
    """Of the newest MOST_ARROWS of these, which are one archer's. `stored` at this archer's draw, or why not; `weight_n` there."""
    arrows, not_used = [], []
    newest = facts if len(facts) <= MOST_ARROWS else sorted(facts, key=lambda fact: fact.combination_id, reverse=True)[:MOST_ARROWS]
    for fact in newest:
        found = impacts.of_combination(fact.combination_id)
        if found.speed is None or found.mass is None or found.speed.value <= 0:
            not_used.append((fact, found.why_not or because("speed_is_zero")))
        else:
            arrows.append(_arrow(fact, found, found.mass, found.speed, stored=stored, weight_n=weight_n))
    arrows.sort(key=lambda one: one.mass.value)
    scale = _scale_u(arrows)
    fitted = tuple(_for_the_fit(arrows))
    fit = fit_virtual_mass(fitted, speed_scale_u=scale or 0.0)
    curve = () if isinstance(fit, CantTell) else _curve(fit)
    return BowSpeeds(tuple(arrows), tuple(not_used), fit, scale, fitted, curve)


def expected(fit: VirtualMass, mass_kg: float) -> Expected | CantTell:
    """Speed and energy to expect of an arrow of this mass from this bow."""
    found = expected_speed(fit, mass_kg)
    if isinstance(found, CantTell):
        return found
    energy = energy_of(Uncertain(mass_kg, 0.0, math.inf), found.speed_m_s)
    assert energy is not None
    return Expected(mass_kg, found.speed_m_s, energy, found.inside)


def _arrow(
    fact: CombinationFact, found: CombinationSpeed, mass: Uncertain, speed: Uncertain, *, stored: Stored | CantTell, weight_n: float | None
) -> ArrowWithBow:
    energy = energy_of(mass, speed)
    assert energy is not None
    share, why = None, None
    if isinstance(stored, CantTell):
        why = stored.reason
    else:
        known = energy.standard_uncertainty is not None and stored.energy.standard_uncertainty is not None
        answer = efficiency(
            energy.value,
            stored.energy.value,
            arrow_u_j=energy.standard_uncertainty or 0.0,
            stored_u_j=stored.energy.standard_uncertainty or 0.0,
        )
        if isinstance(answer, CantTell):
            why = answer.reason
        else:
            share = answer if known else Uncertain(answer.value, None)
    return ArrowWithBow(
        fact=fact,
        found=found,
        mass=mass,
        speed=speed,
        energy=energy,
        efficiency=share,
        why_no_efficiency=why,
        grains_per_pound=grains_per_pound(mass.value, weight_n) if weight_n else None,
    )


def _scale_u(arrows: Sequence[ArrowWithBow]) -> float | None:
    """The chronograph's share of uncertainty, common to all arrows; None where one isn't known."""
    shares = [None if one.found.type_b is None else one.found.type_b.standard_uncertainty / one.speed.value for one in arrows]
    known = [share for share in shares if share is not None]
    return max(known) if known and len(known) == len(shares) else None


def _for_the_fit(arrows: Sequence[ArrowWithBow]) -> list[ArrowSpeed]:
    """Each arrow's mean with its own uncertainty only.

    How much single shots scatter is taken from all arrows together: three readings of one tell little of it. Where no
    arrow was read twice nothing is known of it, and all count alike.
    """
    groups = [[f.value_m_s for f in one.found.used if f.value_m_s is not None] for one in arrows]
    pooled = pool_readings(groups) if any(len(group) > 1 for group in groups) else None
    spread = None if pooled is None or isinstance(pooled, CantTell) else pooled.within_spread
    if not spread:
        return [ArrowSpeed(one.mass.value, one.speed.value) for one in arrows]
    return [
        ArrowSpeed(one.mass.value, one.speed.value, one.mass.standard_uncertainty or 0.0, spread / math.sqrt(len(group)))
        for one, group in zip(arrows, groups, strict=True)
    ]


def _curve(fit: VirtualMass) -> tuple[CurvePoint, ...]:
    """From a fifth under the lightest to a fifth over the heaviest, both ends of the measured masses among the points."""
    low = max(FURTHEST_BELOW, 0.8) * fit.lightest_kg
    high = min(FURTHEST_ABOVE, 1.2) * fit.heaviest_kg
    masses = {low + (high - low) * n / STEPS_OF_A_CURVE for n in range(STEPS_OF_A_CURVE + 1)} | {fit.lightest_kg, fit.heaviest_kg}
    found = ((mass, expected_speed(fit, mass)) for mass in sorted(masses))
    return tuple(
        CurvePoint(mass, one.speed_m_s.value, one.speed_m_s.standard_uncertainty, one.inside)
        for mass, one in found
        if not isinstance(one, CantTell)
    )
