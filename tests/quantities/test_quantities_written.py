"""A number is written in the reader's unit with no more figures than it deserves."""

from math import inf, log10, nan
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from proofyard.quantities import (
    READERS,
    UNITS_FOR_READER,
    Uncertain,
    last_place,
    plainly,
    unit_for_reader,
    with_unit,
    written,
    written_with_uncertainty,
)


def _breakable(text: Any) -> Any:
    return text.replace("\u00a0", " ")


# J. R. Taylor, An Introduction to Error Analysis, 2nd edition, section 2.2, from memory: one digit, two if the first is 1.
TAYLOR = [
    (9.82, 0.02385, "m/s", "9.82 m/s ± 0.02", "g = 9.82 ± 0.02385: 9.82 ± 0.02"),
    (6051.78, 30.0, "m/s", "6050 m/s ± 30", "speed 6051.78 ± 30 m/s: 6050 ± 30"),
    (92.81, 0.3, "m", "92.8 m ± 0.3", "92.81 with 0.3: 92.8 ± 0.3"),
    (92.81, 3.0, "m", "93 m ± 3", "92.81 with 3: 93 ± 3"),
    (92.81, 30.0, "m", "90 m ± 30", "92.81 with 30: 90 ± 30"),
    (2.563, 0.14, "m", "2.56 m ± 0.14", "0.14 rounded to 0.1 would lose nearly a third: it keeps both digits"),
]


@pytest.mark.parametrize(("value", "uncertainty", "unit", "printed", "where"), TAYLOR, ids=[row[4] for row in TAYLOR])
def test_a_textbook_of_error_analysis_prints_the_same_figures(value: Any, uncertainty: Any, unit: Any, printed: Any, where: Any) -> None:
    assert _breakable(written_with_uncertainty(Uncertain(value, uncertainty), unit)) == printed


@pytest.mark.parametrize(
    ("uncertainty", "place"), [(0.94, -1), (0.96, -1), (0.996, -1), (1.04, -1), (1.94, -1), (1.96, 0), (2.04, 0), (9.4, 0), (9.6, 0)]
)
def test_the_digits_are_those_of_the_rounded_uncertainty(uncertainty: float, place: int) -> None:
    """0.96 is written 1.0, and 1.96 is written 2."""
    assert last_place(uncertainty) == place


@pytest.mark.parametrize(
    ("value_si", "uncertainty_si", "unit", "expected"),
    [
        (98.3472, 1.4, "J", "98.3 J ± 1.4"),
        (98.3472, 1.44, "J", "98.3 J ± 1.4"),
        (98.3472, 0.0996, "J", "98.35 J ± 0.10"),
        (98.3472, 9.96, "J", "98 J ± 10"),
        (98.3472, 140.0, "J", "100 J ± 140"),
        (12345.0, 140.0, "J", "12340 J ± 140"),
        (-0.0352, 0.0012, "mm", "−35.2 mm ± 1.2"),
        (-0.0001, 0.02, "mm", "0 mm ± 20"),
        (0.0, 0.002, "mm", "0 mm ± 2"),
        (0.0724, 0.0001, "gr", "1117.3 gr ± 1.5"),
        (293.15, 0.5, "°C", "20.0 °C ± 0.5"),
        (293.15, 0.5, "°F", "68.0 °F ± 0.9"),
        (0.65, 0.03, "%", "65 % ± 3"),
        # m 60.2 ± 0.1 g, v 52.40 ± 0.35 m/s: E 82.647376 J, u 1.112571 J (worked out)
        (82.647376, 1.112571, "J", "82.6 J ± 1.1"),
        (82.647376, None, "J", "82.65 J"),
        (82.647376, 0.0, "J", "82.65 J"),
    ],
)
def test_the_value_stops_where_its_uncertainty_stops(value_si: float, uncertainty_si: float | None, unit: str, expected: str) -> None:
    assert _breakable(written_with_uncertainty(Uncertain(value_si, uncertainty_si), unit)) == expected
    assert _breakable(written(value_si, unit, uncertainty_si=uncertainty_si)) == expected.split(" ±")[0]


def test_an_uncertainty_below_a_floats_last_figure_claims_no_more_than_the_float_holds() -> None:
    assert len(written(1 / 3, "m", uncertainty_si=1e-30)) <= len("0.33333333333333") + 2


