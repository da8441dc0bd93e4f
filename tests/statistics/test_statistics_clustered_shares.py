"""The interval of a share whose shots are alike to a stated degree."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.clustered_shares import ClusteredInterval, clustered_interval
from proofyard.statistics.shares import Interval, mid_p_interval

sizes = st.lists(st.integers(1, 12), min_size=1, max_size=8)


def interval(hits: int, cluster_sizes: list[int], alike: float, level: float = 0.95) -> ClusteredInterval:
    found = clustered_interval(hits, cluster_sizes, intraclass_correlation=alike, level=level)
    assert isinstance(found, ClusteredInterval)
    return found


@given(sizes, st.data())
def test_strangers_have_the_plain_interval(cluster_sizes: list[int], data: st.DataObject) -> None:
    hits = data.draw(st.integers(0, sum(cluster_sizes)))
    found, plain = interval(hits, cluster_sizes, 0), mid_p_interval(hits, sum(cluster_sizes))
    assert isinstance(plain, Interval)
    assert (found.low, found.high) == pytest.approx((plain.low, plain.high), abs=1e-12)


@given(sizes)
def test_shots_with_an_arrow_each_are_strangers_whatever_is_stated(cluster_sizes: list[int]) -> None:
    singles = [1] * sum(cluster_sizes)
    assert interval(1, singles, 0.7).design_effect == pytest.approx(1)


@given(sizes, st.data(), st.floats(0, 0.9))
def test_the_more_alike_the_wider(cluster_sizes: list[int], data: st.DataObject, alike: float) -> None:
    hits = data.draw(st.integers(0, sum(cluster_sizes)))
    less, more = interval(hits, cluster_sizes, alike), interval(hits, cluster_sizes, alike + 0.1)
    assert more.high - more.low >= less.high - less.low - 1e-9
    assert 0 <= more.low <= more.share <= more.high <= 1


def test_clusters_wholly_alike_are_worth_one_shot_each() -> None:
    found = interval(10, [5, 5, 5, 5], 1)
    assert found.shots / found.design_effect == pytest.approx(4)
    plain = mid_p_interval(2, 4)
    assert isinstance(plain, Interval)
    assert (found.low, found.high) == pytest.approx((plain.low, plain.high), abs=1e-9)


def test_a_design_effect_by_hand() -> None:
    """Kish 1965, 5.4 (from memory): 1 + (10 - 1) 0.05 = 1.45 for clusters of ten."""
    assert interval(20, [10] * 6, 0.05).design_effect == pytest.approx(1.45)


def test_no_shots_have_no_interval() -> None:
    assert clustered_interval(0, [], intraclass_correlation=0.1) == CantTell(because("no_shots"))


@pytest.mark.parametrize(
    ("hits", "cluster_sizes", "alike"), [(4, [3], 0.1), (-1, [3], 0.1), (1, [-3], 0.1), (1, [3], -0.1), (1, [3], 1.1), (1, [3], math.nan)]
)
def test_what_no_record_could_hold_is_refused(hits: int, cluster_sizes: list[int], alike: float) -> None:
    with pytest.raises(CantUse):
        clustered_interval(hits, cluster_sizes, intraclass_correlation=alike)
