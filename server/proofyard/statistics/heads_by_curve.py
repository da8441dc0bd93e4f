"""Two heads compared through the curve: how much more energy one needs than another, whatever energies each was shot at."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proofyard.quantities.reason import CantTell, CantUse, Reason, as_level, as_width, because
from proofyard.statistics.fifty_percent_point import FALLING, FURTHEST, _measured
from proofyard.statistics.logistic_likelihood import Array
from proofyard.statistics.penalised_logistic import LogisticFit, coefficient_interval, fit_logistic, ratio_interval

# Below this the slopes are called different: a check of the model, not a finding, so it is not made to pay for others.
SLOPES_DIFFER_BELOW = 0.05
SHOTS_A_TERM = 10


@dataclass(frozen=True)
class EnergyRatio:
    """So many times the first head's energy does the second need to get through half the time.

    An end is None where the shots don't bound that side; the ratio where it lies further out than any yard could check."""

    ratio: float | None
    low: float | None
    high: float | None
    level: float


@dataclass(frozen=True, eq=False)
class TwoHeads:
    """Two heads by one common slope, and whether the shots speak against its being common.

    log_ratio  ln of the second head's 50 % energy over the first's: huge where the curve hardly rises
    fall       by how much twice the penalised log-likelihood falls where the ratio is held at 1
    """

    log_ratio: float
    fall: float
    slope: float
    slopes_differ_p: float
    shots: tuple[int, int]
    hits: tuple[int, int]
    without_energy: int
    fit: LogisticFit
    scale: float

    @property
    def ratio(self) -> float | None:
        """How many times the energy; None where a slope of next to nothing would make it astronomical."""
        return _factor(self.log_ratio, 1.0)

    @property
    def numbers(self) -> tuple[object, ...]:
        """What was found, without the shots: see `of_numbers`."""
        counts = self.shots, self.hits, self.without_energy
        return self.log_ratio, self.fall, self.slope, self.slopes_differ_p, *counts, self.fit.coefficients, self.fit.log_likelihood

    @classmethod
    def of_numbers(cls, energies_j: Sequence[float], through: Sequence[int], second: Sequence[bool], numbers: tuple[Any, ...]) -> TwoHeads:
        """The two heads of these shots, all with an energy, whose `numbers` are known: nothing is fitted again."""
        log_ratio, fall, slope, slopes_differ_p, shots, hits, without, coefficients, log_likelihood = numbers
        place = _standard(np.log(np.array(energies_j)))
        assert place is not None  # a fit was found to them
        logs, scale = place
        design = np.column_stack([_member(np.array(second, dtype=bool)), logs])
        fit = LogisticFit(design, np.array(through, dtype=float), True, coefficients, log_likelihood)
        return cls(log_ratio, fall, slope, slopes_differ_p, shots, hits, without, fit, scale)

    def p_value(self, *, limit_times: float) -> float:
        """How often chance alone parts two equal heads so far, by the same limit as the interval."""
        return _chi_square_above(self.fall / limit_times)

    @property
    def leaning(self) -> Reason:
        """What the comparison leans on, and how firm that is."""
        return because("heads_slopes_differ") if self.slopes_differ_p < SLOPES_DIFFER_BELOW else because("heads_slopes_taken_alike")


@dataclass(frozen=True)
class TermEffect:
    """What one more of a term does: to the log-odds, and by what factor the energy for half changes with it."""

    name: str
    effect: float
    low: float | None
    high: float | None
    energy_factor: float
    energy_low: float | None
    energy_high: float | None
    level: float


@dataclass(frozen=True, eq=False)
class CurveWithTerms:
    """The curve with angle, nearness to an earlier hit or where it went in beside the energy."""

    terms: tuple[TermEffect, ...]
    shots: int
    rarer: int
    left_out: int
    slope: float
    fit: LogisticFit


