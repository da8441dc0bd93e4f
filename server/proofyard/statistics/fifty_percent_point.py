"""The 50 % energy (ballistic limit V50, as an energy), the curve around it, and where neither can be told.

Curve, band and point all come from one model: log-odds of getting through = b0 + b1 ln(energy), by Firth's penalised
likelihood, with b1 not below 0. That last is a fact of the yard, not of the shots: more energy never gets through less
often, so what would need a falling curve bounds nothing.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_level, because
from proofyard.statistics.logistic_likelihood import Array
from proofyard.statistics.penalised_logistic import LogisticFit, chi_square, fit_logistic, ratio_interval

FEWEST_FOR_TAILS = 40
# So many times further than the chi-square says may twice the log-likelihood fall: with ten to forty shots, and where the true
# curve is not quite a logistic one, the chi-square itself holds too seldom. By simulation: tests/bench/coverage_of_fifty_percent.py.
LIMIT_TIMES = 1.2
# The same where the energies were chosen by the outcomes so far, and how many shots such a point takes at least.
LIMIT_TIMES_CHOSEN = 2.0
FEWEST_WITH_CHOSEN_ENERGIES = 20
# An end further off than this from every energy shot is no bound that anyone could check.
FURTHEST = 1000.0

FLAT = because("more_energy_not_yet_more_often")
FALLING = because("more_energy_no_more_often")


@dataclass(frozen=True, eq=False)
class Curve:
    """The one model of curve, band and point, with the shots it rests on."""

    energies_j: tuple[float, ...]
    through: tuple[int, ...]
    without_energy: int
    fit: LogisticFit
    centre: float
    scale: float

    @property
    def shots(self) -> int:
        return len(self.through)

    @property
    def hits(self) -> int:
        return sum(self.through)

    @property
    def slope(self) -> float:
        """Rise of the log-odds for each unit of ln(energy)."""
        return self.fit.coefficients[1] / self.scale

    @property
    def middle(self) -> float:
        """ln of the energy at which the curve passes a half."""
        return self.centre - self.scale * self.fit.coefficients[0] / self.fit.coefficients[1]

    @property
    def numbers(self) -> tuple[object, ...]:
        """What was found, without the shots: see `of_numbers`."""
        return self.without_energy, self.fit.coefficients, self.fit.log_likelihood

    @classmethod
    def of_numbers(cls, energies_j: Sequence[float | None], through: Sequence[int], numbers: tuple[Any, ...]) -> Curve:
        """The curve of these shots whose `numbers` are known: nothing is fitted again."""
        without, coefficients, log_likelihood = numbers
        energies, outcomes, _ = _measured(energies_j, through)
        design, centre, scale = _design(energies)
        fit = LogisticFit(design, np.array(outcomes, dtype=float), True, coefficients, log_likelihood)
        return cls(tuple(energies), tuple(outcomes), without, fit, centre, scale)

    def place(self, energy_j: float) -> float:
        return (math.log(energy_j) - self.centre) / self.scale

    def energy(self, place: float) -> float:
        """Beyond what a float holds it is 0 or infinite, which both count as unbounded."""
        log = self.centre + self.scale * place
        return math.exp(log) if log < 700 else math.inf


@dataclass(frozen=True, eq=False)
class EnergyPoint:
    """The energy at which a share gets through. An end is None where the shots don't bound that side; unbounded says
    why, and the other end then stands at one_sided_level, never at level. energy_j outside the energies shot is a guess of the curve's, and
    outside says so. chosen: the energies were chosen by the outcomes so far."""

    energy_j: float
    low_j: float | None
    high_j: float | None
    share: float
    level: float
    method: str
    unbounded: Reason | None
    curve: Curve
    chosen: bool = False

    @property
    def one_sided_level(self) -> float | None:
        """How often the one bounded end holds by itself, either end being wrong as often; None where both are bounded."""
        return None if self.low_j is not None and self.high_j is not None else (1 + self.level) / 2

    @property
    def numbers(self) -> tuple[object, ...]:
        """What was found, without the curve: see `of_numbers`."""
        return self.energy_j, self.low_j, self.high_j, self.share, self.level, self.method, self.unbounded, self.chosen

    @classmethod
    def of_numbers(cls, curve: Curve, numbers: tuple[Any, ...]) -> EnergyPoint:
        """The point of this curve whose `numbers` are known."""
        energy_j, low_j, high_j, share, level, method, unbounded, chosen = numbers
        return cls(energy_j, low_j, high_j, share, level, method, unbounded, curve, chosen)

    @property
    def limit_times(self) -> float:
        """By how much the interval's chi-square limit was raised above that of its level."""
        return _times(self.chosen)

    @property
    def outside(self) -> bool:
        return not min(self.curve.energies_j) <= self.energy_j <= max(self.curve.energies_j)


