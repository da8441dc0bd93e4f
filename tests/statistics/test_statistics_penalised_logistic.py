"""The penalised fit against a second one, written another way, and what any logistic fit must do."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.logistic_likelihood import Likelihood
from proofyard.statistics.penalised_logistic import LogisticFit, coefficient_interval, fit_logistic, ratio_interval
from scipy.optimize import brentq, minimize, minimize_scalar

SETS = {
    "parted": (list(range(20, 70, 5)), [0] * 5 + [1] * 5),
    "overlapping": ([30, 35, 40, 45, 50, 55, 60, 65], [0, 0, 1, 0, 1, 0, 1, 1]),
    "one out of order": ([31, 33, 36, 41, 44, 47, 52, 58, 63], [0, 0, 0, 1, 0, 1, 1, 1, 1]),
    "two energies": ([40, 40, 40, 40, 55, 55, 55, 55], [0, 0, 0, 1, 0, 1, 1, 1]),
    "one hit": ([30, 40, 50, 60, 62, 63, 64, 65, 66], [0, 0, 0, 0, 0, 0, 0, 1, 0]),
}


def value_another_way(xs: list[float], ys: list[int], intercept: float, slope: float) -> float:
    """Shot by shot, with the determinant written out: the penalised log-likelihood as its definition reads."""
    total, first, second, third = 0.0, 0.0, 0.0, 0.0
    for x, y in zip(xs, ys, strict=True):
        p = 1 / (1 + math.exp(-(intercept + slope * x)))
        total += math.log(p if y else 1 - p)
        first, second, third = first + p * (1 - p), second + p * (1 - p) * x, third + p * (1 - p) * x * x
    return total + 0.5 * math.log(first * third - second**2)


def standard(name: str) -> tuple[list[float], list[int]]:
    xs, ys = SETS[name]
    logs = np.log(np.array(xs, dtype=float))
    return [float(one) for one in (logs - logs.mean()) / logs.std()], ys


def fitted(xs: list[float], ys: list[int]) -> LogisticFit:
    fit = fit_logistic([[1.0, x] for x in xs], ys)
    assert isinstance(fit, LogisticFit)
    return fit


@pytest.mark.parametrize("name", SETS)
def test_the_fit_is_where_a_blind_search_of_the_definition_ends(name: str) -> None:
    xs, ys = standard(name)
    found = minimize(
        lambda b: -value_another_way(xs, ys, b[0], b[1]),
        x0=[0.0, 0.5],
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-13, "maxiter": 5000},
    )
    fit = fitted(xs, ys)
    assert fit.coefficients == pytest.approx(tuple(found.x), abs=2e-5)
    assert fit.log_likelihood == pytest.approx(-found.fun, abs=1e-9)


def drop_another_way(xs: list[float], ys: list[int], place: float, best: float) -> float:
    """Twice the fall if half get through at this place, over slopes not below 0, by a bounded search."""
    found = minimize_scalar(
        lambda slope: -value_another_way(xs, ys, -slope * place, slope),
        bounds=(0.0, 12 / (1 + abs(place))),
        method="bounded",
        options={"xatol": 1e-10},
    )
    return 2 * (best + float(found.fun))


@pytest.mark.parametrize("name", ["parted", "one out of order", "overlapping"])
@pytest.mark.parametrize("level", [0.8, 0.9])
def test_the_ends_of_the_ratio_are_where_a_bounded_search_falls_far_enough(name: str, level: float) -> None:
    xs, ys = standard(name)
    fit = fitted(xs, ys)
    low, high = ratio_interval(fit, 1, over=np.array([1.0, 0.0]), offset=np.zeros(2), level=level)
    asked = {0.8: 1.642374, 0.9: 2.705543}[level]
    middle = -fit.coefficients[0] / fit.coefficients[1]
    for end, sign in ((low, -1), (high, 1)):
        if end is None:
            assert drop_another_way(xs, ys, middle + sign * 1e5, fit.log_likelihood) < asked
            continue
        other = brentq(lambda place: drop_another_way(xs, ys, place, fit.log_likelihood) - asked, middle, middle + sign * 40)
        assert end == pytest.approx(float(other), abs=1e-4)


@given(st.lists(st.tuples(st.integers(20, 80), st.integers(0, 1)), min_size=3, max_size=25))
@settings(max_examples=60, deadline=None)
def test_swapping_through_and_stopped_turns_the_signs(shots: list[tuple[int, int]]) -> None:
    xs, ys = [float(x) for x, _ in shots], [y for _, y in shots]
    if len(set(xs)) < 2:
        return
    fit, turned = fitted(xs, ys), fitted(xs, [1 - y for y in ys])
    assert turned.coefficients == pytest.approx([-b for b in fit.coefficients], rel=1e-4, abs=1e-5)


@given(st.lists(st.tuples(st.integers(20, 80), st.integers(0, 1)), min_size=3, max_size=25), st.randoms())
@settings(max_examples=30, deadline=None)
def test_the_order_and_the_unit_of_the_shots_do_not_matter(shots: list[tuple[int, int]], lots: object) -> None:
    xs, ys = [float(x) for x, _ in shots], [y for _, y in shots]
    if len(set(xs)) < 2:
        return
    mixed = shots[:]
    lots.shuffle(mixed)
    fit = fitted(xs, ys)
    other = fitted([x / 10 for x, _ in mixed], [y for _, y in mixed])
    assert other.coefficients[1] / 10 == pytest.approx(fit.coefficients[1], rel=1e-4, abs=1e-6)
    assert other.coefficients[0] == pytest.approx(fit.coefficients[0], rel=1e-4, abs=1e-5)


@given(st.lists(st.tuples(st.integers(20, 80), st.integers(0, 1)), min_size=4, max_size=20))
@settings(max_examples=60, deadline=None)
def test_a_plain_slope_rises_only_if_those_through_had_more_on_the_mean(shots: list[tuple[int, int]]) -> None:
    """Owen and Roediger 2014 prove it for the logistic curve: the sign of the slope is that of the gap of the means."""
    through, stopped = [x for x, y in shots if y], [x for x, y in shots if not y]
    fit = fit_logistic([[1.0, float(x)] for x, _ in shots], [y for _, y in shots], penalised=False)
    if isinstance(fit, CantTell) or not through or not stopped:
        return
    gap = sum(through) / len(through) - sum(stopped) / len(stopped)
    if abs(gap) > 1e-9:
        assert math.copysign(1, fit.coefficients[1]) == math.copysign(1, gap)


def test_a_coefficient_is_inside_its_interval_and_a_higher_level_is_wider() -> None:
    fit = fitted(*standard("one out of order"))
    narrow, wide = coefficient_interval(fit, 1, level=0.8), coefficient_interval(fit, 1, level=0.99)
    ends = [wide.low, narrow.low, narrow.value, narrow.high, wide.high]
    assert all(one is not None for one in ends)
    assert ends == sorted(one for one in ends if one is not None)


def test_columns_that_say_the_same_give_no_answer() -> None:
    found = fit_logistic([[1, x, 2 * x] for x in range(5)], [0, 1, 0, 1, 1])
    assert isinstance(found, CantTell)
    assert found.reason == because("two_terms_say_the_same")


def test_plain_likelihood_of_parted_shots_has_no_answer() -> None:
    xs, ys = standard("parted")
    assert isinstance(fit_logistic([[1.0, x] for x in xs], ys, penalised=False), CantTell)


@pytest.mark.parametrize(("design", "through"), [([[1.0]], []), ([[1.0], [1.0]], [1]), ([[math.nan]], [1]), ([[1.0], [1.0]], [0, 2])])
def test_what_no_record_could_hold_is_refused(design: list[list[float]], through: list[int]) -> None:
    with pytest.raises(CantUse):
        fit_logistic(design, through)


def test_a_column_that_is_not_there_is_refused() -> None:
    with pytest.raises(CantUse):
        coefficient_interval(fitted(*standard("parted")), 2)


@pytest.mark.parametrize("shots", [200, 400, 700])
def test_many_shots_at_energies_of_their_own_have_a_top_too(shots: int) -> None:
    """Their likelihood is told to thirteen digits or so: whoever looks for more must end where nothing more is to be gained."""
    lots = np.random.default_rng(1)
    xs, ys = lots.normal(0, 1, shots), [n % 2 for n in range(shots)]
    fit = fit_logistic(np.column_stack([np.ones(shots), ys, xs]), ys)
    assert isinstance(fit, LogisticFit)
    score = fit.likelihood.at(np.array(fit.coefficients))[1]
    assert float(np.abs(score).max()) < 1e-5, "the likelihood is level there"


def test_many_shots_that_are_alike_are_fitted_as_if_each_stood_alone() -> None:
    """Two thousand at ten places: one row a place, and the same likelihood, score and information as of a row a shot."""
    lots = np.random.default_rng(4)
    xs = lots.integers(0, 10, 2_000) / 3
    ys = (lots.random(xs.size) < 1 / (1 + np.exp(3 - 2 * xs))).astype(float)
    rows = np.column_stack([np.ones(xs.size), xs])
    fit = fit_logistic(rows, ys)
    assert isinstance(fit, LogisticFit)
    assert len(fit.likelihood.design) == 10 and fit.likelihood.counts.sum() == 2_000
    alone = Likelihood(rows, ys, penalised=True)
    for coefficients in (np.array(fit.coefficients), np.array([0.5, -0.2])):
        one, other = fit.likelihood.at(coefficients), alone.at(coefficients)
        assert one[0] == pytest.approx(other[0], rel=1e-12)
        assert one[1] == pytest.approx(other[1], rel=1e-9, abs=1e-8)
        assert one[2] == pytest.approx(other[2], rel=1e-11)
    assert fit.log_likelihood == pytest.approx(alone.at(np.array(fit.coefficients))[0], rel=1e-12)
    assert np.abs(alone.at(np.array(fit.coefficients))[1]).max() < 1e-5, "the likelihood is level there"


def test_steep_curves_of_many_shots_end_in_few_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Six hundred that one energy all but parts: where last digits of the likelihood are noise, steps go on for hundreds (517 here)."""
    lots = np.random.default_rng(2)
    xs = lots.normal(0, 1, 600)
    ys = (xs + 0.02 * lots.normal(0, 1, 600) > 0).astype(int)
    asked: list[int] = []
    at = Likelihood.at
    monkeypatch.setattr(Likelihood, "at", lambda self, coefficients: asked.append(1) or at(self, coefficients))
    assert isinstance(fit_logistic(np.column_stack([np.ones(600), xs]), ys), LogisticFit)
    assert len(asked) < 150
