"""What a shot had left at the target: from where its speed was read, through the day’s air, to the panel.

Every cause of uncertainty stands here once, sorted by whom it touches: all shots, a combination, this shot.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache

from proofyard.physics.air import air_density_with_uncertainty
from proofyard.physics.fall import LowFlight, low_flight
from proofyard.physics.flight import DEFAULT_DRAG, drag_coefficient_from_drag, drag_per_m, drag_per_m_from_two_speeds, time_to_distance_s
from proofyard.physics.uncertainty_budget import STEPS, Budget, ShotInputs, UncertaintySource, uncertainty_budget
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange, Reason, because
from proofyard.records.instrument import Instrument
from proofyard.records.shot_facts import ShotFact
from proofyard.records.speed_facts import SpeedFact
from proofyard.shots.readings import PLACE_EITHER_WAY_M, InstrumentUncertainty, place_of, uncertainty_of_speeds
from proofyard.statistics.repeated_readings import Component, summarise_readings

# The air that a day's arrows flew through: its density from what was written down, and what is taken where nothing was.


@dataclass(frozen=True)
class Taken:
    """What is reckoned with where nobody wrote it down, and how far a written one may be off: limits either way."""

    value: float
    either_way: float
    written_either_way: float


# Common practice, no source. A thermometer in the sun reads some degrees high; a weather service's pressure is reduced
# to sea level, which at 100 m is 12 hPa too much; unwritten pressure spans the sea in fair weather to 500 m in foul.
TEMPERATURE = Taken(288.15, 15.0, 2.0)
PRESSURE = Taken(99_000.0, 6_000.0, 1_500.0)
HUMIDITY = Taken(0.6, 0.4, 0.1)


@dataclass(frozen=True)
class Air:
    """Density, and what it rests on: what was written down and what was taken."""

    density: Uncertain
    source: Reason
    all_written: bool


@lru_cache(maxsize=256)
def air_of(temperature_k: float | None, pressure_pa: float | None, *, humidity_ratio: float | None) -> Air | CantTell:
    """The air of a day. CantTell where what was written lies outside of what the formula covers."""
    t, t_u = _with_uncertainty(temperature_k, TEMPERATURE)
    p, p_u = _with_uncertainty(pressure_pa, PRESSURE)
    h, h_u = _with_uncertainty(humidity_ratio, HUMIDITY)
    try:
        density = air_density_with_uncertainty(t, p, relative_humidity=h, temperature_u_k=t_u, pressure_u_pa=p_u, humidity_u=h_u)
    except OutOfRange as fault:
        return CantTell(because("weather_outside_the_formula", of=fault.name))
    source = because(
        "air_of_the_day",
        temperature_k=temperature_k,
        pressure_pa=pressure_pa,
        humidity_ratio=humidity_ratio,
        assumed_k=_assumed(temperature_k, TEMPERATURE),
        assumed_pa=_assumed(pressure_pa, PRESSURE),
        assumed_ratio=_assumed(humidity_ratio, HUMIDITY),
    )
    return Air(density, source, None not in (temperature_k, pressure_pa, humidity_ratio))


def _assumed(value: float | None, taken: Taken) -> tuple[float, float, float] | None:
    """What is reckoned with, and between which limits it may lie; None where it was written down."""
    return (taken.value, taken.value - taken.either_way, taken.value + taken.either_way) if value is None else None


def _with_uncertainty(value: float | None, taken: Taken) -> tuple[float, float]:
    """The value and its standard uncertainty, of limits that all between is as likely as (GUM 4.3.7)."""
    if value is None:
        return taken.value, taken.either_way / math.sqrt(3)
    return value, taken.written_either_way / math.sqrt(3)


# What an arrow loses to the air: its own drag, where its speed was read at two distances; else a default with its range.

FEWEST_AT_A_PLACE = 2
LEAST_APART_M = 5.0  # nearer than that no chronograph tells the loss from its own step


@dataclass(frozen=True)
class Drag:
    """A drag coefficient on the shaft's cross-section. `fitted`: this arrow's own; `combination_id` says whose readings."""

    coefficient: Uncertain
    fitted: bool
    source: Reason
    combination_id: str | None = None


@cache
def default_drag() -> Drag:
    """What is taken where an arrow's own drag is not known."""
    found = DEFAULT_DRAG
    source = because("drag_by_default", coefficient=found.coefficient, low=found.low, high=found.high)
    return Drag(Uncertain(found.coefficient, found.standard_uncertainty, math.inf), False, source)


