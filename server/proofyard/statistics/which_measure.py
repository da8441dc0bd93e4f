"""Which measure of the heads goes with getting through: tip, edge, frontal area, section, mass, hardness, momentum.

Heads are the units: a hundred shots with four heads are four heads. So the measures are permuted over heads, and the largest of
all measures that were asked is what luck has to beat.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from proofyard.quantities.reason import CantTell, CantUse, Reason, because
from proofyard.statistics.penalised_logistic import fit_logistic

Floats = NDArray[np.float64]
Known = Sequence[float | None]
FEWEST_TO_CORRELATE = 3
ALL_ORDERS_UP_TO = 7  # heads: 5,040 orders
RANDOM_ORDERS = 1999
SEED = 20260711
ONE_LINE = 0.9  # |rank correlation| from which two measures say the same of these heads
AT_ONCE = 256


@dataclass(frozen=True)
class MeasureFound:
    """One measure. strength: C (0.5 to 1) or |r| (0 to 1); None where these heads give none.

    rises      more of it goes with getting through more easily
    p          how often luck alone gives so much to the best of all measures asked; None where it is refused
    one_line   measures that order these heads nearly alike: which of them it is can't be told here
    """

    name: str
    heads: int
    strength: float | None
    rises: bool
    p: float | None
    one_line: tuple[str, ...] = ()


@dataclass(frozen=True)
class MeasuresFound:
    """All that were asked, the strongest first. how: "concordance" or "correlation"; refused: why no p is given."""

    how: str
    found: tuple[MeasureFound, ...]
    heads: int
    pairs: int
    refused: Reason | None


def fewest_heads(measures: int) -> int:
    """How many heads it takes until luck alone seldom orders them.

    5 for one measure named beforehand, 6 for up to 4, 8 for more

    Takes
        measures  whole number, 1 or more   that are asked together
    Gives
        whole number
    Refuses
        CantUse  no measure
    Holds while
        every head is one real head, or one arrow build
    Weak when
        heads come in few kinds: then they are fewer than they are counted
    Source
        A perfect order by luck, best of K measures, by simulation of 4,000: 4 heads 8 % (K = 1), 5 heads 1.5 and 6 % (4),
        6 heads 1.4 (4) and 2.6 % (8). Checked in tests/published/test_weight_life_and_measures.py
    >>> fewest_heads(1), fewest_heads(4), fewest_heads(5)
    (5, 6, 8)
    """
    if measures < 1:
        raise CantUse("measures", measures, "1 or more")
    return 5 if measures == 1 else 6 if measures <= 4 else 8


def measures_by_concordance(measures: Mapping[str, Known], *, through: ArrayLike, held: ArrayLike) -> MeasuresFound | CantTell:
    """How often, of two heads at one level of energy with different outcomes, the one that a measure calls better got through.

    W_ab = sum over levels t_a h_b, S = sum W_ab sign(v_a - v_b) / sum W_ab, C = (1 + |S|)/2;
    p = share of orders of the heads whose largest |S| of all measures is no less

    Takes
        measures  name -> a number a head, or None where it was not measured
        through   array, heads by levels, whole numbers   shots that got through
        held      array, heads by levels, whole numbers   shots that did not
    Gives
        MeasuresFound; p is None for a measure known of too few heads. CantTell when no two heads differ at one level
    Refuses
        CantUse  no measure, counts that are negative or not of one shape, values not finite or not one a head
    Holds while
        the heads' mean energies within a level are alike: otherwise the energy orders them
    Weak when
        heads were not measured alike, or two measures go together in these heads: one_line says which
    Source
        Concordance within strata as in Somers, American Sociological Review 1962 27:799; largest over all permutations:
        Westfall and Young, Resampling-Based Multiple Testing, 1993 (both from memory).
        Checked in tests/published/test_weight_life_and_measures.py
    >>> heads = {"tip": [0.2, 0.5, 1.0, 1.4, 2.2]}
    >>> found = measures_by_concordance(heads, through=[[5], [4], [3], [1], [0]], held=[[0], [1], [2], [4], [5]])
    >>> one = found.found[0]
    >>> round(one.strength, 3), one.rises, round(one.p, 4), found.pairs
    (0.958, False, 0.0167, 142)
    """
    did, did_not = np.asarray(through, dtype=float), np.asarray(held, dtype=float)
    if did.ndim != 2 or did.shape != did_not.shape or (did < 0).any() or (did_not < 0).any():
        raise CantUse("through", did.shape, "counts of heads by levels, as held, 0 or more")
    values = _values(measures, len(did))
    pairs = did @ did_not.T
    np.fill_diagonal(pairs, 0.0)
    if pairs.sum() == 0:
        return CantTell(because("no_two_heads_differ_at_a_level"))

    def strengths(of: Floats) -> Callable[[NDArray[np.int64]], Floats]:
        known = ~np.isnan(of)
        sign = np.where(known[:, None] & known[None, :], np.sign(of[:, None] - of[None, :]), 0.0)
        both = (known[:, None] & known[None, :]).astype(float)

        def at(orders: NDArray[np.int64]) -> Floats:
            left, right = orders[:, :, None], orders[:, None, :]
            whole = np.einsum("ab,nab->n", pairs, both[left, right])
            told: Floats = np.einsum("ab,nab->n", pairs, sign[left, right]) / np.maximum(whole, 1e-300)
            return told

        return at

    found = _found(values, strengths, tell=lambda one: (1 + abs(one)) / 2, rises=lambda one: one > 0)
    return MeasuresFound("concordance", found, len(did), int(pairs.sum()), _refused(found, len(did)))


def measures_by_correlation(measures: Mapping[str, Known], log_energies: Known) -> MeasuresFound | CantTell:
    """How straight the logarithm of a measure runs with the logarithm of the heads' 50 % energies.

    |r| of ln v and ln E50;  p = share of orders of the heads whose largest |r| of all measures is no less

    Takes
        measures      name -> a number a head, above 0, or None where it was not measured
        log_energies  a number a head             ln of its 50 % energy, all by one common slope; None: it has none
    Gives
        MeasuresFound; a measure known of fewer than 3 heads, or the same of all, has no strength. CantTell with no energy
    Refuses
        CantUse  no measure, values not above 0 or not finite, not one a head
    Holds while
        the curves of the heads are alike but for a shift
    Weak when
        a head's 50 % energy rests on few shots: all count alike
    Source
        Pearson's correlation; largest over all permutations as in measures_by_concordance.
        Checked in tests/published/test_weight_life_and_measures.py
    >>> energies = [math.log(one) for one in (62, 75, 98, 120, 140)]
    >>> found = measures_by_correlation({"front": [1.2, 1.5, 2.6, 3.1, 4.0], "mass": [9, 5, 12, 7, 20]}, energies)
    >>> [(one.name, round(one.strength, 4)) for one in found.found]
    [('front', 0.9935), ('mass', 0.5672)]
    """
    values = {name: np.log(_above_zero(name, of)) for name, of in _values(measures, len(log_energies)).items()}
    energies = np.array([math.nan if one is None else one for one in log_energies], dtype=float)
    placed = ~np.isnan(energies)
    if not placed.any():
        return CantTell(because("no_head_has_a_fifty_percent_energy"))

    def strengths(of: Floats) -> Callable[[NDArray[np.int64]], Floats]:
        def at(orders: NDArray[np.int64]) -> Floats:
            return _correlations(of[orders], energies[placed])

        return at

    # A head without an energy takes no part in the orders either.
    known = {name: of[placed] for name, of in values.items()}
    found = _found(known, strengths, tell=abs, rises=lambda one: one < 0)
    heads = int(placed.sum())
    return MeasuresFound("correlation", found, heads, 0, _refused(found, heads))


@dataclass(frozen=True)
class EnergiesByHead:
    """ln of each head's 50 % energy (J), all by one common slope."""

    log_energies: Mapping[str, float]
    slope: float


