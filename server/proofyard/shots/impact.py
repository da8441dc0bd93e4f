"""What each shot was: mass, speed, energy and momentum where its speed was read and at the target, with their uncertainty.

A shot's own reading wins. Without one the mean of its combination stands in, widened by how much single shots scatter;
a view may go further and pool like combinations, and says so. Where nothing was measured there is no energy, only the
reason: nothing is guessed.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from proofyard.physics.energy import kinetic_energy_j, momentum_kg_m_s, momentum_uncertainty_kg_m_s
from proofyard.physics.uncertainty_budget import UncertaintySource
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.instrument import Instrument
from proofyard.records.listing import held, nobody_writes
from proofyard.records.shot_facts import ShotFact
from proofyard.records.speed_facts import (
    CombinationFact,
    MassFact,
    SpeedFact,
    all_speeds,
    combinations,
    masses_and_instruments,
    speeds_around,
)
from proofyard.shots.at_target import (
    SINGLE_SHOTS,
    AtTarget,
    Drag,
    Read,
    Reckoned,
    at_target,
    drag_of_arrow,
    missing_parts,
    uncertainties_of_mass,
    uncertainties_of_speed,
)
from proofyard.shots.readings import (
    InstrumentUncertainty,
    mean_place,
    near_and_further,
    uncertainty_of,
    uncertainty_of_speeds,
    unknown_place,
)
from proofyard.shots.speed_without_chronograph import inputs_told
from proofyard.statistics.pooled_readings import PooledReadings, pool_readings
from proofyard.statistics.repeated_readings import Component, Readings, combine, summarise_readings, type_a, type_b
from proofyard.storage import Session

# An arrow's energy and momentum from its mass and speed, with their uncertainty; None where either is not known.


def energy_of(mass: Uncertain | None, speed: Uncertain | None) -> Uncertain | None:
    """½ m v² with its uncertainty, from mass and speed that were found independently (GUM 5.1.2)."""
    if mass is None or speed is None:
        return None
    energy = kinetic_energy_j(mass.value, speed.value)
    um, uv = mass.standard_uncertainty, speed.standard_uncertainty
    if um is None or uv is None:
        return Uncertain(energy, None, None, speed.n)
    parts = [
        Component("mass", energy * um / mass.value, mass.dof or math.inf, "B"),
        Component("speed", 2 * energy * uv / speed.value if speed.value else 0.0, speed.dof or math.inf, "A"),
    ]
    total = combine(*parts)
    return Uncertain(energy, total.standard_uncertainty, total.dof if total.dof > 0 else None, speed.n)


def momentum_of(mass: Uncertain | None, speed: Uncertain | None) -> Uncertain | None:
    """m v with its uncertainty."""
    if mass is None or speed is None:
        return None
    value = momentum_kg_m_s(mass.value, speed.value)
    um, uv = mass.standard_uncertainty, speed.standard_uncertainty
    if um is None or uv is None:
        return Uncertain(value, None, None, speed.n)
    u = momentum_uncertainty_kg_m_s(mass.value, speed.value, mass_u_kg=um, speed_u_m_s=uv)
    return Uncertain(value, u, None, speed.n)


ALIKE_MASS_RATIO = 0.02  # combinations pool only while their arrows' masses differ by no more than this


@dataclass(frozen=True)
class Impact:
    """One shot's figures where its speed was read, in SI, and at the target. `why_not`: what is missing where there are none.

    uncertainties         every cause of uncertainty in mass and speed
    basis          own, combination, pooled or not_measured: whose readings its speed is from; `speed_source` tells the rest
    half_way       read by frames or sound: the mean over its flight, which is about its speed half way, at no chronograph
    from_m         where along the flight it was read; None if nobody said
    no_target      why there are none at the target; None where there are
    """

    basis: str
    why_not: Reason | None
    mass: Uncertain | None
    speed: Uncertain | None
    energy_at_chronograph_j: Uncertain | None
    momentum_kg_m_s: Uncertain | None
    uncertainties: tuple[UncertaintySource, ...] = ()
    speed_source: Reason | None = None
    half_way: bool = False
    from_m: Uncertain | None = None
    at_target: AtTarget | None = None
    no_target: Reason | None = None

    @property
    def measured(self) -> bool:
        return self.energy_at_chronograph_j is not None

    def energy_at(self, place: str) -> Uncertain | None:
        """At the "chronograph" or at the "target"."""
        if place == "chronograph":
            return self.energy_at_chronograph_j
        return self.at_target.energy_j if self.at_target else None

    def has_energy_at(self, place: str) -> bool:
        return self.measured if place == "chronograph" else self.at_target is not None


@dataclass(frozen=True)
class CombinationSpeed:
    """What a combination's readings say together.

    used, left_out    the readings, in order
    further           read further down range than the others: they tell what the air takes, and are in no mean
    stood_at          where along the flight the used ones were read; None if nobody said
    speed             mean with its standard uncertainty (type A of the mean, type B of the chronograph)
    single            the same mean as the speed of one shot more: its uncertainty holds the scatter of single shots too
    """

    combination_id: str
    used: tuple[SpeedFact, ...]
    left_out: tuple[SpeedFact, ...]
    further: tuple[SpeedFact, ...]
    stood_at: Uncertain | None
    readings: Readings | None
    type_b: InstrumentUncertainty | None
    speed: Uncertain | None
    single: Reckoned | None
    mass: Uncertain | None
    pooled: PooledReadings | None
    pooled_with: tuple[str, ...]
    why_not: Reason | None

    @property
    def one_shot(self) -> Uncertain | None:
        return self.single.value if self.single else None

    @cached_property
    def energy_at_chronograph_j(self) -> Uncertain | None:
        return energy_of(self.mass, self.speed)

    @cached_property
    def momentum_kg_m_s(self) -> Uncertain | None:
        return momentum_of(self.mass, self.speed)


class Impacts:
    """The figures of every shot and combination that a page needs, from readings fetched once."""

    def __init__(
        self,
        *,
        series: Sequence[SpeedFact],
        own: Sequence[SpeedFact],
        mass_facts: Sequence[MassFact],
        tools: Mapping[str, Instrument],
        known: Mapping[str, CombinationFact],
        pool: bool = False,
    ) -> None:
        self.pool = pool
        self._tools, self._known = tools, known
        self._by_combination: dict[str, list[SpeedFact]] = {}
        self._by_shot: dict[str, list[SpeedFact]] = {}
        self._masses: dict[str, list[MassFact]] = {}
        for fact in (*series, *own):
            self._by_combination.setdefault(fact.combination_id, []).append(fact)
        for fact in own:
            self._by_shot.setdefault(fact.shot_id or "", []).append(fact)
        for mass in mass_facts:
            self._masses.setdefault(mass.arrow_build_id, []).append(mass)
        # By what combinations are looked for, once: a look through all of them for each arrow takes the square of their number.
        self._of_arrow: dict[str, list[str]] = {}
        self._of_kind: dict[tuple[str | None, ...], list[str]] = {}
        for combination_id, one in known.items():
            self._of_arrow.setdefault(one.arrow_build_id, []).append(combination_id)
            self._of_kind.setdefault(_kind(one), []).append(combination_id)
        self._combination_cache: dict[str, CombinationSpeed] = {}
        self._mass_cache: dict[str, Reckoned | None] = {}
        self._drag_cache: dict[tuple[str, float], Drag] = {}
        # Shots without a speed of their own, of one combination at one set-up, have one and the same figures.
        self._alike_cache: dict[tuple[str, str], Impact] = {}

    @classmethod
    def load(cls, session: Session, facts: Sequence[ShotFact] | None = None, *, also: Iterable[str] = (), pool: bool = False) -> "Impacts":
        """Fetch what is needed, in three statements whatever the number of shots.

        facts, also  all shots, and arrow builds beside theirs, that will be asked about. Without them, or where the view
                     pools and so may need any other: the whole book
        """
        if nobody_writes():  # then the whole book is read once, whatever is asked of it
            return held(("impacts", cls, pool), lambda: cls._loaded(session, None, pool=pool))
        builds = None if pool or facts is None else sorted({fact.arrow_build_id for fact in facts} | set(also))
        return cls._loaded(session, builds, pool=pool)

    @classmethod
    def of_all(cls, read: Mapping[str, Any], *, pool: bool = False) -> "Impacts":
        """Of readings of the whole book that the caller fetched: what is given to make one, by name."""
        return held(("impacts", cls, pool), lambda: cls(**read, pool=pool))

    @classmethod
    def _loaded(cls, session: Session, builds: Sequence[str] | None, *, pool: bool) -> "Impacts":
        series, own = all_speeds(session) if builds is None else speeds_around(session, builds)
        weighed, tools = masses_and_instruments(session, builds)
        return cls(series=series, own=own, mass_facts=weighed, tools=tools, known=combinations(session, builds), pool=pool)

    @property
    def combinations(self) -> Mapping[str, CombinationFact]:
        """Combination id -> bow, arrow and archer of it."""
        return self._known

    @property
    def tools(self) -> Mapping[str, Instrument]:
        """Every instrument by its id."""
        return self._tools

    def mass_of(self, arrow_build_id: str) -> Uncertain | None:
        """The mean of an arrow build's mass readings that were not left out; None if it was never weighed."""
        found = self._reckoned_mass(arrow_build_id)
        return found.value if found else None

    def _reckoned_mass(self, arrow_build_id: str) -> Reckoned | None:
        if arrow_build_id not in self._mass_cache:
            self._mass_cache[arrow_build_id] = self._mean_mass(arrow_build_id)
        return self._mass_cache[arrow_build_id]

    def _mean_mass(self, arrow_build_id: str) -> Reckoned | None:
        kept = [m for m in self._masses.get(arrow_build_id, ()) if m.left_out_reason is None]
        read = summarise_readings([m.value_kg for m in kept])
        if isinstance(read, CantTell):
            return None
        uncertainty = uncertainty_of([self._tools.get(m.instrument_id or "") for m in kept], read.mean)
        # A mass does not change from weighing to weighing, so one reading is as good as the scale.
        return _reckoned(read.mean, read.n, _type_a(read), uncertainty, tool="scale")

    def of_combination(self, combination_id: str) -> CombinationSpeed:
        """The mean speed of a combination and what follows from it, pooled with like ones if this view pools."""
        if combination_id not in self._combination_cache:
            self._combination_cache[combination_id] = self._combination(combination_id)
        return self._combination_cache[combination_id]

    def _combination(self, combination_id: str) -> CombinationSpeed:
        all_of = self._by_combination.get(combination_id, [])
        used, further = near_and_further(_counting(all_of))
        taken = {f.reading_id for f in (*used, *further)}
        left_out = tuple(f for f in all_of if f.reading_id not in taken)
        read = summarise_readings([f.value_m_s for f in used if f.value_m_s is not None])
        readings = None if isinstance(read, CantTell) else read
        known = self._known.get(combination_id)
        mass = self.mass_of(known.arrow_build_id) if known else None
        pooled, pooled_with = self._pooled(combination_id, used) if self.pool else (None, ())
        mean = pooled.mean if pooled else readings.mean if readings else None
        uncertainty = None if mean is None else uncertainty_of_speeds(used, self._tools, at_value=mean)
        speed = single = None
        if pooled and mean is not None:
            parts = list(pooled.components)
            speed = _reckoned(mean, pooled.n, parts, uncertainty, needs_type_a=True)
            single = _reckoned(mean, pooled.n, parts + _scatter(pooled.within_spread, pooled.n), uncertainty, needs_type_a=True)
        elif readings and mean is not None:
            parts = _type_a(readings)
            speed = _reckoned(mean, readings.n, parts, uncertainty, needs_type_a=True)
            single = _reckoned(mean, readings.n, parts + _scatter(readings.spread, readings.n), uncertainty, needs_type_a=True)
        value = speed.value if speed else None
        return CombinationSpeed(
            combination_id=combination_id,
            used=used,
            left_out=left_out,
            further=further,
            stood_at=mean_place(used),
            readings=readings,
            type_b=uncertainty,
            speed=value,
            single=single,
            mass=mass,
            pooled=pooled,
            pooled_with=pooled_with,
            why_not=_missing(mass, value, known),
        )

    def _pooled(self, combination_id: str, used: Sequence[SpeedFact]) -> tuple[PooledReadings | None, tuple[str, ...]]:
        like = self.like_combinations(combination_id)
        groups = [used, *(self._speeds(other) for other in like)]
        found = pool_readings([f.value_m_s for f in group if f.value_m_s is not None] for group in groups)
        with_readings = tuple(other for other, group in zip(like, groups[1:], strict=True) if group)
        if isinstance(found, CantTell) or not with_readings:
            return None, ()
        return found, with_readings

    def _speeds(self, combination_id: str) -> tuple[SpeedFact, ...]:
        return near_and_further(_counting(self._by_combination.get(combination_id, [])))[0]

    def like_combinations(self, combination_id: str) -> tuple[str, ...]:
        """Combinations of the same bow build, archer and fletching whose arrows' masses are within ±2 %."""
        me = self._known.get(combination_id)
        mass = self.mass_of(me.arrow_build_id) if me else None
        if me is None or mass is None:
            return ()
        like = self._of_kind[_kind(me)]
        return tuple(other for other in like if other != combination_id and self._weighs_alike(self._known[other], mass.value))

    def _weighs_alike(self, other: CombinationFact, mass_kg: float) -> bool:
        mass = self.mass_of(other.arrow_build_id)
        return mass is not None and abs(mass.value - mass_kg) <= ALIKE_MASS_RATIO * mass_kg

    def of_shot(self, fact: ShotFact) -> Impact:
        """The figures of one shot."""
        own = self._own_speed(fact)
        if own is not None:
            return self._told(fact, "own", own[0], own[1])
        if fact.short_draw:
            # The combination's mean is of full draws: it says nothing of this one.
            return _not_measured(self.mass_of(fact.arrow_build_id), because("short_draw_without_a_speed"))
        key = (fact.combination_id, fact.setup_id)
        if key not in self._alike_cache:
            self._alike_cache[key] = self._by_mean(fact)
        return self._alike_cache[key]

    def _by_mean(self, fact: ShotFact) -> Impact:
        combination = self.of_combination(fact.combination_id)
        if combination.single is None:
            mass = self.mass_of(fact.arrow_build_id)
            return _not_measured(mass, _missing(mass, None, self._known.get(fact.combination_id)) or because("no_speed_read"))
        return self._told(fact, "pooled" if combination.pooled else "combination", combination.single, combination.stood_at)

    def _told(self, fact: ShotFact, basis: str, speed: Reckoned, from_m: Uncertain | None) -> Impact:
        source = self._speed_source(fact, basis, speed)
        half_way = basis == "own" and {f.method for f in self._own_readings(fact)} <= {"frames", "sound"}
        mass = self._reckoned_mass(fact.arrow_build_id)
        if mass is None:
            why = because("never_weighed", arrow=fact.arrow_tag, arrow_build=fact.arrow_build_number)
            return Impact("not_measured", why, None, speed.value, None, None, speed_source=source, half_way=half_way, from_m=from_m)
        uncertainties = (*uncertainties_of_mass(mass), *uncertainties_of_speed(speed, own=basis == "own"))
        place = from_m or unknown_place()
        assumed = None if from_m else because("speed_place_assumed", place_m=place.value, most_m=2 * place.value)
        read = Read(mass.value, speed.value, uncertainties, missing_parts((("mass", mass), ("speed", speed))), place, assumed)
        found = at_target(fact, read, drag=self._drag(fact, mass.value.value))
        return Impact(
            basis=basis,
            why_not=None,
            mass=mass.value,
            speed=speed.value,
            energy_at_chronograph_j=energy_of(mass.value, speed.value),
            momentum_kg_m_s=momentum_of(mass.value, speed.value),
            uncertainties=uncertainties,
            speed_source=source,
            half_way=half_way,
            from_m=from_m,
            at_target=None if isinstance(found, CantTell) else found,
            no_target=found.reason if isinstance(found, CantTell) else None,
        )

    def _drag(self, fact: ShotFact, mass_kg: float) -> Drag:
        """Of an arrow build, whoever shot it: what the air takes is the arrow's."""
        key = (fact.arrow_build_id, fact.shaft_diameter_m or 0.0)
        if key not in self._drag_cache:
            mine = {one: _counting(self._by_combination.get(one, ())) for one in self._of_arrow.get(fact.arrow_build_id, ())}
            self._drag_cache[key] = drag_of_arrow(mine, mass_kg, diameter_m=key[1], tools=self._tools)
        return self._drag_cache[key]

    def _own_readings(self, fact: ShotFact) -> list[SpeedFact]:
        return [f for f in self._by_shot.get(fact.shot_id, ()) if f.left_out_reason is None and f.value_m_s is not None]

    def _own_speed(self, fact: ShotFact) -> tuple[Reckoned, Uncertain | None] | None:
        kept = self._own_readings(fact)
        if not kept:
            return None
        read = summarise_readings([f.value_m_s for f in kept if f.value_m_s is not None])
        assert not isinstance(read, CantTell)
        uncertainty = uncertainty_of_speeds(kept, self._tools, at_value=read.mean)
        return _reckoned(read.mean, read.n, _type_a(read), uncertainty), mean_place(kept)

    def _speed_source(self, fact: ShotFact, basis: str, found: Reckoned) -> Reason:
        own = basis == "own"
        told = [inputs_told(f.method, f.inputs, value_m_s=f.value_m_s) for f in self._own_readings(fact)] if own else []
        return because(
            "speed_of_shot",
            basis=basis,
            inputs=tuple(one for one in told if one),
            readings=None if own else found.value.n,
            pooled_with=len(self.of_combination(fact.combination_id).pooled_with) if basis == "pooled" else None,
            why_not_known=found.why_not_known,
        )