def two_heads_by_curve(energies_j: Sequence[float | None], through: Sequence[int], *, second: Sequence[bool]) -> TwoHeads | CantTell:
    """How many times the energy of one head another one needs to get through half the time: the two alone, by one slope.

    ln(p/(1-p)) = a_head + b ln E, b >= 0;  ratio = exp((a_first - a_second)/b);  fall = 2 (max l* - max l* at a_first = a_second);
    common slope checked by 2 (max l* - max l* with both slopes one), chi-square with 1 degree of freedom

    Takes
        energies_j  array, J, above 0, or None  at the panel; None where it was not measured
        through     0 or 1 a shot
        second      True or False a shot        True for the head asked about, False for the one it is measured against
    Gives
        TwoHeads; CantTell where one head has no energies, all or none got through, or nothing rises with energy
    Refuses
        CantUse  not as many energies, outcomes and heads; what fit_curve refuses
    Holds while
        both curves are alike but for a shift in ln(energy): one slope. leaning says what the check gave
    Weak when
        a head has under ten of the rarer outcome: its shift is then partly the penalty's, and the check sees little
    Source
        Parallel curves as in Finney, Probit Analysis, 3rd ed. 1971, chapter 6 (from memory); Firth, Biometrika 1993.
        Checked in tests/published/test_logistic_fits.py
    >>> energies = [30, 35, 40, 45, 50, 55, 60, 65] * 2
    >>> through = [0, 0, 1, 1, 1, 1, 1, 1] + [0, 0, 0, 0, 0, 1, 1, 1]
    >>> found = two_heads_by_curve(energies, through, second=[False] * 8 + [True] * 8)
    >>> round(found.ratio, 4), round(found.slope, 3), round(found.fall, 4)
    (1.3908, 13.598, 4.5962)
    """
    if len(second) != len(through):
        raise CantUse("second", len(second), f"one for each of the {len(through)} shots")
    energies, outcomes, without = _measured(energies_j, through)
    is_second = np.array([bool(one) for one, energy in zip(second, energies_j, strict=True) if energy is not None], dtype=bool)
    refused = _nothing_to_compare(outcomes, without, is_second=is_second)
    if refused is not None:
        return refused
    place = _standard(np.log(np.array(energies)))
    if place is None:
        return CantTell(because("heads_at_one_energy"))
    logs, scale = place
    member = _member(is_second)
    fit = fit_logistic(np.column_stack([member, logs]), np.array(outcomes))
    if isinstance(fit, CantTell):
        return CantTell(because("each_head_at_its_own_energy"))
    if fit.coefficients[2] <= 1e-9:
        return CantTell(FALLING)
    shots, hits = member.sum(axis=0), np.array(outcomes) @ member
    return TwoHeads(
        log_ratio=scale * (fit.coefficients[0] - fit.coefficients[1]) / fit.coefficients[2],
        fall=2 * (fit.log_likelihood - _highest_as_one(fit)),
        slope=fit.coefficients[2] / scale,
        slopes_differ_p=_slopes_differ(member, logs, outcomes),
        shots=(int(shots[0]), int(shots[1])),
        hits=(int(hits[0]), int(hits[1])),
        without_energy=without,
        fit=fit,
        scale=scale,
    )


def ratio_of_energies(found: TwoHeads, *, level: float = 0.95, limit_times: float, own_relative: float = 0.0) -> EnergyRatio:
    """The ratios of 50 % energies that the shots of two heads don't speak against.

    all r with 2 (max l* - max l* at r, b >= 0) <= limit_times chi2(1; level);
    each end widened: ln r -+ sqrt(gap^2 + z^2 own_relative^2)

    Takes
        found         TwoHeads                from two_heads_by_curve
        level         scalar, 0.5 up to 1     how often such an interval holds the true ratio
        limit_times   scalar, above 0         1.1 for energies set beforehand, 2 for energies chosen by the outcomes
        own_relative  scalar, 0 or more       standard uncertainty of the ratio of the two heads' mean energies; what both
                                              share (one chronograph) cancels and is left out
    Gives
        EnergyRatio; a head all or none of whose shots got through is bounded on one side
    Refuses
        CantUse  a level, limit_times or uncertainty outside its range
    Holds while
        the conditions of two_heads_by_curve hold
    Weak when
        few arrows shoot for a head: it is then an interval for these arrows, not for their type
    Source
        Heinze and Schemper, Statistics in Medicine 2002 21:2409, over a ratio; limit_times by enumeration of every outcome of 24 designs,
        tests/bench/pair_error_rates.py. Checked in tests/published/test_logistic_fits.py
    >>> energies = [30, 35, 40, 45, 50, 55, 60, 65] * 2
    >>> through = [0, 0, 1, 1, 1, 1, 1, 1] + [0, 0, 0, 0, 0, 1, 1, 1]
    >>> pair = two_heads_by_curve(energies, through, second=[False] * 8 + [True] * 8)
    >>> one = ratio_of_energies(pair, limit_times=1.1)
    >>> round(one.low, 4), round(one.high, 4)
    (1.0175, 2.0535)
    """
    own, level = as_width("own_relative", own_relative), as_level(level)
    axes = np.eye(3)
    ends = ratio_interval(
        found.fit, 2, over=axes[1], offset=np.zeros(3), beside=(axes[0] + axes[1])[:, None], level=level, limit_times=limit_times
    )
    from scipy.special import ndtri

    wider = float(ndtri((1 + level) / 2)) * own
    middle = found.log_ratio
    # Only the ends that the shots set. A head that always got through might need next to no energy: what holds its curve
    # there is the penalty alone, and a bound that nothing was shot for is none.
    always = found.hits[1] == found.shots[1] or found.hits[0] == 0
    never = found.hits[1] == 0 or found.hits[0] == found.shots[0]
    low, high = (_widened_end(end, middle, by=wider, scale=found.scale) for end in ends)
    return EnergyRatio(found.ratio, None if always else low, None if never else high, level)


