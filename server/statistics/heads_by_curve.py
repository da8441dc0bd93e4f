"""Heads compared through the curve: how much more energy one needs than another, whatever energies each was shot at."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from server.statistics.fifty_percent_point import FALLING, FLAT, FURTHEST, _measured
from server.statistics.penalised_logistic import (
    Array,
    LogisticFit,
    coefficient_interval,
    fit_logistic,
    ratio_interval,
)
from server.statistics.refusals import CantTell, CantUse, as_level

# Below this the slopes are called different: a check of the model, not a finding, so it is not made to pay for others.
SLOPES_DIFFER_BELOW = 0.05
SHOTS_A_TERM = 10


@dataclass(frozen=True)
class EnergyRatio:
    """So many times the other head's energy does this head need to get through half the time.

    An end is None where the shots don't bound that side."""

    head: str
    than: str
    ratio: float
    low: float | None
    high: float | None
    level: float


@dataclass(frozen=True, eq=False)
class HeadsByCurve:
    """All heads against the first, by one common slope, and whether the shots speak against its being common."""

    ratios: tuple[EnergyRatio, ...]
    heads: tuple[str, ...]
    shots: tuple[int, ...]
    hits: tuple[int, ...]
    without_energy: int
    slope: float
    slopes_differ_p: float
    fit: LogisticFit

    @property
    def words(self) -> str:
        """What the comparison leans on, and how firm that is."""
        leaning = "This takes it that more energy helps every head alike."
        if self.slopes_differ_p < SLOPES_DIFFER_BELOW:
            return leaning + " Your shots speak against that: compare the heads at one energy instead."
        return leaning + " Your shots don't speak against that, though so few could hardly do so."


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
    """The curve with angle, nearness to an earlier hit or way in beside the energy."""

    terms: tuple[TermEffect, ...]
    shots: int
    rarer: int
    left_out: int
    slope: float
    fit: LogisticFit


def compare_heads_by_curve(
    energies_j: Sequence[float | None], through: Sequence[int], *, heads: Sequence[str], level: float = 0.95
) -> HeadsByCurve | CantTell:
    """How many times the first head's energy each other head needs to get through half the time.

    ln(p/(1-p)) = a_head + b ln E;  ratio = exp((a_first - a_head)/b), its interval by profile with b >= 0;
    common slope checked by 2 (max l* - max l* with all slopes one), chi-square with heads - 1 degrees of freedom

    Takes
        energies_j  array, J, above 0, or None  at the panel; None where it was not measured
        through     0 or 1 a shot
        heads       a name a shot               the first name met is the one the others are measured against
        level       scalar, 0.5 up to 1         of each ratio's interval
    Gives
        HeadsByCurve; a head all or none of whose shots got through is bounded on one side. CantTell with one head,
        no energies, all or none through, or no rise with energy
    Refuses
        CantUse  not as many energies, outcomes and heads; what fit_curve refuses
    Holds while
        the curves of all heads are alike but for a shift in ln(energy): one slope. words says what the check gave
    Weak when
        a head has under ten of the rarer outcome: its shift is then partly the penalty's, and the check sees little
    Source
        Parallel curves as in Finney, Probit Analysis, 3rd ed. 1971, chapter 6 (from memory); Firth, Biometrika 1993.
        Checked in tests/published/test_logistic_fits.py
    >>> energies = [30, 35, 40, 45, 50, 55, 60, 65] * 2
    >>> through = [0, 0, 1, 1, 1, 1, 1, 1] + [0, 0, 0, 0, 0, 1, 1, 1]
    >>> found = compare_heads_by_curve(energies, through, heads=["needle"] * 8 + ["leaf"] * 8)
    >>> one = found.ratios[0]
    >>> one.head, round(one.ratio, 2), round(one.low, 2), round(one.high, 2)
    ('leaf', 1.39, 1.04, 1.98)
    """
    if len(heads) != len(through):
        raise CantUse("heads", len(heads), f"one for each of the {len(through)} shots")
    energies, outcomes, without = _measured(energies_j, through)
    kept = [head for head, energy in zip(heads, energies_j, strict=True) if energy is not None]
    names = tuple(dict.fromkeys(kept))
    level = as_level(level)
    refused = _nothing_to_compare(outcomes, without, names=names)
    if refused is not None:
        return refused
    member = np.array([[float(head == name) for name in names] for head in kept])
    place = _standard(np.log(np.array(energies)))
    if place is None:
        return CantTell("all shots had one energy: compare the shares instead")
    logs, scale = place
    fit = fit_logistic(np.column_stack([member, logs]), np.array(outcomes))
    if isinstance(fit, CantTell):
        return CantTell("every head was shot at one energy of its own, so nothing tells the head from the energy")
    if fit.coefficients[-1] <= 1e-9:
        return CantTell(FALLING)
    shots = tuple(int(one) for one in member.sum(axis=0))
    hits = tuple(int(one) for one in np.array(outcomes) @ member)
    ratios = tuple(
        _told(_ratio(fit, names, which, scale=scale, level=level), shots, hits, which=which)
        for which in range(1, len(names))
    )
    if all(one.low is None and one.high is None for one in ratios):
        return CantTell(FLAT)
    differ = _slopes_differ(member, logs, outcomes)
    return HeadsByCurve(ratios, names, shots, hits, without, fit.coefficients[-1] / scale, differ, fit)


