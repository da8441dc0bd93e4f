"""What uncertainty about energies does to the point: three uncertainties, three ways."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.energy_uncertainty import DRAWS, DRAWS_SEED, WidenedPoint, point_with_energy_uncertainty
from proofyard.statistics.fifty_percent_point import Curve, fit_curve

ENERGIES = [30.0, 33, 36, 39, 42, 45, 48, 51, 54, 57, 60, 63] * 2
THROUGH = [0, 0, 0, 1, 0, 0, 1, 0, 1, 1, 1, 1] * 2
COMBINATIONS = ["a", "b", "c", "d"] * 6


def widened(instrument: float = 0.0, combination: float = 0.0, shot: float = 0.0, **more: object) -> WidenedPoint:
    found = point_with_energy_uncertainty(
        ENERGIES,
        THROUGH,
        combinations=COMBINATIONS,
        instrument_relative=instrument,
        combination_relative=dict.fromkeys("abcd", combination),
        shot_relative=shot,
        **more,
    )
    assert isinstance(found, WidenedPoint)
    assert found.low_j is not None and found.high_j is not None
    return found


def test_sure_energies_leave_the_interval_as_it_was() -> None:
    found = widened()
    assert (found.low_j, found.high_j) == pytest.approx((found.point.low_j, found.point.high_j), rel=1e-12)
    assert (found.from_combinations, found.flattened) == (0, 1)
    assert found.flattening == because("shot_scatter_unknown")


def test_what_the_instruments_share_is_added_once_whatever_the_number_of_shots() -> None:
    """The half width in ln E, squared, grows by (1.96 u)^2: by hand."""
    found = widened(instrument=0.05)
    assert found.point.high_j is not None and found.high_j is not None
    own = math.log(found.point.high_j / found.point.energy_j)
    assert math.log(found.high_j / found.point.energy_j) ** 2 == pytest.approx(own**2 + (1.959964 * 0.05) ** 2, rel=1e-6)


def test_uncertainty_only_ever_widens() -> None:
    ends = [widened(combination=u) for u in (0.0, 0.03, 0.1)]
    for less, more in pairwise(ends):
        assert more.low_j is not None and less.low_j is not None and more.low_j < less.low_j
        assert more.high_j is not None and less.high_j is not None and more.high_j > less.high_j


def test_one_combination_moves_all_its_shots_so_its_uncertainty_is_the_points() -> None:
    found = point_with_energy_uncertainty(
        ENERGIES, THROUGH, combinations=["a"] * 24, instrument_relative=0, combination_relative={"a": 0.04}, shot_relative=0, draws=1000
    )
    assert isinstance(found, WidenedPoint)
    assert found.from_combinations == pytest.approx(0.04, rel=0.1)


def test_many_combinations_of_their_own_uncertainty_average_part_of_it_away() -> None:
    assert 0.2 * 0.04 < widened(combination=0.04).from_combinations < 0.9 * 0.04


def test_the_same_page_shows_the_same_figures_twice() -> None:
    assert widened(combination=0.05).from_combinations == widened(combination=0.05).from_combinations
    assert widened(combination=0.05, seed=1).from_combinations != widened(combination=0.05, seed=2).from_combinations


@pytest.mark.parametrize(
    ("shots", "slope", "wide"), [(14, 12.0, 1), (14, 12.0, 5), (30, 3.0, 5), (40, 12.0, 1), (60, 40.0, 1), (150, 12.0, 5), (400, 6.0, 1)]
)
def test_draws_fitted_side_by_side_are_those_of_one_fit_each(shots: int, slope: float, wide: float) -> None:
    """Curves that many draws lose, and shots that one energy parts, are among them. The last digits of one fit are rounding."""
    lots = np.random.default_rng(shots)
    names = lots.choice(list("abc"), shots).tolist()
    kept = lots.random(shots) < 0.6
    energies = [{"a": 34.0, "b": 41.0, "c": 47.0}[name] for name in names] * np.where(kept, 1, np.exp(0.15 * lots.standard_normal(shots)))
    through = (lots.random(shots) < 1 / (1 + np.exp(-slope * np.log(energies / 41)))).astype(int).tolist()
    own = {"a": 0.03 * wide, "b": 0.1 * wide, "c": 0.06 * wide}
    parts = {"instrument_relative": 0.0, "combination_relative": own, "shot_relative": 0.0}
    found = point_with_energy_uncertainty(energies.tolist(), through, combinations=names, **parts)
    assert isinstance(found, WidenedPoint)
    order, draws = list(dict.fromkeys(names)), np.random.default_rng(DRAWS_SEED)
    middles, lost = [], 0
    for _ in range(DRAWS):
        factors = dict(zip(order, draws.standard_normal(3) * [own[name] for name in order], strict=True))
        moved = [energy * math.exp(factors[name]) for energy, name in zip(energies, names, strict=True)]
        curve = fit_curve(moved, through)
        if isinstance(curve, Curve):
            middles.append(curve.middle)
        else:
            lost += 1
    low, high = np.quantile(middles, [0.1587, 0.8413])
    assert found.from_combinations == pytest.approx((high - low) / 2, rel=2e-5)
    assert found.draws_lost == lost and (lost > 0) == (wide > 1)


def test_scatter_of_single_shots_flattens_the_curve_by_as_much_as_is_said() -> None:
    """20,000 shots of a true slope of 12, their true energies 8 % about those known: the slope found over 12."""
    lots = np.random.default_rng(3)
    known = lots.uniform(math.log(30), math.log(65), 20_000)
    true = known + 0.08 * lots.standard_normal(known.size)
    through = (lots.random(known.size) < 1 / (1 + np.exp(-12 * (true - math.log(45))))).astype(int)
    energies = np.exp(known).tolist()
    curve = fit_curve(energies, through.tolist())
    assert isinstance(curve, Curve)
    found = point_with_energy_uncertainty(
        energies, through.tolist(), combinations=["a"] * 20_000, instrument_relative=0, combination_relative={"a": 0}, shot_relative=0.08
    )
    assert isinstance(found, WidenedPoint) and found.flattened is not None
    assert found.flattened == pytest.approx(curve.slope / 12, abs=0.03)
    assert found.flattening == because("shot_scatter_flattens", share=1 - found.flattened)


def test_scatter_that_could_make_the_whole_slope_is_said_to() -> None:
    found = widened(shot=0.9)
    assert found.flattened is None
    assert found.flattening == because("shot_scatter_alone_as_flat")
    assert widened(shot=0.001).flattening.code == "shot_scatter_flattens"


def test_an_open_end_stays_open() -> None:
    found = point_with_energy_uncertainty(
        [30, 40, 50, 60, 62, 63, 64, 65, 66],
        [0, 0, 0, 0, 0, 0, 0, 1, 0],
        combinations=["a"] * 9,
        instrument_relative=0.03,
        combination_relative={"a": 0},
        shot_relative=0,
    )
    assert isinstance(found, WidenedPoint)
    assert found.high_j is None and found.low_j is not None
    assert found.point.low_j is not None and found.low_j < found.point.low_j


@pytest.mark.parametrize(("energies", "through"), [([30.0, 40], [1, 1]), ([30.0, 40, 50, 60], [0, 1, 0, 1])])
def test_no_point_stays_no_point(energies: list[float], through: list[int]) -> None:
    found = point_with_energy_uncertainty(
        energies, through, combinations=["a"] * len(through), instrument_relative=0.03, combination_relative={"a": 0.01}, shot_relative=0.02
    )
    assert isinstance(found, CantTell)


@pytest.mark.parametrize(
    ("change", "value"),
    [
        ("combinations", ["a"]),
        ("combination_relative", {}),
        ("combination_relative", {"a": -0.1}),
        ("instrument_relative", -0.1),
        ("shot_relative", math.nan),
        ("draws", 1),
    ],
)
def test_what_no_record_could_hold_is_refused(change: str, value: object) -> None:
    sound: dict[str, object] = {
        "combinations": ["a"] * 24,
        "instrument_relative": 0.0,
        "combination_relative": {"a": 0.0},
        "shot_relative": 0.0,
    }
    with pytest.raises(CantUse):
        point_with_energy_uncertainty(ENERGIES, THROUGH, **{**sound, change: value})
