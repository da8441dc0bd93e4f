"""Hardness as intervals: open ends stay open, brackets never become points, nothing is said outside the table."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from proofyard.physics.hardness import (
    HardnessRange,
    StrengthRange,
    brinell_thinnest_m,
    combine_hardness,
    convert_hardness,
    range_of_picks,
    strength_of,
    thick_enough,
    vickers_thinnest_m,
)
from proofyard.physics.hardness_table import BESIDE_VICKERS, THINNEST
from proofyard.quantities import Bracket
from proofyard.quantities.reason import CantTell, OutOfRange, because
from scipy.interpolate import interp1d

scales = st.sampled_from(["HRC", "HV", "HBW"])
values = st.floats(15.0, 1000.0)


@pytest.mark.parametrize("scale", BESIDE_VICKERS)
def test_the_table_rises_all_the_way_on_every_scale(scale: str) -> None:
    """Across the seam between the soft and the hard table too: else a conversion would have two answers."""
    rows = BESIDE_VICKERS[scale]
    for (a, at_a), (b, at_b) in zip(rows, rows[1:], strict=False):
        assert a < b and at_a < at_b


@pytest.mark.parametrize("scale", THINNEST)
def test_a_thicker_sheet_may_be_softer(scale: str) -> None:
    rows = THINNEST[scale]
    for (thin, hard), (thick, soft) in zip(rows, rows[1:], strict=False):
        assert thin < thick and hard > soft


@given(st.floats(20.0, 59.0))
def test_there_and_back_is_where_you_started_and_another_interpolator_agrees(hrc: float) -> None:
    here = HardnessRange(hrc, hrc, "HRC")
    for scale in ("HV", "HBW"):
        there = convert_hardness(here, to=scale)
        assert isinstance(there, HardnessRange) and there.low is not None
        back = convert_hardness(there, to="HRC")
        assert isinstance(back, HardnessRange) and back.low == pytest.approx(hrc, abs=1e-6)
    rows = BESIDE_VICKERS["HRC"]
    vickers = convert_hardness(here, to="HV")
    assert isinstance(vickers, HardnessRange)
    assert vickers.low == pytest.approx(float(interp1d(*zip(*rows, strict=True))(hrc)))


@given(values, st.floats(0.0, 200.0), scales, scales)
def test_an_interval_stays_in_order_and_a_wider_one_holds_a_narrower(low: float, width: float, a: str, b: str) -> None:
    narrow = convert_hardness(HardnessRange(low + width / 4, low + width / 2, a), to=b)
    wide = convert_hardness(HardnessRange(low, low + width, a), to=b)
    if isinstance(narrow, CantTell) or isinstance(wide, CantTell):
        return
    for found in (narrow, wide):
        assert found.low is None or found.high is None or found.low <= found.high
    assert wide.low is None or (narrow.low is not None and narrow.low >= wide.low - 1e-9)
    assert wide.high is None or (narrow.high is not None and narrow.high <= wide.high + 1e-9)


@given(values, scales, scales)
def test_an_open_end_stays_open(value: float, a: str, b: str) -> None:
    above, below = (convert_hardness(HardnessRange(value, None, a), to=b), convert_hardness(HardnessRange(None, value, a), to=b))
    assert isinstance(above, CantTell) or above.high is None
    assert isinstance(below, CantTell) or below.low is None


@given(values, st.floats(0.0, 300.0), scales)
def test_no_figure_lies_outside_the_table(low: float, width: float, scale: str) -> None:
    for to in ("HRC", "HV", "HBW"):
        found = convert_hardness(HardnessRange(low, low + width, scale), to=to)
        if to == scale or isinstance(found, CantTell):
            continue
        first, last = BESIDE_VICKERS[to][0][0], BESIDE_VICKERS[to][-1][0]
        for end in (found.low, found.high):
            assert end is None or first - 1e-9 <= end <= last + 1e-9
    strength = strength_of(HardnessRange(low, low + width, scale))
    if isinstance(strength, StrengthRange):
        for end in (strength.low_pa, strength.high_pa):
            assert end is None or 255e6 - 1 <= end <= 2075e6 + 1


@pytest.mark.parametrize(
    ("known", "to", "expected"),
    [
        (HardnessRange(65, None, "HRC"), "HBW", HardnessRange(634.0, None, "HBW")),  # harder than the last figure
        (HardnessRange(50, 65, "HRC"), "HBW", HardnessRange(481.0, None, "HBW")),
        (HardnessRange(120, 180, "HV"), "HRC", HardnessRange(None, 20.0, "HRC")),  # softer than the first
        (HardnessRange(120, 302, "HV"), "HRC", HardnessRange(None, 30.0, "HRC")),
        (HardnessRange(None, 950, "HV"), "HRC", None),
        (HardnessRange(None, 70, "HRC"), "HV", None),
        (HardnessRange(50, None, "HV"), "HBW", None),
        (HardnessRange(None, 60, "HV"), "HBW", HardnessRange(None, 76.0, "HBW")),
    ],
)
def test_beyond_the_table_an_end_is_open_or_the_tables_own(known: HardnessRange, to: str, expected: HardnessRange | None) -> None:
    found = convert_hardness(known, to=to)
    if expected is None:
        assert isinstance(found, CantTell)
    else:
        assert found == expected


brackets = st.builds(
    lambda a, b, x: HardnessRange(a if x != 1 else None, max(a, b) if x != 2 else None, "HRC"),
    st.floats(20, 65),
    st.floats(20, 65),
    st.integers(0, 2),
)


@given(st.lists(brackets, min_size=1, max_size=5), st.randoms())
def test_more_findings_never_widen_and_their_order_doesnt_matter(ranges: list[HardnessRange], random: Any) -> None:
    whole = combine_hardness(ranges)
    mixed = list(ranges)
    random.shuffle(mixed)
    assert combine_hardness(mixed) == whole
    if isinstance(whole, CantTell):
        assert whole.reason.code == "hardness_contradicts"
        return
    for one in ranges:
        assert one.low is None or (whole.low is not None and whole.low >= one.low)
        assert one.high is None or (whole.high is not None and whole.high <= one.high)


@given(brackets)
def test_one_bracket_alone_stays_the_bracket_it_is(bracket: HardnessRange) -> None:
    assert combine_hardness([bracket]) == bracket


def test_a_pick_that_sticks_is_half_a_step_either_way_within_its_neighbours() -> None:
    assert range_of_picks(Bracket(None, None, 50)) == HardnessRange(47.5, 52.5, "HRC")
    assert range_of_picks(Bracket(48, 55, 50)) == HardnessRange(48, 52.5, "HRC")
    assert range_of_picks(Bracket(40, None)) == HardnessRange(40, None, "HRC")
    assert range_of_picks(Bracket(None, 40, 38), step_hrc=10) == HardnessRange(33, 40, "HRC")


def test_nothing_found_and_nothing_on_that_scale_cant_be_told() -> None:
    assert isinstance(combine_hardness([]), CantTell)
    found = combine_hardness([HardnessRange(None, 950, "HV")], scale="HBW")
    assert isinstance(found, CantTell) and found.reason.code == "hardness_outside_the_table"
    assert isinstance(strength_of(HardnessRange(None, 60, "HRC")), CantTell)


@given(st.floats(0.0004, 0.0012), st.floats(20, 70), st.floats(0, 20))
def test_a_sheet_that_will_do_will_do_if_thicker_or_harder(thickness: float, low: float, width: float) -> None:
    found = thick_enough(thickness, HardnessRange(low, low + width, "HRC"))
    assume(found is True)
    assert thick_enough(thickness + 0.0002, HardnessRange(low, low + width, "HRC")) is True
    assert thick_enough(thickness, HardnessRange(low + 3, low + 3 + width, "HRC")) is True


def test_a_bracket_across_the_limit_cant_be_told() -> None:
    for known in (HardnessRange(40, 50, "HRC"), HardnessRange(40, None, "HRC"), HardnessRange(None, 50, "HRC")):
        found = thick_enough(0.00086, known)
        assert isinstance(found, CantTell) and found.reason == because("sheet_may_be_too_thin", least=45, scale="HRC")
    assert thick_enough(0.00086, HardnessRange(None, 44, "HRC")) is False


@given(st.floats(80, 900), st.floats(1, 500))
def test_softer_steel_and_greater_force_need_thicker_sheet(hardness: float, force: float) -> None:
    assert vickers_thinnest_m(hardness / 2, force) > vickers_thinnest_m(hardness, force)
    assert vickers_thinnest_m(hardness, 2 * force) > vickers_thinnest_m(hardness, force)
    assert brinell_thinnest_m(hardness / 2, force, ball_m=0.0025) == pytest.approx(2 * brinell_thinnest_m(hardness, force, ball_m=0.0025))


@pytest.mark.parametrize(
    "call",
    [
        lambda: HardnessRange(None, None, "HRC"),
        lambda: HardnessRange(50, 45, "HRC"),
        lambda: HardnessRange(-5, None, "HRC"),
        lambda: HardnessRange(math.nan, None, "HRC"),
        lambda: range_of_picks(Bracket(40, 45), step_hrc=0),
        lambda: thick_enough(0.0, HardnessRange(40, 45, "HRC")),
        lambda: vickers_thinnest_m(0, 98),
        lambda: brinell_thinnest_m(200, math.inf, ball_m=0.0025),
    ],
)
def test_hardness_that_cant_be_is_refused(call: Callable[..., object]) -> None:
    with pytest.raises(OutOfRange):
        call()


@pytest.mark.parametrize(
    "call",
    [
        lambda: convert_hardness(HardnessRange(60, 60, "HRB"), to="HV"),
        lambda: convert_hardness(HardnessRange(60, 60, "HRB"), to="HRB"),
        lambda: convert_hardness(HardnessRange(40, 40, "HRC"), to="HS"),
        lambda: thick_enough(0.001, HardnessRange(200, 200, "HV")),
    ],
)
def test_a_scale_that_no_table_has_is_refused(call: Callable[..., object]) -> None:
    with pytest.raises(KeyError):
        call()
