"""The energy for half: what it must do, when it says no, and that curve, band and point are one model."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, Reason, because
from proofyard.statistics.fifty_percent_point import (
    FALLING,
    FLAT,
    Curve,
    EnergyPoint,
    curve_band,
    fifty_percent_point,
    fit_curve,
    tail_point,
)
from scipy.optimize import minimize

PARTED = ([22.0, 26, 30, 34, 38, 42, 46, 50, 54, 58], [0] * 5 + [1] * 5)
MIXED = ([30.0, 33, 36, 39, 42, 45, 48, 51, 54, 57, 60, 63], [0, 0, 0, 1, 0, 0, 1, 0, 1, 1, 1, 1])


def curve_of(energies: list[float], through: list[int]) -> Curve:
    curve = fit_curve(energies, through)
    assert isinstance(curve, Curve)
    return curve


def point_of(energies: list[float], through: list[int], *, level: float = 0.95) -> EnergyPoint:
    found = fifty_percent_point(curve_of(energies, through), level=level)
    assert isinstance(found, EnergyPoint)
    return found


def many(shots: int, *, slope: float, seed: int) -> tuple[list[float], list[int]]:
    lots = np.random.default_rng(seed)
    energies = np.exp(lots.uniform(math.log(30), math.log(65), shots))
    return [float(e) for e in energies], [int(u < 1 / (1 + (e / 45) ** -slope)) for e, u in zip(energies, lots.random(shots), strict=True)]


REFUSALS = [
    ("no shots", [], [], because("no_shots")),
    ("all through", [30.0, 40, 50], [1, 1, 1], because("all_got_through", shots=3)),
    ("none through", [30.0, 40, 50], [0, 0, 0], because("none_got_through", shots=3)),
    ("energies not measured", [None, None], [1, 0], because("no_measured_energy", shots=2)),
    ("one energy", [45.0, 45, 45], [1, 0, 1], because("one_energy_only")),
    ("falling", [30.0, 35, 40, 45], [1, 1, 0, 0], FALLING),
    ("level on the mean", [30.0, 40, 40, 30], [1, 1, 0, 0], FALLING),
]


@pytest.mark.parametrize(("case", "energies", "through", "reason"), REFUSALS, ids=[one[0] for one in REFUSALS])
def test_what_cant_be_told_has_its_reason(case: str, energies: list[float | None], through: list[int], reason: Reason) -> None:
    assert fit_curve(energies, through) == CantTell(reason)


def test_shots_that_dont_show_a_rise_place_no_point() -> None:
    assert fifty_percent_point(curve_of([30, 40, 50, 60], [0, 1, 0, 1])) == CantTell(FLAT)


def test_few_of_many_through_bound_the_point_from_below_only() -> None:
    found = point_of([30, 40, 50, 60, 62, 63, 64, 65, 66], [0, 0, 0, 0, 0, 0, 0, 1, 0])
    assert found.low_j is not None and found.high_j is None
    assert found.outside
    assert found.unbounded == because("open_above")


def test_nearly_all_through_bound_it_from_above_only() -> None:
    found = point_of([30, 40, 50, 60, 62, 63, 64, 65, 66][::-1], [1, 1, 1, 1, 1, 1, 1, 0, 1])
    assert found.low_j is None and found.high_j is not None
    assert found.unbounded == because("open_below")


def test_parted_shots_still_place_the_point_between_them() -> None:
    found = point_of(*PARTED)
    assert 38 < found.energy_j < 42
    assert found.low_j is not None and found.high_j is not None
    assert found.low_j < 38 and found.high_j > 42
    assert found.unbounded is None


def test_a_shot_without_energy_is_counted_and_changes_nothing() -> None:
    curve = fit_curve([*PARTED[0], None], [*PARTED[1], 1])
    assert isinstance(curve, Curve)
    assert curve.without_energy == 1 and curve.shots == 10 and curve.hits == 5
    assert curve.middle == curve_of(*PARTED).middle


@given(st.floats(0.01, 1000))
@settings(max_examples=25, deadline=None)
def test_another_unit_of_energy_gives_the_same_point_in_that_unit(unit: float) -> None:
    here, there = point_of(*MIXED), point_of([one * unit for one in MIXED[0]], MIXED[1])
    assert here.low_j is not None and here.high_j is not None and there.low_j is not None and there.high_j is not None
    ours = (here.energy_j * unit, here.low_j * unit, here.high_j * unit)
    assert (there.energy_j, there.low_j, there.high_j) == pytest.approx(ours, rel=1e-6)


def test_energy_turned_over_and_outcomes_swapped_mirror_the_interval() -> None:
    here = point_of(*MIXED)
    there = point_of([2000 / one for one in MIXED[0]], [1 - one for one in MIXED[1]])
    assert here.low_j is not None and here.high_j is not None and there.low_j is not None and there.high_j is not None
    assert (there.energy_j, there.low_j, there.high_j) == pytest.approx(
        (2000 / here.energy_j, 2000 / here.high_j, 2000 / here.low_j), rel=1e-6
    )


@given(st.integers(0, 10_000), st.sampled_from([10, 20, 40]), st.sampled_from([4.0, 8.0, 16.0]))
@settings(max_examples=40, deadline=None)
def test_the_point_lies_in_its_interval_and_the_interval_grows_with_the_level(seed: int, n: int, slope: float) -> None:
    curve = fit_curve(*many(n, slope=slope, seed=seed))
    if isinstance(curve, CantTell):
        return
    found = [fifty_percent_point(curve, level=level) for level in (0.8, 0.95)]
    for one in found:
        if isinstance(one, EnergyPoint):
            assert (one.low_j or 0) < one.energy_j < (one.high_j or math.inf)
    if isinstance(found[1], EnergyPoint):
        assert isinstance(found[0], EnergyPoint)
        assert (found[1].low_j or 0) <= (found[0].low_j or 0)
        assert (found[0].high_j or math.inf) <= (found[1].high_j or math.inf)


def test_more_of_the_same_shots_narrow_the_interval() -> None:
    once, thrice = point_of(*MIXED), point_of(MIXED[0] * 3, MIXED[1] * 3)
    assert once.low_j is not None and once.high_j is not None
    assert thrice.low_j is not None and thrice.high_j is not None
    assert thrice.high_j / thrice.low_j < once.high_j / once.low_j


@pytest.mark.parametrize("shots", [PARTED, MIXED, many(40, slope=8, seed=3), many(200, slope=4, seed=4)])
@pytest.mark.parametrize("level", [0.8, 0.95])
def test_the_band_crosses_half_where_the_interval_ends(shots: tuple[list[float], list[int]], level: float) -> None:
    found = point_of(*shots, level=level)
    assert found.low_j is not None and found.high_j is not None
    band = curve_band(found.curve, [found.low_j, found.energy_j, found.high_j], level=level)
    assert band.highs[0] == pytest.approx(0.5, abs=2e-4)
    assert band.chances[1] == pytest.approx(0.5, abs=1e-9)
    assert band.lows[2] == pytest.approx(0.5, abs=2e-4)


def test_where_one_side_is_open_the_band_never_crosses_half_on_it() -> None:
    found = point_of([30, 40, 50, 60, 62, 63, 64, 65, 66], [0, 0, 0, 0, 0, 0, 0, 1, 0])
    band = curve_band(found.curve, [1.0, found.low_j or 0, 1000.0, 50_000.0])
    assert band.highs[1] == pytest.approx(0.5, abs=1e-3)
    assert band.lows[2] < 0.5 and band.lows[3] < 0.5


@pytest.mark.parametrize("shots", [PARTED, MIXED, ([30.0, 40, 50, 60], [0, 1, 0, 1])])
def test_the_band_holds_the_curve_and_never_falls(shots: tuple[list[float], list[int]]) -> None:
    band = curve_band(curve_of(*shots), list(range(20, 80)))
    for low, chance, high in zip(band.lows, band.chances, band.highs, strict=True):
        assert 0 <= low <= chance <= high <= 1
    for line in (band.lows, band.chances, band.highs):
        assert all(before <= after + 1e-12 for before, after in zip(line, line[1:], strict=False))


def test_tails_are_refused_below_40_shots() -> None:
    found = tail_point(curve_of(*many(39, slope=8, seed=1)), 0.9)
    assert found == CantTell(because("too_few_for_a_tail", shots=39, needed=40, share=0.9))
    assert isinstance(tail_point(curve_of(*many(40, slope=8, seed=1)), 0.7), EnergyPoint)


def test_tails_outside_the_energies_shot_are_refused() -> None:
    found = tail_point(curve_of(*many(200, slope=4, seed=1)), 0.999)
    assert isinstance(found, CantTell)
    assert found.reason.code == "tail_outside_the_energies_shot"


def test_the_tail_point_of_a_half_is_the_point() -> None:
    curve = curve_of(*many(60, slope=8, seed=2))
    half, tail = fifty_percent_point(curve), tail_point(curve, 0.5)
    assert isinstance(half, EnergyPoint) and isinstance(tail, EnergyPoint)
    assert (tail.energy_j, tail.low_j, tail.high_j) == (half.energy_j, half.low_j, half.high_j)


def test_the_band_crosses_a_tail_where_the_tail_point_ends() -> None:
    curve = curve_of(*many(200, slope=8, seed=2))
    tail = tail_point(curve, 0.8)
    assert isinstance(tail, EnergyPoint) and tail.low_j is not None and tail.high_j is not None
    band = curve_band(curve, [tail.low_j, tail.high_j])
    assert band.highs[0] == pytest.approx(0.8, abs=2e-4)
    assert band.lows[1] == pytest.approx(0.8, abs=2e-4)


@pytest.mark.parametrize(
    ("energies", "through"),
    [([30.0], [1, 0]), ([0.0, 40.0], [0, 1]), ([-1.0, 40.0], [0, 1]), ([math.inf, 40.0], [0, 1]), ([30.0, 40.0], [0, 2])],
)
def test_what_no_record_could_hold_is_refused(energies: list[float], through: list[int]) -> None:
    with pytest.raises(CantUse):
        fit_curve(energies, through)


@pytest.mark.parametrize("share", [0, 1, -0.1, math.nan])
def test_a_share_outside_its_range_is_refused(share: float) -> None:
    with pytest.raises(CantUse):
        tail_point(curve_of(*MIXED), share)


@pytest.mark.parametrize("energy", [0.0, -5.0, math.nan])
def test_a_band_at_no_energy_is_refused(energy: float) -> None:
    with pytest.raises(CantUse):
        curve_band(curve_of(*MIXED), [energy])


@pytest.mark.long
def test_the_point_takes_at_most_ten_times_one_ordinary_fit() -> None:
    """200 shots; the ordinary fit is scipy's BFGS on the plain likelihood, handed its gradient."""
    energies, through = many(200, slope=8, seed=1)
    logs = np.log(np.array(energies))
    design, outcomes = np.column_stack([np.ones(200), logs - logs.mean()]), np.array(through, dtype=float)

    def ordinary() -> None:
        minimize(
            lambda b: np.logaddexp(0, design @ b).sum() - outcomes @ (design @ b),
            np.zeros(2),
            jac=lambda b: design.T @ (1 / (1 + np.exp(-design @ b)) - outcomes),
            method="BFGS",
        )

    def ours() -> None:
        point_of(energies, through)

    best = {ordinary: math.inf, ours: math.inf}
    for _ in range(15):
        for work in best:
            began = time.perf_counter()
            work()
            best[work] = min(best[work], time.perf_counter() - began)
    assert best[ours] <= 10 * best[ordinary], f"{best[ours] / best[ordinary]:.1f} times"


@pytest.mark.long
@pytest.mark.parametrize(("shots", "low", "high"), [(10, 0.94, 1.0), (20, 0.93, 0.995), (40, 0.93, 0.99)])
@pytest.mark.parametrize("slope", [4, 8, 16])
def test_the_interval_holds_the_true_point_as_often_as_it_says(shots: int, low: float, high: float, slope: int) -> None:
    """A thousand runs a cell; an interval without an end counts as holding it, so the bounded ones are judged alone too."""
    import importlib.util
    from pathlib import Path

    script = Path(__file__).parents[1] / "bench" / "coverage_of_fifty_percent.py"
    spec = importlib.util.spec_from_file_location("coverage_of_fifty_percent", script)
    assert spec is not None and spec.loader is not None
    bench = importlib.util.module_from_spec(spec)
    import sys

    sys.modules[spec.name] = bench
    spec.loader.exec_module(bench)
    ours, plain = bench.cell(shots, slope, runs=1000, seed=100 * shots + slope)
    assert low <= ours.coverage <= high
    assert ours.bounded_coverage >= 0.93
    assert ours.bounded_coverage >= plain.bounded_coverage
