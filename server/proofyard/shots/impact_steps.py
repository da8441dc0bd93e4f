"""How a shot's energy came about, line by line, from weighing to joules at the target; each line names its method."""

from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason, because
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.at_target import AtTarget
from proofyard.shots.impact import Impact


@dataclass(frozen=True)
class ImpactStep:
    """One line of how a figure came about. `shown_as` is a row of quantities.UNITS_FOR_READER; `method` a public function.

    record_id  of what it was read from, of that noun
    """

    what: Reason
    value: Uncertain | None
    shown_as: str
    note: Reason | None = None
    noun: str | None = None
    record_id: str | None = None
    last: bool = False
    method: str = ""


def steps_of(fact: ShotFact, impact: Impact) -> tuple[ImpactStep, ...]:
    """Empty where no speed is known."""
    if impact.speed is None:
        return ()
    there = impact.at_target
    return (*_read(fact, impact), *(_on_the_way(fact, there) if there else ()))


def _read(fact: ShotFact, impact: Impact) -> tuple[ImpactStep, ...]:
    mass, speed, place = impact.mass, impact.speed, "half_way" if impact.half_way else "chronograph"
    assert speed is not None
    arrow = because("step_weighed", arrow=fact.arrow_tag, build=fact.arrow_build_number)
    weighed = because("step_weighings", readings=mass.n if mass else None, uncertain=mass is None or mass.standard_uncertainty is not None)
    came = because("step_speed_note", speed=impact.speed_source, from_m=impact.from_m.value if impact.from_m is not None else None)
    what = because("step_speed", half_way=impact.half_way)
    steps = [
        ImpactStep(arrow, mass, "mass", weighed, "arrow", fact.arrow_id, method="summarise_readings"),
        ImpactStep(what, speed, "speed", came, "combination", fact.combination_id, method="summarise_readings"),
    ]
    if impact.momentum_kg_m_s is not None:
        what = because("step_momentum", place=place)
        steps.append(ImpactStep(what, impact.momentum_kg_m_s, "momentum", method="momentum_kg_m_s"))
    if impact.energy_at_chronograph_j is not None:
        what, last = because("step_energy", place=place), impact.at_target is None
        steps.append(ImpactStep(what, impact.energy_at_chronograph_j, "energy", last=last, method="kinetic_energy_j"))
    return tuple(steps)


def _on_the_way(fact: ShotFact, there: AtTarget) -> tuple[ImpactStep, ...]:
    flown = because("step_way", distance_m=fact.distance_m or 0.0, from_m=there.from_m.value, place=there.from_assumed)
    drag = because("step_drag_note", drag=there.drag.source, shaft_m=there.inputs.shaft_diameter_m)
    drag_noun = ("combination", there.drag.combination_id) if there.drag.combination_id else ("arrow", fact.arrow_id)
    drag_method = "drag_coefficient_from_drag" if there.drag.fitted else "drag_per_m"
    lost = because("step_speed_lost", flown_m=there.flown_m)
    return (
        ImpactStep(because("step_air"), there.air.density, "density", there.air.source, method="air_density_kg_m3"),
        ImpactStep(because("step_drag"), there.drag.coefficient, "count", drag, *drag_noun, method=drag_method),
        ImpactStep(lost, there.speed_lost, "speed", flown, method="speed_at_distance_m_s"),
        ImpactStep(because("step_speed_at_target"), there.speed, "speed", method="speed_at_distance_m_s"),
        ImpactStep(because("step_momentum_at_target"), there.momentum_kg_m_s, "momentum", method="momentum_at_target_kg_m_s"),
        ImpactStep(because("step_energy_at_target"), there.energy_j, "energy", last=True, method="energy_at_target_j"),
    )
