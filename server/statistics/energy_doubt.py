"""What doubt about the energies does to the energy at which half get through.

Three doubts, three ways. What the instruments share (a chronograph that reads 1 % high) moves every energy and so the
point, once. What one pairing's mean speed has wrong moves that pairing's shots together, so it is drawn once a pairing.
How shots of one pairing scatter about their mean moves no point but flattens the curve, and that is said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from server.statistics.fifty_percent_point import EnergyPoint, fifty_percent_point, fit_curve
from server.statistics.refusals import CantTell, CantUse, as_count, as_level, as_width

DRAWS = 200
DRAWS_SEED = 7
# Variance of the normal curve that a logistic one is nearest to: (16 sqrt(3)/(15 pi))^2.
NEARNESS = (16 * math.sqrt(3) / (15 * math.pi)) ** 2


@dataclass(frozen=True, eq=False)
class DoubtedPoint:
    """The 50 % point with its ends widened by what is not known of the energies.

    flattened: the slope seen over the slope that shots of exactly known energy would show; None when the scatter alone
    could make a curve this flat."""

    point: EnergyPoint
    low_j: float | None
    high_j: float | None
    instrument_relative: float
    from_pairings: float
    flattened: float | None
    shot_relative: float
    pairings: int
    draws: int
    draws_lost: int

    @property
    def words(self) -> str:
        if self.shot_relative == 0:
            return "The scatter of single shots about their pairing's energy is not known, so it is left out."
        if self.flattened is None:
            return "The scatter of single shots about their pairing's energy alone could make a curve this flat."
        part = round(100 * (1 - self.flattened))
        if part < 1:
            return "The scatter of single shots about their pairing's energy flattens the curve by less than 1 %."
        return f"The scatter of single shots about their pairing's energy flattens the curve by about {part} %."


def point_with_energy_doubt(
    energies_j: Sequence[float | None],
    through: Sequence[int],
    *,
    pairings: Sequence[str],
    instrument_relative: float,
    pairing_relative: Mapping[str, float],
    shot_relative: float,
    level: float = 0.95,
    draws: int = DRAWS,
    seed: int = DRAWS_SEED,
) -> DoubtedPoint | CantTell:
    """The 50 % point, its interval widened by the doubt about the energies.

    end' = E50 exp(+-sqrt(ln(end/E50)^2 + z^2 (u_i^2 + s^2))), s spread of ln E50 over draws of one factor a pairing;
    flattened = sqrt(1 - k^2 (slope u_s)^2), k = 16 sqrt(3)/(15 pi)

    Takes
        energies_j           array, J, above 0, or None   at the panel, as its pairing's mean speed gives them
        through              0 or 1 a shot
        pairings             a name a shot                bow, arrow and archer that the speed belongs to
        instrument_relative  scalar, 0 or more            standard uncertainty of the energy that all pairings share
        pairing_relative     name -> scalar, 0 or more    of each pairing's mean energy, its own part only
        shot_relative        scalar, 0 or more            spread of single shots' energies about their pairing's
        level                scalar, 0.5 up to 1
        draws                whole number, 2 or more
        seed                 whole number                 the same draws every time the page is opened
    Gives
        DoubtedPoint; CantTell where there is no curve or no point
    Refuses
        CantUse  a pairing without its uncertainty, an uncertainty below 0, what fit_curve refuses
    Holds while
        relative uncertainties are small (under 0.2) and the energies of shots are their pairing's mean
    Weak when
        what all pairings share is given as each pairing's own: it is then averaged away, and the ends stand too close
    Source
        Parts kept apart as in JCGM 100:2008 (GUM), F.1.2.3; k from Johnson and Kotz, Continuous Univariate
        Distributions 2, 1970, p. 6 (from memory).
        Checked by simulation in tests/statistics/test_statistics_energy_doubt.py
    >>> energies, through = [22, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0] * 5 + [1] * 5
    >>> doubt = {"instrument_relative": 0.03, "pairing_relative": {"a": 0.0}, "shot_relative": 0.02}
    >>> found = point_with_energy_doubt(energies, through, pairings=["a"] * 10, **doubt)
    >>> round(found.point.low_j, 1), round(found.low_j, 1), found.words.endswith("about 1 %.")
    (29.1, 28.9, True)
    """
    shared, scatter = as_width("instrument_relative", instrument_relative), as_width("shot_relative", shot_relative)
    if len(pairings) != len(through):
        raise CantUse("pairings", len(pairings), f"one for each of the {len(through)} shots")
    times = as_count("draws", draws)
    if times < 2:
        raise CantUse("draws", draws, "2 or more")
    curve = fit_curve(energies_j, through)
    if isinstance(curve, CantTell):
        return curve
    point = fifty_percent_point(curve, level=as_level(level))
    if isinstance(point, CantTell):
        return point
    kept = [name for name, energy in zip(pairings, energies_j, strict=True) if energy is not None]
    own = _own_parts(kept, pairing_relative)
    spread, lost = _spread_over_draws(curve.energies_j, curve.through, kept, own=own, times=times, seed=seed)
    from scipy.special import ndtri

    wider = float(ndtri((1 + point.level) / 2)) * math.hypot(shared, spread)
    low, high = (_widened(point.energy_j, end, wider) for end in (point.low_j, point.high_j))
    left = 1 - NEARNESS * (curve.slope * scatter) ** 2
    flattened = math.sqrt(left) if left > 0 else None
    return DoubtedPoint(point, low, high, shared, spread, flattened, scatter, len(own), times, lost)


def _own_parts(pairings: Sequence[str], given: Mapping[str, float]) -> dict[str, float]:
    parts = {}
    for name in dict.fromkeys(pairings):
        if name not in given:
            raise CantUse("pairing_relative", name, "an uncertainty for every pairing that was shot")
        parts[name] = as_width(f"pairing_relative of {name}", given[name])
    return parts


def _spread_over_draws(
    energies: Sequence[float],
    through: Sequence[int],
    pairings: Sequence[str],
    *,
    own: Mapping[str, float],
    times: int,
    seed: int,
) -> tuple[float, int]:
    """Spread of ln E50 when each pairing's energies move together by a factor drawn anew, and draws without a curve."""
    if not any(own.values()):
        return 0.0, 0
    lots = np.random.default_rng(seed)
    names = list(own)
    places = np.array([names.index(one) for one in pairings])
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
