"""How far two readers of the same shots agree, beyond what they would by chance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, as_count, as_level, because

WEIGHTS = ("linear", "none")


@dataclass(frozen=True)
class Kappa:
    """0 is chance, 1 is agreement throughout. Ends None where readers agree on every one: then it has no spread."""

    kappa: float
    standard_error: float
    low: float | None
    high: float | None
    level: float
    weights: str
    read_twice: int


def weighted_kappa(table: Sequence[Sequence[int]], *, weights: str = "linear", level: float = 0.95) -> Kappa | CantTell:
    """Agreement of two readers on an ordered scale; a near miss counts for part.

    k = (po - pe)/(1 - pe);  po = sum w p_ij, pe = sum w p_i. p_.j;  w = 1 - |i - j|/(m - 1), or 1 on the diagonal only

    Takes
        table    square, whole numbers  counts: row, what the first said; column, what the second said
        weights  "linear" or "none"     none: a near miss is a miss
        level    scalar, 0.5 up to 1    of the interval, k +- z times its large-sample standard error
    Gives
        Kappa; CantTell with nothing read twice, or where both gave one and the same answer to all
    Refuses
        CantUse  a table that isn't square, has fewer than two answers, or counts that aren't whole and 0 or more
    Holds while
        both read on their own, the second without knowing what the first said
    Weak when
        few were read twice (the interval is of large samples), or nearly all have one answer: then k is low though they agree
    Source
        Weights of equal spacing, and standard errors of Fleiss, Cohen and Everitt, Psychological Bulletin 1969 72:323: as the
        reference page of Kappa in the R package vcd has and cites them; the paper was not seen. Checked in
        tests/published/test_drift_and_agreement.py
    >>> found = weighted_kappa([[10, 4, 1, 0], [5, 10, 12, 2], [2, 4, 12, 5], [0, 2, 6, 13]])
    >>> round(found.kappa, 4), round(found.low, 4), round(found.high, 4)
    (0.5082, 0.3798, 0.6366)
    """
    level = as_level(level)
    if weights not in WEIGHTS:
        raise CantUse("weights", weights, "one of " + ", ".join(WEIGHTS))
    size = len(table)
    if size < 2 or any(len(row) != size for row in table):
        raise CantUse("table", [len(row) for row in table], "as many columns as rows, two or more")
    counts = [[as_count("table", one) for one in row] for row in table]
    total = sum(map(sum, counts))
    if total == 0:
        return CantTell(because("nothing_read_twice"))
    share = [[one / total for one in row] for row in counts]
    first, second = [sum(row) for row in share], [sum(column) for column in zip(*share, strict=True)]
    every = [(i, j) for i in range(size) for j in range(size)]
    weight = {(i, j): (1 - abs(i - j) / (size - 1)) if weights == "linear" else float(i == j) for i, j in every}
    seen = math.fsum(weight[at] * share[at[0]][at[1]] for at in every)
    chance = math.fsum(weight[i, j] * first[i] * second[j] for i, j in every)
    if math.isclose(chance, 1.0):
        return CantTell(because("both_gave_one_answer"))
    kappa = (seen - chance) / (1 - chance)
    of_row = [math.fsum(weight[i, j] * second[j] for j in range(size)) for i in range(size)]
    of_column = [math.fsum(weight[i, j] * first[i] for i in range(size)) for j in range(size)]
    spread = math.fsum(share[i][j] * (weight[i, j] - (of_row[i] + of_column[j]) * (1 - kappa)) ** 2 for i, j in every)
    variance = (spread - (kappa - chance * (1 - kappa)) ** 2) / ((1 - chance) ** 2 * total)
    error = math.sqrt(max(0.0, variance))
    if math.isclose(kappa, 1.0):
        return Kappa(1.0, 0.0, None, None, level, weights, total)
    from scipy.special import ndtri

    reach = float(ndtri((1 + level) / 2)) * error
    return Kappa(kappa, error, max(-1.0, kappa - reach), min(1.0, kappa + reach), level, weights, total)
