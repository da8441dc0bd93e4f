"""Two shares compared, as others printed them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from proofyard.statistics.comparing import ShareDifference, difference_of_shares
from proofyard.statistics.odds_within_levels import Odds, odds_interval, odds_within_levels

AsPrinted = Callable[[float, str], None]

NEWCOMBE = "Newcombe 1998, Statistics in Medicine 17:873, Table II, method 10"
DIFFERENCES = [
    (56, 70, 48, 80, "0.0524", "0.3339", NEWCOMBE),
    (9, 10, 3, 10, "0.1705", "0.8090", NEWCOMBE),
    (5, 56, 0, 29, "-0.0381", "0.1926", NEWCOMBE),
    (0, 10, 0, 20, "-0.1611", "0.2775", NEWCOMBE),
    (7, 34, 1, 34, "0.019", "0.34", "Fagerland, Lydersen and Laake 2015, Statistical Methods in Medical Research 24:224"),
]


@pytest.mark.parametrize(("x", "n", "y", "m", "low", "high", "source"), DIFFERENCES, ids=[str(d[:4]) for d in DIFFERENCES])
def test_a_difference_of_shares_comes_out_as_printed(
    x: int, n: int, y: int, m: int, low: str, high: str, source: str, as_printed: AsPrinted
) -> None:
    found = difference_of_shares(x, n, other_hits=y, other_shots=m)
    assert isinstance(found, ShareDifference)
    as_printed(found.low, low)
    as_printed(found.high, high)


# Fisher's two groups of R's help of fisher.test (tea tasting: 3 of 4 against 1 of 4): its exact one-sided p is 17/70; mid-P takes half
# of the chance of the table itself, 16/70.
def test_the_tea_taster_by_mid_p() -> None:
    """Fisher 1935, The Design of Experiments, chapter 2; the half by hand: 2 x (1 + 16/2)/70."""
    found = odds_within_levels([(3, 4, 1, 4)])
    assert isinstance(found, Odds)
    assert found.p_value == pytest.approx(18 / 70)
    # R's fisher.test prints an odds ratio of 6.408309 for this table (from memory; scipy's conditional estimate is the same).
    assert found.ratio == pytest.approx(6.408309, rel=1e-5)


def test_all_of_four_against_none_of_four_is_the_smallest_p_there_is() -> None:
    """By hand: one way in 70 on either side, half of it counted: 2 x 1/140."""
    found = odds_within_levels([(4, 4, 0, 4)])
    assert isinstance(found, Odds)
    assert found.p_value == pytest.approx(1 / 70) == pytest.approx(found.smallest_p)
    assert odds_interval(found)[1] is None
