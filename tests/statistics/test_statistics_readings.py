"""Repeated and pooled readings: their laws, what they can't tell, what they refuse."""

from __future__ import annotations

import math
import random
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.pooled_readings import PooledReadings, pool_readings
from proofyard.statistics.repeated_readings import (
    ACCURACY_MEANINGS,
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

readings = st.floats(1.0, 1000.0)
many_readings = st.lists(readings, min_size=2, max_size=30)
uncertainties = st.floats(1e-6, 1e3)


def summary(values: list[float]) -> Readings:
    found = summarise_readings(values)
    assert isinstance(found, Readings)
    return found


def pooled(series: list[list[float]]) -> PooledReadings:
    found = pool_readings(series)
    assert isinstance(found, PooledReadings)
    return found


@given(many_readings)
def test_mean_and_spread_are_those_of_the_standard_library(values: list[float]) -> None:
    found = summary(values)
    assert found.mean == pytest.approx(statistics.fmean(values))
    assert found.spread == pytest.approx(statistics.stdev(values), abs=1e-9)
    assert found.dof == len(values) - 1
    assert found.values == tuple(values)


@given(many_readings, st.randoms(use_true_random=False))
def test_the_order_of_readings_tells_nothing(values: list[float], chance: random.Random) -> None:
    mixed = list(values)
    chance.shuffle(mixed)
    one, other = summary(values), summary(mixed)
    assert (one.mean, one.spread) == (other.mean, other.spread)


@given(many_readings, st.floats(0.01, 100.0))
def test_another_unit_scales_mean_spread_and_uncertainty_alike(values: list[float], factor: float) -> None:
    one, other = summary(values), summary([factor * value for value in values])
    assert other.mean == pytest.approx(factor * one.mean)
    assert other.spread == pytest.approx(factor * one.spread, abs=1e-9)
    assert other.standard_uncertainty_type_a == pytest.approx(factor * one.standard_uncertainty_type_a, abs=1e-9)


def test_one_reading_has_no_spread_which_is_not_a_spread_of_nothing() -> None:
    one, two = summary([52.4]), summary([52.4, 52.4])
    assert (one.mean, one.spread, one.standard_uncertainty_type_a, one.dof) == (52.4, None, None, 0)
    assert (two.spread, two.standard_uncertainty_type_a, two.dof) == (0.0, 0.0, 1)
    assert isinstance(type_a(one), CantTell)
    assert isinstance(type_a(two), Component)


def test_no_reading_cant_be_told() -> None:
    assert summarise_readings([]) == CantTell(because("no_readings"))
    assert pool_readings([]) == CantTell(because("no_readings"))
    assert pool_readings([[], []]) == CantTell(because("no_readings"))


def test_readings_out_of_an_array_are_readings() -> None:
    assert summarise_readings(np.array([171.0, 169.0])) == summarise_readings([171, 169])


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_reading_that_is_no_number_is_refused(bad: float) -> None:
    with pytest.raises(CantUse, match="values"):
        summarise_readings([52.4, bad])
    with pytest.raises(CantUse, match="series"):
        pool_readings([[52.4], [bad]])


def test_what_an_accuracy_means_orders_its_uncertainty() -> None:
    found = [accuracy_uncertainty(1.0, meaning) for meaning in ("triangular", "expanded_k2", "limit", "standard")]
    assert found == sorted(found)
    assert set(ACCURACY_MEANINGS) == {"triangular", "expanded_k2", "limit", "standard"}


@pytest.mark.parametrize("meaning", ACCURACY_MEANINGS)
@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf])
def test_an_accuracy_below_nothing_is_refused(meaning: str, bad: float) -> None:
    with pytest.raises(CantUse, match="accuracy"):
        accuracy_uncertainty(bad, meaning)


def test_an_accuracy_of_unknown_meaning_is_refused() -> None:
    with pytest.raises(CantUse, match="meaning"):
        accuracy_uncertainty(0.1, "about")


def test_a_step_is_a_limit_of_one_half_step() -> None:
    assert resolution_uncertainty(0.2) == pytest.approx(accuracy_uncertainty(0.1, "limit"))
    with pytest.raises(CantUse, match="step"):
        resolution_uncertainty(-0.2)


@given(st.lists(st.tuples(uncertainties, st.floats(1.0, 100.0)), min_size=1, max_size=6))
def test_a_combined_uncertainty_is_no_less_than_its_largest_part_and_no_more_than_their_sum(parts: list[tuple[float, float]]) -> None:
    found = combine(*(Component("part", u, dof, "A") for u, dof in parts))
    sizes = [u for u, _ in parts]
    assert max(sizes) * (1 - 1e-12) <= found.standard_uncertainty <= sum(sizes) * (1 + 1e-12)
    # Welch and Satterthwaite: never less freedom than the poorest part has, never more than all have together.
    assert min(dof for _, dof in parts) * (1 - 1e-9) <= found.dof <= sum(dof for _, dof in parts) * (1 + 1e-9)


def test_a_part_without_end_of_freedom_takes_none_away() -> None:
    assert combine(type_b("accuracy", 0.3)).dof == math.inf
    assert combine(type_b("accuracy", 0.3), Component("scatter", 0.0, 4, "A")).dof == math.inf
    assert combine(type_b("accuracy", 0.0)).standard_uncertainty == 0.0
    assert combine(type_b("accuracy", 0.0)).dof == math.inf


def test_very_small_uncertainties_keep_their_freedom() -> None:
    """To the fourth power 1e-90 is 0 in a float: the freedom would have come out without end."""
    assert combine(Component("scatter", 1e-90, 4, "A")).dof == pytest.approx(4)


