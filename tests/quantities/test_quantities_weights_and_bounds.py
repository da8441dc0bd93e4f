"""A bow's marking, and a value that may be only the least it can be."""

from typing import Any

import pytest
from proofyard.quantities import KINDS, AtLeast, Read, RefusalCode, Refused, WeightAtDraw, read_at_least, read_weight_at_draw, sentence


@pytest.mark.parametrize(
    "text", ["110@31", "110 @ 31", "110 lb @ 31 in", "110#@31", '110# @ 31"', "110 lbf@31″", " 110@31 ", "110\u00a0lb@31"]
)
def test_a_bows_marking_is_a_weight_at_a_draw(text: str) -> None:
    both = read_weight_at_draw(text)
    assert isinstance(both, WeightAtDraw)
    # 110 lbf is 489.30438 N, 31 in is 0.7874 m (worked out from the definitions)
    assert both.weight.value_si == pytest.approx(489.30438, rel=1e-7)
    assert both.draw.value_si == pytest.approx(0.7874, rel=1e-12)


def test_fractions_and_other_units_may_stand_on_either_side() -> None:
    both = read_weight_at_draw('490 N @ 31½"')
    assert (both.weight.unit, both.draw.number) == ("N", 31.5)
    assert read_weight_at_draw("110@79", draw_unit="cm").draw.value_si == pytest.approx(0.79)
    assert read_weight_at_draw("490@31", unit="N").weight.value_si == 490


def test_a_weight_without_a_draw_has_no_draw() -> None:
    assert read_weight_at_draw("95#").draw is None
    assert isinstance(read_weight_at_draw("95#").weight, Read)


@pytest.mark.parametrize(
    ("text", "reason", "says"),
    [
        ("110@31@32", RefusalCode.MORE_THAN_ONE_AT, "more than one @"),
        ("@31", RefusalCode.FIFTY_PERCENT_MISSING, "a draw weight is missing"),
        ("110@", RefusalCode.FIFTY_PERCENT_MISSING, "a draw length is missing"),
        ("@", RefusalCode.FIFTY_PERCENT_MISSING, "a draw weight is missing"),
        ("110 m@31", RefusalCode.WRONG_KIND, "“110 m” is a length. Type a force"),
        ("110@31 lb", RefusalCode.WRONG_KIND, "“31 lb” is a mass. Type a length"),
        ("110@310", RefusalCode.TOO_HIGH, "too high for a draw length"),
        ("1,100@31", RefusalCode.AMBIGUOUS, "1.100 or 1100"),
        ("110\n@31", RefusalCode.CHARACTER, "a line break"),
        ("1" * 41 + "@31", RefusalCode.TOO_LONG, "too long"),
    ],
)
def test_a_marking_that_is_not_one_says_which_half(text: str, reason: Any, says: str) -> None:
    result = read_weight_at_draw(text)
    assert isinstance(result, Refused) and result.reason_code is reason
    assert says in sentence(result)


@pytest.mark.parametrize(
    "text",
    ["≥ 20 mm", "≥20", ">= 20 mm", "> 20 mm", ">20", " ≥ 20", "\u00a0≥\u00a020\u00a0mm", "20+", "20 mm+", "20+ mm", "20 +", "2 cm +\n"],
)
def test_a_least_value_may_be_written_in_four_ways(text: str) -> None:
    result = read_at_least(text, "depth")
    assert isinstance(result, AtLeast)
    assert (result.bound, result.read.value_si, result.read.typed) == ("≥", 0.02, text)


def test_a_value_without_a_mark_is_the_value() -> None:
    result = read_at_least("20 mm", KINDS["depth"])
    assert (result.bound, result.read.value_si) == ("=", 0.02)
    assert read_at_least("2", "depth", unit="cm").read.value_si == 0.02


def test_a_warning_survives_the_mark() -> None:
    assert read_at_least("≥ 500 mm", "depth").read.warnings


@pytest.mark.parametrize("kind", ["depth", KINDS["depth"]])
@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("≥", RefusalCode.NO_NUMBER),
        ("> ", RefusalCode.NO_NUMBER),
        ("<= 20 mm", RefusalCode.UPPER_BOUND),
        ("≤ 20 mm", RefusalCode.UPPER_BOUND),
        ("≥ ≥ 20", RefusalCode.BOUND),
        ("≥ 20 g", RefusalCode.WRONG_KIND),
        ("≥ 20+", RefusalCode.BOUND),
        ("20++", RefusalCode.SUM),
        ("20+5", RefusalCode.SUM),
        ("+", RefusalCode.NO_NUMBER),
        ("≥ -3 mm", RefusalCode.TOO_LOW),
        ("≥" + "9" * 41, RefusalCode.TOO_LONG),
    ],
)
def test_a_least_value_is_refused_for_what_is_wrong_with_it(text: str, reason: Any, kind: Any) -> None:
    result = read_at_least(text, kind)
    assert isinstance(result, Refused) and result.reason_code is reason
