"""What an arrow loses to the air: its own drag, where its speed was read at two distances; else a default with its range."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.findings.air_of_day import air_of
from server.findings.instrument_doubt import doubt_of_speeds
from server.findings.speed_places import PLACE_EITHER_WAY_M, place_of
from server.physics.flight import DEFAULT_DRAG, drag_coefficient_from_drag, drag_per_m_from_two_speeds
from server.physics.ranges import CantTell, OutOfRange
from server.quantities import Uncertain, with_unit
from server.records.instrument import Instrument
from server.records.speed_facts import SpeedFact
from server.statistics.refusals import CantTell as NoReadings
from server.statistics.repeated_readings import summarise_readings

FEWEST_AT_A_PLACE = 2
LEAST_APART_M = 5.0  # nearer than that no chronograph tells the loss from its own step
BEYOND_DEFAULT = "an arrow with tall feathers or a broad head may lose more than this range allows for"


@dataclass(frozen=True)
class Drag:
    """A drag coefficient on the shaft's cross-section. `fitted`: this arrow's own; `pairing_id` says whose readings."""

    coefficient: Uncertain
    fitted: bool
    words: str
    pairing_id: str | None = None


def default_drag() -> Drag:
    u = DEFAULT_DRAG.standard_uncertainty
    words = f"not measured for this arrow: taken as {DEFAULT_DRAG.coefficient:g}, anywhere from {DEFAULT_DRAG.low:g} to {DEFAULT_DRAG.high:g}; {BEYOND_DEFAULT}"
    return Drag(Uncertain(DEFAULT_DRAG.coefficient, u, math.inf), False, words)


def drag_of_arrow(
    by_pairing: Mapping[str, Sequence[SpeedFact]], mass_kg: float, *, diameter_m: float, tools: Mapping[str, Instrument]
) -> Drag:
    """The surest fit among the pairings of one arrow build; the default where no pairing was read at two distances.

    A bow or an archer changes the speed, so both ends of a fit belong to one pairing.
    """
    found = []
    for pairing_id, facts in by_pairing.items():
        drag = _fitted(facts, mass_kg, diameter_m=diameter_m, tools=tools, pairing_id=pairing_id)
        if drag is not None:
            found.append(drag)
    return min(found, key=lambda drag: drag.coefficient.standard_uncertainty or math.inf, default=default_drag())


def _fitted(
    facts: Iterable[SpeedFact], mass_kg: float, *, diameter_m: float, tools: Mapping[str, Instrument], pairing_id: str
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
        (v_1, u_1), (v_2, u_2) = (_mean(read, tools, alone=_other_tools(near, far)) for read in (near, far))
        k = drag_per_m_from_two_speeds(
            v_1, v_2, distance_m=apart, near_u_m_s=u_1, far_u_m_s=u_2, distance_u_m=math.sqrt(2 / 3) * PLACE_EITHER_WAY_M
        )
        air = air_of(_temperature(near + far), None, humidity_ratio=None)
        if isinstance(k, CantTell) or isinstance(air, CantTell):
            return None
        # Mass and shaft come out of the loss and go into it again, so what is off about them cancels; the air doesn't.
        rest = (air.density.standard_uncertainty or 0.0) / air.density.value
        coefficient = drag_coefficient_from_drag(
            k, diameter_m, mass_kg=mass_kg, air_density_kg_m3=air.density.value, rest_u=rest
        )
    except OutOfRange:
        return None
    ends = [with_unit(f"{place:g}", "m") for place in (places[0], places[-1])]
    words = f"this arrow’s own: mean of {len(near)} readings at {ends[0]} and of {len(far)} at {ends[1]} from the bow"
    return Drag(coefficient, True, words, pairing_id)


def _other_tools(near: Sequence[SpeedFact], far: Sequence[SpeedFact]) -> bool:
    """Whether two chronographs read the two ends: with one its own fault is in both, and cancels."""
    return {fact.instrument_id for fact in near} != {fact.instrument_id for fact in far}


def _mean(read: Sequence[SpeedFact], tools: Mapping[str, Instrument], *, alone: bool) -> tuple[float, float]:
    found = summarise_readings(fact.value_m_s for fact in read if fact.value_m_s is not None)
    if isinstance(found, NoReadings) or found.standard_uncertainty_type_a is None:
        raise OutOfRange("readings", float(len(read)), "two or more")
    shared = doubt_of_speeds(read, tools, at_value=found.mean) if alone else None
    if alone and shared is None:
        raise OutOfRange("accuracy", math.nan, "written down for both chronographs")
    return found.mean, math.hypot(found.standard_uncertainty_type_a, shared.standard_uncertainty if shared else 0.0)


def _temperature(read: Sequence[SpeedFact]) -> float | None:
    known = [fact.air_temperature_k for fact in read if fact.air_temperature_k is not None]
    return math.fsum(known) / len(known) if known else None
