"""Which measure explains: heads are the units, directions are found, luck is given its due, and few heads are refused."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.which_measure import MeasuresFound, fewest_heads, measures_by_concordance, measures_by_correlation

THROUGH = [[6, 9], [5, 8], [3, 8], [2, 5], [1, 4], [0, 2]]
HELD = [[4, 1], [5, 2], [7, 2], [8, 5], [9, 6], [10, 8]]
TIP = [0.2, 0.4, 0.9, 1.3, 1.6, 2.4]


def concordance(measures: Mapping[str, Sequence[float | None]]) -> MeasuresFound:
    found = measures_by_concordance(measures, through=THROUGH, held=HELD)
    assert isinstance(found, MeasuresFound)
    return found


def test_a_measure_that_orders_six_heads_is_found_with_its_direction() -> None:
    one = concordance({"tip": TIP}).found[0]
    assert one.strength is not None and one.strength > 0.7 and not one.rises
    assert one.p == pytest.approx(2 / 720), "only this order and its mirror order them so well"


@given(st.permutations(TIP))
@settings(max_examples=25)
def test_turning_a_measure_over_turns_its_direction_alone(values: list[float]) -> None:
    one, turned = concordance({"tip": values}).found[0], concordance({"tip": [-value for value in values]}).found[0]
    assert turned.strength == pytest.approx(one.strength)
    assert turned.p == pytest.approx(one.p)
    assert one.strength == pytest.approx(0.5) or turned.rises is not one.rises


def test_asking_for_more_measures_makes_each_dearer() -> None:
    lots = np.random.default_rng(4)
    others = {f"other {n}": lots.random(6).tolist() for n in range(3)}
    alone = concordance({"tip": TIP}).found[0]
    among = next(one for one in concordance({"tip": TIP, **others}).found if one.name == "tip")
    assert among.strength == alone.strength
    assert alone.p is not None and among.p is not None and among.p >= alone.p


def test_five_measures_of_six_heads_are_listed_without_a_chance() -> None:
    lots = np.random.default_rng(4)
    found = concordance({f"one {n}": lots.random(6).tolist() for n in range(5)})
    assert all(one.p is None and one.strength is not None for one in found.found)
    assert found.refused == because("too_few_heads_for_measures", heads=6, measures=5, needed=8)


def test_two_measures_that_order_the_heads_alike_name_each_other() -> None:
    found = concordance({"tip": TIP, "front": [value**2 for value in TIP], "mass": [9, 5, 8, 6, 7, 10]})
    lines = {one.name: one.one_line for one in found.found}
    assert lines["tip"] == ("front",) and lines["front"] == ("tip",) and lines["mass"] == ()


def test_a_head_that_was_not_measured_is_left_out_of_that_measure_alone() -> None:
    found = concordance({"tip": TIP, "hardness": [400.0, None, 380.0, 390.0, None, None]})
    by_name = {one.name: one for one in found.found}
    assert by_name["tip"].heads == 6 and by_name["tip"].p is not None
    assert by_name["hardness"].heads == 3 and by_name["hardness"].p is None and by_name["hardness"].strength is not None


def test_a_measure_that_is_the_same_of_all_heads_says_nothing() -> None:
    found = concordance({"mass": [9.0] * 6, "tip": TIP})
    mass = next(one for one in found.found if one.name == "mass")
    assert (mass.strength, mass.p) == (None, None)
    assert found.found[0].name == "tip", "what says nothing stands last"


def test_eight_heads_take_random_orders_and_give_the_same_at_each_asking() -> None:
    through, held = [*THROUGH, [2, 6], [1, 3]], [*HELD, [8, 4], [9, 7]]
    measures = {"tip": [*TIP, 1.0, 1.8]}
    once = measures_by_concordance(measures, through=through, held=held)
    again = measures_by_concordance(measures, through=through, held=held)
    assert once == again and isinstance(once, MeasuresFound)
    p = once.found[0].p
    assert p is not None and p >= 1 / 2000


def test_heads_with_one_and_the_same_outcome_cant_be_ordered() -> None:
    told = measures_by_concordance({"tip": [1.0, 2.0]}, through=[[3], [2]], held=[[0], [0]])
    assert told == CantTell(because("no_two_heads_differ_at_a_level"))


def test_heads_that_met_at_no_level_cant_be_ordered() -> None:
    told = measures_by_concordance({"tip": [1.0, 2.0]}, through=[[3, 0], [0, 2]], held=[[1, 0], [0, 2]])
    assert told == CantTell(because("no_two_heads_differ_at_a_level"))


def test_correlation_leaves_out_heads_without_an_energy() -> None:
    energies = [math.log(one) for one in (62, 75, 98, 120, 140)]
    with_one_more = measures_by_correlation({"tip": [1.2, 1.5, 2.6, 3.1, 4.0, 0.1]}, [*energies, None])
    without = measures_by_correlation({"tip": [1.2, 1.5, 2.6, 3.1, 4.0]}, energies)
    assert with_one_more == without
    assert measures_by_correlation({"tip": [1.0, 2.0]}, [None, None]) == CantTell(because("no_head_has_a_fifty_percent_energy"))


def test_less_of_it_needs_less_energy_is_no_rise() -> None:
    energies = [math.log(one) for one in (62, 75, 98, 120, 140)]
    found = measures_by_correlation({"tip": [1.2, 1.5, 2.6, 3.1, 4.0]}, energies)
    assert isinstance(found, MeasuresFound) and not found.found[0].rises, "more tip goes through less easily"


@pytest.mark.parametrize(
    ("measures", "through", "held"),
    [
        ({}, [[1], [0]], [[0], [1]]),
        ({"tip": [1.0]}, [[1], [0]], [[0], [1]]),
        ({"tip": [1.0, math.inf]}, [[1], [0]], [[0], [1]]),
        ({"tip": [1.0, math.nan]}, [[1], [0]], [[0], [1]]),
        ({"tip": [1.0, 2.0]}, [[1], [-1]], [[0], [1]]),
        ({"tip": [1.0, 2.0]}, [[1], [0]], [[0, 1], [1, 0]]),
        ({"tip": [1.0, 2.0]}, [1, 0], [0, 1]),
    ],
)
def test_counts_and_measures_that_do_not_fit_are_refused(
    measures: dict[str, list[float | None]], through: list[list[int]], held: list[list[int]]
) -> None:
    with pytest.raises(CantUse):
        measures_by_concordance(measures, through=through, held=held)


def test_a_logarithm_needs_a_measure_above_nothing_and_a_count_of_measures_at_least_one() -> None:
    with pytest.raises(CantUse):
        measures_by_correlation({"tip": [0.0, 1.0, 2.0]}, [1.0, 2.0, 3.0])
    with pytest.raises(CantUse):
        fewest_heads(0)


def test_ties_in_the_ranks_stand_in_the_middle_of_their_places() -> None:
    found = concordance({"tip": [1.0, 1.0, 2.0, 2.0, 3.0, 3.0], "front": [1.1, 1.1, 2.2, 2.2, 3.3, 3.3]})
    assert all(one.one_line for one in found.found)


@pytest.mark.long
@pytest.mark.parametrize(("heads", "kinds"), [(6, 4), (8, 4)])
def test_with_nothing_to_find_a_measure_is_called_seldom(heads: int, kinds: int) -> None:
    """No measure has an effect; 12 shots a head at 3 levels, slope 8, heads' own scatter 0.05: at most 5 in 100, and 3 sd of 400."""
    lots = np.random.default_rng(11)
    called = 0
    for _ in range(400):
        own = lots.normal(0, 0.05, heads)
        levels = np.array([-0.15, 0.0, 0.15])
        chance = 1 / (1 + np.exp(-8 * (levels[None, :] - own[:, None])))
        through = lots.binomial(4, chance)
        found = measures_by_concordance(
            {f"m{n}": lots.normal(0, 1, heads).tolist() for n in range(kinds)}, through=through, held=4 - through
        )
        called += isinstance(found, MeasuresFound) and any((one.p or 1.0) <= 0.05 for one in found.found)
    assert called / 400 <= 0.05 + 3 * math.sqrt(0.05 * 0.95 / 400)