def test_nothing_cant_be_combined() -> None:
    with pytest.raises(CantUse, match="components"):
        combine()


@pytest.mark.parametrize(("u", "dof", "kind"), [(-1.0, 4, "A"), (math.nan, 4, "A"), (1.0, 0, "A"), (1.0, 4, "C")])
def test_a_part_that_can_be_why_no_uncertainty_is_refused(u: float, dof: float, kind: str) -> None:
    with pytest.raises(CantUse):
        Component("part", u, dof, kind)


@given(st.floats(0.5, 1e5), st.floats(0.5, 0.999))
def test_more_freedom_and_a_lower_level_need_a_smaller_factor(dof: float, level: float) -> None:
    factor = coverage_factor(dof, level)
    assert factor > 0
    assert coverage_factor(2 * dof, level) <= factor * (1 + 1e-9)
    assert coverage_factor(dof, 0.5) <= factor * (1 + 1e-9)
    assert coverage_factor(math.inf, level) <= factor * (1 + 1e-9)


def test_the_factor_has_no_step_where_the_normal_one_takes_over() -> None:
    assert coverage_factor(1e6) == pytest.approx(coverage_factor(1.0001e6), rel=1e-5)


@pytest.mark.parametrize("dof", [0, -1, math.nan])
def test_no_freedom_has_no_factor(dof: float) -> None:
    with pytest.raises(CantUse, match="dof"):
        coverage_factor(dof)


@given(st.lists(many_readings, min_size=2, max_size=6))
def test_a_pooled_uncertainty_is_no_less_than_the_series_lie_apart(series: list[list[float]]) -> None:
    found = pooled(series)
    assert found.between_spread is not None and found.standard_uncertainty is not None
    apart = statistics.stdev(map(statistics.fmean, series))
    assert found.between_spread == pytest.approx(apart, abs=1e-9)
    assert found.standard_uncertainty >= apart * (1 - 1e-9)


@given(st.lists(many_readings, min_size=2, max_size=6))
def test_the_pooled_mean_is_the_mean_of_all_readings(series: list[list[float]]) -> None:
    found = pooled(series)
    assert found.mean == pytest.approx(statistics.fmean(value for one in series for value in one))
    assert found.n == sum(map(len, series))


def test_pooling_widens_what_one_long_series_of_the_same_readings_would_claim() -> None:
    """Three arrows 2 m/s apart: as one series the 9 readings would claim 0.6 m/s for an arrow never chronographed."""
    series = [[50.0, 50.1, 49.9], [52.0, 52.1, 51.9], [54.0, 54.1, 53.9]]
    as_one = summary([value for one in series for value in one])
    found = pooled(series)
    assert as_one.standard_uncertainty_type_a is not None and found.standard_uncertainty is not None
    assert found.standard_uncertainty > 3 * as_one.standard_uncertainty_type_a
    assert found.standard_uncertainty > 2.0


def test_more_readings_of_the_same_arrows_dont_make_the_arrows_alike() -> None:
    few = pooled([[50.0, 51.0], [54.0, 55.0]])
    many = pooled([[50.0, 51.0] * 50, [54.0, 55.0] * 50])
    assert few.standard_uncertainty is not None and many.standard_uncertainty is not None
    assert many.standard_uncertainty > statistics.stdev([50.5, 54.5])
    assert many.standard_uncertainty > 0.95 * few.standard_uncertainty


def test_series_in_full_agreement_are_left_with_their_own_scatter() -> None:
    found = pooled([[50.0, 52.0], [50.0, 52.0]])
    assert found.between_spread == 0.0
    assert found.standard_uncertainty == pytest.approx(math.sqrt(2) / 2)


def test_one_series_pools_to_its_own_readings() -> None:
    alone, found = summary([50.0, 52.0, 51.0]), pooled([[50.0, 52.0, 51.0], []])
    assert (found.mean, found.within_spread, found.between_spread) == (alone.mean, alone.spread, None)
    assert found.standard_uncertainty == pytest.approx(alone.standard_uncertainty_type_a)
    assert found.dof == pytest.approx(alone.dof)


def test_one_reading_each_tells_how_far_series_lie_apart_and_no_more() -> None:
    found = pooled([[50.0], [54.0]])
    assert found.within_spread is None
    assert found.standard_uncertainty == pytest.approx(statistics.stdev([50.0, 54.0]) * math.sqrt(1.5))
    assert [part.name for part in found.components] == [because("series_lie_apart")]


def test_one_reading_in_all_has_a_mean_and_why_no_uncertainty_that_could_be_told() -> None:
    found = pooled([[50.0]])
    assert (found.mean, found.standard_uncertainty, found.dof, found.components) == (50.0, None, 0, ())


def test_the_uncertainty_covers_another_arrow_as_often_as_it_says() -> None:
    """By trial, with a fixed seed: arrows differ by 1 m/s, readings by 0.5. For four arrows of five readings the
    expanded uncertainty holds a fifth arrow's own mean speed in about 95 of 100 such days."""
    chance = random.Random(1346)
    held = 0
    for _ in range(400):
        arrows = [chance.gauss(52.0, 1.0) for _ in range(5)]
        found = pooled([[chance.gauss(arrow, 0.5) for _ in range(5)] for arrow in arrows[:4]])
        assert found.standard_uncertainty is not None
        held += abs(arrows[4] - found.mean) <= coverage_factor(found.dof) * found.standard_uncertainty
    assert 0.92 <= held / 400 <= 0.99