@dataclass(frozen=True)
class CurveBand:
    """The curve at some energies: the chance to get through, and between what it may lie at each energy alone."""

    energies_j: tuple[float, ...]
    chances: tuple[float, ...]
    lows: tuple[float, ...]
    highs: tuple[float, ...]
    level: float


def fit_curve(energies_j: Sequence[float | None], through: Sequence[int]) -> Curve | CantTell:
    """How the chance to get through rises with energy.

    ln(p/(1-p)) = b0 + b1 ln E, b0 and b1 where likelihood times root of the information's determinant is highest

    Takes
        energies_j  array, J, above 0, or None  at the panel; None where it was not measured
        through     0 or 1 a shot               1 got through, by whatever rule the view sets
    Gives
        Curve; CantTell when there are no shots, none with an energy, all or none through, one energy, or no rise
    Refuses
        CantUse  energies not above 0 or not finite, not as many as outcomes, outcomes other than 0 and 1
    Holds while
        shots are independent; one head form, one panel, one where it went in; the odds rise with a power of the energy
    Weak when
        shots are few: the penalty then flattens the curve, the more the fewer. The middle is moved little, tails much
    Source
        Firth, Biometrika 1993 80:27. Checked in tests/published/test_fifty_percent_points.py
    >>> curve = fit_curve([30, 35, 40, 45, 50, 55], [0, 0, 1, 0, 1, 1])
    >>> round(math.exp(curve.middle), 1)
    41.6
    """
    energies, outcomes, without = _measured(energies_j, through)
    refused = _no_curve(energies, outcomes, without)
    if refused is not None:
        return refused
    design, centre, scale = _design(energies)
    fit = fit_logistic(design, outcomes)
    if isinstance(fit, CantTell):
        return fit
    if fit.coefficients[1] <= 1e-9:
        return CantTell(FALLING)
    return Curve(tuple(energies), tuple(outcomes), without, fit, centre, scale)


def fifty_percent_point(curve: Curve, *, level: float = 0.95, chosen: bool = False) -> EnergyPoint | CantTell:
    """The energy at which half of all shots get through (ballistic limit V50, as an energy), and its interval.

    E50 = exp(-b0/b1);  all E with 2 (max l* - max l* at b0 = -b1 ln E, b1 >= 0) <= 1.2 chi2(1; level), or 2 chi2 if chosen

    Takes
        curve   Curve                 from fit_curve
        level   scalar, 0.5 up to 1   how often such an interval holds the true point, on average
        chosen  True or False         whether the energies were chosen by the outcomes so far
    Gives
        EnergyPoint, one end None where only the other side is bounded; CantTell (no estimate) when neither is, or when there
        are under 20 shots at chosen energies
    Refuses
        CantUse  level outside its range
    Holds while
        the curve's own conditions hold
    Weak when
        the true point was shot at from one side only: the interval is then open on the other, and a point outside the
        energies shot is the curve's guess. A bounded end then stands by itself at (1 + level)/2 over all books; amid the
        energies shot such intervals arise by luck, and hold some 87 to 91 % at slope 4. Where the truth is skewed
        (complementary log-log or its mirror) misses lie on one side. Or when energies were chosen by the outcomes and the
        curve rises slowly: closed intervals then hold 82 to 93 % of the time with 20 shots at slopes 4 to 8
    Source
        Profile likelihood as in Heinze and Schemper, Statistics in Medicine 2002 21:2409, over the ratio -b0/b1; the factors
        by simulation, tests/bench/coverage_of_fifty_percent.py. Checked in tests/published/test_fifty_percent_points.py
    >>> found = fifty_percent_point(fit_curve([22, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0] * 5 + [1] * 5))
    >>> round(found.energy_j, 1), round(found.low_j, 1), round(found.high_j, 1)
    (39.5, 27.3, 53.3)
    >>> fifty_percent_point(fit_curve([30, 40, 50, 60], [0, 1, 0, 1])).reason.code
    'more_energy_not_yet_more_often'
    """
    level = as_level(level)
    if chosen and curve.shots < FEWEST_WITH_CHOSEN_ENERGIES:
        return CantTell(because("too_few_with_chosen_energies", shots=curve.shots, needed=FEWEST_WITH_CHOSEN_ENERGIES))
    return _energy_point(curve, 0.5, level=level, chosen=chosen)