def drag_of_arrow(
    by_combination: Mapping[str, Sequence[SpeedFact]], mass_kg: float, *, diameter_m: float, tools: Mapping[str, Instrument]
) -> Drag:
    """The surest fit among the combinations of one arrow build; the default where no combination was read at two distances.

    A bow or an archer changes the speed, so both ends of a fit belong to one combination.
    """
    found = []
    for combination_id, facts in by_combination.items():
        drag = _fitted(facts, mass_kg, diameter_m=diameter_m, tools=tools, combination_id=combination_id)
        if drag is not None:
            found.append(drag)
    return min(found, key=lambda drag: drag.coefficient.standard_uncertainty or math.inf, default=default_drag())


def _fitted(
    facts: Iterable[SpeedFact], mass_kg: float, *, diameter_m: float, tools: Mapping[str, Instrument], combination_id: str
) -> Drag | None:
    by_place: dict[float, list[SpeedFact]] = {}
    for fact in facts:
        # A mean over the flight is no speed at a place: two of those tell little of what is lost between.
        if fact.series_id and fact.method in (None, "chronograph") and (place := place_of(fact)) is not None:
            by_place.setdefault(place, []).append(fact)
    places = sorted(place for place, read in by_place.items() if len(read) >= FEWEST_AT_A_PLACE)
    if len(places) < 2 or places[-1] - places[0] < LEAST_APART_M:
        return None
    near, far = by_place[places[0]], by_place[places[-1]]
    apart = places[-1] - places[0]
    try:
        (v_1, u_1), (v_2, u_2) = (_mean_speed(read, tools, alone=_other_tools(near, far)) for read in (near, far))
        k = drag_per_m_from_two_speeds(
            v_1, v_2, distance_m=apart, near_u_m_s=u_1, far_u_m_s=u_2, distance_u_m=math.sqrt(2 / 3) * PLACE_EITHER_WAY_M
        )
        air = air_of(_temperature(near + far), None, humidity_ratio=None)
        if isinstance(k, CantTell) or isinstance(air, CantTell):
            return None
        # Mass and shaft come out of the loss and go into it again, so what is off about them cancels; the air doesn't.
        rest = (air.density.standard_uncertainty or 0.0) / air.density.value
        coefficient = drag_coefficient_from_drag(k, diameter_m, mass_kg=mass_kg, air_density_kg_m3=air.density.value, rest_u=rest)
    except OutOfRange:
        return None
    source = because("drag_of_two_places", near=len(near), near_m=places[0], far=len(far), far_m=places[-1])
    return Drag(coefficient, True, source, combination_id)


def _other_tools(near: Sequence[SpeedFact], far: Sequence[SpeedFact]) -> bool:
    """Whether two chronographs read the two ends: with one its own fault is in both, and cancels."""
    return {fact.instrument_id for fact in near} != {fact.instrument_id for fact in far}


def _mean_speed(read: Sequence[SpeedFact], tools: Mapping[str, Instrument], *, alone: bool) -> tuple[float, float]:
    found = summarise_readings(fact.value_m_s for fact in read if fact.value_m_s is not None)
    if isinstance(found, CantTell) or found.standard_uncertainty_type_a is None:
        raise OutOfRange("readings", float(len(read)), because("at_least", least=2))
    shared = uncertainty_of_speeds(read, tools, at_value=found.mean) if alone else None
    if alone and shared is None:
        raise OutOfRange("accuracy", math.nan, because("finite"))
    return found.mean, math.hypot(found.standard_uncertainty_type_a, shared.standard_uncertainty if shared else 0.0)


def _temperature(read: Sequence[SpeedFact]) -> float | None:
    known = [fact.air_temperature_k for fact in read if fact.air_temperature_k is not None]
    return math.fsum(known) / len(known) if known else None


# Every cause of uncertainty behind a shot's energy, each once, sorted by whom it touches: all shots, a combination, this shot.

SINGLE_SHOTS = because("single_shots_scatter")
OWN_DRAG = because("drag_is_its_own")
# Common practice, no source: a target's distance is paced or taped to a quarter of a metre, a shaft's diameter is read
# with a calliper to a tenth of a millimetre at a place that is not quite its thickest.
DISTANCE_EITHER_WAY_M = 0.25
DIAMETER_EITHER_WAY_M = 0.0002


@dataclass(frozen=True)
class Reckoned:
    """A mean and what its uncertainty is made of: what the readings' own scatter gives, and what their instruments share.

    why_not_known   what keeps its uncertainty from being told; then `value` has none
    """

    value: Uncertain
    parts: tuple[Component, ...]
    shared: InstrumentUncertainty | None
    why_not_known: Reason | None = None


