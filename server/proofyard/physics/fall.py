"""How an arrow falls: how far below the line of sight it comes, and at what angle it strikes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from proofyard.physics.flight import FASTEST_M_S, FURTHEST_M, GREATEST_DRAG_PER_M
from proofyard.quantities.reason import CantTell, because, must_be_above_zero, must_lie_between

STANDARD_GRAVITY_M_S2 = 9.80665
# Under this slope sine, tangent and angle agree to 1 in 600.
FLAT_SLOPE = 0.1
STEEPEST_LOW_RAD = math.radians(15.0)
STEEPEST_LOOSE_RAD = math.radians(50.0)
STEP_RAD = math.radians(2.0)


@dataclass(frozen=True)
class Flight:
    """One flight from the bow to a target. Angles from level: rising at the bow and falling at the target are above 0."""

    loose_angle_rad: float
    fall_angle_rad: float
    speed_m_s: float
    time_s: float
    top_m: float


def drop_m(speed_m_s: float, distance_m: float, *, drag_per_m: float) -> float:
    """How far below its first line an arrow has dropped: what the sight or the eye has to make good.

    y = g / (2 k v_0^2) ((exp(2 k x) - 1) / (2 k) - x)

    Takes
        speed_m_s   scalar, m/s, above 0 to 150    where the distance begins
        distance_m  scalar, m, above 0 to 400      from there on
        drag_per_m  scalar, 1/m, 0 to 0.02         k of flight.drag_per_m
    Gives
        scalar, m, 0 or more
    Refuses
        OutOfRange  anything outside its range, not finite, or a flight so curved that it isn't flat (the path has
                    turned by more than a tenth): ask flight_to_target
    Holds while
        the arrow is loosed nearly level. Then the answer is within 1 % of the whole sum
    Source
        The flat-fire solution of dv_x/dx = -k v_x, d2y/dx2 = -g/v_x^2 (McCoy, Modern Exterior Ballistics, chapter 5,
        from memory). Checked in tests/published/test_flight.py
    >>> round(drop_m(55.0, 20.0, drag_per_m=0.0014176437), 4)
    0.6608
    """
    _must_be_sound(speed_m_s, distance_m, drag_per_m)
    half, whole = _stretches(2 * drag_per_m * distance_m)
    per_metre = STANDARD_GRAVITY_M_S2 * distance_m / speed_m_s**2
    must_lie_between("slope", per_metre * whole, low=0.0, high=FLAT_SLOPE)
    return per_metre * distance_m * half


@dataclass(frozen=True)
class LowFlight:
    """A flight to a target at the height where it began. Angles from level: rising at the bow and falling at the target are above 0."""

    loose_angle_rad: float
    fall_angle_rad: float
    drop_m: float


def low_flight(speed_m_s: float, distance_m: float, *, drag_per_m: float) -> LowFlight | CantTell:
    """How steeply an arrow comes down on a target as high as itself, in a moment: for a thousand shots at once.

    D = y of drop_m, h = tan(loose) = (x - sqrt(x^2 - 4 D^2)) / (2 D), drop = D (1 + h^2),
    tan(fall) = g x (1 + h^2) (exp(2 k x) - 1) / (2 k x v_0^2) - h

    Takes
        speed_m_s   scalar, m/s, above 0 to 150    where the distance begins
        distance_m  scalar, m, above 0 to 400      from there on, along the ground
        drag_per_m  scalar, 1/m, 0 to 0.02         k of flight.drag_per_m
    Gives
        LowFlight, drop below the line that it began on; CantTell when it would have to be loosed at over 15 degrees
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        it is loosed at under 15 degrees and loses less than a third of its speed: then angles and drop lie within 2 %
        of flight_to_target. Without air it is the whole parabola
    Source
        The flat-fire solution with the square drag of the slanted way taken as that of the level one; with y = 0 at the
        target it is a quadratic in tan(loose). Checked in tests/published/test_flight.py and against an integrator in
        tests/physics/test_physics_flight.py
    >>> found = low_flight(52.0, 30.0, drag_per_m=0.0015)
    >>> round(math.degrees(found.loose_angle_rad), 2), round(math.degrees(found.fall_angle_rad), 2)
    (3.22, 3.32)
    """
    _must_be_sound(speed_m_s, distance_m, drag_per_m)
    half, whole = _stretches(2 * drag_per_m * distance_m)
    per_metre = STANDARD_GRAVITY_M_S2 * distance_m / speed_m_s**2
    # D / x, then h: the smaller root, written so that it keeps its figures where D is small.
    share = per_metre * half
    rest = 1 - 4 * share * share
    h = math.inf if rest < 0 else 2 * share / (1 + math.sqrt(rest))
    if h > math.tan(STEEPEST_LOW_RAD):
        return CantTell(because("loosed_too_steeply", steepest_rad=STEEPEST_LOW_RAD))
    longer = 1 + h * h
    return LowFlight(math.atan(h), math.atan(per_metre * whole * longer - h), distance_m * share * longer)


def _stretches(z: float) -> tuple[float, float]:
    """(exp(z) - 1 - z) / z^2 and (exp(z) - 1) / z; they lose their figures near 0, so there their series."""
    if z < 1e-3:
        return 0.5 + z / 6 + z * z / 24, 1 + z / 2 + z * z / 6
    return (math.expm1(z) - z) / (z * z), math.expm1(z) / z


def flight_to_target(speed_m_s: float, distance_m: float, *, drag_per_m: float, target_above_m: float = 0.0) -> Flight | CantTell:
    """The flat one of the two flights that reach a target: how steeply it leaves, how steeply and fast it comes down.

    dv_x/dx = -k v_x sqrt(1 + s^2), ds/dx = -g / v_x^2, dy/dx = s, dt/dx = 1 / v_x

    Takes
        speed_m_s       scalar, m/s, above 0 to 150    where the arrow leaves the bow
        distance_m      scalar, m, above 0 to 400      along the ground
        drag_per_m      scalar, 1/m, 0 to 0.02         k of flight.drag_per_m
        target_above_m  scalar, m, -50 to 50           how much higher than the bow the target stands
    Gives
        Flight; CantTell when no angle up to 50 degrees reaches it
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        air and coefficient are the same all the way, without wind; the arrow points where it flies
    Source
        Newton's second law with square drag, solved by scipy.integrate.solve_ivp (DOP853), the angle found by
        scipy.optimize.brentq. Checked in tests/published/test_flight.py
    >>> found = flight_to_target(52.0, 30.0, drag_per_m=0.0015)
    >>> round(math.degrees(found.loose_angle_rad), 2), round(math.degrees(found.fall_angle_rad), 2)
    (3.22, 3.32)
    >>> round(found.speed_m_s, 2), round(found.time_s, 3)
    (49.72, 0.591)
    """
    from scipy.optimize import brentq

    _must_be_sound(speed_m_s, distance_m, drag_per_m)
    must_lie_between("target_above_m", target_above_m, low=-50.0, high=50.0)

    def miss(angle: float) -> float:
        return float(_path(speed_m_s, distance_m, drag_per_m, angle).y[2, -1]) - target_above_m

    # Aimed straight at it the arrow always comes low; go up in steps until one comes high.
    low = math.atan2(target_above_m, distance_m)
    high = low + STEP_RAD
    while miss(high) < 0:
        low, high = high, high + STEP_RAD
        if high > STEEPEST_LOOSE_RAD:
            return CantTell(because("out_of_reach"))
    angle = brentq(miss, low, high, xtol=1e-10)
    path = _path(speed_m_s, distance_m, drag_per_m, angle)
    v_x, slope, _, time = (float(row[-1]) for row in path.y)
    return Flight(
        loose_angle_rad=angle,
        fall_angle_rad=-math.atan(slope),
        speed_m_s=v_x * math.hypot(1.0, slope),
        time_s=time,
        top_m=max(0.0, float(path.y_events[0][0][2]) if len(path.y_events[0]) else float(path.y[2].max())),
    )


def _path(speed_m_s: float, distance_m: float, drag_per_m: float, angle_rad: float) -> Any:
    """Speed along the ground, slope, height and time at each step over the distance."""
    from scipy.integrate import solve_ivp

    def change(_x: float, now: list[float]) -> tuple[float, float, float, float]:
        v_x, slope, _, _ = now
        return (-drag_per_m * v_x * math.hypot(1.0, slope), -STANDARD_GRAVITY_M_S2 / (v_x * v_x), slope, 1 / v_x)

    def level(_x: float, now: list[float]) -> float:
        return float(now[1])

    start = [speed_m_s * math.cos(angle_rad), math.tan(angle_rad), 0.0, 0.0]
    return solve_ivp(change, (0.0, distance_m), start, method="DOP853", rtol=1e-9, atol=1e-12, events=level)


def _must_be_sound(speed_m_s: float, distance_m: float, drag_per_m: float) -> None:
    must_be_above_zero("speed_m_s", speed_m_s)
    must_lie_between("speed_m_s", speed_m_s, low=0.0, high=FASTEST_M_S)
    must_be_above_zero("distance_m", distance_m)
    must_lie_between("distance_m", distance_m, low=0.0, high=FURTHEST_M)
    must_lie_between("drag_per_m", drag_per_m, low=0.0, high=GREATEST_DRAG_PER_M)
