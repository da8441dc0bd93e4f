"""Protection for weight: a 50 % energy over what a square metre weighs, and what each extra kilogram a square metre buys.

Ends of an energy that the shots don't bound stay open here as well: a weight adds no shot.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from proofyard.quantities.reason import CantTell, CantUse, as_level, as_width, because


class EnergyEnds(NamedTuple):
    """A 50 % energy, J, with its interval; an end of None is not bounded by the shots."""

    energy_j: float
    low_j: float | None
    high_j: float | None


class Weight(NamedTuple):
    """What a square metre weighs, kg/m², with its standard uncertainty."""

    kg_m2: float
    u_kg_m2: float


@dataclass(frozen=True)
class EnergyForWeight:
    """J per kg/m². An end is None where the energy's is; the other then stands by itself at one_sided_level."""

    value: float
    low: float | None
    high: float | None
    level: float
    energy: EnergyEnds
    weight: Weight

    @property
    def one_sided_level(self) -> float | None:
        return None if self.low is not None and self.high is not None else (1 + self.level) / 2


@dataclass(frozen=True)
class EnergyForExtraWeight:
    """The heavier's 50 % energy less the lighter's, and the same for each kg/m² that it weighs more."""

    difference_j: float
    difference_low_j: float
    difference_high_j: float
    value: float
    low: float
    high: float
    extra: Weight
    level: float

    @property
    def shown(self) -> bool:
        """Whether the interval of the difference excludes 0."""
        return self.difference_low_j > 0 or self.difference_high_j < 0


def energy_for_weight(energy: EnergyEnds, weight: Weight, *, level: float = 0.95) -> EnergyForWeight:
    """How many joules at the 50 % energy each kilogram a square metre stands for.

    R = E50 / w;  ln ends = ln R -+ sqrt((ln E50 - ln end)^2 + (z u_w / w)^2)   (MOVER of a difference of logarithms)

    Takes
        energy  EnergyEnds  J, above 0, low <= E50 <= high; None for an end that is not bounded
        weight  Weight      kg/m^2, above 0, with its standard uncertainty, 0 or more
        level   scalar, 0.5 up to 1   that the energy's interval has, and this one will
    Gives
        EnergyForWeight, J/(kg/m^2), above 0; an end is None where the energy's end is
    Refuses
        CantUse  an energy or a weight not above 0 or not finite, ends that don't hold their energy, u below 0, level
    Holds while
        energy and weight were found independently, and the panel weighs alike all over
    Weak when
        the weight is known to worse than a tenth: its part is taken as normal in the logarithm
    Source
        Zou and Donner, Statistics in Medicine 2008 27:1693; Donner and Zou, Statistical Methods in Medical Research
        2012 21:347 (both from memory). Checked in tests/published/test_weight_life_and_measures.py
    >>> found = energy_for_weight(EnergyEnds(75.4, 63.0, 90.3), Weight(13.6, 0.2))
    >>> round(found.value, 3), round(found.low, 3), round(found.high, 3)
    (5.544, 4.622, 6.655)
    """
    level = as_level(level)
    _check_energy("energy", energy)
    _check_weight("weight", weight)
    value = energy.energy_j / weight.kg_m2
    of_weight = _z(level) * weight.u_kg_m2 / weight.kg_m2

    def end(of_energy: float | None, sign: int) -> float | None:
        if of_energy is None:
            return None
        return value * math.exp(sign * math.hypot(math.log(energy.energy_j / of_energy), of_weight))

    return EnergyForWeight(value, end(energy.low_j, -1), end(energy.high_j, 1), level, energy, weight)


