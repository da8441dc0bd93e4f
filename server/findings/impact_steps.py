"""How a shot's energy came about, line by line, from weighing to joules at the target; each line names its method."""

from dataclasses import dataclass

from server.findings.at_target import AtTarget
from server.findings.impact import Impact
from server.quantities import Uncertain, with_unit, written
from server.records.shot_facts import ShotFact


@dataclass(frozen=True)
class ImpactStep:
    """One line of how a figure came about. `shown_as` is a row of quantities.UNITS_FOR_READER; `method` a public function.

    record_id  of what it was read from, of that noun
    """

    words: str
    value: Uncertain | None
    shown_as: str
    note: str = ""
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
    mass, speed, there = impact.mass, impact.speed, impact.at_target
    weighed = f"{mass.n} reading{'s' if mass.n != 1 else ''}" if mass and mass.n else "never weighed"
    if mass is not None and mass.standard_uncertainty is None:
        weighed += ", its doubt can’t be told: the scale’s accuracy is not written down"
    assert speed is not None
    note = impact.speed_note
    if impact.from_m is not None:
        note += f", {written(impact.from_m.value, 'm')} from the bow"
    where = "half way, its mean over the flight" if impact.half_way else "at the chronograph"
    steps = [
        ImpactStep(
            f"Arrow {fact.arrow_tag}, build {fact.arrow_build_number}, weighed", mass, "mass", weighed, "arrow", fact.arrow_id,
            method="summarise_readings",
        ),
        ImpactStep(f"Speed {where}", speed, "speed", note, "pairing", fact.pairing_id, method="summarise_readings"),
    ]  # fmt: skip
    if impact.momentum_kg_m_s is not None:
        steps.append(ImpactStep(f"Momentum {where.partition(',')[0]}, m v", impact.momentum_kg_m_s, "momentum", method="momentum_kg_m_s"))
    if impact.energy_at_chronograph_j is not None:
        words = f"Energy {where.partition(',')[0]}, ½ m v²"
        steps.append(ImpactStep(words, impact.energy_at_chronograph_j, "energy", last=there is None, method="kinetic_energy_j"))
    return tuple(steps)


def _on_the_way(fact: ShotFact, there: AtTarget) -> tuple[ImpactStep, ...]:
    speed = there.speed
    flown = f"{written(fact.distance_m or 0.0, 'm')} from archer to panel, less {written(there.from_m.value, 'm')} to where the speed was read"
    flown += f" ({there.from_words})" if there.from_words else ""
    drag_noun = ("pairing", there.drag.pairing_id) if there.drag.pairing_id else ("arrow", fact.arrow_id)
    return (
        ImpactStep("Air that it flew through", there.air.density, "density", there.air.words, method="air_density_kg_m3"),
        ImpactStep(
            "Drag coefficient, on the shaft’s cross-section", there.drag.coefficient, "count", _drag_note(there), *drag_noun,
            method="drag_coefficient_from_drag" if there.drag.fitted else "drag_per_m",
        ),
        ImpactStep(
            f"Speed lost in {written(there.flown_m, 'm')} of air", there.speed_lost, "speed", flown, method="speed_at_distance_m_s"
        ),
        ImpactStep("Speed at the target", speed, "speed", method="speed_at_distance_m_s"),
        ImpactStep("Momentum at the target", there.momentum_kg_m_s, "momentum", method="momentum_at_target_kg_m_s"),
        ImpactStep("Energy at the target", there.energy_j, "energy", last=True, method="energy_at_target_j"),
    )  # fmt: skip


def _drag_note(there: AtTarget) -> str:
    diameter = with_unit(f"{1000 * there.inputs.shaft_diameter_m:.1f}", "mm")
    return f"{there.drag.words}; shaft {diameter}"
