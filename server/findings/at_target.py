"""What a shot had left at the target: from where its speed was read, through the day's air, to the panel."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from server.findings.air_of_day import Air, air_of
from server.findings.arrow_drag import Drag
from server.findings.shot_doubts import doubts_of_flight
from server.physics.fall import LowFlight, low_flight
from server.physics.flight import drag_per_m, time_to_distance_s
from server.physics.ranges import CantTell, OutOfRange
from server.physics.uncertainty_budget import Budget, Doubt, ShotInputs, uncertainty_budget
from server.quantities import Uncertain
from server.records.shot_facts import ShotFact


@dataclass(frozen=True)
class AtTarget:
    """One shot's figures at the target, worked out when first asked for: a page of a thousand shots asks for few.

    from_m       where its speed was read, from the bow; `from_words` when nobody wrote that down
    missing      causes of doubt whose size nobody knows: with one of them no figure here has an uncertainty
    """

    inputs: ShotInputs
    doubts: tuple[Doubt, ...]
    missing: tuple[str, ...]
    from_m: Uncertain
    from_words: str
    air: Air
    drag: Drag
    n: int | None

    @property
    def flown_m(self) -> float:
        return self.inputs.distance_m

    @cached_property
    def drag_per_m(self) -> float:
        i = self.inputs
        return drag_per_m(i.drag_coefficient, i.shaft_diameter_m, mass_kg=i.mass_kg, air_density_kg_m3=i.air_density_kg_m3)

    @cached_property
    def budget(self) -> Budget:
        return uncertainty_budget(self.inputs, self.doubts)

    @cached_property
    def energy_j(self) -> Uncertain:
        return self._told(self.budget)

    @cached_property
    def speed(self) -> Uncertain:
        return self._told(uncertainty_budget(self.inputs, self.doubts, step="speed_at_target_m_s"))

    @cached_property
    def speed_lost(self) -> Uncertain:
        """What the air took. A chronograph that reads 1 % high makes it 1 % too much, and no more."""
        found = uncertainty_budget(self.inputs, self.doubts, step="speed_at_target_m_s")
        lost = self.inputs.speed_m_s - found.value
        parts = [line.contribution * (lost / found.value if line.doubt.quantity == "speed" else 1.0) for line in found.lines]
        return Uncertain(lost, None if self.missing else math.hypot(*parts))

    @cached_property
    def momentum_kg_m_s(self) -> Uncertain:
        return self._told(uncertainty_budget(self.inputs, self.doubts, step="momentum_at_target_kg_m_s"))

    @cached_property
    def time_s(self) -> float:
        return time_to_distance_s(self.inputs.speed_m_s, self.flown_m, drag_per_m=self.drag_per_m)

    @cached_property
    def fall(self) -> LowFlight | CantTell:
        """As if it struck at the height at which it left: nobody writes heights down."""
        if self.flown_m == 0:
            return CantTell("there is no way to fall over")
        return low_flight(self.inputs.speed_m_s, self.flown_m, drag_per_m=self.drag_per_m)

    @property
    def drop_m(self) -> float | None:
        return None if isinstance(self.fall, CantTell) else self.fall.drop_m

    @property
    def fall_angle_rad(self) -> float | None:
        return None if isinstance(self.fall, CantTell) else self.fall.fall_angle_rad

    def share_of(self, scope: str) -> float | None:
        """The part of the energy's uncertainty that all shots share, those of its pairing, or none."""
        return None if self.missing else self.budget.by_scope[scope]

    def _told(self, found: Budget) -> Uncertain:
        if self.missing:
            return Uncertain(found.value, None, None, self.n)
        return Uncertain(found.value, found.standard_uncertainty, found.dof, self.n)


@dataclass(frozen=True)
class Read:
    """What was read of a shot: mass and speed with their causes of doubt, and where the speed was read."""

    mass: Uncertain
    speed: Uncertain
    doubts: Sequence[Doubt]
    missing: tuple[str, ...]
    from_m: Uncertain
    from_words: str


def why_no_target(fact: ShotFact) -> str:
    """What nobody wrote down that the way to the target needs; empty where all is there."""
    wanted = []
    if fact.distance_m is None:
        wanted.append("how far off the panel stood")
    if fact.shaft_diameter_m is None:
        wanted.append(f"how thick the shaft of arrow {fact.arrow_tag} is")
    return f"Nobody wrote down {' or '.join(wanted)}." if wanted else ""


def at_target(fact: ShotFact, read: Read, *, drag: Drag) -> AtTarget | CantTell:
    """From chronograph to target; CantTell with the reason where the way can't be reckoned."""
    why = why_no_target(fact)
    if why:
        return CantTell(why)
    air = air_of(fact.air_temperature_k, fact.air_pressure_pa, humidity_ratio=fact.air_humidity_ratio)
    if isinstance(air, CantTell):
        return CantTell(f"{air.reason[:1].upper()}{air.reason[1:]}.")
    assert fact.distance_m is not None and fact.shaft_diameter_m is not None
    flown = fact.distance_m - read.from_m.value
    if flown < 0:
        if flown < -(read.from_m.standard_uncertainty or 0.0) * math.sqrt(3):
            return CantTell("The speed was read beyond the panel’s distance: one of the two was mistyped.")
        flown = 0.0
    try:
        inputs = ShotInputs(
            read.mass.value, read.speed.value, flown, drag.coefficient.value, fact.shaft_diameter_m, air.density.value
        )
    except OutOfRange as fault:
        return CantTell(f"The formulas of flight don’t cover this {_SAID.get(fault.name, 'shot')}: they want {fault.expected}.")
    return AtTarget(
        inputs=inputs, doubts=(*read.doubts, *doubts_of_flight(air, drag, from_m=read.from_m)), missing=read.missing,
        from_m=read.from_m, from_words=read.from_words, air=air, drag=drag, n=read.speed.n,
    )  # fmt: skip


_SAID: Mapping[str, str] = {"speed_m_s": "speed", "distance_m": "distance", "diameter_m": "shaft", "mass_kg": "mass"}