def smallest_p_by_curve(energies_j: Sequence[float], *, second: Sequence[bool], limit_times: float) -> float:
    """What these numbers and energies could show at most: all through of one head, none of the other.

    p = P(chi2(1) > fall / limit_times), fall as in two_heads_by_curve, the smaller of the two ways round

    Takes
        energies_j   array, J, above 0
        second       True or False a shot
        limit_times  scalar, above 0
    Gives
        scalar, 0 to 1
    Refuses
        CantUse  not as many heads as energies, energies not above 0, one head alone
    Holds while
        the comparison is that of two_heads_by_curve
    Weak when
        taken for power: it says what could be shown, not how likely that is
    Source
        as two_heads_by_curve. Checked in tests/statistics/test_statistics_heads_by_curve.py
    >>> energies = [40, 50, 60, 70] * 2
    >>> smallest_p_by_curve(energies, second=[False] * 4 + [True] * 4, limit_times=1.1) < 0.05
    True
    """
    energies, _, _ = _measured(energies_j, [0] * len(energies_j))
    is_second = np.array([bool(one) for one in second], dtype=bool)
    if is_second.size != len(energies) or is_second.all() or not is_second.any():
        raise CantUse("second", is_second.size, f"one for each of the {len(energies)} shots, some True and some False")
    place = _standard(np.log(np.array(energies)))
    if place is None:
        return 1.0
    design = np.column_stack([_member(is_second), place[0]])
    falls = [_most_apart(design, outcomes) for outcomes in (is_second.astype(float), (~is_second).astype(float))]
    return min(_chi_square_above(fall / limit_times) for fall in falls)


def slope_for_all(energies_j: Sequence[float | None], through: Sequence[int], *, groups: Sequence[str]) -> float | None:
    """How fast the log-odds rise with ln(energy) on one armour, whichever head was shot: one slope for all.

    ln(p/(1-p)) = a_group + b ln E, penalised;  slope = b

    Takes
        energies_j  array, J, above 0, or None
        through     0 or 1 a shot
        groups      a name a shot            head form
    Gives
        scalar, above 0; None where the shots give no such slope
    Refuses
        CantUse  not as many energies, outcomes and names; what fit_curve refuses
    Holds while
        all groups' curves are alike but for a shift in ln(energy)
    Weak when
        shots are few: the slope is then known to a factor of two at best
    Source
        as two_heads_by_curve. Checked in tests/statistics/test_statistics_heads_by_curve.py
    >>> round(slope_for_all([30, 35, 40, 45, 50, 55, 60, 65], [0, 0, 1, 0, 1, 1, 1, 1], groups=["a"] * 8), 1)
    6.0
    """
    if len(groups) != len(through):
        raise CantUse("groups", len(groups), f"one for each of the {len(through)} shots")
    energies, outcomes, _ = _measured(energies_j, through)
    kept = [name for name, energy in zip(groups, energies_j, strict=True) if energy is not None]
    place = _standard(np.log(np.array(energies))) if energies else None
    if place is None or sum(outcomes) in (0, len(outcomes)):
        return None
    names = list(dict.fromkeys(kept))
    member = np.array([[float(one == name) for name in names] for one in kept])
    fit = fit_logistic(np.column_stack([member, place[0]]), np.array(outcomes))
    if isinstance(fit, CantTell) or fit.coefficients[-1] <= 1e-9:
        return None
    return fit.coefficients[-1] / place[1]