def energy_for_extra_weight(
    lighter: EnergyEnds, heavier: EnergyEnds, *, extra: Weight, level: float = 0.95
) -> EnergyForExtraWeight | CantTell:
    """What each extra kilogram a square metre adds to the 50 % energy.

    d = E2 - E1, ends d - sqrt((E2 - l2)^2 + (h1 - E1)^2), d + sqrt((h2 - E2)^2 + (E1 - l1)^2);
    R = d / w, its ends the roots of (d - R w)^2 = (d - end of d)^2 + R^2 (w - end of w)^2   (MOVER, MOVER-R)

    Takes
        lighter  EnergyEnds  J, above 0, of the panel type that weighs less
        heavier  EnergyEnds  J, above 0, of the one that weighs more
        extra    Weight      kg/m^2, 0 or more: heavier less lighter, with the standard uncertainty of that difference
                             (what both weights share cancels)
        level    scalar, 0.5 up to 1   that both energies' intervals have, and these will
    Gives
        EnergyForExtraWeight; CantTell where either energy is not bounded on both sides, or where the weights differ by
        no more than their uncertainty
    Refuses
        CantUse  what energy_for_weight refuses, an extra weight below 0
    Holds while
        the two were shot with one head form, and the four figures were found independently
    Weak when
        shots are few: a usable answer then comes seldom (by simulation in 14 of 100 books of 20 shots at slope 4, 81 at
        slope 8)
    Source
        Donner and Zou, Statistical Methods in Medical Research 2012 21:347 (from memory).
        Checked in tests/published/test_weight_life_and_measures.py
    >>> found = energy_for_extra_weight(EnergyEnds(60, 55, 66), EnergyEnds(95, 88, 104), extra=Weight(4.3, 0.36))
    >>> round(found.value, 3), round(found.low, 3), round(found.high, 3), found.shown
    (8.14, 5.794, 11.153, True)
    """
    level = as_level(level)
    _check_energy("lighter", lighter)
    _check_energy("heavier", heavier)
    if not (math.isfinite(extra.kg_m2) and extra.kg_m2 >= 0):
        raise CantUse("extra", extra.kg_m2, "0 or more and finite")
    reach = _z(level) * as_width("extra", extra.u_kg_m2)
    if lighter.low_j is None or lighter.high_j is None or heavier.low_j is None or heavier.high_j is None:
        return CantTell(because("both_energies_not_closed"))
    if extra.kg_m2 <= reach:
        return CantTell(because("weights_too_alike", extra_kg_m2=extra.kg_m2, within_kg_m2=reach))
    difference = heavier.energy_j - lighter.energy_j
    low = difference - math.hypot(heavier.energy_j - heavier.low_j, lighter.high_j - lighter.energy_j)
    high = difference + math.hypot(heavier.high_j - heavier.energy_j, lighter.energy_j - lighter.low_j)
    ratio_low, ratio_high = (_ratio_end(difference, end, extra.kg_m2, reach=reach, sign=sign) for end, sign in ((low, -1), (high, 1)))
    return EnergyForExtraWeight(difference, low, high, difference / extra.kg_m2, ratio_low, ratio_high, extra, level)


def _ratio_end(value: float, end: float, over: float, *, reach: float, sign: int) -> float:
    """MOVER-R. Which end of the divisor goes with it hangs on the sign of the end: a negative one lies furthest out over the least."""
    furthest = over + reach if (end >= 0) == (sign < 0) else over - reach
    beneath = furthest * (2 * over - furthest)
    inside = (value * over) ** 2 - end * (2 * value - end) * beneath
    return (value * over + sign * math.sqrt(max(inside, 0.0))) / beneath


def _z(level: float) -> float:
    from scipy.special import ndtri

    return float(ndtri((1 + level) / 2))


def _check_energy(name: str, energy: EnergyEnds) -> None:
    for value in energy:
        if value is not None and not (math.isfinite(value) and value > 0):
            raise CantUse(name, value, "above 0 and finite, or None for an end that is not bounded")
    if (energy.low_j or 0.0) > energy.energy_j or (energy.high_j or math.inf) < energy.energy_j:
        raise CantUse(name, energy, "ends that hold their energy")


def _check_weight(name: str, weight: Weight) -> None:
    if not (math.isfinite(weight.kg_m2) and weight.kg_m2 > 0):
        raise CantUse(name, weight.kg_m2, "above 0 and finite")
    as_width(name, weight.u_kg_m2)
