"""Two formulas for heavy blunt missiles at steel plates. They are shown beside the others, and never counted.

They were fitted to pipes, rods and debris that might strike a power station, not to pointed heads. Their use here is to
show how far apart printed rules lie.
"""

from __future__ import annotations

from proofyard.quantities.reason import must_be_above_zero, must_be_finite_result, must_lie_between

BRL_J_M3 = 1.4396e9
FOOT_POUND_J, INCH_M, PSI_PA, FOOT_M = 1.3558179483314004, 0.0254, 6894.757293168361, 0.3048
# Width of the standard window in the SRI tests, inches.
STANDARD_WINDOW_IN = 4.0


def brl_energy_j(thickness_m: float, diameter_m: float) -> float:
    """Energy at which a heavy blunt missile perforates a steel plate, by the BRL formula.

    E = 1.4396e9 (D t)^1.5, J and m

    Takes
        thickness_m  scalar, m, above 0 to 0.1  of the plate
        diameter_m   scalar, m, above 0 to 0.5  of the missile
    Gives
        scalar, J, above 0
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the missile is heavy and blunt. For an arrow this is outside its data: it knows no point and no steel but one
    Source
        Ballistic Research Laboratories formula as in BC-TOP-9A rev. 2, 1974: T = (M V^2 / 2)^(2/3) / (672 D) in inches,
        slugs and feet per second; from memory in two forms that agree to 0.1 %.
        Checked in tests/published/test_resistance.py
    >>> round(brl_energy_j(0.0012, 0.010), 1)
    59.8
    """
    must_be_above_zero("thickness_m", thickness_m)
    must_lie_between("thickness_m", thickness_m, low=0.0, high=0.1)
    must_be_above_zero("diameter_m", diameter_m)
    must_lie_between("diameter_m", diameter_m, low=0.0, high=0.5)
    return must_be_finite_result("brl_energy_j", BRL_J_M3 * (diameter_m * thickness_m) ** 1.5)


def sri_energy_j(thickness_m: float, diameter_m: float, *, strength_pa: float, window_m: float, speed_m_s: float) -> float:
    """Energy at which a heavy blunt missile perforates a steel plate in a frame, by the SRI formula.

    E / D = S / 46500 (16000 T^2 + 1500 (W / 4 in) T), ft lbf, in, psi

    Takes
        thickness_m  scalar, m, 0.1 to 0.8 of the diameter  of the plate
        diameter_m   scalar, m, above 0 to 0.5              of the missile
        strength_pa  scalar, Pa, 250e6 to 1000e6            ultimate strength of the plate
        window_m     scalar, m, 0.1 to 1                    width between the edges that hold the plate
        speed_m_s    scalar, m/s, 21.3 to 122               of the missile; it isn't in the formula, only in its range
    Gives
        scalar, J, above 0
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the missile is heavy and blunt and the plate held along its edges. For an arrow this is outside its data
    Source
        Stanford Research Institute formula as in BC-TOP-9A rev. 2, 1974: 0.1 < T/D < 0.8, 70 < V < 400 ft/s; from memory.
        Checked in tests/published/test_resistance.py
    >>> round(sri_energy_j(0.0012, 0.010, strength_pa=400e6, window_m=0.3, speed_m_s=55.0), 0)
    163.0
    """
    must_be_above_zero("diameter_m", diameter_m)
    must_lie_between("diameter_m", diameter_m, low=0.0, high=0.5)
    must_lie_between("thickness_m", thickness_m, low=0.1 * diameter_m, high=0.8 * diameter_m)
    must_lie_between("strength_pa", strength_pa, low=250e6, high=1000e6)
    must_lie_between("window_m", window_m, low=0.1, high=1.0)
    must_lie_between("speed_m_s", speed_m_s, low=70 * FOOT_M, high=400 * FOOT_M)
    t, d, w = thickness_m / INCH_M, diameter_m / INCH_M, window_m / INCH_M
    foot_pounds = d * strength_pa / PSI_PA / 46500 * (16000 * t * t + 1500 * w / STANDARD_WINDOW_IN * t)
    return must_be_finite_result("sri_energy_j", foot_pounds * FOOT_POUND_J)
