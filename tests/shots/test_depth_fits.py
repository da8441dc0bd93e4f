"""Outcome level, depth and tip to widest: which can be true at once."""

from hypothesis import given
from hypothesis import strategies as some
from proofyard.shots.depth_fits import outcome_level_and_depth

metres = some.floats(0.0, 0.3)


def fits(low: int, high: int | None, mm: float, *, widest_mm: float | None = 60, bound: str = "equal") -> bool | None:
    found = outcome_level_and_depth(
        low, high, depth_m=mm / 1000, bound=bound, tip_to_widest_m=None if widest_mm is None else widest_mm / 1000
    )
    assert found is not None
    return found.fits


def test_a_long_needle_60_mm_behind_is_only_point_through_and_a_stout_28_mm_behind_is_head_through() -> None:
    """The project's own two examples: a needle of 85 mm from tip to widest, a short bodkin of 20 mm."""
    assert fits(4, 4, 60, widest_mm=85) is True
    assert fits(5, 5, 60, widest_mm=85) is False
    assert fits(5, 5, 28, widest_mm=20) is True
    assert fits(4, 4, 28, widest_mm=20) is False


def test_nothing_behind_goes_with_no_depth_only() -> None:
    assert fits(3, 3, 0) is True
    assert fits(3, 3, 4) is False
    assert fits(4, 4, 0) is False


def test_one_of_two_outcome_levels_is_enough() -> None:
    assert fits(3, 4, 12) is True
    assert fits(4, 5, 80) is True


def test_at_least_can_be_deeper() -> None:
    assert fits(4, 4, 20, bound="at_least") is True
    assert fits(5, 5, 20, bound="at_least") is None
    assert fits(4, 4, 70, bound="at_least") is False


def test_without_the_heads_own_measure_it_cant_be_told() -> None:
    assert fits(4, 4, 20, widest_mm=None) is None
    assert fits(2, 2, 20, widest_mm=None) is False


def test_without_outcome_level_or_depth_there_is_nothing_to_check() -> None:
    assert outcome_level_and_depth(None, None, depth_m=0.01, bound=None, tip_to_widest_m=0.06) is None
    assert outcome_level_and_depth(4, 4, depth_m=None, bound=None, tip_to_widest_m=0.06) is None


@given(metres, metres)
def test_a_depth_never_fits_both_point_and_head_through_but_within_a_millimetre_of_the_widest(depth_m: float, widest_m: float) -> None:
    point, head = (
        outcome_level_and_depth(outcome_level, outcome_level, depth_m=depth_m, bound="equal", tip_to_widest_m=widest_m)
        for outcome_level in (4, 5)
    )
    assert point is not None and head is not None
    if point.fits and head.fits:
        assert abs(depth_m - widest_m) <= 0.001
    assert depth_m == 0 or point.fits or head.fits
