"""Intervals of shares: what any of them must do, whatever its formula."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.shares import METHODS, BoundedInterval, Interval, bounded_share, share_interval

methods = st.sampled_from(sorted(METHODS))
levels = st.floats(0.5, 0.999)


@st.composite
def counts(draw: st.DrawFn, most: int = 300) -> tuple[int, int]:
    shots = draw(st.integers(1, most))
    return draw(st.integers(0, shots)), shots


def interval(hits: int, shots: int, method: str, level: float = 0.95) -> Interval:
    found = share_interval(hits, shots, method=method, level=level)
    assert isinstance(found, Interval)
    return found


@given(counts(), methods, levels)
def test_an_interval_lies_in_0_to_1_and_holds_its_own_share(c: tuple[int, int], method: str, level: float) -> None:
    found = interval(*c, method, level)
    assert 0 <= found.low <= found.share <= found.high <= 1
    assert found.low < found.high


@given(counts(), methods, levels)
def test_swapping_hits_and_misses_mirrors_the_interval(c: tuple[int, int], method: str, level: float) -> None:
    hits, shots = c
    found, mirrored = interval(hits, shots, method, level), interval(shots - hits, shots, method, level)
    assert mirrored.low == pytest.approx(1 - found.high, abs=1e-9)
    assert mirrored.high == pytest.approx(1 - found.low, abs=1e-9)


@given(counts(60), methods, levels, st.integers(2, 5))
def test_more_shots_of_the_same_share_narrow_it(c: tuple[int, int], method: str, level: float, times: int) -> None:
    few, many = interval(*c, method, level), interval(times * c[0], times * c[1], method, level)
    assert many.high - many.low < few.high - few.low


@given(counts(), methods, st.floats(0.5, 0.98))
def test_a_higher_level_is_wider(c: tuple[int, int], method: str, level: float) -> None:
    lower, higher = interval(*c, method, level), interval(*c, method, level + 0.01)
    assert higher.low <= lower.low and lower.high <= higher.high
    assert higher.high - higher.low > lower.high - lower.low


@given(counts(), methods)
def test_one_more_hit_moves_both_ends_up(c: tuple[int, int], method: str) -> None:
    hits, shots = c
    assume(hits < shots)
    found, more = interval(hits, shots, method), interval(hits + 1, shots, method)
    assert more.low > found.low and more.high > found.high


@given(counts(), levels)
def test_mid_p_lies_within_exact(c: tuple[int, int], level: float) -> None:
    mid_p, exact = interval(*c, "mid-p", level), interval(*c, "exact", level)
    assert exact.low <= mid_p.low + 1e-12 and mid_p.high <= exact.high + 1e-12


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("shots", [1, 2, 3, 5, 1000])
def test_no_hits_reach_down_to_0_and_nothing_but_hits_up_to_1(method: str, shots: int) -> None:
    assert interval(0, shots, method).low == 0.0
    assert math.copysign(1.0, interval(0, shots, method).low) == 1.0
    assert interval(shots, shots, method).high == 1.0


@pytest.mark.parametrize("method", METHODS)
def test_a_hundred_thousand_shots_are_no_trouble(method: str) -> None:
    found = interval(50_000, 100_000, method)
    assert found.high - found.low == pytest.approx(2 * 1.96 * 0.5 / math.sqrt(100_000), rel=2e-3)  # exact is a little wider


@pytest.mark.parametrize("method", METHODS)
def test_an_interval_knows_what_it_was_made_from(method: str) -> None:
    found = interval(4, 6, method, 0.9)
    assert (found.method, found.hits, found.shots, found.level) == (method, 4, 6, 0.9)
    assert found.share == 4 / 6


@pytest.mark.parametrize("method", METHODS)
def test_a_share_of_no_shots_cant_be_told(method: str) -> None:
    assert share_interval(0, 0, method=method) == CantTell(because("no_shots"))


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize(
    ("hits", "shots", "named"),
    [
        (5, 3, "hits"),
        (-1, 3, "hits"),
        (0, -1, "shots"),
        (2.0, 3, "hits"),
        (1, 3.0, "shots"),
        (1.5, 3, "hits"),
        ("2", 3, "hits"),
        (True, 3, "hits"),
        (None, 3, "hits"),
        (math.nan, 3, "hits"),
        (1, 0, "hits"),
    ],
)
def test_counts_that_no_range_day_gives_are_refused(method: str, hits: int, shots: int, named: str) -> None:
    with pytest.raises(CantUse) as caught:
        share_interval(hits, shots, method=method)
    assert caught.value.name == named


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("level", [0.0, 0.49, 1.0, 95, -0.95, math.nan])
def test_a_level_outside_a_half_to_one_is_refused(method: str, level: float) -> None:
    with pytest.raises(CantUse, match="level"):
        share_interval(1, 3, method=method, level=level)


def test_a_method_that_nobody_knows_is_refused_with_those_that_are() -> None:
    with pytest.raises(CantUse) as caught:
        share_interval(1, 3, method="wald")
    assert caught.value.name == "method"
    assert "mid-p, wilson, exact, jeffreys" in str(caught.value)


def test_counts_out_of_an_array_are_counts() -> None:
    hits = np.array([True, False, True]).sum()
    assert share_interval(hits, np.int64(3)) == share_interval(2, 3)


@given(counts(60), st.integers(0, 60), methods)
def test_a_bounded_share_holds_the_interval_of_every_count_between(c: tuple[int, int], open_shots: int, method: str) -> None:
    hits, shots = c
    most = min(shots, hits + open_shots)
    found = bounded_share(hits, most, shots=shots, method=method)
    assert isinstance(found, BoundedInterval)
    assert (found.hits_low, found.hits_high, found.shots, found.method) == (hits, most, shots, method)
    for count in range(hits, most + 1):
        inner = interval(count, shots, method)
        assert found.low <= inner.low and inner.high <= found.high
    assert found.low == interval(hits, shots, method).low
    assert found.high == interval(most, shots, method).high


def test_a_bounded_share_refuses_its_counts_the_wrong_way_round() -> None:
    with pytest.raises(CantUse, match="through_low"):
        bounded_share(2, 1, shots=3)
    with pytest.raises(CantUse, match="hits"):
        bounded_share(2, 4, shots=3)
    assert bounded_share(0, 0, shots=0) == CantTell(because("no_shots"))


def lowest_coverage(shots: int, method: str, level: float = 0.95) -> float:
    """The least chance, over all true shares, that the interval holds the share: coverage only jumps at the ends of
    intervals, so a hair to either side of each is all there is to look at."""
    found = [interval(hits, shots, method, level) for hits in range(shots + 1)]
    low, high = np.array([one.low for one in found]), np.array([one.high for one in found])
    ends = np.concatenate([low, high])
    truths = np.concatenate([ends - 1e-9, ends + 1e-9])
    truths = truths[(truths > 0) & (truths < 1)]
    ways = np.array([math.comb(shots, hits) for hits in range(shots + 1)], dtype=float)
    hits = np.arange(shots + 1)
    chance = ways * truths[:, None] ** hits * (1 - truths[:, None]) ** (shots - hits)
    held = (low <= truths[:, None]) & (truths[:, None] <= high)
    return float((chance * held).sum(axis=1).min())


# By enumeration, at 95 %: what each docstring says under "Weak when".
LOWEST = {"mid-p": 0.91, "wilson": 0.83, "exact": 0.95, "jeffreys": 0.86}


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("shots", [5, 6, 10, 23])
def test_an_interval_holds_the_true_share_as_often_as_its_docstring_says(method: str, shots: int) -> None:
    assert lowest_coverage(shots, method) >= LOWEST[method]


@pytest.mark.long
@pytest.mark.parametrize("method", METHODS)
def test_so_it_does_for_every_number_of_shots_from_5_to_60(method: str) -> None:
    assert min(lowest_coverage(shots, method) for shots in range(5, 61)) >= LOWEST[method]


def test_importing_statistics_loads_no_scipy() -> None:
    """Start-up would wait half a second for it, and most pages show no interval."""
    code = (
        "import sys, proofyard.statistics, proofyard.statistics.shares, proofyard.statistics.repeated_readings, "
        "proofyard.statistics.repeated_readings, proofyard.physics.energy; "
        "sys.exit(any(name.split('.')[0] in ('scipy', 'pint') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
