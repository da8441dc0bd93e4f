"""A number is written in the reader's unit with no more figures than it deserves."""

from math import inf, log10, nan

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from server.quantities import (
    READERS,
    UNITS_FOR_READER,
    Uncertain,
    plainly,
    to_si,
    unit_for_reader,
    with_unit,
    written,
    written_with_uncertainty,
)


def _breakable(text):
    return text.replace("\u00a0", " ")


# GUM (JCGM 100:2008), all from memory: value, uncertainty, unit, what it prints of each, where
GUM = [
    (10.05762, 0.027, "m", "10.058 m ± 0.027", "7.2.6: y = 10.05762 with u = 27 thousandths is rounded to 10.058"),
    (to_si(100.145, "°C"), 0.332916, "°C", "100.14 °C ± 0.33", "4.4.3, Table 1: mean 100.14, u 0.33"),
    (4.9990, 0.0032094, "m", "4.9990 m ± 0.0032", "H.2, Table H.2: 4.9990, 0.0032"),
    (127.732, 0.071, "m", "127.732 m ± 0.071", "H.2, Table H.4: 127.732, 0.071"),
]


@pytest.mark.parametrize(("value", "uncertainty", "unit", "printed", "where"), GUM, ids=[row[4] for row in GUM])
def test_the_guide_to_uncertainty_prints_the_same_figures(value, uncertainty, unit, printed, where):
    assert _breakable(written_with_uncertainty(Uncertain(value, uncertainty), unit)) == printed


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
        (0.0, 0.002, "mm", "0.0 mm ± 2.0"),
        (0.0724, 0.0001, "gr", "1117.3 gr ± 1.5"),
        (293.15, 0.5, "°C", "20.00 °C ± 0.50"),
        (293.15, 0.5, "°F", "68.00 °F ± 0.90"),
        (0.65, 0.03, "%", "65.0 % ± 3.0"),
        # m 60.2 ± 0.1 g, v 52.40 ± 0.35 m/s: E 82.647376 J, u 1.112571 J (worked out)
        (82.647376, 1.112571, "J", "82.6 J ± 1.1"),
        (82.647376, None, "J", "82.65 J"),
        (82.647376, 0.0, "J", "82.65 J"),
    ],
)
def test_the_value_stops_where_its_uncertainty_stops(value_si, uncertainty_si, unit, expected):
    assert _breakable(written_with_uncertainty(Uncertain(value_si, uncertainty_si), unit)) == expected
    assert _breakable(written(value_si, unit, uncertainty_si=uncertainty_si)) == expected.split(" ±")[0]


def test_an_uncertainty_below_a_floats_last_figure_claims_no_more_than_the_float_holds():
    assert len(written(1 / 3, "m", uncertainty_si=1e-30)) <= len("0.33333333333333") + 2


@pytest.mark.parametrize("uncertainty", [nan, inf, -1.0])
def test_an_uncertainty_that_cannot_be_is_our_slip(uncertainty):
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
def test_a_plain_number_has_sensible_figures(value, expected):
    assert plainly(value) == expected


@pytest.mark.parametrize("value", [nan, inf, -inf])
def test_what_is_not_a_number_is_never_printed(value):
    with pytest.raises(ValueError):
        plainly(value)
    with pytest.raises(ValueError):
        written(value, "m", uncertainty_si=1.0)


def test_number_and_unit_stay_on_one_line():
    assert with_unit("72.4", "g") == "72.4\u00a0g"
    assert with_unit("15", "deg") == "15°"
    assert with_unit("12", "1") == "12"
    assert "\u00a0" in written(0.0724, "g") and " " not in written(0.0724, "g")


def test_a_negative_number_has_a_true_minus():
    assert written(-0.035, "mm") == "\u221235\u00a0mm"


@given(value=st.floats(-1e6, 1e6), uncertainty=st.floats(1e-6, 1e6))
def test_the_printed_value_is_within_half_a_last_place_of_the_value(value, uncertainty):
    text = written(value, "J", uncertainty_si=uncertainty)
    printed = float(text.removesuffix("\u00a0J").replace("\u2212", "-"))
    # two figures of the uncertainty: rounding moves the value by a twentieth of it at most
    assert abs(printed - value) <= 0.0501 * uncertainty + 1e-9 * abs(value)


@given(value=st.floats(1e-6, 1e6), uncertainty=st.floats(1e-6, 1e6))
def test_an_uncertainty_is_printed_with_two_figures_at_most(value, uncertainty):
    assume(uncertainty > value * 1e-9)
    printed = written_with_uncertainty(Uncertain(value, uncertainty), "J").split("±\u00a0")[1]
    digits = printed.replace(".", "").lstrip("0").rstrip("0" if "." not in printed else "")
    assert 1 <= len(digits) <= 2
    assert abs(float(printed) - uncertainty) <= 0.0501 * uncertainty


@given(value=st.floats(allow_nan=False, allow_infinity=False))
def test_any_finite_number_can_be_printed_and_keeps_its_size(value):
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
    ],
)
def test_each_reader_has_their_own_unit(shown_as, metric, archery):
    assert unit_for_reader(shown_as, "metric") == metric
    assert unit_for_reader(shown_as, "archery") == archery


def test_the_readers_are_those_of_the_table():
    assert set(READERS) == set(UNITS_FOR_READER)
    with pytest.raises(KeyError):
        unit_for_reader("energy", "imperial")
