"""Scales and ticks: there and back, in order, round."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from proofyard.charts.scale import LinearScale, decimals_for, nice_length, nice_step, nice_ticks, number_text

numbers = st.floats(-1e6, 1e6)
spans = st.floats(1e-3, 1e6)


@given(numbers, spans, numbers, spans, st.floats(0, 1))
def test_a_place_leads_back_to_its_number(low: float, span: float, start: float, length: float, part: float) -> None:
    scale = LinearScale(low, low + span, start, start + length)
    value = low + part * span
    assert scale.back(scale(value)) == pytest.approx(value, abs=1e-6 * (abs(low) + span) * (1 + abs(start) / length))


@given(numbers, spans)
def test_the_ends_of_a_scale_are_its_ends_whichever_way_it_runs(low: float, span: float) -> None:
    for start, end in ((34.0, 324.0), (222.0, 164.0)):
        scale = LinearScale(low, low + span, start, end)
        assert scale(low) == start
        assert scale(low + span) == pytest.approx(end)


@given(st.floats(allow_nan=False))
def test_a_clamped_value_never_leaves_the_drawing(value: float) -> None:
    assert 34.0 <= LinearScale(60, 130, 34.0, 324.0).clamped(value) <= 324.0


@example(1.0, 400001.0, 2)
@given(numbers, spans, st.integers(2, 10))
def test_ticks_are_round_in_order_inside_and_about_as_many_as_asked(low: float, span: float, about: int) -> None:
    high = low + span
    assume(span > 1e-6 * abs(low))
    ticks = nice_ticks(low, high, about)
    steps = [nice_step(high - low, n) for n in range(about, about + 4)]  # a finer one where none of so long a step lies between
    step = next(one for one in steps if math.ceil(low / one - 1e-9) <= math.floor(high / one + 1e-9))
    assert 1 <= len(ticks) <= about + 1
    assert all(low - 1e-6 * step <= tick <= high + 1e-6 * step for tick in ticks)
    assert list(ticks) == sorted(set(ticks))
    assert all(round(tick / step) * step == pytest.approx(tick, abs=1e-6 * step) for tick in ticks)


@given(st.floats(1e-6, 1e9), st.integers(1, 12))
def test_a_step_is_1_2_or_5_of_its_power(span: float, about: int) -> None:
    step = nice_step(span, about)
    front = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert any(front == pytest.approx(nice) for nice in (1, 2, 5))
    assert span / step <= about * (1 + 1e-6)


@given(st.floats(1e-6, 1e9))
def test_a_scale_bar_is_as_long_as_it_may_be_and_round(most: float) -> None:
    length = nice_length(most)
    assert most / 2.5 * (1 - 1e-9) <= length <= most * (1 + 1e-9)


@pytest.mark.parametrize(
    ("low", "high", "about", "ticks"),
    [(60, 130, 4, (60, 80, 100, 120)), (0, 1, 5, (0, 0.2, 0.4, 0.6, 0.8, 1)), (0, 0.3, 3, (0, 0.1, 0.2, 0.3))],
)
def test_ticks_that_anyone_would_pick(low: float, high: float, about: int, ticks: tuple[float, ...]) -> None:
    assert nice_ticks(low, high, about) == ticks


@pytest.mark.parametrize(("step", "decimals"), [(20, 0), (1, 0), (0.5, 1), (0.1, 1), (0.02, 2), (0.001, 3)])
def test_as_many_decimals_as_the_step_needs(step: float, decimals: int) -> None:
    assert decimals_for(step) == decimals


def test_numbers_are_written_with_a_true_minus_and_never_minus_nought() -> None:
    assert number_text(-3.0) == "\N{MINUS SIGN}3"
    assert number_text(-0.04, 1) == "0.0"
    assert number_text(82.647, 1) == "82.6"


@pytest.mark.parametrize(("low", "high"), [(1, 1), (2, 1), (math.nan, 1), (0, math.inf)])
def test_a_scale_without_a_span_is_refused(low: float, high: float) -> None:
    with pytest.raises(ValueError, match="scale"):
        LinearScale(low, high, 0, 1)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf])
def test_a_step_or_a_length_of_nothing_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        nice_step(bad)
    with pytest.raises(ValueError, match="above 0"):
        nice_length(bad)
    with pytest.raises(ValueError, match="low below high"):
        nice_ticks(5, 5)