def energies_by_common_slope(energies_j: Sequence[float], through: Sequence[int], *, heads: Sequence[str]) -> EnergiesByHead | CantTell:
    """Where each head's curve passes a half if all curves rise alike.

    ln(p/(1-p)) = a_head + b ln E;  ln E50_head = -a_head/b

    Takes
        energies_j  array, J, above 0    at the panel
        through     0 or 1 a shot
        heads       a name a shot
    Gives
        EnergiesByHead; CantTell with no rise, one energy, or nothing that parts heads from energies
    Refuses
        CantUse  not as many energies, outcomes and heads; energies not above 0 or not finite
    Holds while
        the curves of all heads are alike but for a shift in ln(energy)
    Weak when
        a head always or never got through: then the penalty alone keeps its figure from running away, and only its order counts
    Source
        as two_heads_by_curve. Checked in tests/published/test_weight_life_and_measures.py
    >>> found = energies_by_common_slope([30, 40, 50, 60] * 2, [0, 0, 1, 1, 0, 1, 1, 1], heads=["leaf"] * 4 + ["needle"] * 4)
    >>> round(math.exp(found.log_energies["leaf"]), 1), round(math.exp(found.log_energies["needle"]), 1)
    (44.2, 35.1)
    """
    if not len(energies_j) == len(through) == len(heads):
        raise CantUse("heads", len(heads), f"one for each of the {len(energies_j)} energies, as many outcomes")
    if any(not (math.isfinite(one) and one > 0) for one in energies_j):
        raise CantUse("energies_j", min(energies_j), "above 0 and finite")
    if not energies_j:
        return CantTell(because("no_shots"))
    names = tuple(dict.fromkeys(heads))
    logs = np.log(np.array(energies_j, dtype=float))
    centre, scale = float(logs.mean()), float(logs.std())
    if scale < 1e-9:
        return CantTell(because("one_energy_only"))
    member = np.array([[float(head == name) for name in names] for head in heads])
    fit = fit_logistic(np.column_stack([member, (logs - centre) / scale]), np.array(through))
    if isinstance(fit, CantTell):
        return fit
    slope = fit.coefficients[-1]
    if slope <= 1e-9:
        return CantTell(because("more_energy_no_more_often"))
    placed = {name: centre - scale * level / slope for name, level in zip(names, fit.coefficients, strict=False)}
    return EnergiesByHead(placed, slope / scale)