def fit_with_terms(
    energies_j: Sequence[float | None], through: Sequence[int], *, terms: Mapping[str, Sequence[float | None]], level: float = 0.95
) -> CurveWithTerms | CantTell:
    """What angle, nearness to an earlier hit or where it went in do beside the energy.

    ln(p/(1-p)) = b0 + b ln E + sum c_k z_k;  energy factor of one more of z_k = exp(-c_k/b)

    Takes
        energies_j  array, J, above 0, or None  at the panel
        through     0 or 1 a shot
        terms       name -> array, a value a shot or None  a where it went in is 0 or 1: one term for each but the commonest
        level       scalar, 0.5 up to 1         of each interval
    Gives
        CurveWithTerms; a shot that lacks its energy or a term is left out and counted. CantTell when there is more
        than one term for every ten of the rarer outcome, or a term is the same at every shot
    Refuses
        CantUse  no term, values not as many as shots, what fit_curve refuses
    Holds while
        each term adds to the log-odds in a straight line and the same at every energy
    Weak when
        terms go together in these shots (steep shots were late shots): each is then uncertain, and together they tell
    Source
        One term for ten of the rarer outcome: Peduzzi and others, Journal of Clinical Epidemiology 1996 49:1373.
        Checked in tests/published/test_logistic_fits.py
    >>> fit_with_terms([30, 40, 50, 60], [0, 1, 0, 1], terms={"angle": [0, 5, 9, 2]}).reason.parts
    {'needed': 10, 'rarer': 2, 'terms': 1}
    """
    if not terms:
        raise CantUse("terms", terms, "at least one")
    energies, outcomes, values = _complete(energies_j, through, terms=terms)
    level = as_level(level)
    rarer = min(sum(outcomes), len(outcomes) - sum(outcomes))
    if rarer < SHOTS_A_TERM * len(terms):
        return CantTell(because("too_few_for_terms", needed=SHOTS_A_TERM * len(terms), terms=len(terms), rarer=rarer))
    place = _standard(np.log(np.array(energies)))
    if place is None:
        return CantTell(because("terms_at_one_energy"))
    logs, scale = place
    standard = {name: _standard(np.array(values[name])) for name in terms}
    columns = [one[0] for one in standard.values() if one is not None]
    if len(columns) < len(terms):
        same = next(name for name, one in standard.items() if one is None)
        return CantTell(because("term_never_changed", term=same))
    fit = fit_logistic(np.column_stack([np.ones(logs.size), logs, *columns]), np.array(outcomes))
    if isinstance(fit, CantTell):
        return fit
    if fit.coefficients[1] <= 1e-9:
        return CantTell(FALLING)
    spreads = [one[1] for one in standard.values() if one is not None]
    effects = tuple(_effect(fit, name, 2 + which, spread=spreads[which], scale=scale, level=level) for which, name in enumerate(terms))
    left_out = len(through) - len(outcomes)
    return CurveWithTerms(effects, len(outcomes), rarer, left_out, fit.coefficients[1] / scale, fit)


def _nothing_to_compare(outcomes: list[int], without: int, *, is_second: NDArray[np.bool_]) -> CantTell | None:
    shots, hits = len(outcomes), sum(outcomes)
    if shots == 0:
        return CantTell(because("no_measured_energy", shots=without) if without else because("no_shots"))
    if is_second.all() or not is_second.any():
        return CantTell(because("one_has_no_shots"))
    if hits in (0, shots):
        return CantTell(because("every_head_alike_throughout", shots=shots, through=bool(hits)))
    return None


def _member(is_second: NDArray[np.bool_]) -> Array:
    return np.column_stack([~is_second, is_second]).astype(float)


def _standard(values: Array) -> tuple[Array, float] | None:
    """Centred and scaled, with the scale; None when all are one value."""
    scale = float(values.std())
    if scale <= 1e-9 * max(1.0, float(np.abs(values).max())):
        return None
    return (values - values.mean()) / scale, scale


