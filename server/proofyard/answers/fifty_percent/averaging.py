"""The averaging limit of the standards for one head's shots at one panel type: borrowed, shown with the curve's answer."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.answers.fifty_percent.settings import FiftyPercentAsked
from proofyard.physics.energy import kinetic_energy_j
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.shots.impact import ALIKE_MASS_RATIO
from proofyard.statistics.ballistic_limit import BallisticLimit, averaging_limit
from proofyard.views.cells import CountedShot


@dataclass(frozen=True)
class AveragingFound:
    """`limit` or `why_not`. `energy_j`: what the limit's speed makes with the mean mass of these arrows."""

    limit: BallisticLimit | None
    why_not: Reason | None
    energy_j: float | None
    mass_kg: float | None
    arrows: tuple[str, ...]


def averaging_found(shots: Sequence[CountedShot], asked: FiftyPercentAsked) -> AveragingFound:
    """By the rules of the view, over the shots whose answer is settled and whose speed is known where the view wants it.

    Arrows with one form of head and masses within 2 % of each other count as one projectile, as they do where speeds
    are pooled; the view may pick one arrow alone.
    """
    mine = [one for one in shots if not asked.arrow or one.shot.fact.arrow_id == asked.arrow]
    told = [
        (one, speed, mass)
        for one in mine
        if (speed := speed_at(one, asked.view.place)) is not None and (mass := one.shot.mass_kg) is not None
    ]
    tags = tuple(dict.fromkeys(one.shot.fact.arrow_tag for one, _, _ in told))
    if not told:
        why = because("arrow_not_shot_with_this_head") if asked.arrow and not mine else because("no_measured_speed")
        return AveragingFound(None, why, None, None, tags)
    masses = [mass for _, _, mass in told]
    alike = max(masses) - min(masses) <= ALIKE_MASS_RATIO * min(masses)
    names = ["alike" if alike else f"arrow {one.shot.fact.arrow_tag}" for one, _, _ in told]
    found = averaging_limit(
        [speed for _, speed, _ in told], [int(one.through_low) for one, _, _ in told], projectiles=names, rules=asked.rules
    )
    if isinstance(found, CantTell):
        return AveragingFound(None, found.reason, None, None, tags)
    mean_kg = sum(masses) / len(masses)
    return AveragingFound(found, None, kinetic_energy_j(mean_kg, found.limit_m_s), mean_kg, tags)


def speed_at(one: CountedShot, place: str) -> float | None:
    """In m/s, at the chronograph or at the target; None where it isn't known."""
    return one.shot.speed_m_s if place == "chronograph" else one.shot.target_speed_m_s