def _found(
    values: Mapping[str, Floats],
    strengths: Callable[[Floats], Callable[[NDArray[np.int64]], Floats]],
    *,
    tell: Callable[[float], float],
    rises: Callable[[float], bool],
) -> tuple[MeasureFound, ...]:
    """Every measure as these heads have it, and how often their other orders do as well."""
    heads = len(next(iter(values.values())))
    asked = {name: strengths(of) for name, of in values.items()}
    as_is = np.arange(heads)[None, :]
    own = {name: float(at(as_is)[0]) for name, at in asked.items()}
    told = {name: _tellable(of) and math.isfinite(own[name]) for name, of in values.items()}
    needed = fewest_heads(len(values))
    enough = {name: told[name] and int((~np.isnan(of)).sum()) >= needed for name, of in values.items()}
    chances = _chances({name: asked[name] for name in values if enough[name]}, own, heads) if any(enough.values()) else {}
    made = [
        MeasureFound(
            name=name,
            heads=int((~np.isnan(of)).sum()),
            strength=tell(own[name]) if told[name] else None,
            rises=rises(own[name]),
            p=chances.get(name),
            one_line=tuple(other for other in values if other != name and _one_line(of, values[other])),
        )
        for name, of in values.items()
    ]
    return tuple(sorted(made, key=lambda one: (-(one.strength if one.strength is not None else -1.0), one.name)))