def fit_with_terms(
    energies_j: Sequence[float | None],
    through: Sequence[int],
    *,
    terms: Mapping[str, Sequence[float | None]],
    level: float = 0.95,
) -> CurveWithTerms | CantTell:
    """What angle, nearness to an earlier hit or way in do beside the energy.

    ln(p/(1-p)) = b0 + b ln E + sum c_k z_k;  energy factor of one more of z_k = exp(-c_k/b)

    Takes
        energies_j  array, J, above 0, or None  at the panel
        through     0 or 1 a shot
        terms       name -> array, a value a shot or None  a way in is 0 or 1: one term for each but the commonest
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
    >>> fit_with_terms([30, 40, 50, 60], [0, 1, 0, 1], terms={"angle": [0, 5, 9, 2]}).reason
    'it takes 10 shots of the rarer outcome to ask about 1 more thing beside the energy: there are 2'
    """
    if not terms:
        raise CantUse("terms", terms, "at least one")
    energies, outcomes, values = _complete(energies_j, through, terms=terms)
    level = as_level(level)
    rarer = min(sum(outcomes), len(outcomes) - sum(outcomes))
    if rarer < SHOTS_A_TERM * len(terms):
        return CantTell(
            f"it takes {SHOTS_A_TERM * len(terms)} shots of the rarer outcome to ask about {len(terms)} more "
            f"{'thing' if len(terms) == 1 else 'things'} beside the energy: there are {rarer}"
        )
    place = _standard(np.log(np.array(energies)))
    if place is None:
        return CantTell("all shots had one energy: leave the energy out and compare the shares")
    logs, scale = place
    standard = {name: _standard(np.array(values[name])) for name in terms}
    columns = [one[0] for one in standard.values() if one is not None]
    if len(columns) < len(terms):
        same = next(name for name, one in standard.items() if one is None)
        return CantTell(f"{same} was the same at every shot, so its part can't be told")
    fit = fit_logistic(np.column_stack([np.ones(logs.size), logs, *columns]), np.array(outcomes))
    if isinstance(fit, CantTell):
        return fit
    if fit.coefficients[1] <= 1e-9:
        return CantTell(FALLING)
    spreads = [one[1] for one in standard.values() if one is not None]
    effects = tuple(
        _effect(fit, name, 2 + which, spread=spreads[which], scale=scale, level=level)
        for which, name in enumerate(terms)
    )
    left_out = len(through) - len(outcomes)
    return CurveWithTerms(effects, len(outcomes), rarer, left_out, fit.coefficients[1] / scale, fit)


def _nothing_to_compare(outcomes: list[int], without: int, *, names: tuple[str, ...]) -> CantTell | None:
    shots, hits = len(outcomes), sum(outcomes)
    if shots == 0:
        return CantTell(f"none of the {without} shots has a measured energy" if without else "no shots")
    if len(names) == 1:
        return CantTell(f"only {names[0]} was shot, so there is nothing to compare it with")
    if hits in (0, shots):
        return CantTell(f"{'all' if hits else 'none'} of {shots} shots got through, with every head")
    return None


def _standard(values: Array) -> tuple[Array, float] | None:
    """Centred and scaled, with the scale; None when all are one value."""
    scale = float(values.std())
    if scale <= 1e-9 * max(1.0, float(np.abs(values).max())):
        return None
    return (values - values.mean()) / scale, scale


def _ratio(fit: LogisticFit, names: tuple[str, ...], which: int, *, scale: float, level: float) -> EnergyRatio:
    size = len(fit.coefficients)
    axes = np.eye(size)
    # What is free besides: the level of this head and the first together, and every other head's own.
    beside = [axes[0] + axes[which]] + [axes[one] for one in range(1, size - 1) if one != which]
    ends = ratio_interval(
        fit, size - 1, over=axes[which], offset=np.zeros(size), beside=np.column_stack(beside), level=level
    )
    gap = (fit.coefficients[0] - fit.coefficients[which]) / fit.coefficients[-1]
    low, high = (_factor(end, scale) for end in ends)
    return EnergyRatio(names[which], names[0], math.exp(scale * gap), low, high, level)


def _told(ratio: EnergyRatio, shots: tuple[int, ...], hits: tuple[int, ...], *, which: int) -> EnergyRatio:
    """Only the ends that the shots set. A head that always got through might need next to no energy: what holds its
    curve there is the penalty alone, and a bound that nothing was shot for is none."""
    always = hits[which] == shots[which] or hits[0] == 0
    never = hits[which] == 0 or hits[0] == shots[0]
    return replace(ratio, low=None if always else ratio.low, high=None if never else ratio.high)


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
    whole = [
        at for at in range(len(through)) if energies_j[at] is not None and all(terms[k][at] is not None for k in terms)
    ]
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
