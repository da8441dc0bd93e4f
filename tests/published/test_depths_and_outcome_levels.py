"""Rank tests as others printed them."""

from __future__ import annotations

from collections.abc import Callable

from proofyard.statistics.comparing_by_ranks import DepthComparison, OutcomeComparison, compare_depths, compare_outcomes

AsPrinted = Callable[[float, str], None]

# Hollander and Wolfe, Nonparametric Statistical Methods, 1973, pp. 69-70, as in R's help of wilcox.test: permeability of
# a membrane at term and at 12 to 26 weeks. (Data and results from memory, recomputed with scipy.)
AT_TERM = [0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46]
EARLIER = [1.15, 0.88, 0.90, 0.74, 1.21]


def test_permeability_at_term_and_earlier(as_printed: AsPrinted) -> None:
    """R prints W = 35, one-sided p 0.1272, shift 0.305, 95 % -0.15 to 0.76 (from memory)."""
    found = compare_depths(AT_TERM, EARLIER)
    assert isinstance(found, DepthComparison)
    assert found.shift is not None and found.low is not None and found.high is not None
    as_printed(found.deeper_share * 50, "35.0")
    as_printed(found.p_value / 2, "0.1272")
    as_printed(found.shift, "0.305")
    as_printed(found.low, "-0.15")
    as_printed(found.high, "0.76")


def test_the_smallest_p_of_a_table_of_critical_values(as_printed: AsPrinted) -> None:
    """4 against 4 all in order: 2 of 70 orders. Any table of Mann and Whitney's U gives 0 as the 0.05 limit of 4 and 4."""
    found = compare_depths([5, 6, 7, 8], [1, 2, 3, 4])
    assert isinstance(found, DepthComparison)
    as_printed(found.p_value, "0.0286")
    as_printed(found.held_level or 0, "0.9714")


def test_one_energy_level_is_the_plain_rank_test(as_printed: AsPrinted) -> None:
    outcome_levels = [(outcome_level, outcome_level) for outcome_level in (5, 6, 7, 8, 1, 2, 3, 4)]
    found = compare_outcomes(outcome_levels, [True] * 4 + [False] * 4, energy_levels=["one"] * 8)
    assert isinstance(found, OutcomeComparison)
    as_printed(found.p_value, "0.0286")
