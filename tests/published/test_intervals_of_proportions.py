"""Intervals of shares as others printed them, and against scipy's own where it has one."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from proofyard.statistics.shares import Interval, share_interval
from scipy.stats import beta, binom, binomtest

AsPrinted = Callable[[float, str], None]

NEWCOMBE = "Newcombe 1998, Statistics in Medicine 17:857, Table I"
# Method, hits, shots, level, low and high as printed, where they stand.
PUBLISHED = [
    # Quoted, with page and table, in the regression tests of the R package coin (regtest_midpvalue.R).
    ("mid-p", 81, 263, 0.95, "0.2544", "0.3658", NEWCOMBE),
    ("mid-p", 15, 148, 0.95, "0.0601", "0.1581", NEWCOMBE),
    ("mid-p", 0, 20, 0.95, "0.0000", "0.1391", NEWCOMBE),
    ("mid-p", 1, 29, 0.95, "0.0017", "0.1585", NEWCOMBE),
    ("mid-p", 5, 20, 0.95, "0.098", "0.470", "Berry and Armitage 1995, The Statistician 44:417, p. 420"),
    ("mid-p", 4, 10, 0.95, "0.142", "0.709", "Agresti and Gottard, as quoted by the R package coin's tests"),
    # Wilson's column was seen in six independent test files, Clopper and Pearson's recomputed.
    ("wilson", 81, 263, 0.95, "0.2553", "0.3662", NEWCOMBE),
    ("wilson", 15, 148, 0.95, "0.0624", "0.1605", NEWCOMBE),
    ("wilson", 0, 20, 0.95, "0.0000", "0.1611", NEWCOMBE),
    ("exact", 81, 263, 0.95, "0.2527", "0.3676", NEWCOMBE),
    ("exact", 15, 148, 0.95, "0.0578", "0.1617", NEWCOMBE),
    ("exact", 0, 20, 0.95, "0.0000", "0.1684", NEWCOMBE),
    ("wilson", 0, 10, 0.95, "0.0000", "0.2775", "several public test files"),
    ("wilson", 10, 10, 0.95, "0.7225", "1.0000", "several public test files"),
    ("exact", 0, 10, 0.95, "0.0000", "0.3085", "several public test files"),
    ("exact", 7, 50, 0.95, "0.058191700", "0.267396002", "scipy documentation, binomtest (exact)"),
    ("wilson", 7, 50, 0.95, "0.069508", "0.261862", "worked out with scipy 1.17.1"),
    ("wilson", 2, 8, 0.95, "0.071479", "0.590725", "worked out with scipy 1.17.1"),
    ("exact", 2, 8, 0.95, "0.031854", "0.650856", "worked out with scipy 1.17.1"),
    ("jeffreys", 81, 263, 0.95, "0.254522", "0.365647", "worked out with scipy 1.17.1"),
    ("jeffreys", 15, 148, 0.95, "0.060449", "0.157643", "worked out with scipy 1.17.1"),
    ("jeffreys", 0, 20, 0.95, "0.000000", "0.116639", "worked out; low end 0 after Brown, Cai and DasGupta 2001"),
    ("jeffreys", 0, 10, 0.95, "0.000000", "0.217196", "worked out; low end 0 after Brown, Cai and DasGupta 2001"),
    ("jeffreys", 2, 8, 0.95, "0.055967", "0.591624", "worked out with scipy 1.17.1"),
    # One-sided 95 % upper limit of 0 of 20, 1 - 0.05^(1/20), is the high end of a two-sided exact 90 %.
    ("exact", 0, 20, 0.90, "0.000000", "0.139108", "by hand; the rule of three says 0.15"),
]


@pytest.mark.parametrize(
    ("method", "hits", "shots", "level", "low", "high", "source"),
    PUBLISHED,
    ids=[f"{m}, {x} of {n}: {source}" for m, x, n, _, _, _, source in PUBLISHED],
)
def test_an_interval_comes_out_as_printed(
    method: str, hits: int, shots: int, level: float, low: str, high: str, source: str, as_printed: AsPrinted
) -> None:
    found = share_interval(hits, shots, method=method, level=level)
    assert isinstance(found, Interval)
    as_printed(found.low, low)
    as_printed(found.high, high)


@pytest.mark.parametrize("shots", [1, 2, 3, 5, 8, 20, 61])
def test_every_interval_up_to_61_shots_is_the_one_scipy_gives(shots: int) -> None:
    for hits in range(shots + 1):
        for method, theirs in (("exact", "exact"), ("wilson", "wilson")):
            ours = share_interval(hits, shots, method=method)
            other = binomtest(hits, shots).proportion_ci(0.95, method=theirs)
            assert isinstance(ours, Interval)
            assert (ours.low, ours.high) == pytest.approx((other.low, other.high), abs=1e-9)
        ours = share_interval(hits, shots, method="jeffreys")
        assert isinstance(ours, Interval)
        if hits > 0:
            assert ours.low == pytest.approx(beta.ppf(0.025, hits + 0.5, shots - hits + 0.5), abs=1e-9)
        if hits < shots:
            assert ours.high == pytest.approx(beta.ppf(0.975, hits + 0.5, shots - hits + 0.5), abs=1e-9)


@pytest.mark.parametrize("shots", [1, 2, 3, 5, 8, 20, 61, 400])
def test_both_mid_p_limits_leave_half_of_five_percent_in_the_tail(shots: int) -> None:
    """The definition (Lancaster's half weight), counted with scipy's binomial sums, which our own code never uses."""
    for hits in range(0, shots + 1, max(1, shots // 20)):
        found = share_interval(hits, shots, method="mid-p")
        assert isinstance(found, Interval)
        if hits > 0:
            upper_tail = binom.sf(hits, shots, found.low) + 0.5 * binom.pmf(hits, shots, found.low)
            assert upper_tail == pytest.approx(0.025, abs=1e-9)
        if hits < shots:
            lower_tail = binom.cdf(hits - 1, shots, found.high) + 0.5 * binom.pmf(hits, shots, found.high)
            assert lower_tail == pytest.approx(0.025, abs=1e-9)
