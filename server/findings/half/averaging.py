"""The averaging limit of the standards for one head's shots at one sort of panel: borrowed, and beside the curve's answer."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.cells import CountedShot
from server.findings.half.settings import HalfAsked
from server.findings.impact import ALIKE_MASS_RATIO
from server.physics.energy import kinetic_energy_j
from server.quantities import Uncertain
from server.statistics.ballistic_limit import BallisticLimit, averaging_limit
from server.statistics.refusals import CantTell


@dataclass(frozen=True)
class AveragingFound:
    """`limit` or `why_not`. `energy_j`: what the limit's speed makes with the mean mass of these arrows."""

    limit: BallisticLimit | None
    why_not: str
    energy_j: float | None
    mass_kg: float | None
    arrows: tuple[str, ...]


def averaging_found(shots: Sequence[CountedShot], asked: HalfAsked) -> AveragingFound:
    """By the rules of the view, over the shots whose answer is settled and whose speed is known where the view wants it.

    Arrows with one form of head and masses within 2 % of each other count as one projectile, as they do where speeds
    are pooled; the view may pick one arrow alone.
    """
    mine = [one for one in shots if not asked.arrow or one.shot.fact.arrow_id == asked.arrow]
    told = [(one, speed, mass) for one in mine if (speed := speed_at(one, asked.view.place)) and (mass := one.shot.impact.mass)]
    tags = tuple(dict.fromkeys(one.shot.fact.arrow_tag for one, _, _ in told))
    if not told:
        why = "that arrow was not shot with this head here" if asked.arrow and not mine else "no shot has a measured speed"
        return AveragingFound(None, why, None, None, tags)
    masses = [mass.value for _, _, mass in told]
    alike = max(masses) - min(masses) <= ALIKE_MASS_RATIO * min(masses)
    names = ["alike" if alike else f"arrow {one.shot.fact.arrow_tag}" for one, _, _ in told]
    found = averaging_limit(
        [speed.value for _, speed, _ in told], [int(one.through_low) for one, _, _ in told], projectiles=names, rules=asked.rules
    )
    if isinstance(found, CantTell):
        return AveragingFound(None, found.reason, None, None, tags)
    mean_kg = sum(masses) / len(masses)
    return AveragingFound(found, "", kinetic_energy_j(mean_kg, found.limit_m_s), mean_kg, tags)


def speed_at(one: CountedShot, place: str) -> Uncertain | None:
    """At the chronograph or at the target; None where it isn't known."""
    impact = one.shot.impact
    if place == "chronograph":
        return impact.speed
    return impact.at_target.speed if impact.at_target else None
