"""An arrow between bow and target: what the air takes, how long it is under way, how it falls.

Drag goes with the square of speed and is reckoned on the shaft's cross-section. Close to the bow an arrow still bends
and wags, and loses more than this says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, because, must_be_above_zero, must_be_finite_result, must_lie_between, must_not_be_negative

FASTEST_M_S = 150.0  # far above any hand bow, far below the speed where air begins to be squeezed
FURTHEST_M = 400.0
GREATEST_DRAG_PER_M = 0.02  # half the speed gone in 35 m: a flu-flu, not an arrow of war


@dataclass(frozen=True)
class DragDefault:
    """A drag coefficient to reckon with until an arrow's own is measured: anywhere from low to high alike."""

    coefficient: float
    low: float
    high: float

    @property
    def standard_uncertainty(self) -> float:
        return (self.high - self.low) / 2 / math.sqrt(3)


# Target arrows in wind tunnel and free flight: 1.3 with smooth and 2.6 with rough flow along the shaft (T. Miyazaki, KAKEN
# 18K03943, report of 2020); 1.56 with short straight vanes (Ortiz and others, Proceedings 2020, 49(1), 56). No measurement of an
# arrow with tall feathers and a broad head was found: such an arrow may lie above the range.
DEFAULT_DRAG = DragDefault(coefficient=1.95, low=1.3, high=2.6)


def reynolds_number(speed_m_s: float, diameter_m: float, *, air_density_kg_m3: float, viscosity_pa_s: float) -> float:
    """What decides whether a drag coefficient measured on one shaft holds for another.

    Re = rho v d / mu

    Takes
        speed_m_s          scalar, m/s, above 0      the arrow's
        diameter_m         scalar, m, above 0        the shaft's
        air_density_kg_m3  scalar, kg/m^3, above 0   from air.py
        viscosity_pa_s     scalar, Pa s, above 0     from air.py
    Gives
        scalar, no unit, above 0. The measurements behind the default coefficient were made at 10,000 to 20,000
    Refuses
        OutOfRange  any not above 0 or not finite
    Holds while
        the shaft is a cylinder that points where it flies
    Source
        The definition. Checked in tests/published/test_flight.py
    >>> round(reynolds_number(56.0, 0.0055, air_density_kg_m3=1.225, viscosity_pa_s=1.789e-5), -2)
    21100.0
    """
    for name, value in (
        ("speed_m_s", speed_m_s),
        ("diameter_m", diameter_m),
        ("air_density_kg_m3", air_density_kg_m3),
        ("viscosity_pa_s", viscosity_pa_s),
    ):
        must_be_above_zero(name, value)
    return must_be_finite_result("reynolds_number", air_density_kg_m3 * speed_m_s * diameter_m / viscosity_pa_s)


def drag_per_m(drag_coefficient: float, diameter_m: float, *, mass_kg: float, air_density_kg_m3: float) -> float:
    """Share of its speed that an arrow loses in each metre of air.

    k = rho C_d A / (2 m), A = pi d^2 / 4

    Takes
        drag_coefficient   scalar, no unit, 0 to 20       on the shaft's cross-section, in F = rho C_d A v^2/2. A table
                           that writes F = c rho A v^2 has c = C_d/2
        diameter_m         scalar, m, 0.001 to 0.05       the shaft's, where it is thickest
        mass_kg            scalar, kg, 0.001 to 2         whole arrow
        air_density_kg_m3  scalar, kg/m^3, 0.5 to 1.6     from air.py
    Gives
        scalar, 1/m, 0 or more
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the coefficient is one number over the flight, and the arrow points where it flies
    Source
        The definition of a drag coefficient; shaft cross-section as the area is the convention of the wind-tunnel
        studies behind DEFAULT_DRAG (from memory). Checked in tests/published/test_flight.py
    >>> round(drag_per_m(2.0, 0.0095, mass_kg=0.060, air_density_kg_m3=1.2), 8)
    0.00141764
    """
    must_lie_between("drag_coefficient", drag_coefficient, low=0.0, high=20.0)
    must_lie_between("diameter_m", diameter_m, low=0.001, high=0.05)
    must_lie_between("mass_kg", mass_kg, low=0.001, high=2.0)
    must_lie_between("air_density_kg_m3", air_density_kg_m3, low=0.5, high=1.6)
    return air_density_kg_m3 * drag_coefficient * math.pi * diameter_m**2 / 4 / (2 * mass_kg)


