"""Two shares compared: what any such comparison must do, and the mid-P counted out table by table."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.comparing import CouldShow, ShareDifference, difference_of_shares, most_these_could_show
from proofyard.statistics.odds_within_levels import odds_within_levels

SHARES = np.concatenate([np.linspace(0, 1, 2001)[1:-1], [1e-4, 1 - 1e-4]])


@st.composite
def tables(draw: st.DrawFn, most: int = 60) -> tuple[int, int, int, int]:
    shots, other = draw(st.integers(1, most)), draw(st.integers(1, most))
    return draw(st.integers(0, shots)), shots, draw(st.integers(0, other)), other


def difference(x: int, n: int, y: int, m: int, level: float = 0.95) -> ShareDifference:
    found = difference_of_shares(x, n, other_hits=y, other_shots=m, level=level)
    assert isinstance(found, ShareDifference)
    return found


def p_of(x: int, n: int, y: int, m: int) -> float:
    found = odds_within_levels([(x, n, y, m)])
    return 1.0 if isinstance(found, CantTell) else found.p_value


def could_show(n: int, m: int, *, level: float = 0.95, questions: int = 1) -> CouldShow:
    found = most_these_could_show(n, m, level=level, questions=questions)
    assert isinstance(found, CouldShow)
    return found


@given(tables())
def test_a_difference_lies_in_its_interval_and_turns_with_the_groups(t: tuple[int, int, int, int]) -> None:
    x, n, y, m = t
    here, there = difference(x, n, y, m), difference(y, m, x, n)
    assert -1 <= here.low <= here.difference <= here.high <= 1
    assert (there.low, there.high) == pytest.approx((-here.high, -here.low), abs=1e-12)
    swapped = difference(n - x, n, m - y, m)
    assert (swapped.low, swapped.high) == pytest.approx((-here.high, -here.low), abs=1e-9)


@given(tables())
def test_a_higher_level_of_a_difference_is_wider(t: tuple[int, int, int, int]) -> None:
    narrow, wide = difference(*t, level=0.8), difference(*t, level=0.99)
    assert wide.low <= narrow.low and narrow.high <= wide.high


@pytest.mark.parametrize(("shots", "other"), [(0, 3), (3, 0), (0, 0)])
def test_no_shots_on_one_side_cant_be_compared(shots: int, other: int) -> None:
    said = CantTell(because("one_has_no_shots"))
    assert difference_of_shares(0, shots, other_hits=0, other_shots=other) == said
    assert most_these_could_show(shots, other) == said


@pytest.mark.parametrize("t", [(4, 3, 0, 3), (0, 3, 4, 3), (-1, 3, 0, 3), (True, 3, 0, 3), (1.5, 3, 0, 3)])
def test_counts_that_no_record_could_hold_are_refused(t: tuple[int, int, int, int]) -> None:
    x, n, y, m = t
    with pytest.raises(CantUse):
        difference_of_shares(x, n, other_hits=y, other_shots=m)
    with pytest.raises(CantUse):
        odds_within_levels([(x, n, y, m)])


def counted_p(x: int, n: int, y: int, m: int) -> float:
    """Mid-P of every way to deal the shots that got through to the two groups, counted with whole numbers. Nothing here is scipy's."""
    ways = {z: math.comb(n, z) * math.comb(m, x + y - z) for z in range(max(0, x + y - m), min(n, x + y) + 1)}
    every, half = sum(ways.values()), ways[x] / 2
    more, fewer = sum(count for z, count in ways.items() if z > x), sum(count for z, count in ways.items() if z < x)
    return min(1.0, 2 * min(more + half, fewer + half) / every)


@pytest.mark.parametrize(("n", "m"), [(1, 1), (2, 3), (3, 3), (4, 5), (6, 3), (12, 9)])
def test_the_mid_p_is_what_counting_every_table_gives(n: int, m: int) -> None:
    for x in range(n + 1):
        for y in range(m + 1):
            assert p_of(x, n, y, m) == pytest.approx(counted_p(x, n, y, m), rel=1e-9), (x, n, y, m)


