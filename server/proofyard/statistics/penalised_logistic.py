"""How the chance to get through rises with something: the logistic fit, by Firth's penalised likelihood.

Plain maximum likelihood has no answer when every shot above one energy got through and none below it, and with ten
shots that happens in half of all trials. The penalty (half the logarithm of the information's determinant) pulls the
fit off that cliff, and takes most of the small-sample bias with it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from proofyard.quantities.reason import CantTell, CantUse, as_level, because
from proofyard.statistics.logistic_likelihood import AlikeAsOne, Array, Likelihood, Peak


@dataclass(frozen=True, eq=False)
class LogisticFit:
    """Coefficients of the log-odds, with the shots that they were fitted to."""

    design: Array
    through: Array
    penalised: bool
    coefficients: tuple[float, ...]
    log_likelihood: float

    @cached_property
    def likelihood(self) -> Likelihood:
        return Likelihood.of_shots(self.design, self.through, penalised=self.penalised)

    @cached_property
    def covariance(self) -> Array:
        """Inverse of the expected information at the fit."""
        information: Array = self.likelihood.at(np.array(self.coefficients))[2]
        inverse: Array = np.linalg.inv(information).astype(np.float64)
        return inverse

    @property
    def standard_errors(self) -> tuple[float, ...]:
        return tuple(float(one) for one in np.sqrt(np.diagonal(self.covariance)))

    def chances(self, design: ArrayLike) -> Array:
        log_odds = np.asarray(design, dtype=float) @ np.array(self.coefficients)
        chances: Array = np.exp(-np.logaddexp(0, -log_odds))
        return chances


@dataclass(frozen=True)
class CoefficientInterval:
    """Where a coefficient may lie. An end is None where the likelihood never falls far enough."""

    value: float
    low: float | None
    high: float | None
    level: float
    method: str


def fit_logistic(
    design: Sequence[Sequence[float]] | Array, through: Sequence[int] | Array, *, penalised: bool = True, tolerance: float = 1e-15
) -> LogisticFit | CantTell:
    """The log-odds of getting through as a weighted sum of the columns, the weights that fit the shots best.

    l*(b) = sum (y eta - ln(1 + e^eta)) + ln det(X'WX)/2, eta = X b, W = p(1-p);  without the last term if not penalised

    Takes
        design     array, a row a shot, finite  a column of ones first if there is an intercept
        through    0 or 1 a shot                1 got through
        penalised  True or False                Firth's penalty, or plain maximum likelihood
        tolerance  scalar, above 0              ends where the next step would gain less than this of 1 + the log-likelihood
    Gives
        LogisticFit; CantTell when columns say the same thing, or when plain likelihood climbs without end
    Refuses
        CantUse  not as many rows as outcomes, values that are not finite, outcomes other than 0 and 1, no shots
    Holds while
        the shots are independent and the log-odds really is such a sum
    Weak when
        there are fewer than ten of the rarer outcome a column: the penalty then speaks louder than the shots
    Source
        Firth, Biometrika 1993 80:27; Heinze and Schemper, Statistics in Medicine 2002 21:2409.
        Checked in tests/published/test_logistic_fits.py
    >>> found = fit_logistic([[1, 20], [1, 30], [1, 40], [1, 50]], [0, 0, 1, 1])
    >>> round(-found.coefficients[0] / found.coefficients[1], 6)
    35.0
    """
    rows, outcomes = _as_design(design, through)
    if np.linalg.matrix_rank(rows / np.maximum(np.abs(rows).max(axis=0), 1e-300)) < rows.shape[1]:
        return CantTell(because("two_terms_say_the_same"))
    columns = rows.shape[1]
    # Columns at right angles and of one size: raw joules beside a column of ones cost half the digits.
    alike, hits, counts = AlikeAsOne.of(rows, outcomes)
    heavy = np.sqrt(counts)[:, None]
    square, triangle = np.linalg.qr(alike * heavy)
    size = math.sqrt(len(rows))
    likelihood = Likelihood(square / heavy * size, hits, penalised=penalised, counts=counts)
    peak = likelihood.highest(np.eye(columns), offset=np.zeros(columns), start=np.zeros(columns), tolerance=tolerance)
    if not peak.found or (not penalised and _climbs_without_end(likelihood, peak)):
        return CantTell(because("one_value_parts_them"))
    coefficients = np.linalg.solve(triangle, peak.coefficients) * size
    value = peak.value
    if penalised:
        value += float(np.log(np.abs(np.diagonal(triangle)) / size).sum())
    return LogisticFit(rows, outcomes, penalised, tuple(float(one) for one in coefficients), value)


def coefficient_interval(fit: LogisticFit, place: int, *, level: float = 0.95) -> CoefficientInterval:
    """The values of one coefficient that the shots don't speak against, the others free to follow.

    all v with 2 (max l* - max l* at b_place = v) <= chi2(1; level)

    Takes
        fit    LogisticFit             from fit_logistic
        place  whole number, from 0    which column of its design
        level  scalar, 0.5 up to 1     how often such an interval holds the true value
    Gives
        CoefficientInterval; an end is None where the likelihood doesn't fall far enough on that side
    Refuses
        CantUse  a column that isn't there, a level outside its range
    Holds while
        the fit's own conditions hold
    Weak when
        shots are few: the chi-square is then only nearly right
    Source
        Heinze and Schemper, Statistics in Medicine 2002 21:2409 (the penalty is that of the whole model).
        Checked in tests/published/test_logistic_fits.py
    >>> fit = fit_logistic([[1, x] for x in range(20, 70, 5)], [0] * 5 + [1] * 5)
    >>> found = coefficient_interval(fit, 1)
    >>> round(found.low, 4), round(found.high, 4)
    (0.0392, 1.1128)
    """
    columns = len(fit.coefficients)
    if not 0 <= place < columns:
        raise CantUse("place", place, f"from 0 to {columns - 1}")
    level = as_level(level)
    centre = fit.coefficients[place]
    free = np.delete(np.eye(columns), place, axis=1)

    def drop(value: float) -> float:
        offset = np.zeros(columns)
        offset[place] = value
        start = np.delete(np.array(fit.coefficients), place)
        return 2 * (fit.log_likelihood - fit.likelihood.highest(free, offset=offset, start=start).value)

    step = fit.standard_errors[place]
    low, high = (_far_end(drop, centre, step=sign * step, level=level) for sign in (-1, 1))
    return CoefficientInterval(centre, low, high, level, "profile likelihood")


def ratio_interval(
    fit: LogisticFit, under: int, *, over: Array, offset: Array, beside: Array | None = None, level: float = 0.95, limit_times: float = 1.0
) -> tuple[float | None, float | None]:
    """Where a ratio of coefficients may lie whose lower part is a slope that can't be below 0.

    all m with 2 (max l* - max l* over b = offset + beside g + t (e_under - m over), t >= 0) <= limit_times chi2(1; level)

    Takes
        fit     LogisticFit              its coefficient `under` is above 0
        under   whole number, from 0     the slope's place
        over    array, one a coefficient the direction that a larger ratio takes away from
        offset  array, one a coefficient where all such lines begin
        beside  array, a column a direction, or None  what is free whatever the ratio
        level   scalar, 0.5 up to 1
        limit_times  scalar, above 0     so many times further may twice the log-likelihood fall than the chi-square says
    Gives
        low and high, each None where the shots don't bound that side
    Refuses
        CantUse  level or limit_times outside its range
    Holds while
        the fit's own conditions hold, and the slope really can't be below 0
    Weak when
        shots are few: the chi-square is then only nearly right, which limit_times above 1 makes up for
    Source
        Heinze and Schemper, Statistics in Medicine 2002 21:2409, over a ratio.
        Checked in tests/published/test_fifty_percent_points.py
    >>> fit = fit_logistic([[1, x] for x in range(20, 70, 5)], [0] * 5 + [1] * 5)
    >>> low, high = ratio_interval(fit, 1, over=np.array([1.0, 0.0]), offset=np.zeros(2))
    >>> round(low, 2), round(high, 2)
    (29.59, 55.41)
    """
    if not (math.isfinite(limit_times) and limit_times > 0):
        raise CantUse("limit_times", limit_times, "above 0 and finite")
    others = np.zeros((len(fit.coefficients), 0)) if beside is None else beside
    asked = math.sqrt(limit_times * chi_square(level))
    slope = np.eye(len(fit.coefficients))[under]
    away = np.array(fit.coefficients) - offset
    at = -float(np.linalg.lstsq(np.column_stack([over, others]), away * (1 - slope), rcond=None)[0][0]) / away[under]

    # All curves of one ratio are a ray, so the interval is a cone and its ends are angles: tan(angle) is the ratio, a
    # right angle is infinity. Either the fall crosses its limit at one angle before that, or this side has no end.
    def short_of(angle: float) -> tuple[float, float]:
        """How far the root of the fall is from its limit, and how fast that grows with the angle."""
        free = np.column_stack([math.cos(angle) * slope - math.sin(angle) * over, others])
        start = np.linalg.lstsq(free, away, rcond=None)[0]
        peak = fit.likelihood.highest(free, offset=offset, start=start)
        turned = -math.sin(angle) * slope - math.cos(angle) * over
        # Behind the start of the ray curves fall: the best of those that don't is flat.
        if float(peak.place[0]) < 0:
            peak, turned = fit.likelihood.highest(others, offset=offset, start=start[1:]), 0 * turned
        else:
            turned = float(peak.place[0]) * turned
        root = math.sqrt(max(2 * (fit.log_likelihood - peak.value), 0.0))
        # At the top of its ray a curve gains nothing by going along it: what it loses, it loses by the turn alone.
        return root - asked, -float(peak.score @ turned) / root if root > 0 else 0.0

    def end(last: float) -> float | None:
        beyond = short_of(last)[0]
        return None if beyond <= 0 else math.tan(_crossing(short_of, (math.atan(at), -asked), (last, beyond)))

    return end(-math.pi / 2), end(math.pi / 2)


def _crossing(short_of: Callable[[float], tuple[float, float]], inside: tuple[float, float], outside: tuple[float, float]) -> float:
    """Where a function that is below 0 inside and above it outside crosses 0: by its slope, and where that leads out of
    what is known, by halving."""
    (low, below), (high, above) = inside, outside
    angle = low - below * (high - low) / (above - below)
    for _ in range(100):
        value, slope = short_of(angle)
        if abs(value) < 1e-11 or abs(high - low) < 1e-13:
            break
        low, high = (angle, high) if value < 0 else (low, angle)
        tried = angle - value / slope if slope else math.nan
        angle = tried if min(low, high) < tried < max(low, high) else (low + high) / 2
    return angle


def chi_square(level: float) -> float:
    """How far twice the log-likelihood may fall.

    q = z^2, z the normal quantile at (1 + level)/2

    Takes
        level  scalar, 0.5 up to 1
    Gives
        scalar, above 0: the chi-square quantile with one degree of freedom
    Refuses
        CantUse  level outside its range
    Holds while
        one number is asked about at a time
    Weak when
        shots are few: the true quantile is then somewhat larger or smaller
    Source
        Wilks, Annals of Mathematical Statistics 1938 9:60. Checked in tests/published/test_logistic_fits.py
    >>> round(chi_square(0.95), 6)
    3.841459
    """
    from scipy.special import ndtri

    return float(ndtri((1 + as_level(level)) / 2)) ** 2


def _far_end(drop: Callable[[float], float], centre: float, *, step: float, level: float) -> float | None:
    from scipy.optimize import brentq

    asked = math.sqrt(chi_square(level))

    # The root of the drop runs nearly straight, so the root-finder needs half the steps.
    def short_of(value: float) -> float:
        return math.sqrt(max(drop(value), 0.0)) - asked

    inner, reach = centre, 2 * step
    for _ in range(30):
        if short_of(centre + reach) > 0:
            return float(brentq(short_of, inner, centre + reach, xtol=1e-10 + 1e-9 * abs(step)))
        inner, reach = centre + reach, 2 * reach
    return None


def _climbs_without_end(likelihood: Likelihood, peak: Peak) -> bool:
    """Separated shots whose chances have become 0 and 1 to the last digit: nothing is left to climb by, yet a shot's
    log-odds could as well be anything. A shot far out on a sound curve knows its log-odds well enough."""
    rows = likelihood.design
    try:
        spread = np.linalg.solve(likelihood.at(peak.coefficients)[2], rows.T)
    except np.linalg.LinAlgError:
        return True
    return float(np.einsum("ij,ji->i", rows, spread).max()) > 1e6


def _as_design(design: object, through: object) -> tuple[Array, Array]:
    rows = np.array(design, dtype=float, ndmin=2)
    outcomes = np.array(through, dtype=float)
    if outcomes.ndim != 1 or outcomes.size == 0:
        raise CantUse("through", through, "a 0 or 1 for each of at least one shot")
    if rows.shape[0] != outcomes.size:
        raise CantUse("design", rows.shape[0], f"a row for each of the {outcomes.size} shots")
    if not np.isfinite(rows).all():
        raise CantUse("design", "a value that is not finite", "finite numbers")
    if not np.isin(outcomes, (0.0, 1.0)).all():
        raise CantUse("through", through, "only 0 and 1")
    return rows, outcomes