def speed_at_distance_m_s(speed_m_s: float, distance_m: float, *, drag_per_m: float) -> float:
    """Speed that an arrow still has further on.

    v = v_0 exp(-k x)

    Takes
        speed_m_s   scalar, m/s, 0 to 150     where the distance begins: at the chronograph
        distance_m  scalar, m, 0 to 400       from there on
        drag_per_m  scalar, 1/m, 0 to 0.02    k of drag_per_m
    Gives
        scalar, m/s, 0 or more
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the flight is flat: what gravity takes on the way up it gives back on the way down
    Source
        m dv/dt = -rho C_d A v^2/2, solved over distance. Checked in tests/published/test_flight.py
    >>> round(speed_at_distance_m_s(55.0, 20.0, drag_per_m=0.0014176437), 4)
    53.4625
    """
    _must_be_flight(speed_m_s, distance_m, drag_per_m)
    return speed_m_s * math.exp(-drag_per_m * distance_m)


def energy_at_target_j(energy_at_chronograph_j: float, distance_m: float, *, drag_per_m: float) -> float:
    """Kinetic energy that an arrow brings to the target.

    E = E_0 exp(-2 k x)

    Takes
        energy_at_chronograph_j  scalar, J, 0 or more      where the distance begins
        distance_m               scalar, m, 0 to 400       from chronograph to target
        drag_per_m               scalar, 1/m, 0 to 0.02    k of drag_per_m
    Gives
        scalar, J, 0 or more
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the flight is flat
    Source
        As speed_at_distance_m_s, squared. Checked in tests/published/test_flight.py
    >>> round(energy_at_target_j(100.0, 20.0, drag_per_m=0.0014176437), 5)
    94.48721
    """
    must_not_be_negative("energy_at_chronograph_j", energy_at_chronograph_j)
    _must_be_flight(0.0, distance_m, drag_per_m)
    return energy_at_chronograph_j * math.exp(-2 * drag_per_m * distance_m)


def momentum_at_target_kg_m_s(momentum_at_chronograph_kg_m_s: float, distance_m: float, *, drag_per_m: float) -> float:
    """Momentum that an arrow brings to the target.

    p = p_0 exp(-k x)

    Takes
        momentum_at_chronograph_kg_m_s  scalar, kg m/s, 0 or more  where the distance begins
        distance_m                      scalar, m, 0 to 400        from chronograph to target
        drag_per_m                      scalar, 1/m, 0 to 0.02     k of drag_per_m
    Gives
        scalar, kg m/s, 0 or more
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the flight is flat
    Source
        As speed_at_distance_m_s. Checked in tests/published/test_flight.py
    >>> round(momentum_at_target_kg_m_s(3.3, 20.0, drag_per_m=0.0014176437), 5)
    3.20775
    """
    must_not_be_negative("momentum_at_chronograph_kg_m_s", momentum_at_chronograph_kg_m_s)
    _must_be_flight(0.0, distance_m, drag_per_m)
    return momentum_at_chronograph_kg_m_s * math.exp(-drag_per_m * distance_m)


def time_to_distance_s(speed_m_s: float, distance_m: float, *, drag_per_m: float) -> float:
    """How long an arrow is under way.

    t = (exp(k x) - 1) / (k v_0)

    Takes
        speed_m_s   scalar, m/s, above 0 to 150    where the distance begins
        distance_m  scalar, m, 0 to 400            from there on
        drag_per_m  scalar, 1/m, 0 to 0.02         k of drag_per_m
    Gives
        scalar, s, 0 or more
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the flight is flat
    Source
        dx/dt = v_0 exp(-k x), solved. Checked in tests/published/test_flight.py
    >>> round(time_to_distance_s(55.0, 20.0, drag_per_m=0.0014176437), 6)
    0.36884
    """
    must_be_above_zero("speed_m_s", speed_m_s)
    _must_be_flight(speed_m_s, distance_m, drag_per_m)
    x = drag_per_m * distance_m
    # exp(x) - 1 over x, which is 1 where there is no air.
    stretch = math.expm1(x) / x if x > 0 else 1.0
    return must_be_finite_result("time_to_distance_s", distance_m / speed_m_s * stretch)


def speed_at_start_m_s(average_speed_m_s: float, distance_m: float, *, drag_per_m: float) -> float:
    """Speed at the bow's end of a distance, from the average over it that frames or sound give.

    v_0 = v_avg (exp(k x) - 1) / (k x)

    Takes
        average_speed_m_s  scalar, m/s, 0 to 150     distance over time
        distance_m         scalar, m, 0 to 400       over which it was averaged
        drag_per_m         scalar, 1/m, 0 to 0.02    k of drag_per_m
    Gives
        scalar, m/s, 0 or more
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the flight is flat
    Source
        time_to_distance_s turned round. Checked in tests/published/test_flight.py
    >>> round(speed_at_start_m_s(54.2239, 20.0, drag_per_m=0.0014176437), 3)
    55.0
    """
    _must_be_flight(average_speed_m_s, distance_m, drag_per_m)
    x = drag_per_m * distance_m
    return average_speed_m_s * (math.expm1(x) / x if x > 0 else 1.0)