@pytest.mark.parametrize("uncertainty", [nan, inf, -1.0])
def test_an_uncertainty_that_cannot_be_is_our_slip(uncertainty: Any) -> None:
    with pytest.raises(ValueError):
        written(1.0, "m", uncertainty_si=uncertainty)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (72.40, "72.4"),
        (1117.32, "1117"),
        (123456.7, "123457"),
        (0.1 + 0.2, "0.3"),
        (-0.3048, "−0.3048"),
        (0.00012345, "0.0001234"),
        (9.99996, "10"),
        (1e30, "1" + "0" * 30),
        (100.0, "100"),
    ],
)
def test_a_plain_number_has_sensible_figures(value: Any, expected: str) -> None:
    assert plainly(value) == expected


@pytest.mark.parametrize("value", [nan, inf, -inf])
def test_what_is_not_a_number_is_never_printed(value: Any) -> None:
    with pytest.raises(ValueError):
        plainly(value)
    with pytest.raises(ValueError):
        written(value, "m", uncertainty_si=1.0)


def test_number_and_unit_stay_on_one_line() -> None:
    assert with_unit("72.4", "g") == "72.4\u00a0g"
    assert with_unit("15", "deg") == "15°"
    assert with_unit("12", "1") == "12"
    assert "\u00a0" in written(0.0724, "g") and " " not in written(0.0724, "g")


def test_a_negative_number_has_a_true_minus() -> None:
    assert written(-0.035, "mm") == "\u221235\u00a0mm"


@given(value=st.floats(-1e6, 1e6), uncertainty=st.floats(1e-6, 1e6))
def test_the_printed_value_is_within_half_a_last_place_of_the_value(value: Any, uncertainty: Any) -> None:
    text = written(value, "J", uncertainty_si=uncertainty)
    printed = float(text.removesuffix("\u00a0J").replace("\u2212", "-"))
    # An uncertainty of 1.95 is written 2, and the value with no decimals: rounding moves it by 0.5/1.95 of that at most.
    assert abs(printed - value) <= 0.2565 * uncertainty + 1e-9 * abs(value)


@given(value=st.floats(1e-6, 1e6), uncertainty=st.floats(1e-6, 1e6))
def test_an_uncertainty_is_printed_with_one_digit_or_two_that_begin_with_1(value: Any, uncertainty: Any) -> None:
    assume(uncertainty > value * 1e-9)
    printed = written_with_uncertainty(Uncertain(value, uncertainty), "J").split("±\u00a0")[1]
    digits = printed.replace(".", "").lstrip("0").rstrip("0" if "." not in printed else "")
    assert len(digits) == 1 or (len(digits) == 2 and digits[0] == "1")
    assert abs(float(printed) - uncertainty) <= 0.2001 * uncertainty, "2.5 is written 2"


@given(value=st.floats(allow_nan=False, allow_infinity=False))
def test_any_finite_number_can_be_printed_and_keeps_its_size(value: Any) -> None:
    printed = float(plainly(value).replace("\u2212", "-"))
    assert printed == pytest.approx(value, rel=10**-3, abs=0 if value else 0)
    if abs(value) >= 1:
        assert abs(log10(abs(printed)) - log10(abs(value))) < 0.001


@pytest.mark.parametrize(
    ("shown_as", "metric", "archery"),
    [
        ("energy", "J", "ft·lbf"),
        ("mass", "g", "gr"),
        ("speed", "m/s", "ft/s"),
        ("length", "mm", "in"),
        ("force", "N", "lbf"),
        ("momentum", "kg·m/s", "slug·ft/s"),
        ("thickness", "mm", "mm"),
        ("temperature", "°C", "°F"),
        ("pressure", "hPa", "inHg"),
        ("areal_density", "kg/m²", "lb/ft²"),
    ],
)
def test_each_reader_has_their_own_unit(shown_as: str, metric: str, archery: str) -> None:
    assert unit_for_reader(shown_as, "metric") == metric
    assert unit_for_reader(shown_as, "archery") == archery


def test_the_readers_are_those_of_the_table() -> None:
    assert set(READERS) == set(UNITS_FOR_READER)
    with pytest.raises(KeyError):
        unit_for_reader("energy", "imperial")
