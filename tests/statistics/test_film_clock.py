"""The line from the book's time to a film's: against a reference of least squares, and by what must hold of any such line."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse
from proofyard.statistics.film_clock import DRIFT_NOT_KNOWN, ClockMark, FilmClock, film_clock

NOW = 1_790_000_000.0  # seconds since 1970 in autumn 2026: where a sum of squares would lose its digits


def line(*marks: ClockMark, pace: float = 1.0) -> FilmClock:
    found = film_clock(marks, pace=pace)
    assert isinstance(found, FilmClock)
    return found


def test_three_marks_give_the_line_of_weighted_least_squares() -> None:
    """numpy.polyfit with weights 1/u and the drift's own observation as a fourth row of lstsq."""
    marks = [ClockMark(NOW, 10.0, 0.01), ClockMark(NOW + 3000, 3010.05, 0.02), ClockMark(NOW + 7200, 7210.19, 0.01)]
    found = line(*marks)
    away = np.array([mark.book_s - found.book_s for mark in marks])
    weights = np.array([1 / mark.uncertainty_s for mark in marks])
    matrix = np.vstack([np.column_stack([np.ones(3), away]) * weights[:, None], [0.0, 1 / DRIFT_NOT_KNOWN]])
    wanted = np.append((np.array([mark.film_s for mark in marks]) - away) * weights, 0.0)
    solution = np.linalg.lstsq(matrix, wanted, rcond=None)[0]
    covariance = np.linalg.inv(matrix.T @ matrix)
    assert (found.film_s, found.drift) == pytest.approx(tuple(solution), rel=1e-9)
    assert (found.level_u, found.drift_u) == pytest.approx((math.sqrt(covariance[0, 0]), math.sqrt(covariance[1, 1])), rel=1e-9)


def test_one_mark_leaves_the_drift_as_it_was_before() -> None:
    found = line(ClockMark(NOW, 5.0, 0.02))
    assert (found.drift, found.drift_seen) == (0.0, False)
    assert found.drift_u == DRIFT_NOT_KNOWN
    far = found.at(NOW + 7200)
    assert far.value == pytest.approx(7205.0)
    assert far.standard_uncertainty == pytest.approx(math.hypot(0.02, 7200 * 30e-6))


@given(drift=st.floats(-400e-6, 400e-6), start=st.floats(-100, 100), apart=st.floats(3600, 20000), pace=st.sampled_from([1.0, 8.0]))
def test_two_sure_marks_far_apart_give_back_the_line_that_made_them(drift: float, start: float, apart: float, pace: float) -> None:
    marks = [ClockMark(NOW + t, start + pace * (1 + drift) * t, 1e-4) for t in (0.0, apart)]
    found = line(*marks, pace=pace)
    assert found.drift == pytest.approx(drift, abs=2e-8)
    middle = found.at(NOW + apart / 2)
    assert middle.value == pytest.approx(start + pace * (1 + drift) * apart / 2, abs=2e-3 * pace)


@given(t=st.floats(-5000, 20000), u=st.floats(0.001, 0.5))
def test_a_moment_between_the_marks_is_surer_than_one_beyond(t: float, u: float) -> None:
    found = line(ClockMark(NOW, 0.0, u), ClockMark(NOW + 7200, 7200.0, u))
    inside, there = found.at(NOW + 3600).standard_uncertainty, found.at(NOW + t).standard_uncertainty
    assert inside is not None and there is not None and inside <= there + 1e-12


def test_cards_close_together_say_no_more_of_the_drift_than_was_known() -> None:
    found = line(ClockMark(NOW, 0.0, 0.3), ClockMark(NOW + 60, 60.02, 0.3))
    assert abs(found.drift) < 1e-6
    assert found.drift_u == pytest.approx(DRIFT_NOT_KNOWN, rel=1e-3)


@pytest.mark.parametrize("drift, refused", [(501e-6, False), (600e-6, True), (-600e-6, True), (400e-6, False)])
def test_more_than_500_ppm_is_refused_with_the_figure(drift: float, refused: bool) -> None:
    """501 ppm is refused only where the marks are so sure: here they leave 6 ppm open, two of which are allowed."""
    found = film_clock([ClockMark(NOW, 0.0, 0.03), ClockMark(NOW + 7200, 7200 * (1 + drift), 0.03)])
    assert isinstance(found, CantTell) is refused
    if isinstance(found, CantTell):
        assert found.reason.code == "film_drift_too_great"
        assert found.reason.parts["drift_ppm"] == pytest.approx(drift * 1e6)


def test_slow_motion_that_nobody_told_is_refused_and_told_is_taken() -> None:
    marks = [ClockMark(NOW, 0.0, 0.01), ClockMark(NOW + 10, 80.0, 0.01)]
    assert isinstance(film_clock(marks), CantTell)
    assert line(*marks, pace=8.0).at(NOW + 5).value == pytest.approx(40.0, abs=1e-3)


def test_no_mark_is_no_clock_and_what_is_no_mark_is_refused() -> None:
    nothing = film_clock([])
    assert isinstance(nothing, CantTell) and nothing.reason.code == "film_no_mark"
    for bad in (ClockMark(math.nan, 0.0, 1.0), ClockMark(0.0, 0.0, 0.0), ClockMark(0.0, 0.0, math.inf)):
        with pytest.raises(CantUse):
            film_clock([bad])
    with pytest.raises(CantUse):
        film_clock([ClockMark(0.0, 0.0, 1.0)], pace=0.0)


def test_a_mark_that_lies_off_the_others_is_found() -> None:
    marks = [ClockMark(NOW + t, t + (1.0 if t == 3000 else 0.0), 0.02) for t in (0, 1000, 3000, 5000, 7200)]
    found = line(*marks)
    off = [abs(found.off(mark)) for mark in marks]
    assert max(off) == off[2] > 4