def drag_per_m_from_two_speeds(
    near_speed_m_s: float, far_speed_m_s: float, *, distance_m: float, near_u_m_s: float, far_u_m_s: float, distance_u_m: float = 0.0
) -> Uncertain | CantTell:
    """An arrow's own drag, from its mean speed at two distances.

    k = ln(v_1 / v_2) / x

    Takes
        near_speed_m_s  scalar, m/s, above 0 to 150    mean speed near the bow
        far_speed_m_s   scalar, m/s, above 0 to 150    mean speed further on
        distance_m      scalar, m, above 0 to 400      between the two
        near_u_m_s      scalar, m/s, 0 or more         standard uncertainty of the first mean, without what the
                        chronograph gets wrong both times alike: that cancels where one chronograph read both
        far_u_m_s       scalar, m/s, 0 or more         standard uncertainty of the second mean, likewise
        distance_u_m    scalar, m, 0 or more           standard uncertainty of the distance
    Gives
        Uncertain, 1/m; CantTell when the loss can't be told from chance (under two standard uncertainties)
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the flight is flat, and the arrow flies straight over the whole distance
    Source
        speed_at_distance_m_s turned round; uncertainty by JCGM 100:2008 (GUM), 5.1.2.
        Checked in tests/published/test_flight.py
    >>> found = drag_per_m_from_two_speeds(56.4, 51.888, distance_m=70.0, near_u_m_s=0.1, far_u_m_s=0.1)
    >>> round(found.value, 7), round(found.standard_uncertainty, 7)
    (0.0011912, 3.74e-05)
    """
    for name, speed in (("near_speed_m_s", near_speed_m_s), ("far_speed_m_s", far_speed_m_s)):
        must_be_above_zero(name, speed)
        must_lie_between(name, speed, low=0.0, high=FASTEST_M_S)
    must_be_above_zero("distance_m", distance_m)
    must_lie_between("distance_m", distance_m, low=0.0, high=FURTHEST_M)
    for name, u in (("near_u_m_s", near_u_m_s), ("far_u_m_s", far_u_m_s), ("distance_u_m", distance_u_m)):
        must_not_be_negative(name, u)
    k = math.log(near_speed_m_s / far_speed_m_s) / distance_m
    by_speed = math.hypot(near_u_m_s / near_speed_m_s, far_u_m_s / far_speed_m_s) / distance_m
    u = math.hypot(by_speed, k * distance_u_m / distance_m)
    if k <= 2 * u:
        return CantTell(because("drag_lost_in_chance"))
    return Uncertain(k, u, math.inf)


def drag_coefficient_from_drag(
    drag: Uncertain, diameter_m: float, *, mass_kg: float, air_density_kg_m3: float, rest_u: float = 0.0
) -> Uncertain:
    """Drag coefficient behind a measured loss of speed, to carry to other weather or another mass.

    C_d = 2 m k / (rho A), A = pi d^2 / 4

    Takes
        drag               Uncertain, 1/m                 from drag_per_m_from_two_speeds
        diameter_m         scalar, m, 0.001 to 0.05       the shaft's, where it is thickest
        mass_kg            scalar, kg, 0.001 to 2         whole arrow
        air_density_kg_m3  scalar, kg/m^3, 0.5 to 1.6     when the speeds were read
        rest_u             scalar, no unit, 0 or more     relative standard uncertainty of m/(rho d^2) as a whole
    Gives
        Uncertain, no unit
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        as drag_per_m
    Source
        drag_per_m turned round. Checked in tests/published/test_flight.py
    >>> k = Uncertain(0.00141764, 0.0001)
    >>> found = drag_coefficient_from_drag(k, 0.0095, mass_kg=0.060, air_density_kg_m3=1.2)
    >>> round(found.value, 4), round(found.standard_uncertainty, 3)
    (2.0, 0.141)
    """
    must_not_be_negative("rest_u", rest_u)
    must_not_be_negative("drag", drag.value)
    one = drag_per_m(1.0, diameter_m, mass_kg=mass_kg, air_density_kg_m3=air_density_kg_m3)
    value = must_be_finite_result("drag_coefficient", drag.value / one)
    u = None if drag.standard_uncertainty is None else math.hypot(drag.standard_uncertainty / one, value * rest_u)
    return Uncertain(value, u, drag.dof)


def _must_be_flight(speed_m_s: float, distance_m: float, drag_per_m: float) -> None:
    must_lie_between("speed_m_s", speed_m_s, low=0.0, high=FASTEST_M_S)
    must_lie_between("distance_m", distance_m, low=0.0, high=FURTHEST_M)
    must_lie_between("drag_per_m", drag_per_m, low=0.0, high=GREATEST_DRAG_PER_M)