def tail_point(curve: Curve, share: float, *, level: float = 0.95, chosen: bool = False) -> EnergyPoint | CantTell:
    """The energy at which a share other than 50 % gets through: 10 %, 90 %.

    E_p = exp((ln(p/(1-p)) - b0)/b1), its interval as for 50 %

    Takes
        curve  Curve                 from fit_curve
        share  scalar, 0 to 1, ends out
        level  scalar, 0.5 up to 1   how often such an interval holds the true point, on average
        chosen  True or False        whether the energies were chosen by the outcomes so far
    Gives
        EnergyPoint; CantTell below 40 shots, outside the energies shot, and where the 50 % energy has no estimate
    Refuses
        CantUse  a share or a level outside its range
    Holds while
        the curve is a logistic one out there too, which few shots can show
    Weak when
        the share is near 0 or 1: curves that agree at 50 % differ widely there
    Source
        as fifty_percent_point; the two refusals are a rule of this book, no source
        Checked in tests/statistics/test_statistics_fifty_percent_point.py
    >>> curve = fit_curve([30, 35, 40, 45, 50, 55], [0, 0, 1, 0, 1, 1])
    >>> tail_point(curve, 0.9).reason.parts
    {'needed': 40, 'share': 0.9, 'shots': 6}
    """
    if not 0 < share < 1:
        raise CantUse("share", share, "above 0 and below 1")
    level = as_level(level)
    if curve.shots < FEWEST_FOR_TAILS:
        return CantTell(because("too_few_for_a_tail", shots=curve.shots, needed=FEWEST_FOR_TAILS, share=share))
    found = _energy_point(curve, share, level=level, chosen=chosen)
    if isinstance(found, EnergyPoint) and found.outside:
        least, most = min(curve.energies_j), max(curve.energies_j)
        return CantTell(because("tail_outside_the_energies_shot", share=share, low_j=least, high_j=most))
    return found


def curve_band(curve: Curve, energies_j: Sequence[float], *, level: float = 0.95, chosen: bool = False) -> CurveBand:
    """The curve with its band, to draw: at each energy the chances that the shots don't speak against.

    least and most p(E) over all (b0, b1 >= 0) with 2 (max l* - l*(b0, b1)) <= 1.2 chi2(1; level), or 2 chi2 if chosen

    Takes
        curve       Curve               from fit_curve
        energies_j  array, J, above 0   where to draw it
        level       scalar, 0.5 up to 1
        chosen      True or False       whether the energies were chosen by the outcomes so far
    Gives
        CurveBand. Where its edges cross a half stand the ends of the interval of fifty_percent_point
    Refuses
        CantUse  energies not above 0, level outside its range
    Holds while
        the curve's own conditions hold
    Weak when
        read as a whole: each energy by itself has the level, all at once have less
    Source
        the same profile as fifty_percent_point, seen from the other axis.
        Checked in tests/statistics/test_statistics_fifty_percent_point.py
    >>> curve = fit_curve([30, 35, 40, 45, 50, 55], [0, 0, 1, 0, 1, 1])
    >>> band = curve_band(curve, [math.exp(curve.middle)])
    >>> round(band.chances[0], 3), band.lows[0] < 0.5 < band.highs[0]
    (0.5, True)
    """
    for energy in energies_j:
        if not (math.isfinite(energy) and energy > 0):
            raise CantUse("energies_j", energy, "above 0 and finite")
    edge = _edge(curve, _times(chosen) * chi_square(level))
    rows = np.array([(1.0, curve.place(energy)) for energy in energies_j]).reshape(-1, 2)
    log_odds = rows @ edge.T
    ends = (rows @ np.array(curve.fit.coefficients), log_odds.min(axis=1), log_odds.max(axis=1))
    chances, lows, highs = (tuple(float(p) for p in np.exp(-np.logaddexp(0, -end))) for end in ends)
    return CurveBand(tuple(energies_j), chances, lows, highs, level)


def _measured(energies_j: Sequence[float | None], through: Sequence[int]) -> tuple[list[float], list[int], int]:
    if len(energies_j) != len(through):
        raise CantUse("energies_j", len(energies_j), f"one for each of the {len(through)} shots")
    energies: list[float] = []
    outcomes: list[int] = []
    for energy, outcome in zip(energies_j, through, strict=True):
        if outcome not in (0, 1):
            raise CantUse("through", outcome, "0 or 1")
        if energy is None:
            continue
        if not (math.isfinite(energy) and energy > 0):
            raise CantUse("energies_j", energy, "above 0 and finite, or None where it was not measured")
        energies.append(float(energy))
        outcomes.append(int(outcome))
    return energies, outcomes, len(through) - len(outcomes)


def _design(energies: Sequence[float]) -> tuple[Array, float, float]:
    """A column of ones and one of ln(energy), standardised; its centre and scale."""
    logs = np.log(np.array(energies))
    centre, scale = float(logs.mean()), float(logs.std())
    return np.column_stack([np.ones(logs.size), (logs - centre) / scale]), centre, scale


