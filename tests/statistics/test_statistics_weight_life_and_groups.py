"""Protection for weight, shots that a head lasts, a figure over several groups: what holds for any numbers, and what is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities.reason import CantTell, CantUse, because
from proofyard.statistics.energy_for_weight import EnergyEnds, EnergyForExtraWeight, Weight, energy_for_extra_weight, energy_for_weight
from proofyard.statistics.head_life import HeadLife, shots_a_head_lasts
from proofyard.statistics.several_groups import OverGroups, over_groups, over_groups_with_ends

energies = st.floats(20, 200)
wider = st.floats(1.02, 2.0)


@given(energies, wider, wider, st.floats(2, 40), st.floats(0, 0.1))
def test_an_uncertain_weight_only_widens(energy: float, down: float, up: float, weight: float, share: float) -> None:
    ends = EnergyEnds(energy, energy / down, energy * up)
    sure, unsure = energy_for_weight(ends, Weight(weight, 0.0)), energy_for_weight(ends, Weight(weight, share * weight))
    assert sure.low == pytest.approx(energy / down / weight) and sure.high == pytest.approx(energy * up / weight)
    assert unsure.low is not None and unsure.high is not None and sure.low is not None and sure.high is not None
    assert unsure.low <= sure.low * (1 + 1e-12) and unsure.high >= sure.high * (1 - 1e-12)
    assert unsure.low < unsure.value < unsure.high


def test_an_open_end_stays_open_and_says_its_level() -> None:
    found = energy_for_weight(EnergyEnds(60, None, 80), Weight(12, 0.2))
    assert found.low is None and found.high is not None and found.one_sided_level == pytest.approx(0.975)
    assert energy_for_weight(EnergyEnds(60, 50, 80), Weight(12, 0.2)).one_sided_level is None


@given(energies, wider, wider, energies, wider, wider, st.floats(1, 20), st.floats(0.01, 0.4))
def test_extra_weight_shows_a_sign_only_where_the_difference_does(
    light: float, ld: float, lu: float, heavy: float, hd: float, hu: float, extra: float, share: float
) -> None:
    found = energy_for_extra_weight(
        EnergyEnds(light, light / ld, light * lu), EnergyEnds(heavy, heavy / hd, heavy * hu), extra=Weight(extra, share * extra)
    )
    assert isinstance(found, EnergyForExtraWeight)
    assert found.low <= found.value <= found.high
    assert math.isclose(found.difference_low_j, 0, abs_tol=1e-9) or (found.difference_low_j > 0) == (found.low > 0)
    assert math.isclose(found.difference_high_j, 0, abs_tol=1e-9) or (found.difference_high_j < 0) == (found.high < 0)


def test_extra_weight_that_is_no_more_than_its_uncertainty_is_refused() -> None:
    light, heavy = EnergyEnds(60, 55, 66), EnergyEnds(95, 88, 104)
    refused = energy_for_extra_weight(light, heavy, extra=Weight(0.7, 0.36))
    assert isinstance(refused, CantTell) and refused.reason.code == "weights_too_alike"
    assert isinstance(energy_for_extra_weight(light, heavy, extra=Weight(0.71, 0.36)), EnergyForExtraWeight)


@pytest.mark.parametrize("ends", [(EnergyEnds(60, None, 66), EnergyEnds(95, 88, 104)), (EnergyEnds(60, 55, 66), EnergyEnds(95, 88, None))])
def test_extra_weight_needs_both_energies_closed(ends: tuple[EnergyEnds, EnergyEnds]) -> None:
    assert energy_for_extra_weight(*ends, extra=Weight(4, 0.1)) == CantTell(because("both_energies_not_closed"))


@pytest.mark.parametrize(
    ("energy", "weight", "level"),
    [
        (EnergyEnds(0, None, None), Weight(10, 0), 0.95),
        (EnergyEnds(60, 61, 80), Weight(10, 0), 0.95),
        (EnergyEnds(60, 50, 59), Weight(10, 0), 0.95),
        (EnergyEnds(60, 50, math.inf), Weight(10, 0), 0.95),
        (EnergyEnds(60, 50, 80), Weight(0, 0), 0.95),
        (EnergyEnds(60, 50, 80), Weight(10, -1), 0.95),
        (EnergyEnds(60, 50, 80), Weight(10, 0), 1.0),
    ],
)
def test_what_no_panel_could_be_is_refused(energy: EnergyEnds, weight: Weight, level: float) -> None:
    with pytest.raises(CantUse):
        energy_for_weight(energy, weight, level=level)


def test_a_heavier_that_weighs_less_is_refused() -> None:
    with pytest.raises(CantUse):
        energy_for_extra_weight(EnergyEnds(60, 55, 66), EnergyEnds(95, 88, 104), extra=Weight(-1, 0.1))


@given(st.integers(1, 60), st.data())
def test_a_life_lies_in_its_interval_and_more_heads_ended_is_a_shorter_one(shots: int, data: st.DataObject) -> None:
    ended = data.draw(st.integers(0, shots - 1))
    one, more = shots_a_head_lasts(ended, shots), shots_a_head_lasts(ended + 1, shots)
    assert isinstance(one, HeadLife) and isinstance(more, HeadLife)
    assert more.low <= one.low and more.lasts is not None and more.high is not None
    assert more.low <= more.lasts <= more.high
    assert one.high is None if ended == 0 else one.high is not None and one.high > more.high


def test_heads_that_nobody_looked_at_may_all_be_ended_or_none() -> None:
    either = shots_a_head_lasts(2, 30, ended_high=5)
    least, most = shots_a_head_lasts(5, 30), shots_a_head_lasts(2, 30)
    assert isinstance(either, HeadLife) and isinstance(least, HeadLife) and isinstance(most, HeadLife)
    assert (either.low, either.high, either.lasts) == (least.low, most.high, None)
    perhaps = shots_a_head_lasts(0, 30, ended_high=1)
    none = shots_a_head_lasts(0, 30)
    assert isinstance(perhaps, HeadLife) and isinstance(none, HeadLife)
    assert perhaps.high is None and perhaps.low < none.low


def test_no_shots_have_no_life_and_impossible_counts_are_refused() -> None:
    assert shots_a_head_lasts(0, 0) == CantTell(because("no_shots"))
    assert shots_a_head_lasts(3, 3) == HeadLife(1.0, 1.0, pytest.approx(3.419, abs=0.001), 0.95, 3, 3, 3)
    for ended, shots, high in ((4, 3, None), (-1, 3, None), (2, 3, 1), (1, 3, 4)):
        with pytest.raises(CantUse):
            shots_a_head_lasts(ended, shots, ended_high=high)


@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(0.02, 0.5)), min_size=3, max_size=12), st.floats(-2, 2))
def test_groups_shift_together_and_their_order_says_nothing(groups: list[tuple[float, float]], shift: float) -> None:
    values, errors = [one for one, _ in groups], [one for _, one in groups]
    found, turned = over_groups(values, errors), over_groups(values[::-1], errors[::-1])
    moved = over_groups([one + shift for one in values], errors)
    assert isinstance(found, OverGroups) and isinstance(turned, OverGroups) and isinstance(moved, OverGroups)
    assert found.low <= found.value <= found.high
    assert min(values) - 1e-9 <= found.value <= max(values) + 1e-9
    assert (turned.value, turned.low) == pytest.approx((found.value, found.low), abs=1e-9)
    assert (moved.value - shift, moved.high - shift) == pytest.approx((found.value, found.high), abs=1e-6)


def test_few_groups_are_called_wide() -> None:
    four, five = over_groups([0.1] * 4, [0.1] * 4), over_groups([0.1] * 5, [0.1] * 5)
    assert isinstance(four, OverGroups) and isinstance(five, OverGroups)
    assert four.wide_by_nature and not five.wide_by_nature


def test_open_groups_are_left_out_counted_and_at_last_too_many() -> None:
    closed = [(60.0, 50.0, 72.0)] * 3
    some = over_groups_with_ends([*closed, (70.0, 60.0, None)], limit_factor=1.2)
    assert isinstance(some, OverGroups) and (some.groups, some.left_out) == (3, 1)
    many = over_groups_with_ends([*closed, (70.0, 60.0, None), (70.0, None, 90.0)], limit_factor=1.2)
    assert many == CantTell(because("too_many_groups_open", open_groups=2, groups=5))
    assert over_groups_with_ends(closed[:2], limit_factor=1.2) == CantTell(because("too_few_groups", groups=2, needed=3))


@pytest.mark.parametrize(
    ("ends", "factor"),
    [([(60.0, 72.0, 50.0)] * 3, 1.2), ([(60.0, 0.0, 72.0)] * 3, 1.2), ([(-1.0, 50.0, 72.0)] * 3, 1.2), ([(60.0, 50.0, 72.0)] * 3, 0.9)],
)
def test_ends_that_are_none_are_refused(ends: list[tuple[float, float, float]], factor: float) -> None:
    with pytest.raises(CantUse):
        over_groups_with_ends(ends, limit_factor=factor)


def test_an_error_a_value_and_every_error_above_nothing() -> None:
    for values, errors in (([0.1] * 3, [0.1] * 2), ([0.1] * 3, [0.1, 0.1, 0.0]), ([0.1, 0.1, math.nan], [0.1] * 3)):
        with pytest.raises(CantUse):
            over_groups(values, errors)
