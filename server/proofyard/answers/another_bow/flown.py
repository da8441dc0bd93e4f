"""From a bow to the panel: the arrow's speed and energy where they leave and where they arrive, each with one range."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.answers.another_bow.own_bows import OwnBows
from proofyard.physics.another_bow import AnotherBow
from proofyard.physics.energy import kinetic_energy_j
from proofyard.physics.uncertainty_budget import ShotInputs, UncertaintySource, uncertainty_budget
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange, because
from proofyard.shots.at_target import Drag, air_of, uncertainties_of_flight
from proofyard.shots.loosed import LoosedShot
from proofyard.shots.readings import PLACE_EITHER_WAY_M
from proofyard.statistics.repeated_readings import coverage_factor


@dataclass(frozen=True)
class Ranged:
    """A value and its 95 % range."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Question:
    """What is asked, with what was taken where nothing was typed: names of those in `taken`."""

    weight_n: float
    mass_kg: float
    distance_m: float
    draw_m: float
    shaft_m: float
    drag: Drag
    like_arrow: str
    taken: tuple[str, ...]


@dataclass(frozen=True)
class Flown:
    """The arrow's way. `leaving_j` where speeds are read, `from_m` from the bow; `at_target_j` and `speed_there` at the panel."""

    question: Question
    bow: AnotherBow
    from_m: float
    leaving_j: Ranged
    at_target_j: Ranged
    speed_there: Ranged


def flown(question: Question, own: OwnBows) -> Flown | CantTell:
    """Why not, where the bow or the flight can't be reckoned."""
    bow = own.speed_of(question.weight_n, draw_m=question.draw_m, arrow_kg=question.mass_kg)
    if isinstance(bow, CantTell):
        return bow
    air = air_of(None, None, humidity_ratio=None)
    if isinstance(air, CantTell):
        return air
    from_m = min(own.stood_at_m, question.distance_m)
    try:
        inputs = ShotInputs(
            question.mass_kg,
            bow.speed.value,
            question.distance_m - from_m,
            question.drag.coefficient.value,
            question.shaft_m,
            air.density.value,
        )
    except OutOfRange as fault:
        return CantTell(because("flight_not_covered", of=fault.name, expected=fault.expected))
    place = Uncertain(from_m, PLACE_EITHER_WAY_M / math.sqrt(3))
    foretold = UncertaintySource(
        "speed", because("speed_foretold"), bow.speed.standard_uncertainty or 0.0, "combination", dof=bow.speed.dof or math.inf
    )
    sources = (foretold, *uncertainties_of_flight(air, question.drag, from_m=place))
    return Flown(
        question=question,
        bow=bow,
        from_m=from_m,
        leaving_j=Ranged(*(kinetic_energy_j(question.mass_kg, v) for v in (bow.speed.value, bow.low_m_s, bow.high_m_s))),
        at_target_j=_ranged(inputs, sources, "energy_at_target_j"),
        speed_there=_ranged(inputs, sources, "speed_at_target_m_s"),
    )


def _ranged(inputs: ShotInputs, sources: Sequence[UncertaintySource], step: str) -> Ranged:
    """Ends in proportion, as the speed's own are."""
    budget = uncertainty_budget(inputs, sources, step=step)
    reach = coverage_factor(budget.dof) * budget.standard_uncertainty / budget.value
    return Ranged(budget.value, budget.value * math.exp(-reach), budget.value * math.exp(reach))


def like_arrow(shots: Sequence[LoosedShot], mass_kg: float) -> tuple[float, Drag, str] | None:
    """Shaft, drag and tag of the arrow nearest in mass whose way to a target is known; None without one."""
    known = [(shot, there) for shot in shots if (there := shot.impact.at_target) is not None]
    if not known:
        return None
    shot, there = min(known, key=lambda pair: abs(pair[1].inputs.mass_kg - mass_kg))
    return there.inputs.shaft_diameter_m, there.drag, shot.fact.arrow_tag
