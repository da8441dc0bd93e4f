"""Means and uncertainties against the worked examples of JCGM 100:2008 (GUM).

The GUM's figures are from memory and were reproduced by computation, or were seen in public test files (H.1, H.5),
as each case says.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from proofyard.statistics.pooled_readings import PooledReadings, pool_readings
from proofyard.statistics.repeated_readings import (
    Component,
    Readings,
    accuracy_uncertainty,
    combine,
    coverage_factor,
    resolution_uncertainty,
    summarise_readings,
    type_a,
    type_b,
)

AsPrinted = Callable[[float, str], None]

TEMPERATURES = (
    "96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07 100.33 100.42 100.68 100.95 101.11 101.20 101.57 101.84 102.36 102.72"
)

# Readings, then mean, spread and standard uncertainty as printed (None where the page doesn't).
READINGS = {
    "GUM 4.4.3 and Table 1, twenty temperatures, from memory": (TEMPERATURES, "100.14", "1.49", "0.33"),
    "GUM Table H.2, voltage, from memory": ("5.007 4.994 5.005 4.990 4.999", "4.9990", None, "0.0032"),
    "GUM Table H.2, current in mA, from memory": ("19.663 19.639 19.640 19.685 19.678", "19.6610", None, "0.0095"),
    "GUM Table H.2, phase, from memory": ("1.0456 1.0438 1.0468 1.0428 1.0433", "1.04446", None, "0.00075"),
    "six speeds in ft/s, by hand": ("171 169 172 170 170 168", "170", "1.414214", "0.577350"),
}


def _summary(text: str) -> Readings:
    found = summarise_readings(map(float, text.split()))
    assert isinstance(found, Readings)
    return found


@pytest.mark.parametrize("case", READINGS.values(), ids=READINGS.keys())
def test_mean_spread_and_uncertainty_come_out_as_printed(case: tuple[Any, ...], as_printed: AsPrinted) -> None:
    values, mean, spread, uncertainty = case
    found = _summary(values)
    as_printed(found.mean, mean)
    if spread:
        as_printed(found.spread, spread)
    as_printed(found.standard_uncertainty_type_a, uncertainty)


def test_95_percent_of_six_speeds_reach_from_168_52_to_171_48(as_printed: AsPrinted) -> None:
    """By hand with t(5) of GUM Table G.2."""
    found = _summary("171 169 172 170 170 168")
    scatter = type_a(found)
    assert isinstance(scatter, Component)
    reach = coverage_factor(scatter.dof) * scatter.standard_uncertainty
    as_printed(found.mean - reach, "168.515874")
    as_printed(found.mean + reach, "171.484126")


STUDENT = ["12.71", "4.30", "3.18", "2.78", "2.57", "2.45", "2.36", "2.31", "2.26", "2.23"]


@pytest.mark.parametrize(("dof", "printed"), list(enumerate(STUDENT, start=1)), ids=lambda x: f"GUM Table G.2, {x}")
def test_coverage_factors_come_out_as_in_table_g_2(dof: int, printed: str, as_printed: AsPrinted) -> None:
    """Column 95 % of GUM Table G.2, from memory."""
    as_printed(coverage_factor(dof, 0.95), printed)


def test_coverage_factor_without_end_of_freedom_is_the_normal_one(as_printed: AsPrinted) -> None:
    """GUM Table G.2, last row, from memory: 1.960 at 95 %, 2.576 at 99 %."""
    as_printed(coverage_factor(math.inf, 0.95), "1.960")
    as_printed(coverage_factor(math.inf, 0.99), "2.576")


def test_three_relative_uncertainties_combine_as_in_g_4_1(as_printed: AsPrinted) -> None:
    """GUM G.4.1, from memory: 0.25 % of 10, 0.57 % of 5, 0.82 % of 15 readings give 1.03 %, 19.0, 2.09, 2.2 %."""
    found = combine(Component("x1", 0.25, 9, "A"), Component("x2", 0.57, 4, "A"), Component("x3", 0.82, 14, "A"))
    as_printed(found.standard_uncertainty, "1.03")
    as_printed(found.dof, "19.0")
    factor = coverage_factor(found.dof)
    as_printed(factor, "2.09")
    as_printed(factor * found.standard_uncertainty, "2.2")


def test_the_gauge_block_combines_as_in_h_1(as_printed: AsPrinted) -> None:
    """GUM H.1: inputs seen in three public test files. 32 nm, 16.7 cut to 16, 2.92, 93 nm at 99 %."""
    length_nm, expansion = 50_000_623, 11.5e-6
    found = combine(
        type_b("standard", 25, dof=18),
        type_b("comparison", 9.7, dof=25.6),
        type_b("difference of expansion", length_nm * 0.1 * 0.58e-6, dof=50),
        type_b("difference of temperature", length_nm * expansion * 0.029, dof=2),
    )
    for part, printed in zip(found.components, ("25", "9.7", "2.9", "16.7"), strict=True):
        as_printed(part.standard_uncertainty, printed)
    as_printed(found.standard_uncertainty, "32")
    as_printed(found.dof, "16.7")
    factor = coverage_factor(math.floor(found.dof), 0.99)
    as_printed(factor, "2.92")
    as_printed(factor * found.standard_uncertainty, "93")


# GUM 4.3.5 to 4.3.9 and F.2.2.1, from memory.
ACCURACIES = {
    "GUM 4.3.7 example, 4.0e-7 per degree either way is 0.23e-6": (0.40e-6, "limit", "0.23e-6"),
    "GUM 4.3.9, a trapezium shrunk to a triangle: a/sqrt(6)": (1.0, "triangular", "0.4082"),
    "GUM 4.3.4 by k = 2, half of it": (0.24, "expanded_k2", "0.12"),
    "one sigma as it is": (0.35, "standard", "0.35"),
}


@pytest.mark.parametrize("case", ACCURACIES.values(), ids=ACCURACIES.keys())
def test_what_an_accuracy_means_decides_its_standard_uncertainty(case: tuple[Any, ...], as_printed: AsPrinted) -> None:
    accuracy, meaning, printed = case
    as_printed(accuracy_uncertainty(accuracy, meaning), printed)


def test_a_step_of_one_is_an_uncertainty_of_0_29(as_printed: AsPrinted) -> None:
    """GUM F.2.2.1, from memory: u = 0.29 of the step."""
    as_printed(resolution_uncertainty(1.0), "0.29")


# GUM Table H.9: ten days, five readings of a voltage standard each; mean in V and spread in µV of every day.
# Seen in a public test file that cites the table: means 10.000097, spread of the means 57 µV, within days 85 µV.
DAY_MEANS = [
    "10.000172",
    "10.000116",
    "10.000013",
    "10.000144",
    "10.000106",
    "10.000031",
    "10.000060",
    "10.000125",
    "10.000163",
    "10.000041",
]
DAY_SPREADS_UV = (60, 77, 111, 101, 67, 93, 80, 73, 88, 86)


def _five_readings(mean: float, spread: float) -> tuple[float, ...]:
    """Five readings with this mean and spread: the table gives no single ones, and the sums need only these two."""
    return tuple(mean + spread * step for step in (-math.sqrt(2), 0.0, 0.0, 0.0, math.sqrt(2)))


def test_days_of_a_voltage_standard_pool_as_in_table_h_9(as_printed: AsPrinted) -> None:
    days = [_five_readings(float(m), s * 1e-6) for m, s in zip(DAY_MEANS, DAY_SPREADS_UV, strict=True)]
    found = pool_readings(days)
    assert isinstance(found, PooledReadings)
    as_printed(found.mean, "10.000097")
    assert found.between_spread is not None and found.within_spread is not None
    as_printed(found.between_spread * 1e6, "57")
    as_printed(found.within_spread * 1e6, "85")
    assert [part.dof for part in found.components] == [40, 9]  # GUM H.5.2.3: J(K-1) = 40 and J-1 = 9