def _chances(asked: Mapping[str, Callable[[NDArray[np.int64]], Floats]], own: Mapping[str, float], heads: int) -> dict[str, float]:
    """How often the largest strength of all measures, over orders of the heads, is no less than each measure's own."""
    orders, counts_itself = _orders(heads)
    largest = np.zeros(len(orders))
    for at in asked.values():
        for first in range(0, len(orders), AT_ONCE):
            some = slice(first, first + AT_ONCE)
            largest[some] = np.maximum(largest[some], np.nan_to_num(np.abs(at(orders[some]))))
    extra = 0 if counts_itself else 1
    return {name: (int((largest >= abs(own[name]) - 1e-12).sum()) + extra) / (len(orders) + extra) for name in asked}


def _orders(heads: int) -> tuple[NDArray[np.int64], bool]:
    """All orders, the one that is among them; or random ones beside it, the same at every asking."""
    if heads <= ALL_ORDERS_UP_TO:
        return np.array(list(itertools.permutations(range(heads))), dtype=np.int64), True
    lots = np.random.default_rng(SEED)
    return np.array([lots.permutation(heads) for _ in range(RANDOM_ORDERS)], dtype=np.int64), False


def _refused(found: Sequence[MeasureFound], heads: int) -> Reason | None:
    if any(one.p is not None for one in found):
        return None
    return because("too_few_heads_for_measures", heads=heads, measures=len(found), needed=fewest_heads(len(found)))


def _values(measures: Mapping[str, Known], heads: int) -> dict[str, Floats]:
    if not measures:
        raise CantUse("measures", measures, "at least one")
    made = {}
    for name, known in measures.items():
        if len(known) != heads:
            raise CantUse(name, len(known), f"one for each of the {heads} heads")
        values = np.array([math.nan if one is None else float(one) for one in known])
        if np.isinf(values).any() or any(one is not None and math.isnan(one) for one in known):
            raise CantUse(name, known, "finite, or None where it was not measured")
        made[name] = values
    return made


def _above_zero(name: str, values: Floats) -> Floats:
    if (values <= 0).any():
        raise CantUse(name, float(np.nanmin(values)), "above 0, or None where it was not measured")
    return values


def _tellable(values: Floats) -> bool:
    """Whether it differs among enough heads to be set against anything."""
    known = values[~np.isnan(values)]
    return len(known) >= FEWEST_TO_CORRELATE and float(known.max() - known.min()) > 1e-12 * max(1.0, float(np.abs(known).max()))


def _correlations(rows: Floats, against: Floats) -> Floats:
    """Pearson's r of each row with the one, over what both have; nan where either does not change."""
    both = ~np.isnan(rows) & ~np.isnan(against)[None, :]
    counts = both.sum(axis=1)
    of, to = np.where(both, rows, 0.0), np.where(both, against[None, :], 0.0)
    safe = np.maximum(counts, 1)[:, None]
    of, to = np.where(both, of - of.sum(axis=1, keepdims=True) / safe, 0.0), np.where(both, to - to.sum(axis=1, keepdims=True) / safe, 0.0)
    size = np.sqrt((of**2).sum(axis=1) * (to**2).sum(axis=1))
    told: Floats = np.where((size > 1e-12) & (counts >= FEWEST_TO_CORRELATE), (of * to).sum(axis=1) / np.maximum(size, 1e-300), math.nan)
    return told


def _one_line(one: Floats, other: Floats) -> bool:
    """Whether two measures order the heads that have both nearly alike."""
    both = ~np.isnan(one) & ~np.isnan(other)
    if both.sum() < FEWEST_TO_CORRELATE:
        return False
    found = float(_correlations(_ranks(one[both])[None, :], _ranks(other[both]))[0])
    return math.isfinite(found) and abs(found) > ONE_LINE


def _ranks(values: Floats) -> Floats:
    """Places in order, ties in the middle of theirs."""
    below = (values[:, None] > values[None, :]).sum(axis=1)
    same = (values[:, None] == values[None, :]).sum(axis=1)
    ranks: Floats = below + (same + 1) / 2
    return ranks
