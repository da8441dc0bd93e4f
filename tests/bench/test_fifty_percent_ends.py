"""The bench of the ends of 50 % energies runs; what it counts out is certain, and the smallest design keeps what is asked."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.bench import fifty_percent_ends as bench


def test_each_shape_has_a_share_of_50_percent_at_its_50_percent_energy_and_the_skewed_ones_mirror_each_other() -> None:
    for shape in (*bench.LOGISTIC, *bench.SKEWED):
        assert bench.share_through(np.array([45.0]), half_j=45.0, slope=8, shape=shape) == pytest.approx([0.5])
    one, other = (
        bench.share_through(np.array([e]), half_j=45.0, slope=8, shape=s)[0] for e, s in zip((50.0, 40.5), bench.SKEWED, strict=True)
    )
    assert one == pytest.approx(1 - other) and one > 0.5


def test_ends_that_are_wrong_are_counted_each_by_itself() -> None:
    """By hand, a quarter each: a low end above 50 J, a high end below, one end alone that holds, and both ends that hold."""
    found = bench.told(np.full(4, 0.25), np.array([60.0, 0.0, 40.0, 40.0]), np.array([80.0, 45.0, math.inf, 60.0]), 50.0)
    assert (found.too_high, found.too_low, found.wrong) == (0.25, 0.25, 0.5)
    assert (found.one_sided, found.one_sided_held) == (0.5, 0.25)


def test_ten_shots_in_three_clusters_are_counted_out_and_kept() -> None:
    found = list(bench.rows(2, only="clusters, 10 shots"))
    assert [row.runs for row in found] == [0] * len(found) and len(found) >= 5
    assert all(row.kept for row in found), [row.words for row in found]
    ten = bench.clusters(10)
    share = bench.share_through(ten.energies, half_j=45.0, slope=8, shape="logistic")
    ways = [math.prod(math.comb(int(n), int(x)) for n, x in zip(ten.each, one, strict=True)) for one in ten.hits]
    assert sum(ways) == 2**10 and (np.prod(share) > 0)


def test_spread_shots_are_drawn_from_their_seed() -> None:
    once, again = (bench.drawn_cell(20, half_j=45.0, slope=8, shape="logistic", runs=20) for _ in range(2))
    assert once == again and 0 <= once.wrong <= 0.5
