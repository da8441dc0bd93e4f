"""Two shares compared: what any such comparison must do, and the exact test counted out table by table."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from server.statistics.comparing import (
    CouldShow,
    ExactTest,
    ShareDifference,
    Verdicts,
    difference_of_shares,
    exact_test,
    holm,
    judge_in_order,
    most_these_could_show,
)
from server.statistics.refusals import CantTell, CantUse

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
    found = exact_test(x, n, other_hits=y, other_shots=m)
    assert isinstance(found, ExactTest)
    return found.p_value


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
    said = CantTell("one of the two has no shots")
    assert difference_of_shares(0, shots, other_hits=0, other_shots=other) == said
    assert exact_test(0, shots, other_hits=0, other_shots=other) == said
    assert most_these_could_show(shots, other) == said


@pytest.mark.parametrize("t", [(4, 3, 0, 3), (0, 3, 4, 3), (-1, 3, 0, 3), (True, 3, 0, 3), (1.5, 3, 0, 3)])
def test_counts_that_no_record_could_hold_are_refused(t: tuple[int, int, int, int]) -> None:
    x, n, y, m = t
    with pytest.raises(CantUse):
        difference_of_shares(x, n, other_hits=y, other_shots=m)
    with pytest.raises(CantUse):
        exact_test(x, n, other_hits=y, other_shots=m)


@cache
def one_sided(n: int, m: int) -> NDArray[np.float64]:
    """Boschloo's p, first larger, of every table of n and m: all tables put in the order of Fisher's p, the chance of
    each and all before it added up at 2,000 shares, the largest taken. Nothing here is scipy's."""
    fisher = np.empty((n + 1, m + 1))
    for hits in range(n + m + 1):
        least, most = max(0, hits - m), min(n, hits)
        ways = [math.comb(n, x) * math.comb(m, hits - x) for x in range(least, most + 1)]
        for x in range(least, most + 1):
            fisher[x, hits - x] = sum(ways[x - least :]) / sum(ways)
    flat = fisher.ravel()
    xs, ys = (one.ravel() for one in np.indices(fisher.shape))
    counts = np.array([math.comb(n, x) * math.comb(m, y) for x, y in zip(xs, ys, strict=True)], dtype=float)
    chance = counts[:, None] * SHARES ** (xs + ys)[:, None] * (1 - SHARES) ** (n + m - xs - ys)[:, None]
    order = np.argsort(flat, kind="stable")
    summed = np.cumsum(chance[order], axis=0)
    found = np.empty(flat.size)
    for at, place in enumerate(order):
        # Tables of one Fisher's p stand or fall together.
        last = at
        while last + 1 < order.size and flat[order[last + 1]] <= flat[place] * (1 + 1e-9):
            last += 1
        found[place] = summed[last].max()
    return found.reshape(fisher.shape)


def counted_p(x: int, n: int, y: int, m: int) -> float:
    return min(1.0, 2 * min(float(one_sided(n, m)[x, y]), float(one_sided(n, m)[n - x, m - y])))


def agree(n: int, m: int) -> None:
    for x in range(n + 1):
        for y in range(m + 1):
            if x + y not in (0, n + m):
                assert p_of(x, n, y, m) == pytest.approx(counted_p(x, n, y, m), rel=2e-3, abs=1e-5), (x, n, y, m)


@pytest.mark.parametrize(("n", "m"), [(1, 1), (2, 3), (3, 3), (4, 5), (6, 3)])
def test_the_exact_test_is_what_counting_every_table_gives(n: int, m: int) -> None:
    agree(n, m)


@pytest.mark.long
@pytest.mark.parametrize(("n", "m"), [(7, 7), (8, 5), (10, 4), (12, 9), (15, 15)])
def test_the_exact_test_is_what_counting_gives_for_more_shots(n: int, m: int) -> None:
    agree(n, m)


def size_of(n: int, m: int) -> float:
    """How often, at the worst share, two groups alike are called different at 5 %: the p-values are the product's."""
    rejected = np.array([[p_of(x, n, y, m) <= 0.05 for y in range(m + 1)] for x in range(n + 1)])
    first = np.array([[math.comb(n, x)] for x in range(n + 1)]) * SHARES ** np.arange(n + 1)[:, None]
    first = first * (1 - SHARES) ** (n - np.arange(n + 1))[:, None]
    second = np.array([[math.comb(m, y)] for y in range(m + 1)]) * SHARES ** np.arange(m + 1)[:, None]
    second = second * (1 - SHARES) ** (m - np.arange(m + 1))[:, None]
    return float(np.einsum("xs,xy,ys->s", first, rejected.astype(float), second).max())


