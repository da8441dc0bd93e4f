"""A bow's virtual mass: how its speed falls with the arrow's mass, from arrows that were shot.

E, the energy that a bow sets in motion, moves the arrow and, in effect, a mass K of limbs and string at the arrow's
speed. So 1/v^2 is a straight line over the arrow's mass, and the line is what is fitted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, Reason, because, must_be_above_zero, must_be_finite_result, must_not_be_negative

# Two arrows whose masses are nearer than this tell more about their spine and their shots than about the bow.
LEAST_MASS_RATIO = 1.10
# Bows in print give the arrow 0.4 to 0.8 of what they set in motion: 0.59 to 0.68 (Hickman), 0.42 to 0.77 (Kooi, from
# memory). A pair that makes it less than this for its heavier arrow differs in more than mass.
LEAST_EFFICIENCY = 0.30
# Beyond these the assumption that K stays the same is a guess.
FURTHEST_BELOW, FURTHEST_ABOVE = 0.5, 2.0


@dataclass(frozen=True)
class ArrowSpeed:
    """Mean speed of one arrow with one bow; its uncertainty without what is common to all arrows (the chronograph's)."""

    mass_kg: float
    speed_m_s: float
    mass_u_kg: float = 0.0
    speed_u_m_s: float = 0.0

    def __post_init__(self) -> None:
        must_be_above_zero("mass_kg", self.mass_kg)
        must_be_above_zero("speed_m_s", self.speed_m_s)
        must_not_be_negative("mass_u_kg", self.mass_u_kg)
        must_not_be_negative("speed_u_m_s", self.speed_u_m_s)


@dataclass(frozen=True)
class VirtualMass:
    """What the line 1/v^2 = slope m + intercept says of a bow.

    misfit       how far the speeds lie from the line beside their own uncertainty (1: as far as they should);
                 where above 1, all uncertainties were widened by it. None: nothing to judge by (two arrows)
    residuals    measured less fitted speed of each arrow, m/s
    """

    virtual_mass_kg: Uncertain
    bow_energy_j: Uncertain
    slope: float
    intercept: float
    # Of slope with itself, of slope with intercept, of intercept with itself. None: two arrows, no uncertainty given.
    covariance: tuple[float, float, float] | None
    speed_scale_u: float
    lightest_kg: float
    heaviest_kg: float
    arrows: int
    misfit: float | None
    residuals_m_s: tuple[float, ...]


@dataclass(frozen=True)
class ExpectedSpeed:
    """Speed of an arrow not yet shot. `inside` says whether its mass lies among those that were."""

    speed_m_s: Uncertain
    inside: bool


def virtual_mass_of_pair(one: ArrowSpeed, other: ArrowSpeed, *, speed_scale_u: float = 0.0) -> VirtualMass | CantTell:
    """Virtual mass of a bow from two arrows of clearly different mass.

    K = (m2 v2^2 - m1 v1^2) / (v1^2 - v2^2), E = (m1 + K) v1^2 / 2

    Takes
        one            ArrowSpeed                    one arrow
        other          ArrowSpeed                    the other, in either order
        speed_scale_u  scalar, no unit, 0 or more    standard uncertainty of the chronograph's factor, common to both
    Gives
        VirtualMass; CantTell with the reason when masses are within a tenth, when the heavier arrow wasn't the slower,
        when K comes out below 0, when it can't be told from chance, or when it would leave the heavier arrow
        under 30 % of the energy
    Refuses
        OutOfRange  what ArrowSpeed refuses, speed_scale_u below 0 or not finite
    Holds while
        both arrows fit the bow alike (spine, nock, fletching) and K is the same for both: over a sensible range of
        mass it nearly is
    Source
        Derived: the bow gives both arrows the same E, and what moves with the arrow acts as a fixed mass. The idea of a
        virtual mass: P. E. Klopsteg, in Hickman, Nagler and Klopsteg, Archery: the Technical Side, 1947 (from memory).
        Checked in tests/published/test_bows.py
    >>> found = virtual_mass_of_pair(ArrowSpeed(0.040, 60.0, 0, 0.3), ArrowSpeed(0.060, 53.0, 0, 0.3))
    >>> round(found.virtual_mass_kg.value, 4), round(found.bow_energy_j.value, 1)
    (0.031, 127.8)
    """
    return _line_through((one, other), speed_scale_u)


def fit_virtual_mass(arrows: Sequence[ArrowSpeed], *, speed_scale_u: float = 0.0) -> VirtualMass | CantTell:
    """Virtual mass of a bow from several arrow masses, by weighted least squares.

    1/v^2 = a m + b, E = 1/(2 a), K = b/a; weights 1/u^2 with u^2 = (2 u_v/v^3)^2 + (a u_m)^2

    Takes
        arrows         array of ArrowSpeed           two or more; three or more show whether they agree
        speed_scale_u  scalar, no unit, 0 or more    standard uncertainty of the chronograph's factor, common to all
    Gives
        VirtualMass; CantTell with the reason, as for a pair. Where the arrows scatter more than their uncertainties
        say, the result is widened by as much. Where an arrow has no uncertainty, all count alike and the scatter
        about the line alone tells the uncertainty
    Refuses
        OutOfRange  what ArrowSpeed refuses, speed_scale_u below 0 or not finite
    Holds while
        K is the same for all arrows. Where K rises with the arrow, a straight line hides it in E and K while its
        speeds stay right inside the measured masses
    Source
        The line: as virtual_mass_of_pair, turned round. Weighted fit and widening: NIST/SEMATECH e-Handbook of
        Statistical Methods, 4.1.4.3 (from memory). Checked in tests/published/test_bows.py
    >>> three = [ArrowSpeed(m, (2 * 100 / (m + 0.02)) ** 0.5, 0, 0.2) for m in (0.03, 0.045, 0.06)]
    >>> found = fit_virtual_mass(three)
    >>> round(found.virtual_mass_kg.value, 6), round(found.bow_energy_j.value, 6), found.arrows
    (0.02, 100.0, 3)
    """
    return _line_through(tuple(arrows), speed_scale_u)


def expected_speed(found: VirtualMass, mass_kg: float, *, mass_u_kg: float = 0.0) -> ExpectedSpeed | CantTell:
    """Speed to expect of an arrow that hasn't been shot from this bow.

    v = sqrt(2 E / (m + K)) = 1 / sqrt(a m + b)

    Takes
        found      VirtualMass           of this bow, from arrows that were shot
        mass_kg    scalar, kg, above 0   the new arrow
        mass_u_kg  scalar, kg, 0 or more its standard uncertainty
    Gives
        ExpectedSpeed with its standard uncertainty and whether the mass lies inside those measured. CantTell for an
        arrow under half of the lightest or over twice the heaviest
    Refuses
        OutOfRange  mass not above 0, uncertainty below 0, either not finite
    Holds while
        the arrow fits the bow as the others did. Outside the measured masses it is an extrapolation
    Source
        As virtual_mass_of_pair; uncertainty with the fit's covariance by JCGM 100:2008 (GUM), 5.2.2.
        Checked in tests/published/test_bows.py
    >>> three = [ArrowSpeed(m, (2 * 100 / (m + 0.02)) ** 0.5, 0, 0.2) for m in (0.03, 0.045, 0.06)]
    >>> answer = expected_speed(fit_virtual_mass(three), 0.08)
    >>> round(answer.speed_m_s.value, 4), answer.inside
    (44.7214, False)
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_not_be_negative("mass_u_kg", mass_u_kg)
    if not FURTHEST_BELOW * found.lightest_kg <= mass_kg <= FURTHEST_ABOVE * found.heaviest_kg:
        return CantTell(because("arrow_too_far_from_those_shot"))
    inverse_square = found.slope * mass_kg + found.intercept
    inside = found.lightest_kg <= mass_kg <= found.heaviest_kg
    if found.covariance is None:
        return ExpectedSpeed(Uncertain(inverse_square**-0.5, None, None, found.arrows), inside)
    var_a, cov, var_b = found.covariance
    variance = mass_kg**2 * var_a + 2 * mass_kg * cov + var_b + (found.slope * mass_u_kg) ** 2
    speed = inverse_square**-0.5
    # Rounding can leave a variance a hair below 0 where the fit is perfect.
    u = math.hypot(math.sqrt(max(variance, 0.0)) * speed**3 / 2, found.speed_scale_u * speed)
    return ExpectedSpeed(Uncertain(speed, u, found.bow_energy_j.dof, found.arrows), inside)


def _line_through(arrows: tuple[ArrowSpeed, ...], speed_scale_u: float) -> VirtualMass | CantTell:
    must_not_be_negative("speed_scale_u", speed_scale_u)
    if len(arrows) < 2:
        return CantTell(because("one_arrow_only"))
    masses = [arrow.mass_kg for arrow in arrows]
    if max(masses) < LEAST_MASS_RATIO * min(masses):
        return CantTell(because("masses_within_a_tenth"))
    a, b, covariance, misfit = _weighted_line(arrows)
    heaviest = max(masses)
    if a <= 0:
        return CantTell(because("heavier_not_slower"))
    k, energy = b / a, must_be_finite_result("bow_energy_j", 1 / (2 * a))
    u_k, u_energy = _uncertainties(a, b, covariance, speed_scale_u)
    why_not = _not_believable(k, u_k or 0.0, heaviest)
    if why_not:
        return CantTell(why_not)
    free, alike = len(arrows) - 2, _unweighted(arrows)
    from_scatter = free and (alike or (misfit or 0.0) > 1)
    dof = None if u_k is None else float(free) if from_scatter else math.inf
    return VirtualMass(
        virtual_mass_kg=Uncertain(k, u_k, dof, len(arrows)),
        bow_energy_j=Uncertain(energy, u_energy, dof, len(arrows)),
        slope=a,
        intercept=b,
        covariance=covariance,
        speed_scale_u=speed_scale_u,
        lightest_kg=min(masses),
        heaviest_kg=heaviest,
        arrows=len(arrows),
        misfit=misfit,
        residuals_m_s=tuple(arrow.speed_m_s - (a * arrow.mass_kg + b) ** -0.5 for arrow in arrows),
    )


def _uncertainties(
    a: float, b: float, covariance: tuple[float, float, float] | None, speed_scale_u: float
) -> tuple[float | None, float | None]:
    """Standard uncertainties of K = b/a and of E = 1/(2a)."""
    if covariance is None:
        return None, None
    var_a, cov, var_b = covariance
    k = b / a
    # Rounding can leave a variance a hair below 0 where the fit is perfect.
    u_k = math.sqrt(max(var_b - 2 * k * cov + k * k * var_a, 0.0)) / a
    return u_k, math.hypot(math.sqrt(var_a) / a, 2 * speed_scale_u) / (2 * a)


def _not_believable(k: float, u_k: float, heaviest: float) -> Reason | None:
    if k < -2 * u_k or (k < 0 and u_k == 0):
        return because("virtual_mass_below_nothing")
    if u_k > max(abs(k) / 2, heaviest / 10):
        return because("virtual_mass_lost_in_chance")
    if heaviest < LEAST_EFFICIENCY * (heaviest + k):
        return because("arrow_gets_too_little", least_efficiency=LEAST_EFFICIENCY)
    return None if k >= 0 else because("virtual_mass_not_above_nothing")


def _unweighted(arrows: Sequence[ArrowSpeed]) -> bool:
    return any(arrow.speed_u_m_s == 0 and arrow.mass_u_kg == 0 for arrow in arrows)


def _weighted_line(arrows: Sequence[ArrowSpeed]) -> tuple[float, float, tuple[float, float, float] | None, float | None]:
    """Slope and intercept of 1/v^2 over mass, their covariance (widened where the points scatter), and the misfit."""
    free, alike = len(arrows) - 2, _unweighted(arrows)
    a = 0.0
    # The weight of an arrow's mass needs the slope; a few rounds settle it, since u_m is small beside m.
    for _ in range(1 if alike else 5):
        weights = [1.0 if alike else 1 / _variance(arrow, a) for arrow in arrows]
        total = math.fsum(weights)
        pairs = list(zip(weights, arrows, strict=True))
        mean_m = math.fsum(w * s.mass_kg for w, s in pairs) / total
        mean_y = math.fsum(w / s.speed_m_s**2 for w, s in pairs) / total
        spread = math.fsum(w * (s.mass_kg - mean_m) ** 2 for w, s in pairs)
        a = math.fsum(w * (s.mass_kg - mean_m) * (1 / s.speed_m_s**2 - mean_y) for w, s in pairs) / spread
    b = mean_y - a * mean_m
    widened: float | None = None if alike else 1.0
    misfit: float | None = None
    if free:
        per_freedom = math.fsum(w * (1 / s.speed_m_s**2 - a * s.mass_kg - b) ** 2 for w, s in pairs) / free
        widened = per_freedom if alike else max(1.0, per_freedom)
        misfit = None if alike else math.sqrt(per_freedom)
    if widened is None:
        return a, b, None, None
    covariance = (widened / spread, -widened * mean_m / spread, widened * (1 / total + mean_m**2 / spread))
    return a, b, covariance, misfit


def _variance(arrow: ArrowSpeed, slope: float) -> float:
    """Variance of 1/v^2 about the line. On the first round the slope is 0, so only the speed counts, unless it's exact."""
    by_speed = 2 * arrow.speed_u_m_s / arrow.speed_m_s**3
    # About what E = m v^2 would make the slope, to have a start where only the mass is unsure.
    by_mass = (slope or 1 / (arrow.mass_kg * arrow.speed_m_s**2)) * arrow.mass_u_kg
    return by_speed**2 + by_mass**2
