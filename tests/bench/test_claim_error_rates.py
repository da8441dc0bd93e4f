"""Claims are answered wrongly as seldom as the plan of these statistics asks, if one looks after each shot."""

from __future__ import annotations

import pytest

from tests.bench import claim_error_rates as bench

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("one_in", bench.ONE_IN)
def test_looking_after_each_of_200_shots_errs_in_at_most_so_many(one_in: int) -> None:
    yes, no = bench.looking(one_in)
    assert yes <= 0.045 and no <= 0.030


def test_bounds_of_one_look_would_err_in_a_fifth() -> None:
    """Why claims don't use them: were the recursion wrong, this would not come out as the plan's 20.2 and 24.1 %."""
    assert bench.looking(5, "look ") == (pytest.approx(0.202, abs=0.0006), pytest.approx(0.241, abs=0.0006))
    assert bench.looking(20, "look ") == (pytest.approx(0.117, abs=0.003), pytest.approx(0.188, abs=0.0006))


@pytest.mark.parametrize("one_in", bench.ONE_IN[:2])
@pytest.mark.parametrize("slope", bench.SLOPES)
@pytest.mark.parametrize("shared", bench.SHARED)
def test_at_an_energy_with_a_shared_error_it_errs_in_at_most_so_many(one_in: int, slope: float, shared: float) -> None:
    yes, no = bench.at_an_energy(one_in, slope=slope, shared=shared)
    assert yes <= 0.045 and no <= 0.045


def test_with_a_smaller_margin_or_none_it_errs_too_often_in_200_shots() -> None:
    """One standard uncertainty does for 60 shots, as the plan has it; for 200 it doesn't, and without any margin a quarter is wrong."""
    yes, no = bench.at_an_energy(5, slope=16, shared=0.05, margin=1, shots=60)
    assert yes <= 0.042 and no <= 0.045
    yes, no = bench.at_an_energy(5, slope=16, shared=0.05, margin=1)
    assert yes > 0.045 and no > 0.045
    assert min(bench.at_an_energy(5, slope=16, shared=0.05, margin=0)) > 0.2


def test_the_simulation_for_the_type_runs_and_sees_a_rule_that_errs() -> None:
    """A few runs in which everything is decided the one way or the other; the asked-for 5 % are for the long run."""
    yes, no = bench.for_type(10, arrows=3, alike=0.2, in_turn=True, runs=300)
    assert yes <= 0.09 and no <= 0.09
    lines = list(bench.report(2))
    assert len(lines) == 3 + 3 + 24 + 96


@pytest.mark.long
@pytest.mark.parametrize("one_in", [5, 10])
@pytest.mark.parametrize("arrows", bench.ARROWS)
def test_of_the_type_it_errs_in_at_most_5_percent_up_to_the_stated_correlation(one_in: int, arrows: int) -> None:
    for alike in (0.0, 0.1, 0.2):
        for in_turn in (True, False):
            yes, no = bench.for_type(one_in, arrows=arrows, alike=alike, in_turn=in_turn, runs=10_000)
            assert max(yes, no) <= 0.05, (alike, in_turn)