def size_of(n: int, m: int) -> float:
    """How often, at the worst share, two groups alike are called different at 5 %: the p-values are the product's."""
    rejected = np.array([[p_of(x, n, y, m) < 0.05 - 1e-9 for y in range(m + 1)] for x in range(n + 1)])
    first = np.array([[math.comb(n, x)] for x in range(n + 1)]) * SHARES ** np.arange(n + 1)[:, None]
    first_shares = first * (1 - SHARES) ** (n - np.arange(n + 1))[:, None]
    second = np.array([[math.comb(m, y)] for y in range(m + 1)]) * SHARES ** np.arange(m + 1)[:, None]
    second_shares = second * (1 - SHARES) ** (m - np.arange(m + 1))[:, None]
    return float(np.einsum("xs,xy,ys->s", first_shares, rejected.astype(float), second_shares).max())


@pytest.mark.parametrize(("n", "m"), [(3, 3), (4, 5), (6, 2), (7, 7)])
def test_two_groups_alike_are_called_different_no_oftener_than_5_percent(n: int, m: int) -> None:
    assert size_of(n, m) <= 0.05


@pytest.mark.long
@pytest.mark.parametrize("n", range(1, 16))
def test_two_groups_alike_are_called_different_in_5_3_percent_at_most_up_to_15(n: int) -> None:
    """Mid-P keeps 5 % on the whole, not table by table: the worst up to 15 shots a group is 11 against 11, 5.28 %."""
    for m in range(1, n + 1):
        assert size_of(n, m) <= 0.053, (n, m)


def test_the_p_value_does_not_depend_on_which_group_is_named_first() -> None:
    for x, n, y, m in [(4, 5, 1, 4), (9, 10, 3, 10), (0, 3, 3, 3), (2, 7, 5, 6)]:
        assert p_of(x, n, y, m) == pytest.approx(p_of(y, m, x, n), rel=1e-3)
        assert p_of(x, n, y, m) == pytest.approx(p_of(n - x, n, m - y, m), rel=1e-3)


def test_alike_groups_never_show_a_difference() -> None:
    assert p_of(0, 5, 0, 4) == 1
    assert p_of(5, 5, 4, 4) == 1
    assert p_of(2, 4, 2, 4) > 0.5


def test_what_so_few_could_show_is_said_before_the_test() -> None:
    assert could_show(3, 2).reason == because("no_result_could_tell", shots=3, other_shots=2)
    assert could_show(1, 5).can_tell is False
    assert could_show(3, 3).reason == because("no_result_could_tell", shots=3, other_shots=3)
    assert could_show(4, 3).reason == because("only_all_against_none_could_tell", shots=4, other_shots=3)
    assert could_show(5, 4).reason == because("these_could_tell", shots=5, other_shots=4, needed_hits=4)


def test_4_against_4_can_tell_nothing_once_four_questions_are_asked() -> None:
    """All against none has p = 1/70 = 0.0143: enough for one question at 5 %, and for three, not for four."""
    assert could_show(4, 4).smallest_p == pytest.approx(1 / 70, rel=1e-9)
    assert could_show(4, 4, questions=3).can_tell
    assert could_show(4, 4, questions=4).reason == because("no_result_could_tell", shots=4, other_shots=4)


@pytest.mark.parametrize(("n", "m"), [(4, 3), (4, 6), (5, 4), (7, 3)])
def test_what_could_be_shown_is_what_the_test_then_shows(n: int, m: int) -> None:
    found = could_show(n, m)
    least = min(p_of(x, n, y, m) for x in range(n + 1) for y in range(m + 1))
    assert found.smallest_p == pytest.approx(least, rel=1e-6)
    assert found.needed_hits is not None
    assert p_of(found.needed_hits, n, 0, m) < 0.05 <= p_of(found.needed_hits - 1, n, 0, m)


def test_no_question_at_all_is_refused() -> None:
    with pytest.raises(CantUse):
        most_these_could_show(3, 3, questions=0)


@given(tables(most=8))
@settings(max_examples=25, deadline=None)
def test_a_test_that_tells_goes_with_an_interval_that_nearly_leaves_out_nought(t: tuple[int, int, int, int]) -> None:
    """Two ways with one aim: they may part near the limit, not far from it."""
    p_value, interval = p_of(*t), difference(*t)
    if p_value < 0.01:
        assert interval.low > 0 or interval.high < 0
    if p_value > 0.3:
        assert interval.low < 0 < interval.high