def _no_curve(energies: list[float], outcomes: list[int], without: int) -> CantTell | None:
    shots, hits = len(outcomes), sum(outcomes)
    if shots == 0:
        return CantTell(because("no_measured_energy", shots=without) if without else because("no_shots"))
    if hits == shots:
        return CantTell(because("all_got_through", shots=shots))
    if hits == 0:
        return CantTell(because("none_got_through", shots=shots))
    if max(energies) - min(energies) <= 1e-9 * max(energies):
        return CantTell(because("one_energy_only"))
    return None


def _times(chosen: bool) -> float:
    return LIMIT_TIMES_CHOSEN if chosen else LIMIT_TIMES


def _energy_point(curve: Curve, share: float, *, level: float, chosen: bool) -> EnergyPoint | CantTell:
    odds = math.log(share / (1 - share))
    intercept, slope = curve.fit.coefficients
    at = (odds - intercept) / slope
    over, offset = np.array([1.0, 0.0]), np.array([odds, 0.0])
    ends = ratio_interval(curve.fit, 1, over=over, offset=offset, level=level, limit_times=_times(chosen))
    low, high = (_checkable(curve, end) for end in ends)
    if low is None and high is None:
        return CantTell(FLAT)
    unbounded = None
    if low is None or high is None:
        unbounded = because("open_below") if low is None else because("open_above")
    method = "profile likelihood"
    return EnergyPoint(curve.energy(at), low, high, share, level, method, unbounded, curve, chosen)


def _checkable(curve: Curve, place: float | None) -> float | None:
    """An end as an energy; None where it is so far off that no yard could ever check it."""
    if place is None:
        return None
    end = curve.energy(place)
    near = min(curve.energies_j) / FURTHEST <= end <= max(curve.energies_j) * FURTHEST
    return end if near else None


@lru_cache(maxsize=64)  # a curve is asked at one energy after another; it is what it is, so it is told by identity
def _edge(curve: Curve, drop: float) -> Array:
    """Points around the set of all curves that the shots don't speak against, falling ones cut away."""
    likelihood = curve.fit.likelihood
    best = np.array(curve.fit.coefficients)
    turns = np.linspace(0, 2 * math.pi, 180, endpoint=False)
    ways = np.linalg.cholesky(curve.fit.covariance) @ np.vstack([np.cos(turns), np.sin(turns)])
    places, which = np.unique(likelihood.design[:, 1], return_inverse=True)
    counts, hits = (np.bincount(which, weights=one) for one in (likelihood.counts, likelihood.through))

    def short_of(reach: Array) -> Array:
        log_odds = best[0] + ways[0] * reach + places[:, None] * (best[1] + ways[1] * reach)
        tail = np.exp(-np.abs(log_odds))
        weight = counts[:, None] * tail / (1 + tail) ** 2
        value = hits @ log_odds - counts @ (np.maximum(log_odds, 0) + np.log1p(tail))
        first, second = places @ weight, (places**2) @ weight
        inside = np.maximum(weight.sum(axis=0) * second - first**2, 1e-300)
        fallen = 2 * (curve.fit.log_likelihood - value - 0.5 * np.log(inside))
        short: Array = np.sqrt(np.maximum(fallen, 0)) - math.sqrt(drop)
        return short

    rim: Array = (best[:, None] + ways * _roots(short_of, len(turns), math.sqrt(drop))).T
    if rim[:, 1].min() >= 0:
        return rim
    # Where the rim dips below a slope of 0, the two flat curves at its crossings bound what is left.
    onward = np.roll(rim, -1, axis=0)
    crossing = (rim[:, 1] < 0) != (onward[:, 1] < 0)
    here, there = rim[crossing], onward[crossing]
    part = here[:, 1] / (here[:, 1] - there[:, 1])
    flat = np.column_stack([here[:, 0] + part * (there[:, 0] - here[:, 0]), np.zeros(part.size)])
    return np.vstack([rim[rim[:, 1] >= 0], flat])


def _roots(short_of: Callable[[Array], Array], size: int, start: float) -> Array:
    """One root a direction, all at once: widen until all are past it, then close in by the rule of false position."""
    inner, outer = np.zeros(size), np.full(size, start)
    low = np.full(size, -start)
    high = short_of(outer)
    while (high < 0).any():
        behind = high < 0
        inner, low = np.where(behind, outer, inner), np.where(behind, high, low)
        outer = np.where(behind, 2 * outer, outer)
        high = short_of(outer)
    middle = outer
    for _ in range(60):
        middle = inner - low * (outer - inner) / (high - low)
        value = short_of(middle)
        if np.abs(value).max() < 1e-6:
            break
        below = value < 0
        # Halve the value at the end that stays (Illinois), or it would be crept up to from one side.
        low, high = np.where(below, value, 0.5 * low), np.where(below, 0.5 * high, value)
        inner, outer = np.where(below, middle, inner), np.where(below, outer, middle)
    return middle