def uncertainties_of_mass(mass: Reckoned) -> list[UncertaintySource]:
    """The scale's are the same for all arrows, the scatter of weighings is this arrow's."""
    return _uncertainties(mass, "mass", own_scope="combination", own_source=because("weighings_scatter"))


def uncertainties_of_speed(speed: Reckoned, *, own: bool) -> list[UncertaintySource]:
    """`own`: read on the shot itself, so that its scatter is this shot's alone."""
    if own:
        return _uncertainties(speed, "speed", own_scope="shot", own_source=because("readings_of_the_shot_scatter"))
    return _uncertainties(speed, "speed", own_scope="combination", own_source=None)


def _uncertainties(found: Reckoned, quantity: str, *, own_scope: str, own_source: Reason | None) -> list[UncertaintySource]:
    said = []
    for part in found.parts:
        scope = "shot" if part.name == SINGLE_SHOTS else own_scope
        said.append(UncertaintySource(quantity, own_source or part.name, part.standard_uncertainty, scope, "A", part.dof))
    if found.shared is not None:
        # Frames counted or sound: what is misjudged is misjudged on these readings, and on no other shot of the book.
        scope = own_scope if found.shared.own else "instrument"
        said.append(UncertaintySource(quantity, found.shared.source, found.shared.standard_uncertainty, scope))
    return said


def uncertainties_of_flight(air: Air, drag: Drag, *, from_m: Uncertain) -> list[UncertaintySource]:
    """What the way through the air adds. A fitted drag holds the shaft already: what is off about it cancels."""
    said = [
        UncertaintySource(
            "drag_coefficient",
            OWN_DRAG if drag.fitted else because("drag_not_measured"),
            drag.coefficient.standard_uncertainty or 0.0,
            "combination",
        ),
        UncertaintySource(
            "air_density",
            because("weather_as_written") if air.all_written else because("weather_not_all_written"),
            air.density.standard_uncertainty or 0.0,
            "instrument",
        ),
        UncertaintySource("distance", because("tape_or_paces"), DISTANCE_EITHER_WAY_M / math.sqrt(3), "instrument"),
        UncertaintySource("distance", because("where_the_speed_was_read"), from_m.standard_uncertainty or 0.0, "instrument"),
    ]
    if not drag.fitted:
        said.insert(1, UncertaintySource("shaft_diameter", because("calliper"), DIAMETER_EITHER_WAY_M / math.sqrt(3), "combination"))
    return said


def help_most(budget: Budget, *, own_speed: bool) -> Reason | None:
    """Which reading would lessen the uncertainty most; None where nothing stands out."""
    line = budget.most
    if line is None or budget.standard_uncertainty == 0:
        return None
    uncertainty = line.uncertainty
    if uncertainty.quantity == "drag_coefficient":
        return because("help_own_drag") if uncertainty.what == OWN_DRAG else because("help_drag")
    if own_speed and (uncertainty.quantity, uncertainty.scope, uncertainty.kind) == ("speed", "shot", "A"):
        return because("help_one_chronograph")
    return _ADVICE[uncertainty.quantity, uncertainty.scope, uncertainty.kind]


_ADVICE = {
    ("mass", "instrument", "B"): because("help_scale"),
    ("mass", "combination", "A"): because("help_weighings"),
    ("speed", "instrument", "B"): because("help_chronograph"),
    ("speed", "combination", "A"): because("help_speeds"),
    ("speed", "shot", "A"): because("help_speed_of_the_shot"),
    ("speed", "shot", "B"): because("help_chronograph_for_count"),
    ("speed", "combination", "B"): because("help_chronograph_for_count"),
    ("shaft_diameter", "combination", "B"): because("help_calliper"),
    ("air_density", "instrument", "B"): because("help_weather"),
    ("distance", "instrument", "B"): because("help_tape"),
}


def missing_parts(parts: Sequence[tuple[str, Reckoned]]) -> tuple[Reason, ...]:
    """The causes whose size nobody knows: with one of them no whole can be told."""
    return tuple(because("uncertainty_missing", quantity=name, why=found.why_not_known) for name, found in parts if found.why_not_known)


# What a shot had left at the target: from where its speed was read, through the day's air, to the panel.


