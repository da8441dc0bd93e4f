"""What the uncertainty of the energies does to the 50 % energy.

Three parts, treated in three ways. What the instruments share (a chronograph that reads 1 % high) moves every energy and so the
point, once. What one combination's mean speed has wrong moves that combination's shots together, so it is drawn once a combination.
How shots of one combination scatter about their mean moves no point but flattens the curve, and that is said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_count, as_level, as_width, because
from proofyard.statistics.fifty_percent_point import EnergyPoint, fifty_percent_point, fit_curve

DRAWS = 200
DRAWS_SEED = 7
# Variance of the normal curve that a logistic one is nearest to: (16 sqrt(3)/(15 pi))^2.
NEARNESS = (16 * math.sqrt(3) / (15 * math.pi)) ** 2


@dataclass(frozen=True, eq=False)
class WidenedPoint:
    """The 50 % point with its ends widened by what is not known of the energies.

    flattened: the slope seen over the slope that shots of exactly known energy would show; None when the scatter alone
    could make a curve this flat."""

    point: EnergyPoint
    low_j: float | None
    high_j: float | None
    instrument_relative: float
    from_combinations: float
    flattened: float | None
    shot_relative: float
    combinations: int
    draws: int
    draws_lost: int

    @property
    def numbers(self) -> tuple[object, ...]:
        """Every field after the point."""
        ends, parts = (self.low_j, self.high_j), (self.instrument_relative, self.from_combinations, self.flattened, self.shot_relative)
        return *ends, *parts, self.combinations, self.draws, self.draws_lost

    @property
    def flattening(self) -> Reason:
        """What the scatter of single shots about their combination's energy does to the curve."""
        if self.shot_relative == 0:
            return because("shot_scatter_unknown")
        if self.flattened is None:
            return because("shot_scatter_alone_as_flat")
        return because("shot_scatter_flattens", share=1 - self.flattened)


def point_with_energy_uncertainty(
    energies_j: Sequence[float | None],
    through: Sequence[int],
    *,
    combinations: Sequence[str],
    instrument_relative: float,
    combination_relative: Mapping[str, float],
    shot_relative: float,
    level: float = 0.95,
    chosen: bool = False,
    draws: int = DRAWS,
    seed: int = DRAWS_SEED,
) -> WidenedPoint | CantTell:
    """The 50 % point, its interval widened by the uncertainty of the energies.

    end' = E50 exp(+-sqrt(ln(end/E50)^2 + z^2 (u_i^2 + s^2))), s spread of ln E50 over draws of one factor a combination;
    flattened = sqrt(1 - k^2 (slope u_s)^2), k = 16 sqrt(3)/(15 pi)

    Takes
        energies_j           array, J, above 0, or None   at the panel, as its combination's mean speed gives them
        through              0 or 1 a shot
        combinations             a name a shot                bow, arrow and archer that the speed belongs to
        instrument_relative  scalar, 0 or more            standard uncertainty of the energy that all combinations share
        combination_relative     name -> scalar, 0 or more    of each combination's mean energy, its own part only
        shot_relative        scalar, 0 or more            spread of single shots' energies about their combination's
        level                scalar, 0.5 up to 1
        chosen               True or False                whether the energies were chosen by the outcomes so far
        draws                whole number, 2 or more
        seed                 whole number                 the same draws every time the page is opened
    Gives
        WidenedPoint; CantTell where there is no curve or no point
    Refuses
        CantUse  a combination without its uncertainty, an uncertainty below 0, what fit_curve refuses
    Holds while
        relative uncertainties are small (under 0.2) and the energies of shots are their combination's mean
    Weak when
        what all combinations share is given as each combination's own: it is then averaged away, and the ends stand too close
    Source
        Parts kept apart as in JCGM 100:2008 (GUM), F.1.2.3; k from Johnson and Kotz, Continuous Univariate
        Distributions 2, 1970, p. 6 (from memory).
        Checked by simulation in tests/statistics/test_statistics_energy_uncertainty.py
    >>> energies, through = [22, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0] * 5 + [1] * 5
    >>> parts = {"instrument_relative": 0.03, "combination_relative": {"a": 0.0}, "shot_relative": 0.02}
    >>> found = point_with_energy_uncertainty(energies, through, combinations=["a"] * 10, **parts)
    >>> round(found.point.low_j, 1), round(found.low_j, 1), round(found.flattened, 2)
    (27.3, 27.2, 0.99)
    """
    shared, scatter = as_width("instrument_relative", instrument_relative), as_width("shot_relative", shot_relative)
    if len(combinations) != len(through):
        raise CantUse("combinations", len(combinations), f"one for each of the {len(through)} shots")
    times = as_count("draws", draws)
    if times < 2:
        raise CantUse("draws", draws, "2 or more")
    curve = fit_curve(energies_j, through)
    if isinstance(curve, CantTell):
        return curve
    point = fifty_percent_point(curve, level=as_level(level), chosen=chosen)
    if isinstance(point, CantTell):
        return point
    kept = [name for name, energy in zip(combinations, energies_j, strict=True) if energy is not None]
    own = _own_parts(kept, combination_relative)
    spread, lost = _spread_over_draws(curve.energies_j, curve.through, kept, own=own, times=times, seed=seed)
    from scipy.special import ndtri

    wider = float(ndtri((1 + point.level) / 2)) * math.hypot(shared, spread)
    low, high = (_widened(point.energy_j, end, wider) for end in (point.low_j, point.high_j))
    left = 1 - NEARNESS * (curve.slope * scatter) ** 2
    flattened = math.sqrt(left) if left > 0 else None
    return WidenedPoint(point, low, high, shared, spread, flattened, scatter, len(own), times, lost)


def _own_parts(combinations: Sequence[str], given: Mapping[str, float]) -> dict[str, float]:
    parts = {}
    for name in dict.fromkeys(combinations):
        if name not in given:
            raise CantUse("combination_relative", name, "an uncertainty for every combination that was shot")
        parts[name] = as_width(f"combination_relative of {name}", given[name])
    return parts


def _spread_over_draws(
    energies: Sequence[float], through: Sequence[int], combinations: Sequence[str], *, own: Mapping[str, float], times: int, seed: int
) -> tuple[float, int]:
    """Spread of ln E50 when each combination's energies move together by a factor drawn again, and draws without a curve."""
    if not any(own.values()):
        return 0.0, 0
    lots = np.random.default_rng(seed)
    names = list(own)
    places = np.array([names.index(one) for one in combinations])
    widths = np.array([own[name] for name in names])
    logs = np.log(np.array(energies))
    middles = []
    for _ in range(times):
        moved = np.exp(logs + (lots.standard_normal(widths.size) * widths)[places])
        curve = fit_curve([float(one) for one in moved], through)
        if not isinstance(curve, CantTell):
            middles.append(curve.middle)
    if len(middles) < 2:
        return math.inf, times - len(middles)
    # A draw whose curve is all but flat throws its middle to the moon, and one such would be the whole spread.
    low, high = np.quantile(middles, [0.1587, 0.8413])
    return float(high - low) / 2, times - len(middles)


def _widened(middle: float, end: float | None, by: float) -> float | None:
    if end is None or not math.isfinite(by):
        return None
    gap = math.log(end / middle)
    return middle * math.exp(math.copysign(math.hypot(gap, by), gap))