@pytest.mark.parametrize(("n", "m"), [(3, 3), (4, 5), (6, 2), (7, 7)])
def test_two_groups_alike_are_called_different_no_oftener_than_5_percent(n: int, m: int) -> None:
    assert size_of(n, m) <= 0.05


@pytest.mark.long
@pytest.mark.parametrize("n", range(1, 16))
def test_two_groups_alike_are_called_different_no_oftener_than_5_percent_up_to_15(n: int) -> None:
    for m in range(1, n + 1):
        assert size_of(n, m) <= 0.05, (n, m)


def test_the_p_value_does_not_depend_on_which_group_is_named_first() -> None:
    for x, n, y, m in [(4, 5, 1, 4), (9, 10, 3, 10), (0, 3, 3, 3), (2, 7, 5, 6)]:
        assert p_of(x, n, y, m) == pytest.approx(p_of(y, m, x, n), rel=1e-3)
        assert p_of(x, n, y, m) == pytest.approx(p_of(n - x, n, m - y, m), rel=1e-3)


def test_alike_groups_are_never_told_apart() -> None:
    assert p_of(0, 5, 0, 4) == 1
    assert p_of(5, 5, 4, 4) == 1
    assert p_of(2, 4, 2, 4) > 0.5


def test_what_so_few_could_show_is_said_before_the_test() -> None:
    assert could_show(3, 2).words == "3 against 2: no result could tell"
    assert could_show(1, 5).can_tell is False
    assert could_show(3, 3).words == "3 against 3: only all against none could tell"
    assert could_show(5, 4).words == "5 against 4: it takes at least 4 of 5 against none to tell"


def test_3_against_3_can_tell_nothing_once_two_questions_are_asked() -> None:
    """All against none has p = 2/64 = 0.031: enough for one question at 5 %, not for two."""
    assert could_show(3, 3).smallest_p == pytest.approx(2 / 64, rel=1e-6)
    assert could_show(3, 3, questions=2).words == "3 against 3: no result could tell"


@pytest.mark.parametrize(("n", "m"), [(3, 3), (4, 6), (5, 4), (7, 3)])
def test_what_could_be_shown_is_what_the_test_then_shows(n: int, m: int) -> None:
    found = could_show(n, m)
    least = min(p_of(x, n, y, m) for x in range(n + 1) for y in range(m + 1))
    assert found.smallest_p == pytest.approx(least, rel=1e-6)
    assert found.needed_hits is not None
    assert p_of(found.needed_hits, n, 0, m) <= 0.05 < p_of(found.needed_hits - 1, n, 0, m)


@given(st.dictionaries(st.text(min_size=1, max_size=3), st.floats(0, 1), min_size=1, max_size=8))
def test_holm_keeps_the_order_and_never_lowers_a_p(p_values: dict[str, float]) -> None:
    found = holm(p_values)
    assert [one.question for one in found] == list(p_values)
    for one in found:
        assert one.p_value <= one.adjusted <= min(1, len(p_values) * one.p_value + 1e-12)
    by_p = sorted(found, key=lambda one: one.p_value)
    assert all(one.adjusted <= after.adjusted for one, after in zip(by_p, by_p[1:], strict=False))


def test_the_declared_question_does_not_pay_for_the_rest() -> None:
    found = judge_in_order({"a": 0.04, "b": 0.04, "c": 0.01}, "a")
    assert isinstance(found, Verdicts) and found.declared is not None
    assert found.declared.adjusted == 0.04 and found.declared.shown
    assert [(one.question, one.adjusted, one.shown) for one in found.rest] == [("b", 0.04, True), ("c", 0.02, True)]


def test_without_a_declared_question_all_pay() -> None:
    found = judge_in_order({"a": 0.04, "b": 0.03})
    assert found.declared is None
    assert [one.shown for one in found.rest] == [False, False]


def test_a_p_of_exactly_5_percent_is_shown_at_95() -> None:
    assert holm({"a": 0.05})[0].shown


def test_questions_that_are_not_there_and_p_values_that_are_none_are_refused() -> None:
    with pytest.raises(CantUse):
        judge_in_order({"a": 0.04}, "b")
    with pytest.raises(CantUse):
        holm({"a": 1.2})
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
