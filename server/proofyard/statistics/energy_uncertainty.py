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
from numpy.typing import NDArray

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_count, as_level, as_width, because
from proofyard.statistics.fifty_percent_point import Curve, EnergyPoint, fifty_percent_point, fit_curve
from proofyard.statistics.logistic_likelihood import LONGEST_STEP, ROUNDED, ROUNDED_A_SHOT, Array

DRAWS = 200
DRAWS_SEED = 7
# All draws step at once, so many numbers to an array: more would leave the processor's own memory.
AT_ONCE = 60_000
# A step that moves no shot's log-odds by more than this is the last; so many at most, which a curve of ten shots takes seldom.
STANDS_STILL = 1e-10
MOST_AT_ONCE = 60
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
    spread, lost = _spread_over_draws(curve, kept, own=own, times=times, seed=seed)
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


def _spread_over_draws(curve: Curve, combinations: Sequence[str], *, own: Mapping[str, float], times: int, seed: int) -> tuple[float, int]:
    """Spread of ln E50 when each combination's energies move together by a factor drawn again, and draws without a curve."""
    if not any(own.values()):
        return 0.0, 0
    names = list(own)
    places = np.array([names.index(one) for one in combinations])
    lots = np.random.default_rng(seed).standard_normal((times, len(names)))
    factors = lots * np.array([own[name] for name in names])
    logs, hits = np.log(np.array(curve.energies_j)), np.array(curve.through, dtype=float)
    middles = []
    for middle, factor in zip(_middles_at_once(curve, logs, hits, places, factors), factors, strict=True):
        found: float | None = middle
        if math.isnan(middle):
            alone = fit_curve([float(one) for one in np.exp(logs + factor[places])], curve.through)
            found = None if isinstance(alone, CantTell) else alone.middle
        if found is not None and found != math.inf:
            middles.append(found)
    if len(middles) < 2:
        return math.inf, times - len(middles)
    # A draw whose curve is all but flat throws its middle to the moon, and one such would be the whole spread.
    low, high = np.quantile(middles, [0.1587, 0.8413])
    return float(high - low) / 2, times - len(middles)


def _middles_at_once(curve: Curve, logs: Array, hits: Array, places: NDArray[np.intp], factors: Array) -> Array:
    """`fit_curve(...).middle` for the energies moved by each row of factors, one a combination: so many draws step side by side.

    Infinite where the curve of a draw doesn't rise; not a number where it wasn't found so, and must be fitted by itself.
    """
    # Shots of one combination at one energy move together, so they are one row with a count.
    rows, which = np.unique(np.column_stack([places, logs]), axis=0, return_inverse=True)
    which = which.ravel()
    of_row, counts = rows[:, 0].astype(np.intp), np.bincount(which).astype(np.float64)
    through: Array = np.bincount(which, weights=hits).astype(np.float64)
    at_once = max(1, AT_ONCE // len(rows))
    found = []
    for first in range(0, len(factors), at_once):
        moved = (rows[:, 1] + factors[first : first + at_once][:, of_row] - curve.centre) / curve.scale
        found.append(curve.centre + curve.scale * _climbed(moved, counts, through))
    return np.concatenate(found)


def _climbed(at: Array, counts: Array, through: Array) -> Array:
    """-b0/b1 for each row of `at`, by the steps of `Likelihood.highest` (logistic_likelihood.py), whose two columns are written out here.

    From 0, as there: of shots that one energy parts there can be two tops, and this way leads to the one that `fit_curve` finds.

    at  array, a row a draw, a column a row of shots
    """
    place = np.zeros((len(at), 2))
    found, left, cut = np.full(len(at), math.nan), np.arange(len(at)), np.ones(len(at))
    value, score, inside = _likelihoods(at, counts, through, place)
    slack = max(ROUNDED, ROUNDED_A_SHOT * float(counts.sum()))
    for _ in range(MOST_AT_ONCE):
        step = _solved(inside, score)
        longest = np.abs(step[:, :1] + at * step[:, 1:]).max(axis=1)
        ended = ~(longest >= STANDS_STILL)
        if ended.any():
            with np.errstate(divide="ignore", invalid="ignore"):
                found[left[ended]] = _middle(place[ended] + step[ended], at[ended])
            at, left, cut, place, step, longest = (one[~ended] for one in (at, left, cut, place, step, longest))
            value, score, inside = (one[~ended] for one in (value, score, inside))
        if not len(at):
            break
        step *= (cut * np.minimum(1.0, LONGEST_STEP / longest))[:, None]
        tried = _likelihoods(at, counts, through, place + step)
        before, after = (step * score).sum(axis=1), (step * tried[1]).sum(axis=1)
        well = (tried[0] >= value - slack * (1 + np.abs(value))) & (after >= -0.3 * before)
        past = (after < 0) & (before > 0)
        shorter = np.where(past, np.clip(before / np.where(past, before - after, 1.0), 0.1, 0.8), 0.5)
        cut = np.where(well, 1.0, cut * shorter)
        place = np.where(well[:, None], place + step, place)
        value = np.where(well, tried[0], value)
        score, inside = np.where(well[:, None], tried[1], score), np.where(well[:, None], tried[2], inside)
    return found


def _middle(ends: Array, at: Array) -> Array:
    """-b0/b1; infinite where b1, for energies at unit spread, is not above 0."""
    middle: Array = np.where(ends[:, 1] * at.std(axis=1) > 1e-9, -ends[:, 0] / ends[:, 1], math.inf)
    return np.where(np.isnan(ends).any(axis=1), math.nan, middle)


def _likelihoods(at: Array, counts: Array, through: Array, place: Array) -> tuple[Array, Array, Array]:
    """Of each draw: penalised log-likelihood, its score, and the three numbers of its expected information."""
    log_odds = place[:, :1] + at * place[:, 1:]
    tail = np.exp(-np.abs(log_odds))
    chance = np.where(log_odds >= 0, 1.0, tail) / (1 + tail)
    weight = tail / (1 + tail) ** 2
    one, across, along = weight @ counts, (weight * at) @ counts, (weight * at * at) @ counts
    size = one * along - across**2
    with np.errstate(divide="ignore", invalid="ignore"):
        value = (through * log_odds - counts * (np.maximum(log_odds, 0) + np.log1p(tail))).sum(axis=1) + 0.5 * np.log(size)
        leverage = weight * (along[:, None] - 2 * across[:, None] * at + one[:, None] * at * at) / size[:, None]
    pull = through - counts * (chance - leverage * (0.5 - chance))
    return value, np.column_stack([pull.sum(axis=1), (pull * at).sum(axis=1)]), np.column_stack([one, across, along])


def _solved(inside: Array, score: Array) -> Array:
    """Each draw's scoring step."""
    one, across, along = inside.T
    with np.errstate(divide="ignore", invalid="ignore"):
        size = one * along - across**2
        step: Array = (
            np.column_stack([along * score[:, 0] - across * score[:, 1], one * score[:, 1] - across * score[:, 0]]) / size[:, None]
        )
    return step


def _widened(middle: float, end: float | None, by: float) -> float | None:
    if end is None or not math.isfinite(by):
        return None
    gap = math.log(end / middle)
    return middle * math.exp(math.copysign(math.hypot(gap, by), gap))
