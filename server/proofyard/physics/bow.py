"""What a bow stores when it is drawn, what part of it the arrow gets, and what a day does to it.

Draws are measured along the arrow from any fixed place, forces at the string. The first point is where the string
rests on the braced bow: its force is 0 there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange, because, must_be_above_zero, must_be_finite_result, must_not_be_negative

FEWEST_POINTS = 3


@dataclass(frozen=True)
class StoredEnergy:
    """Work done on a bow up to full draw, and what each source contributes to its standard uncertainty.

    u_readings_j  each force and each draw read on its own
    u_zero_j      the scale's zero, one error for all points
    u_scale_j     the scale's factor, one error for all points
    u_curve_j     straight lines between the points where the bow's curve is bent
    """

    energy_j: Uncertain
    peak_force_n: float
    power_stroke_m: float
    points: int
    u_readings_j: float
    u_zero_j: float
    u_scale_j: float
    u_curve_j: float


def stored_energy_j(
    draws_m: Sequence[float],
    forces_n: Sequence[float],
    *,
    draw_u_m: float = 0.0,
    force_u_n: float = 0.0,
    force_zero_u_n: float = 0.0,
    force_scale_u: float = 0.0,
) -> StoredEnergy:
    """Work that drawing a bow takes: the area under its force-draw points.

    W = sum (x_b - x_a) (F_a + F_b) / 2 over neighbouring points

    Takes
        draws_m         array, m, rising              where the string stood, from any fixed place
        forces_n        array, N, 0 or more           force on the string at each draw
        draw_u_m        scalar, m, 0 or more          standard uncertainty of one draw, each on its own
        force_u_n       scalar, N, 0 or more          standard uncertainty of one force, each on its own
        force_zero_u_n  scalar, N, 0 or more          standard uncertainty of the scale's zero, the same for all points
        force_scale_u   scalar, no unit, 0 or more    standard uncertainty of the scale's factor, the same for all points
    Gives
        StoredEnergy: J with its standard uncertainty and that in four parts. u_curve_j is the distance between
        straight lines and parabolas through the points, taken as a limit
    Refuses
        OutOfRange  fewer than 3 points, not as many forces as draws, draws that don't rise (or stand twice), a force
                    below 0, an uncertainty below 0, anything not finite
    Holds while
        the bow was drawn slowly and not held; hysteresis (what the limbs keep as heat) is in W and never in the arrow.
        A shift of all draws changes nothing
    Source
        The definition of work, by the trapezium rule; held against exact integrals in
        tests/physics/test_physics_bow_by_hand.py. Uncertainty: JCGM 100:2008 (GUM), 5.1.2.
        Checked in tests/published/test_bows.py
    >>> stored_energy_j([0.0, 0.1, 0.2, 0.3, 0.4, 0.5], [0, 60, 110, 150, 185, 220]).energy_j.value
    61.5
    """
    _must_be_draw_points(draws_m, forces_n)
    for name, value in (
        ("draw_u_m", draw_u_m),
        ("force_u_n", force_u_n),
        ("force_zero_u_n", force_zero_u_n),
        ("force_scale_u", force_scale_u),
    ):
        must_not_be_negative(name, value)
    work = must_be_finite_result("stored_energy_j", _trapezium(draws_m, forces_n))
    last = len(draws_m) - 1
    spans = [draws_m[min(i + 1, last)] - draws_m[max(i - 1, 0)] for i in range(last + 1)]
    # How the area moves with one draw: half of the force one side less that on the other; at an end, the mean force.
    slopes = [(forces_n[i - 1] - forces_n[i + 1]) / 2 for i in range(1, last)]
    slopes += [(forces_n[0] + forces_n[1]) / 2, (forces_n[last - 1] + forces_n[last]) / 2]
    u_readings = math.hypot(force_u_n * math.hypot(*spans) / 2, draw_u_m * math.hypot(*slopes))
    stroke = draws_m[last] - draws_m[0]
    u_curve = abs(_parabolas(draws_m, forces_n) - work) / math.sqrt(3)
    parts = (u_readings, force_zero_u_n * stroke, force_scale_u * work, u_curve)
    return StoredEnergy(
        energy_j=Uncertain(work, math.hypot(*parts), math.inf, last + 1),
        peak_force_n=max(forces_n),
        power_stroke_m=stroke,
        points=last + 1,
        u_readings_j=parts[0],
        u_zero_j=parts[1],
        u_scale_j=parts[2],
        u_curve_j=parts[3],
    )


def energy_lost_by_a_short_draw_j(draws_m: Sequence[float], forces_n: Sequence[float], *, short_by_m: float) -> float:
    """Stored energy that is missing when the string didn't come all the way back.

    loss = area under the last short_by_m of the force-draw curve

    Takes
        draws_m     array, m, rising        where the string stood
        forces_n    array, N, 0 or more     force on the string at each draw
        short_by_m  scalar, m, 0 or more    how much was missing of the last point's draw
    Gives
        scalar, J, 0 or more
    Refuses
        OutOfRange  points that stored_energy_j refuses, short_by_m below 0 or longer than the whole stroke
    Holds while
        the curve is straight between its points
    Source
        The definition of work, as in stored_energy_j. Checked in tests/published/test_bows.py
    >>> round(energy_lost_by_a_short_draw_j([0.0, 0.2, 0.4], [0, 200, 400], short_by_m=0.1), 6)
    35.0
    """
    _must_be_draw_points(draws_m, forces_n)
    must_not_be_negative("short_by_m", short_by_m)
    stroke = draws_m[-1] - draws_m[0]
    if short_by_m > stroke:
        raise OutOfRange("short_by_m", short_by_m, because("between", low=0.0, high=stroke))
    reached = draws_m[-1] - short_by_m
    lost = 0.0
    for a, b, f_a, f_b in zip(draws_m, draws_m[1:], forces_n, forces_n[1:], strict=False):
        if b <= reached:
            continue
        start = max(a, reached)
        f_start = f_a + (f_b - f_a) * (start - a) / (b - a)
        lost += (b - start) * (f_start + f_b) / 2
    return lost


def energy_per_weight_and_draw(energy_j: float, peak_force_n: float, *, power_stroke_m: float) -> float:
    """How full a bow's force-draw curve is: 0.5 is a straight line, 1 would be full force all the way.

    fullness = W / (F x)

    Takes
        energy_j        scalar, J, above 0    stored energy
        peak_force_n    scalar, N, above 0    greatest force
        power_stroke_m  scalar, m, above 0    from the string at rest to full draw
    Gives
        scalar, no unit, above 0. Twice as much again is the figure that others print against a straight line
    Refuses
        OutOfRange  any not above 0 or not finite; more than F x, which no curve under F can hold
    Holds while
        the draw is counted from the braced string, not from the back of the bow
    Source
        W/(F x) of four bows: Sagittarius student archery club, University of Twente, arrow-speed study, Table I.
        Checked in tests/published/test_bows.py
    >>> round(energy_per_weight_and_draw(42.6, 170.5, power_stroke_m=0.430), 4)
    0.5811
    """
    must_be_above_zero("energy_j", energy_j)
    must_be_above_zero("peak_force_n", peak_force_n)
    must_be_above_zero("power_stroke_m", power_stroke_m)
    most = peak_force_n * power_stroke_m
    # A curve that is flat at F sums to F x a float's hair above it.
    if energy_j > most * (1 + 1e-9):
        raise OutOfRange("energy_j", energy_j, because("at_most", most=most))
    return energy_j / most


def efficiency(arrow_energy_j: float, stored_energy_j: float, *, arrow_u_j: float = 0.0, stored_u_j: float = 0.0) -> Uncertain | CantTell:
    """Share of the stored energy that leaves with the arrow.

    eta = E_arrow / W

    Takes
        arrow_energy_j   scalar, J, above 0     kinetic energy as the arrow leaves
        stored_energy_j  scalar, J, above 0     work of drawing the bow as far
        arrow_u_j        scalar, J, 0 or more   standard uncertainty of the arrow's energy
        stored_u_j       scalar, J, 0 or more   standard uncertainty of the stored energy
    Gives
        Uncertain share; CantTell when the arrow would carry more than the bow stored, beyond both uncertainties
    Refuses
        OutOfRange  an energy not above 0, an uncertainty below 0, any not finite
    Holds while
        the draw was the one that W belongs to, and the two were measured independently
    Source
        The definition; uncertainty by JCGM 100:2008 (GUM), 5.1.6. Checked in tests/published/test_bows.py
    >>> round(efficiency(28.9262, 42.538).value, 2)
    0.68
    """
    must_be_above_zero("arrow_energy_j", arrow_energy_j)
    must_be_above_zero("stored_energy_j", stored_energy_j)
    must_not_be_negative("arrow_u_j", arrow_u_j)
    must_not_be_negative("stored_u_j", stored_u_j)
    share = must_be_finite_result("efficiency", arrow_energy_j / stored_energy_j)
    u = share * math.hypot(arrow_u_j / arrow_energy_j, stored_u_j / stored_energy_j)
    if share > 1 + 2 * u:
        return CantTell(because("arrow_has_more_than_the_bow_stored"))
    return Uncertain(share, must_be_finite_result("efficiency", u), math.inf)


def grains_per_pound(arrow_mass_kg: float, draw_weight_n: float) -> float:
    """Arrow mass for each pound of draw weight: too little, and the bow keeps what the arrow can't take.

    gpp = m / F, in grains and pounds-force

    Takes
        arrow_mass_kg  scalar, kg, above 0  whole arrow
        draw_weight_n  scalar, N, above 0   at the archer's own draw
    Gives
        scalar, gpp, above 0
    Refuses
        OutOfRange  either not above 0 or not finite
    Holds while
        the weight is that of the actual draw. Wooden and horn bows are kept above about 8 to 10; what your bow's
        maker says comes first (common practice, no source)
    Source
        Grain and pound-force: NIST SP 811, B.8. Checked in tests/published/test_bows.py
    >>> round(grains_per_pound(0.06479891, 444.82216152605), 6)
    10.0
    """
    from proofyard.quantities import from_si

    must_be_above_zero("arrow_mass_kg", arrow_mass_kg)
    must_be_above_zero("draw_weight_n", draw_weight_n)
    return must_be_finite_result("grains_per_pound", from_si(arrow_mass_kg, "gr") / from_si(draw_weight_n, "lbf"))


def speed_after_drift_m_s(speed_m_s: float, weight_before_n: float, *, weight_now_n: float) -> float:
    """Speed to expect of the same arrow once the bow's weight at the same draw has drifted.

    v_now = v sqrt(F_now / F_before)

    Takes
        speed_m_s        scalar, m/s, 0 or more  measured when the bow had the first weight
        weight_before_n  scalar, N, above 0      draw weight then
        weight_now_n     scalar, N, above 0      draw weight now, at the same draw
    Gives
        scalar, m/s, 0 or more
    Refuses
        OutOfRange  speed below 0, a weight not above 0, a drift by more than a quarter, any not finite
    Holds while
        the whole force-draw curve shrinks or grows alike and the virtual mass stays: a model, not a measurement.
        It is good for asking whether a drift is worth shooting speeds again, and no stand-in for them
    Source
        From v^2 = 2 W/(m + K) with W in proportion to F at a fixed draw and shape of curve: B. W. Kooi, On the
        Mechanics of the Bow and Arrow, 1983, static quality coefficient (from memory).
        Checked in tests/physics/test_physics_bow_by_hand.py
    >>> round(speed_after_drift_m_s(50.0, 500.0, weight_now_n=490.0), 3)
    49.497
    """
    must_not_be_negative("speed_m_s", speed_m_s)
    must_be_above_zero("weight_before_n", weight_before_n)
    must_be_above_zero("weight_now_n", weight_now_n)
    ratio = weight_now_n / weight_before_n
    if not 0.75 <= ratio <= 1.25:
        raise OutOfRange("weight_now_n", weight_now_n, because("between", low=0.75 * weight_before_n, high=1.25 * weight_before_n))
    return must_be_finite_result("speed_after_drift_m_s", speed_m_s * math.sqrt(ratio))


def _must_be_draw_points(draws_m: Sequence[float], forces_n: Sequence[float]) -> None:
    if len(draws_m) != len(forces_n):
        raise OutOfRange("forces_n", len(forces_n), because("one_for_each", count=len(draws_m)))
    if len(draws_m) < FEWEST_POINTS:
        raise OutOfRange("draws_m", len(draws_m), because("at_least", least=FEWEST_POINTS))
    for draw in draws_m:
        if not math.isfinite(draw):
            raise OutOfRange("draws_m", draw, because("finite"))
    for before, after in zip(draws_m, draws_m[1:], strict=False):
        if after <= before:
            raise OutOfRange("draws_m", after, because("above", limit=before))
    for force in forces_n:
        must_not_be_negative("forces_n", force)


def _trapezium(draws_m: Sequence[float], forces_n: Sequence[float]) -> float:
    steps = zip(draws_m, draws_m[1:], forces_n, forces_n[1:], strict=False)
    return math.fsum((b - a) * (f_a + f_b) / 2 for a, b, f_a, f_b in steps)


def _parabolas(draws_m: Sequence[float], forces_n: Sequence[float]) -> float:
    from scipy.integrate import simpson

    return float(simpson(forces_n, x=draws_m))