@dataclass(frozen=True)
class AtTarget:
    """One shot's figures at the target, worked out when first asked for: a page of a thousand shots asks for few.

    from_m       where its speed was read, from the bow; `from_assumed` when nobody wrote that down
    missing      causes of uncertainty whose size nobody knows: with one of them no figure here has an uncertainty
    """

    inputs: ShotInputs
    uncertainties: tuple[UncertaintySource, ...]
    missing: tuple[Reason, ...]
    from_m: Uncertain
    from_assumed: Reason | None
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
        return uncertainty_budget(self.inputs, self.uncertainties)

    @cached_property
    def energy_j(self) -> Uncertain:
        return self._told(self.budget)

    @cached_property
    def speed(self) -> Uncertain:
        return self._told(uncertainty_budget(self.inputs, self.uncertainties, step="speed_at_target_m_s"))

    @property
    def speed_m_s(self) -> float:
        """The same without its uncertainty, which takes most of the work."""
        return STEPS["speed_at_target_m_s"].value(self.inputs, self.drag_per_m)

    @cached_property
    def speed_lost(self) -> Uncertain:
        """What the air took. A chronograph that reads 1 % high makes it 1 % too much, and no more."""
        found = uncertainty_budget(self.inputs, self.uncertainties, step="speed_at_target_m_s")
        lost = self.inputs.speed_m_s - found.value
        parts = [line.contribution * (lost / found.value if line.uncertainty.quantity == "speed" else 1.0) for line in found.lines]
        return Uncertain(lost, None if self.missing else math.hypot(*parts))

    @cached_property
    def momentum_kg_m_s(self) -> Uncertain:
        return self._told(uncertainty_budget(self.inputs, self.uncertainties, step="momentum_at_target_kg_m_s"))

    @cached_property
    def time_s(self) -> float:
        return time_to_distance_s(self.inputs.speed_m_s, self.flown_m, drag_per_m=self.drag_per_m)

    @cached_property
    def fall(self) -> LowFlight | CantTell:
        """From bow to panel, as if it struck at the height at which it left: nobody writes heights down.

        It falls from where it left, not only from where its speed was read, so that speed is carried back to the bow.
        """
        way = self.from_m.value + self.flown_m
        if way <= 0:
            return CantTell(because("no_way_to_fall_over"))
        at_bow = self.inputs.speed_m_s * math.exp(self.drag_per_m * self.from_m.value)
        return low_flight(at_bow, way, drag_per_m=self.drag_per_m)

    @property
    def drop_m(self) -> float | None:
        return None if isinstance(self.fall, CantTell) else self.fall.drop_m

    @property
    def fall_angle_rad(self) -> float | None:
        return None if isinstance(self.fall, CantTell) else self.fall.fall_angle_rad

    def share_of(self, scope: str) -> float | None:
        """The part of the energy's uncertainty that all shots share, those of its combination, or none."""
        return None if self.missing else self.budget.by_scope[scope]

    def _told(self, found: Budget) -> Uncertain:
        if self.missing:
            return Uncertain(found.value, None, None, self.n)
        return Uncertain(found.value, found.standard_uncertainty, found.dof, self.n)


@dataclass(frozen=True)
class Read:
    """What was read of a shot: mass and speed with their causes of uncertainty, and where the speed was read."""

    mass: Uncertain
    speed: Uncertain
    uncertainties: Sequence[UncertaintySource]
    missing: tuple[Reason, ...]
    from_m: Uncertain
    from_assumed: Reason | None


def why_no_target(fact: ShotFact) -> Reason | None:
    """What nobody wrote down that the way to the target needs; None where all is there."""
    if fact.distance_m is not None and fact.shaft_diameter_m is not None:
        return None
    arrow = fact.arrow_tag if fact.shaft_diameter_m is None else None
    return because("way_not_written_down", distance=fact.distance_m is None, shaft_of=arrow)


def at_target(fact: ShotFact, read: Read, *, drag: Drag) -> AtTarget | CantTell:
    """From chronograph to target; CantTell with the reason where the way can't be reckoned."""
    why = why_no_target(fact)
    if why:
        return CantTell(why)
    air = air_of(fact.air_temperature_k, fact.air_pressure_pa, humidity_ratio=fact.air_humidity_ratio)
    if isinstance(air, CantTell):
        return air
    assert fact.distance_m is not None and fact.shaft_diameter_m is not None
    flown = fact.distance_m - read.from_m.value
    if flown < 0:
        if flown < -(read.from_m.standard_uncertainty or 0.0) * math.sqrt(3):
            return CantTell(because("speed_read_beyond_the_panel"))
        flown = 0.0
    try:
        inputs = ShotInputs(read.mass.value, read.speed.value, flown, drag.coefficient.value, fact.shaft_diameter_m, air.density.value)
    except OutOfRange as fault:
        return CantTell(because("flight_not_covered", of=fault.name, expected=fault.expected))
    return AtTarget(
        inputs=inputs,
        uncertainties=(*read.uncertainties, *uncertainties_of_flight(air, drag, from_m=read.from_m)),
        missing=read.missing,
        from_m=read.from_m,
        from_assumed=read.from_assumed,
        air=air,
        drag=drag,
        n=read.speed.n,
    )