def _highest_as_one(fit: LogisticFit) -> float:
    """The top of the likelihood where both heads are one, the slope not below 0."""
    both = np.array([1.0, 1.0, 0.0])[:, None]
    free = np.column_stack([both, np.eye(3)[2]])
    start = np.array([(fit.coefficients[0] + fit.coefficients[1]) / 2, max(fit.coefficients[2], 0.0)])
    peak = fit.likelihood.highest(free, offset=np.zeros(3), start=start)
    if float(peak.place[1]) < 0:
        peak = fit.likelihood.highest(both, offset=np.zeros(3), start=start[:1])
    return peak.value


def _most_apart(design: Array, outcomes: Array) -> float:
    """The fall from two heads to one where all of one got through and none of the other."""
    # From 200 shots on, the last digits of a fit to shots so apart are rounding alone: asked for, it tried for a second and gave up.
    fit = fit_logistic(design, outcomes, tolerance=1e-11)
    if isinstance(fit, CantTell):
        return 0.0
    value = fit.log_likelihood
    if fit.coefficients[2] < 0:
        value = fit.likelihood.highest(np.eye(3)[:, :2], offset=np.zeros(3), start=np.array(fit.coefficients)[:2]).value
    return max(0.0, 2 * (value - _highest_as_one(fit)))


def _chi_square_above(fall: float) -> float:
    return math.erfc(math.sqrt(max(fall, 0.0) / 2))


def _widened_end(end: float | None, middle: float, *, by: float, scale: float) -> float | None:
    """An end of the standardised gap as a factor of energy, further from the middle by what is not known of the energies."""
    if end is None:
        return None
    gap = scale * end - middle
    return _factor((middle + math.copysign(math.hypot(gap, by), gap)) / scale, scale)


def _factor(end: float | None, scale: float) -> float | None:
    """A factor further out than any yard could check is no bound."""
    return None if end is None or abs(scale * end) > math.log(FURTHEST) else math.exp(scale * end)


def _slopes_differ(member: Array, logs: Array, outcomes: list[int]) -> float:
    """How often one common slope would let the heads' own slopes come out this far apart."""
    from scipy.special import gammaincc

    own = member[:, 1:] * logs[:, None]
    full = fit_logistic(np.column_stack([member, logs, own]), np.array(outcomes))
    if isinstance(full, CantTell):
        return 1.0
    size, extra = len(full.coefficients), own.shape[1]
    free = np.eye(size)[:, : size - extra]
    start = np.array(full.coefficients)[: size - extra]
    common = full.likelihood.highest(free, offset=np.zeros(size), start=start)
    return float(gammaincc(extra / 2, max(full.log_likelihood - common.value, 0.0)))


def _complete(
    energies_j: Sequence[float | None], through: Sequence[int], *, terms: Mapping[str, Sequence[float | None]]
) -> tuple[list[float], list[int], dict[str, list[float]]]:
    """The shots that have their energy and every term."""
    _measured(energies_j, through)
    for name, given in terms.items():
        if len(given) != len(through):
            raise CantUse(name, len(given), f"one for each of the {len(through)} shots")
        for value in given:
            if value is not None and not math.isfinite(value):
                raise CantUse(name, value, "finite, or None where it is not known")
    whole = [at for at in range(len(through)) if energies_j[at] is not None and all(terms[k][at] is not None for k in terms)]
    energies = [float(energies_j[at] or 0) for at in whole]
    return energies, [int(through[at]) for at in whole], {k: [float(terms[k][at] or 0) for at in whole] for k in terms}


def _effect(fit: LogisticFit, name: str, place: int, *, spread: float, scale: float, level: float) -> TermEffect:
    size = len(fit.coefficients)
    axes = np.eye(size)
    own = coefficient_interval(fit, place, level=level)
    beside = np.column_stack([axes[one] for one in range(size) if one not in (1, place)])
    ends = ratio_interval(fit, 1, over=axes[place], offset=np.zeros(size), beside=beside, level=level)
    factor = math.exp(-fit.coefficients[place] / fit.coefficients[1] * scale / spread)
    low, high = (None if end is None else end / spread for end in (own.low, own.high))
    energy_low, energy_high = (_factor(end, scale / spread) for end in ends)
    return TermEffect(name, own.value / spread, low, high, factor, energy_low, energy_high, level)
