"""Two shares compared, and p-values made to pay for their number, as others printed them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from server.statistics.comparing import ExactTest, ShareDifference, difference_of_shares, exact_test, holm

AsPrinted = Callable[[float, str], None]

NEWCOMBE = "Newcombe 1998, Statistics in Medicine 17:873, Table II, method 10"
DIFFERENCES = [
    (56, 70, 48, 80, "0.0524", "0.3339", NEWCOMBE),
    (9, 10, 3, 10, "0.1705", "0.8090", NEWCOMBE),
    (5, 56, 0, 29, "-0.0381", "0.1926", NEWCOMBE),
    (0, 10, 0, 20, "-0.1611", "0.2775", NEWCOMBE),
    (
        7,
        34,
        1,
        34,
        "0.019",
        "0.34",
        "Fagerland, Lydersen and Laake 2015, Statistical Methods in Medical Research 24:224",
    ),
]


@pytest.mark.parametrize(
    ("x", "n", "y", "m", "low", "high", "source"), DIFFERENCES, ids=[str(d[:4]) for d in DIFFERENCES]
)
def test_a_difference_of_shares_comes_out_as_printed(
    x: int, n: int, y: int, m: int, low: str, high: str, source: str, as_printed: AsPrinted
) -> None:
    found = difference_of_shares(x, n, other_hits=y, other_shots=m)
    assert isinstance(found, ShareDifference)
    as_printed(found.low, low)
    as_printed(found.high, high)


# scipy's documentation prints the one-sided p; ours is the smaller of the two sides, doubled.
EXACT = [
    (
        74,
        74 + 43,
        31,
        31 + 32,
        "0.03556",
        "job satisfaction: scipy documentation, boschloo_exact, greater: prints 0.0355, cut not rounded",
    ),
    (7, 15, 12, 15, "0.034109", "a vaccine, Chan 1998, Statistics in Medicine 17:1403: Boschloo worked out with scipy"),
]


def test_the_exact_test_doubles_the_printed_p_of_one_side(as_printed: AsPrinted) -> None:
    # Their table of job satisfaction is [[74, 31], [43, 32]]: its columns are our two groups.
    for hits, shots, other_hits, other_shots, printed, _ in EXACT:
        found = exact_test(hits, shots, other_hits=other_hits, other_shots=other_shots)
        assert isinstance(found, ExactTest)
        as_printed(found.p_value / 2, printed)


def test_nine_of_ten_against_three_of_ten(as_printed: AsPrinted) -> None:
    """Worked out with scipy 1.17.1; Fisher's test of the same table gives 0.0198."""
    found = exact_test(9, 10, other_hits=3, other_shots=10)
    assert isinstance(found, ExactTest)
    as_printed(found.p_value, "0.007956")


def test_holms_own_rule_on_four_p_values(as_printed: AsPrinted) -> None:
    """R's help of p.adjust prints no small example; these four are worked by hand from Holm 1979, section 3."""
    found = holm({"a": 0.01, "b": 0.013, "c": 0.014, "d": 0.19})
    for one, printed in zip(found, ("0.040", "0.040", "0.040", "0.190"), strict=True):
        as_printed(one.adjusted, printed)
    assert [one.shown for one in found] == [True, True, True, False]
