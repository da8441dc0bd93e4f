"""Claims about a share: what must hold whatever the counts are."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse
from proofyard.statistics.claim_shots import more_for_type, more_shots, most_shots_to_refute
from proofyard.statistics.claims import (
    Counts,
    any_time_bounds,
    bound_of_one_look,
    e_values,
    joint_verdict,
    larger_design_effect,
    side_of_energy,
    verdict_for_type,
    verdict_of,
)

one_in = st.sampled_from([2, 3, 5, 10, 20, 50])


@st.composite
def counted(draw: st.DrawFn, most: int = 60) -> tuple[int, int]:
    shots = draw(st.integers(0, most))
    return draw(st.integers(0, shots)), shots


def expected(p: float, at: tuple[int, int], *, one_in: float, which: str) -> float:
    """The e-value after one more shot, averaged over its outcomes, against what it is now."""
    x, n = at
    now, hit, miss = (getattr(e_values(*one, one_in=one_in), which) for one in ((x, n), (x + 1, n + 1), (x, n + 1)))
    return float((p * hit + (1 - p) * miss) / now)


@given(counted(40), one_in, st.floats(0, 1))
def test_no_share_on_the_claims_side_makes_the_e_value_grow(at: tuple[int, int], one_in: int, part: float) -> None:
    """That is what makes any rule of stopping safe: on average over one more shot it does not rise."""
    p0 = 1 / one_in
    assert expected(part * p0, at, one_in=one_in, which="no") <= 1 + 1e-9
    assert expected(p0 + part * (1 - p0), at, one_in=one_in, which="yes") <= 1 + 1e-9


@given(counted(), one_in)
def test_bounds_and_verdict_agree(at: tuple[int, int], one_in: int) -> None:
    found, counts = any_time_bounds(*at), Counts(*at)
    assert 0 <= found.low <= (at[0] / at[1] if at[1] else 0) <= found.high <= 1
    verdict = verdict_of(counts, counts, one_in=one_in)
    if abs(found.low - 1 / one_in) > 1e-9 and abs(found.high - 1 / one_in) > 1e-9:
        assert verdict == ("no" if found.low > 1 / one_in else "yes" if found.high < 1 / one_in else "not_yet")


@given(counted(), one_in)
def test_one_more_through_speaks_against_and_one_more_stopped_for(at: tuple[int, int], one_in: int) -> None:
    x, n = at
    now, hit, miss = (e_values(*one, one_in=one_in) for one in ((x, n), (x + 1, n + 1), (x, n + 1)))
    assert hit.log_no > now.log_no - 1e-9 and miss.log_no < now.log_no + 1e-9
    assert hit.log_yes < now.log_yes + 1e-9 and miss.log_yes > now.log_yes - 1e-9


@given(counted(), one_in)
def test_a_number_set_beforehand_gives_no_yes_before_it_is_shot(at: tuple[int, int], one_in: int) -> None:
    counts = Counts(*at)
    assert verdict_of(counts, counts, one_in=one_in, set_shots=at[1] + 1) != "yes"


@given(counted(), one_in, st.integers(2, 6))
def test_more_heads_never_make_a_no_easier(at: tuple[int, int], one_in: int, heads: int) -> None:
    counts = Counts(*at)
    if verdict_of(counts, counts, one_in=one_in, heads=heads) == "no":
        assert verdict_of(counts, counts, one_in=one_in) == "no"


@given(st.lists(st.integers(1, 8), min_size=1, max_size=8), st.lists(st.integers(1, 8), min_size=1, max_size=8), one_in)
def test_the_type_is_never_easier_to_speak_of_than_these_arrows(arrows: list[int], panels: list[int], one_in: int) -> None:
    n = min(sum(arrows), sum(panels))
    for x in range(n + 1):
        counts = Counts(x, n, by_arrow=cut(arrows, n), by_panel=cut(panels, n))
        for_type, these = verdict_for_type(counts, counts, one_in=one_in), verdict_of(counts, counts, one_in=one_in)
        assert for_type in (these, "not_yet")


def cut(sizes: list[int], shots: int) -> tuple[int, ...]:
    found: list[int] = []
    for size in sizes:
        found.append(min(size, shots - sum(found)))
    return tuple(one for one in found if one)


def test_shots_with_an_arrow_and_a_panel_each_are_independent() -> None:
    counts = Counts(0, 30, by_arrow=(1,) * 30, by_panel=(1,) * 30)
    assert larger_design_effect(counts)[0] == 1
    assert verdict_for_type(counts, counts, one_in=10) == "yes"


def test_panels_limit_where_they_are_fewer() -> None:
    assert larger_design_effect(Counts(0, 12, by_arrow=(3,) * 4, by_panel=(12,))) == (pytest.approx(3.2), "panel")
    assert larger_design_effect(Counts(0, 12, by_arrow=(12,), by_panel=(3,) * 4)) == (pytest.approx(3.2), "arrow")


# Shots an arrow -> shots without a through that "for the type" takes, for 1 in 5, 10, 20: the plan's table, an independent computation.
FOR_THE_TYPE = {2: (17, 36, 74), 3: (20, 42, 86), 5: (26, 54, 111), 10: (40, 84, 172)}


@pytest.mark.parametrize("each", FOR_THE_TYPE)
def test_shots_for_the_type_are_the_other_programs(each: int) -> None:
    """With as many shots an arrow throughout: the arrows are whole or begun."""
    for k, shots in zip((5, 10, 20), FOR_THE_TYPE[each], strict=True):
        effect = 1 + (each - 1) * 0.2
        assert e_values(0, shots / effect, one_in=k).yes >= 20 > e_values(0, (shots - 1) / effect, one_in=k).yes


def test_more_shots_for_the_type_settle_it_and_one_fewer_does_not() -> None:
    counts = Counts(0, 10, by_arrow=(4, 3, 1, 1, 1), by_panel=(5, 5))
    more = more_for_type(counts, one_in=3)
    assert isinstance(more, int) and more > 0
    for extra, verdict in ((more, "yes"), (more - 1, "not_yet")):
        filled = Counts(0, 10 + extra, by_arrow=filled_up([4, 3, 1, 1, 1], extra), by_panel=filled_up([5, 5], extra))
        assert verdict_for_type(filled, filled, one_in=3) == verdict


def filled_up(sizes: list[int], more: int) -> tuple[int, ...]:
    for _ in range(more):
        sizes[sizes.index(min(sizes))] += 1
    return tuple(sizes)


def test_one_panel_never_settles_one_in_ten_for_the_type() -> None:
    """However many shots: one panel is worth at most 1 / 0.2 = 5 of them."""
    assert isinstance(more_for_type(Counts(0, 40, by_arrow=(1,) * 40, by_panel=(40,)), one_in=10), CantTell)


@given(counted(), one_in)
def test_more_shots_are_the_least_that_settle_it(at: tuple[int, int], one_in: int) -> None:
    more = more_shots(*at, one_in=one_in)
    assert isinstance(more, int)
    assert e_values(at[0], at[1] + more, one_in=one_in).log_yes >= math.log(20)
    assert more == 0 or e_values(at[0], at[1] + more - 1, one_in=one_in).log_yes < math.log(20)


def test_a_claim_that_takes_a_lifetime_says_so() -> None:
    assert isinstance(more_shots(0, 0, one_in=3000), CantTell)


@given(st.floats(0, 300), st.floats(1, 300), st.floats(0, 20))
def test_a_shot_at_an_energy_counts_for_one_side_or_none(energy: float, limit: float, shared: float) -> None:
    for_no, for_yes = side_of_energy(energy, limit, shared_u_j=shared)
    assert not (for_no and for_yes) or (energy == limit and 1.645 * shared < 1e-9 * limit)
    assert for_no <= (energy <= limit) and for_yes <= (energy >= limit)
    if abs(energy - limit) > 1.7 * shared and shared:
        assert for_no or for_yes


def test_any_head_refutes_and_only_all_support() -> None:
    assert joint_verdict(["not_yet", "no", "yes"]) == "no"
    assert joint_verdict(["yes", "yes"]) == "yes"
    assert joint_verdict([]) == joint_verdict(["yes", "not_yet"]) == "not_yet"


@pytest.mark.parametrize("shots", [1, 3, 30, 300, 3000])
def test_all_and_none_have_an_end_at_the_edge(shots: int) -> None:
    assert any_time_bounds(0, shots).low == 0 and any_time_bounds(shots, shots).high == 1
    assert bound_of_one_look(shots, shots) == 1


def test_of_no_shots_nothing_is_said() -> None:
    nothing = Counts(0, 0)
    assert verdict_of(nothing, nothing, one_in=10) == verdict_for_type(nothing, nothing, one_in=10) == "not_yet"
    found = any_time_bounds(0, 0)
    assert (found.low, found.high) == (0, 1)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: e_values(3, 2, one_in=10),
        lambda: e_values(-1, 2, one_in=10),
        lambda: e_values(1, math.inf, one_in=10),
        lambda: e_values(1, 2, one_in=1),
        lambda: any_time_bounds(1, 2, alpha=0),
        lambda: bound_of_one_look(1, 2, alpha=0.6),
        lambda: more_shots(1, 2, one_in=10, alpha=0.7),
        lambda: most_shots_to_refute(-1, one_in=10),
        lambda: verdict_of(Counts(1, 2), Counts(1, 2), one_in=10, heads=0),
        lambda: verdict_of(Counts(1, 2), Counts(1, 2), one_in=10, set_shots=0),
        lambda: joint_verdict(["perhaps"]),
        lambda: side_of_energy(-1, 100, shared_u_j=1),
    ],
)
def test_what_no_record_could_hold_is_refused(ask: object) -> None:
    with pytest.raises(CantUse):
        ask()
