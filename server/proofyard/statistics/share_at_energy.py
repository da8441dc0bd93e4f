"""The share that gets through at an energy that is itself uncertain: one range from both, and what can be said without a curve."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, as_level, because
from proofyard.statistics.fifty_percent_point import Curve, curve_band
from proofyard.statistics.shares import Interval, exact_interval


@dataclass(frozen=True)
class ShareAtEnergy:
    """The share at an energy and its range. `share` None: no curve, and then one end at least is 0 or 1, the other one-sided.

    outside  the whole range of the energy lies outside the energies shot; `partly`: a part of it does
    shots    by how many shots a bound without a curve stands; all of the curve's with one
    """

    share: float | None
    low: float
    high: float
    level: float
    outside: bool
    partly: bool
    shots: int


def share_at_energy(
    curve: Curve, energy_j: float, *, low_j: float, high_j: float, level: float = 0.95, chosen: bool = False
) -> ShareAtEnergy:
    """The share through at an energy that is known from low to high, by a curve that is itself uncertain.

    logit p by the curve at E; ends logit p -+ sqrt(a^2 + b^2): a from logit p to the band's edge at E, b from logit p to the curve
    at the energy's own end

    Takes
        curve     Curve                    from fit_curve
        energy_j  scalar, J, above 0       the likeliest energy
        low_j     scalar, J, 0 to energy   lower end of its interval, at the same level
        high_j    scalar, J, energy or more  upper end
        level     scalar, 0.5 up to 1      of the energy's interval, of the band and of the share's range
        chosen    True or False            whether the curve's energies were chosen by the outcomes so far
    Gives
        ShareAtEnergy with a share
    Refuses
        CantUse  ends that don't lie about the energy, any not above 0 or not finite, level outside its range
    Holds while
        the curve's own conditions hold, and the energy was found apart from the curve's shots
    Weak when
        the energy lies outside the energies shot: the curve's guess. Or the true curve is steep (slope 16): few shots make it too
        flat, and away from a half the range then holds in 91 to 98 %; at slopes 4 and 8 in 94 % and more
    Source
        Square-and-add of distances to interval ends (MOVER): Zou and Donner, Statistics in Medicine 2008 27:1693 (from memory), on
        the logit. How often it holds: tests/statistics/test_share_at_energy.py
    >>> from proofyard.statistics.fifty_percent_point import fit_curve
    >>> curve = fit_curve([22, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0] * 5 + [1] * 5)
    >>> found = share_at_energy(curve, 45.0, low_j=41.0, high_j=50.0)
    >>> round(found.share, 2), round(found.low, 2), round(found.high, 2)
    (0.78, 0.28, 1.0)
    """
    _must_lie_about(energy_j, low_j, high_j)
    level = as_level(level)
    band = curve_band(curve, [energy_j], level=level, chosen=chosen)
    moved = curve_band(curve, [low_j, high_j], level=level, chosen=chosen).chances
    middle = _logit(band.chances[0])
    down = math.hypot(middle - _logit(band.lows[0]), middle - _logit(moved[0]))
    up = math.hypot(_logit(band.highs[0]) - middle, _logit(moved[1]) - middle)
    least, most = min(curve.energies_j), max(curve.energies_j)
    return ShareAtEnergy(
        share=band.chances[0],
        low=_chance(middle - down),
        high=_chance(middle + up),
        level=level,
        outside=high_j < least or low_j > most,
        partly=low_j < least or high_j > most,
        shots=curve.shots,
    )


def share_by_order(
    energies_j: Sequence[float], through: Sequence[int], *, low_j: float, high_j: float, level: float = 0.95
) -> ShareAtEnergy | CantTell:
    """What is known of the share at an energy without a curve: more energy never gets through less often.

    low = Clopper-Pearson low of the shots at low or less; high = Clopper-Pearson high of the shots at high or more; each one-sided

    Takes
        energies_j  array, J, above 0     of each shot
        through     0 or 1 a shot
        low_j       scalar, J, above 0    lower end of the energy asked about
        high_j      scalar, J, low or more  upper end
        level       scalar, 0.5 up to 1   each end stands at (1 + level)/2
    Gives
        ShareAtEnergy without a share; CantTell when the shots bound neither side
    Refuses
        CantUse  not as many energies as outcomes, an end not above 0, level outside its range
    Holds while
        one head form, one panel type; shots are independent
    Weak when
        always: it takes no shot on the other side into account
    Source
        Clopper and Pearson, Biometrika 1934 26:404; that a share of shots at less energy is no greater is monotony alone.
        Checked in tests/published/test_another_bow.py
    >>> found = share_by_order([60.0, 61.0, 63.0, 64.0], [1, 1, 1, 1], low_j=70.0, high_j=80.0)
    >>> found.share, round(found.low, 3), found.high
    (None, 0.398, 1.0)
    """
    _must_lie_about(math.sqrt(low_j * high_j) if low_j > 0 and high_j > 0 else low_j, low_j, high_j)
    if len(energies_j) != len(through):
        raise CantUse("energies_j", len(energies_j), f"one for each of the {len(through)} shots")
    level = as_level(level)
    pairs = list(zip(energies_j, through, strict=True))
    less = [hit for energy, hit in pairs if energy <= low_j]
    more = [hit for energy, hit in pairs if energy >= high_j]
    below, above = exact_interval(sum(less), len(less), level=level), exact_interval(sum(more), len(more), level=level)
    low = below.low if isinstance(below, Interval) else 0.0
    high = above.high if isinstance(above, Interval) else 1.0
    if low == 0.0 and high == 1.0:
        return CantTell(because("no_shot_bounds_that_energy"))
    by = (len(less) if low > 0 else 0) + (len(more) if high < 1 else 0)
    least, most = min(energies_j), max(energies_j)
    return ShareAtEnergy(None, low, high, level, high_j < least or low_j > most, low_j < least or high_j > most, by)


def _must_lie_about(energy_j: float, low_j: float, high_j: float) -> None:
    for name, value in (("energy_j", energy_j), ("low_j", low_j), ("high_j", high_j)):
        if not (math.isfinite(value) and value > 0):
            raise CantUse(name, value, "above 0 and finite")
    if not low_j <= energy_j <= high_j:
        raise CantUse("energy_j", energy_j, f"between its ends, {low_j} and {high_j}")


def _logit(chance: float) -> float:
    inside = min(max(chance, 1e-12), 1 - 1e-12)
    return math.log(inside / (1 - inside))


def _chance(logit: float) -> float:
    return 1 / (1 + math.exp(-logit)) if logit > -700 else 0.0
