"""A slope as certified, and the agreement of two readers as printed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from proofyard.statistics.agreement import Kappa, weighted_kappa
from proofyard.statistics.drift import CommonSlope, common_slope

# NIST Statistical Reference Datasets, linear regression, Norris: (x, y) and the certified values.
NORRIS = list(
    zip(
        [
            0.2,
            337.4,
            118.2,
            884.6,
            10.1,
            226.5,
            666.3,
            996.3,
            448.6,
            777.0,
            558.2,
            0.4,
            0.6,
            775.5,
            666.9,
            338.0,
            447.5,
            11.6,
            556.0,
            228.1,
            995.8,
            887.6,
            120.2,
            0.3,
            0.3,
            556.8,
            339.1,
            887.2,
            999.0,
            779.0,
            11.1,
            118.3,
            229.2,
            669.1,
            448.9,
            0.5,
        ],
        [
            0.1,
            338.8,
            118.1,
            888.0,
            9.2,
            228.1,
            668.5,
            998.5,
            449.1,
            778.9,
            559.2,
            0.3,
            0.1,
            778.1,
            668.8,
            339.3,
            448.9,
            10.8,
            557.7,
            228.3,
            998.0,
            888.8,
            119.6,
            0.3,
            0.6,
            557.6,
            339.3,
            888.0,
            998.5,
            778.9,
            10.2,
            117.6,
            228.9,
            668.4,
            449.2,
            0.2,
        ],
        strict=True,
    )
)
# SAS/STAT user's guide, PROC FREQ, getting started, "Agreement study": two readers of 88 patients, four ordered answers.
TWO_READERS = [[10, 4, 1, 0], [5, 10, 12, 2], [2, 4, 12, 5], [0, 2, 6, 13]]


def test_one_group_has_the_certified_slope_and_its_error(as_printed: Callable[[float, str], None]) -> None:
    found = common_slope([NORRIS])
    assert isinstance(found, CommonSlope)
    as_printed(found.slope, "1.00211681802")
    as_printed(found.standard_error, "0.000429796848")


def test_the_printed_agreement_and_its_interval(as_printed: Callable[[float, str], None]) -> None:
    """Printed there: kappa 0.3449, 95 % limits 0.2030 and 0.4868."""
    found = weighted_kappa(TWO_READERS, weights="none")
    assert isinstance(found, Kappa) and found.low is not None and found.high is not None
    for value, printed in ((found.kappa, "0.3449"), (found.low, "0.2030"), (found.high, "0.4868")):
        as_printed(value, printed)


def test_near_misses_counted_in_part_as_that_guide_has_it(as_printed: Callable[[float, str], None]) -> None:
    """The same guide's output for linear weights (from memory): 0.5082, standard error 0.0655, limits 0.3798 and 0.6366."""
    found = weighted_kappa(TWO_READERS)
    assert isinstance(found, Kappa) and found.low is not None and found.high is not None
    for value, printed in ((found.kappa, "0.5082"), (found.standard_error, "0.0655"), (found.low, "0.3798"), (found.high, "0.6366")):
        as_printed(value, printed)


def test_fleiss_table_of_a_hundred_diagnoses(as_printed: Callable[[float, str], None]) -> None:
    """Fleiss, Levin and Paik, Statistical Methods for Rates and Proportions, table 18.1 (from memory): kappa 0.68, standard error 0.087."""
    found = weighted_kappa([[75, 1, 4], [5, 4, 1], [0, 0, 10]], weights="none")
    assert isinstance(found, Kappa)
    as_printed(found.kappa, "0.68")
    assert found.standard_error == pytest.approx(0.087, abs=0.001)
