"""Creeps and agreements: what must hold whatever the figures are, and what can't be told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.agreement import Kappa, weighted_kappa
from proofyard.statistics.drift import CommonSlope, common_slope

readings = st.lists(st.tuples(st.integers(1, 40).map(float), st.floats(-5, 5)), min_size=2, max_size=8, unique_by=lambda pair: pair[0])
tables = st.lists(st.lists(st.integers(0, 9), min_size=3, max_size=3), min_size=3, max_size=3)


@given(st.lists(readings, min_size=1, max_size=4), st.floats(-100, 100))
def test_a_height_of_its_own_for_each_group_leaves_the_slope_alone(groups: list[list[tuple[float, float]]], higher: float) -> None:
    found = common_slope(groups)
    moved = common_slope([[(x, y + n * higher) for x, y in group] for n, group in enumerate(groups)])
    if isinstance(found, CommonSlope):
        assert isinstance(moved, CommonSlope)
        assert moved.slope == pytest.approx(found.slope, abs=1e-9)


@given(st.lists(readings, min_size=1, max_size=4))
def test_the_slope_is_that_of_least_squares_with_a_column_a_group(groups: list[list[tuple[float, float]]]) -> None:
    """numpy's own solver, with one column for the order and one for each group."""
    found = common_slope(groups)
    if isinstance(found, CommonSlope):
        rows = [[x, *(float(n == m) for m in range(len(groups)))] for n, group in enumerate(groups) for x, _ in group]
        solved = np.linalg.lstsq(np.array(rows), np.array([y for group in groups for _, y in group]), rcond=None)[0]
        assert found.slope == pytest.approx(float(solved[0]), abs=1e-8)


def test_what_has_no_room_for_a_slope_has_none() -> None:
    assert isinstance(common_slope([]), CantTell)
    assert isinstance(common_slope([[(1, 2.0)], [(2, 3.0)], [(3, 4.0)]]), CantTell)
    assert isinstance(common_slope([[(1, 2.0)] * 6]), CantTell)
    with pytest.raises(CantUse):
        common_slope([[(1, math.nan)] * 6])


def test_a_creep_is_told_from_scatter() -> None:
    steady = [(float(n), 50 + (0.2, -0.2, 0.1, -0.1)[n % 4]) for n in range(12)]
    falling = [(x, y - 0.1 * x) for x, y in steady]
    found, other = common_slope([steady]), common_slope([falling])
    assert isinstance(found, CommonSlope) and isinstance(other, CommonSlope)
    assert not found.sure and other.sure
    assert other.change == pytest.approx(-1.1, abs=0.2)


@given(tables)
def test_agreement_is_the_same_whoever_read_first(table: list[list[int]]) -> None:
    found, turned = weighted_kappa(table), weighted_kappa([list(row) for row in zip(*table, strict=True)])
    if isinstance(found, Kappa):
        assert isinstance(turned, Kappa)
        assert turned.kappa == pytest.approx(found.kappa)
        assert turned.standard_error == pytest.approx(found.standard_error, abs=1e-7)
        assert found.low is None or found.high is None or found.low <= found.kappa <= found.high


def test_agreement_throughout_is_one_and_has_no_spread() -> None:
    found = weighted_kappa([[4, 0, 0], [0, 5, 0], [0, 0, 3]])
    assert isinstance(found, Kappa) and found.kappa == 1 and found.low is None


def test_a_near_miss_counts_for_more_than_a_far_one() -> None:
    near, far = weighted_kappa([[5, 2, 0], [0, 5, 0], [0, 0, 5]]), weighted_kappa([[5, 0, 2], [0, 5, 0], [0, 0, 5]])
    assert isinstance(near, Kappa) and isinstance(far, Kappa) and near.kappa > far.kappa


def test_what_says_nothing_of_agreement() -> None:
    assert weighted_kappa([[0, 0], [0, 0]]) == CantTell(because("nothing_read_twice"))
    assert isinstance(weighted_kappa([[9, 0], [0, 0]]), CantTell)
    for table, weights in (([[1]], "linear"), ([[1, 2], [3]], "linear"), ([[1, 2], [3, -4]], "linear"), ([[1, 2], [3, 4]], "squared")):
        with pytest.raises(CantUse):
            weighted_kappa(table, weights=weights)
