"""Numbers of shots against what others printed, and against another implementation of the same test."""

from __future__ import annotations

import pytest
from proofyard.statistics.planning import power_to_part, shots_all_alike, shots_by_normal_curve
from scipy.stats import binom, fisher_exact, hypergeom

# Shots in each of two groups, level 0.95 both sides, power 0.80: Fleiss, Statistical Methods for Rates and Proportions,
# 1981, chapter 3: formula, and the same with the correction for whole counts. Worked out by hand from the formula.
BY_NORMAL_CURVE = [
    pytest.param(0.60, 0.70, 356, 376, id="Fleiss 1981, .60 against .70"),
    pytest.param(0.90, 0.30, 10, 13, id="Fleiss 1981, .90 against .30"),
    pytest.param(0.90, 0.50, 20, 25, id="Fleiss 1981, .90 against .50"),
]

# In a row without failure: NIST/SEMATECH e-Handbook, section 8.3, and every handbook of reliability (from memory).
SUCCESS_RUNS = [
    (0.10, 0.90, 22),
    (0.05, 0.90, 45),
    (0.01, 0.90, 230),
    (0.10, 0.95, 29),
    (0.05, 0.95, 59),
    (0.01, 0.95, 299),
    (0.01, 0.99, 459),
]


@pytest.mark.parametrize(("share", "other", "plain", "corrected"), BY_NORMAL_CURVE)
def test_the_textbooks_numbers_come_out(share: float, other: float, plain: int, corrected: int) -> None:
    assert shots_by_normal_curve(share, other, corrected=False) == plain
    assert shots_by_normal_curve(share, other) == corrected
    assert shots_by_normal_curve(other, share) == corrected


@pytest.mark.parametrize(("share", "level", "shots"), SUCCESS_RUNS)
def test_runs_without_one_through_are_as_long_as_handbooks_say(share: float, level: float, shots: int) -> None:
    assert shots_all_alike(share, level=level) == shots
    assert (1 - share) ** shots <= 1 - level + 1e-12 < (1 - share) ** (shots - 1)


@pytest.mark.parametrize(("shots", "others", "share", "other"), [(6, 6, 0.9, 0.2), (5, 7, 0.8, 0.1), (8, 3, 1.0, 0.0)])
def test_power_is_that_of_another_implementation_of_the_test(shots: int, others: int, share: float, other: float) -> None:
    """Every table's mid-P from scipy's hypergeometric chances, one by one: exact one-sided p of fisher_exact less half the table's own."""
    power = 0.0
    for x in range(shots + 1):
        for y in range(others + 1):
            table = [[x, y], [shots - x, others - y]]
            half = hypergeom.pmf(x, shots + others, x + y, shots) / 2
            p = 2 * min(fisher_exact(table, alternative=side).pvalue - half for side in ("less", "greater"))
            if p < 0.05 - 1e-9:
                power += binom.pmf(x, shots, share) * binom.pmf(y, others, other)
    assert power_to_part(share, other, shots=shots, other_shots=others) == pytest.approx(power, abs=1e-9)