def _kind(combination: CombinationFact) -> tuple[str | None, ...]:
    """What combinations that are pooled have in common, beside the mass of their arrows."""
    return (combination.bow_build_id, combination.archer_id, combination.fletching)


def _type_a(read: Readings) -> list[Component]:
    part = type_a(read)
    return [] if isinstance(part, CantTell) else [part]


def _scatter(spread: float | None, n: int) -> list[Component]:
    """How far one shot lies from the mean: the uncertainty of standing in for a shot that was not read."""
    return [] if not spread or n < 2 else [Component(SINGLE_SHOTS, spread, n - 1, "A")]


def _counting(facts: Iterable[SpeedFact]) -> tuple[SpeedFact, ...]:
    """Those that say something of a full draw."""
    return tuple(f for f in facts if f.left_out_reason is None and f.value_m_s is not None and not f.short_draw)


def _reckoned(
    mean: float,
    n: int,
    parts: Iterable[Component],
    uncertainty: InstrumentUncertainty | None,
    *,
    needs_type_a: bool = False,
    tool: str = "chronograph",
) -> Reckoned:
    parts = tuple(parts)
    if uncertainty is None:
        return Reckoned(Uncertain(mean, None, None, n), parts, None, because("accuracy_not_written_down", tool=tool))
    if needs_type_a and not parts:
        return Reckoned(Uncertain(mean, None, None, n), parts, uncertainty, because("one_reading_no_spread"))
    total = combine(*parts, type_b(uncertainty.source, uncertainty.standard_uncertainty))
    return Reckoned(Uncertain(mean, total.standard_uncertainty, total.dof if total.dof > 0 else None, n), parts, uncertainty)


def _missing(mass: Uncertain | None, speed: Uncertain | None, known: CombinationFact | None) -> Reason | None:
    if known is None:
        return None if mass and speed else because("no_speed_read")
    arrow, build, bow, bow_build = known.arrow_tag, known.arrow_build_number, known.bow_name, known.bow_build_number
    if speed is None and mass is None:
        return because("neither_weighed_nor_speed_read", arrow=arrow, arrow_build=build, bow=bow, bow_build=bow_build)
    if speed is None:
        return because("no_speed_of_the_combination", arrow=arrow, arrow_build=build, bow=bow, bow_build=bow_build)
    return because("never_weighed", arrow=arrow, arrow_build=build) if mass is None else None


def _not_measured(mass: Uncertain | None, why: Reason) -> Impact:
    return Impact("not_measured", why, mass, None, None, None, no_target=why)
