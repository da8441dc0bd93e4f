"""Our units against printed constants, against pint's own factors, and there and back again."""

import subprocess
import sys
from math import isclose, pi
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.quantities import difference_from_si, difference_to_si, from_si, known_units, si_unit_of, to_si, warm_units
from proofyard.quantities.units import _UNITS, UnknownUnit

# id, value, unit, printed SI value, relative tolerance, source, status
PUBLISHED = [
    ("grain", 1, "gr", "6.479891e-5", 1e-12, "NIST SP 811 App. B.8: grain to kg 6.479 891 E-05", "from memory"),
    ("pound", 1, "lb", "0.45359237", 1e-12, "NIST SP 811 App. B.8, exact", "from memory"),
    ("ounce", 16, "oz", "0.45359237", 1e-12, "16 oz to the pound, NIST SP 811 App. B.8", "from memory"),
    ("grains in a pound", 7000, "gr", "0.45359237", 1e-12, "1 lb = 7000 gr, NIST SP 811 App. B.8", "from memory"),
    ("lbf, six figures", 1, "lbf", "4.44822", 5e-7, "US naval facilities SI appendix B: 4.448 22 N", "seen in print"),
    ("lbf, exact", 1, "lbf", "4.4482216152605", 1e-12, "0.45359237 x 9.80665", "worked out"),
    ("kgf", 1, "kgf", "9.80665", 1e-12, "standard gravity, 3rd CGPM 1901", "from memory"),
    ("foot", 1, "ft", "0.3048", 0, "US naval facilities SI appendix B", "seen in print"),
    ("inch", 1, "in", "0.0254", 0, "US naval facilities SI appendix B", "seen in print"),
    ("yard", 1, "yd", "0.9144", 0, "NIST SP 811 App. B.8, exact", "from memory"),
    ("mile an hour", 1, "mph", "0.44704", 1e-12, "NIST SP 811 App. B.8, exact", "from memory"),
    ("foot pound", 1, "ft·lbf", "1.3558179483314004", 1e-12, "0.3048 x 4.4482216152605", "worked out"),
    ("ice point", 32, "°F", "273.15", 1e-12, "NIST SP 811 App. B.8: T/K = (t/°F + 459.67)/1.8", "from memory"),
    ("steam point", 212, "°F", "373.15", 1e-12, "NIST SP 811 App. B.8", "from memory"),
    ("Celsius", 0, "°C", "273.15", 0, "SI brochure, degree Celsius", "from memory"),
    ("atmosphere", 1013.25, "hPa", "101325", 1e-12, "standard atmosphere, 10th CGPM 1954", "from memory"),
    ("inch of mercury", 1, "inHg", "3386.389", 1.5e-7, "NIST SP 811 App. B.8, conventional: 3.386 389 E+03", "from memory"),
    ("pound a square foot", 1, "lb/ft²", "4.882428", 1.5e-7, "NIST SP 811 App. B.8: 4.882 428 E+00", "from memory"),
    ("pound a cubic foot", 1, "lb/ft³", "16.01846", 5e-7, "NIST SP 811 App. B.8: 1.601 846 E+01", "from memory"),
    ("square inch", 1, "in²", "6.4516e-4", 1e-12, "NIST SP 811 App. B.8, exact", "from memory"),
    ("ounce a yard", 1, "oz/yd", "0.0310034", 5e-7, "0.45359237 / 16 / 0.9144", "worked out"),
    ("foot pound an inch", 1, "ft·lbf/in", "53.37866", 5e-8, "1.3558179483314 / 0.0254", "worked out"),
    ("foot pound a square inch", 1, "ft·lbf/in²", "2101.52203", 1e-8, "1.3558179483314 / 0.00064516", "worked out"),
    ("60 g in grains", 925.9415, "gr", "0.060", 1e-6, "60 g at 55 m/s worked through", "worked out"),
    ("55 m/s in ft/s", 180.44619, "ft/s", "55", 1e-6, "60 g at 55 m/s worked through", "worked out"),
    ("90.75 J in ft·lbf", 66.933765, "ft·lbf", "90.75", 1e-6, "60 g at 55 m/s worked through", "worked out"),
    ("500 gr at 170 ft/s, energy", 32.0799807, "ft·lbf", "43.4946136", 1e-6, "worked with pint 0.25.3", "worked out"),
    ("500 gr at 170 ft/s, momentum", 0.3774115, "slug·ft/s", "1.6788102", 1e-6, "worked with pint 0.25.3", "worked out"),
    ("400 gr at 280 ft/s, energy", 69.621328, "ft·lbf", "94.393847", 1e-6, "worked with pint 0.25.3", "worked out"),
    ("110 lbf bow", 110, "lbf", "489.30438", 1e-6, "110 x 4.4482216152605", "worked out"),
    ("150 lbf bow", 150, "lbf", "667.23324", 1e-6, "usually quoted as 667 N; worked out", "worked out"),
    ("160 lbf bow", 160, "lbf", "711.71546", 1e-6, "160 x 4.4482216152605", "worked out"),
]


@pytest.mark.parametrize("row", PUBLISHED, ids=[row[0] for row in PUBLISHED])
def test_a_unit_is_what_the_books_print(row: Any) -> None:
    _, value, unit, printed, tolerance, _, _ = row
    assert isclose(to_si(value, unit), float(printed), rel_tol=tolerance or 1e-16)


def test_the_energy_divisor_follows_from_the_definitions() -> None:
    # 14000 times standard gravity in ft/s² is 450436.6797900262 (worked out); the short-cut 450240 is not used anywhere
    grain_foot_per_second_squared = 0.5 * to_si(1, "gr") * to_si(1, "ft/s") ** 2
    assert isclose(1 / from_si(grain_foot_per_second_squared, "ft·lbf"), 450436.6797900262, rel_tol=1e-9)


@pytest.fixture(scope="module")
def oracle() -> Any:
    """pint with its usual floats, not the fractions that our table is made with."""
    return pint.UnitRegistry()


@pytest.mark.parametrize("unit", known_units())
def test_our_two_numbers_for_a_unit_do_what_pint_does(unit: Any, oracle: Any) -> None:
    for value in (0.0, 1.0, 72.4):
        expected = oracle.Quantity(value, _UNITS[unit][0]).to(_UNITS[si_unit_of(unit)][0]).magnitude
        assert isclose(to_si(value, unit), expected, rel_tol=1e-12)


@pytest.mark.parametrize("unit", known_units())
@given(value=st.floats(-1e6, 1e6))
def test_every_unit_goes_to_si_and_back(unit: Any, value: Any) -> None:
    # 1e-9: a temperature loses figures when 273.15 is added to something tiny
    assert isclose(from_si(to_si(value, unit), unit), value, rel_tol=1e-12, abs_tol=1e-9)
    assert isclose(difference_from_si(difference_to_si(value, unit), unit), value, rel_tol=1e-12, abs_tol=1e-300)


@pytest.mark.parametrize("unit", known_units())
def test_an_si_unit_is_its_own(unit: Any) -> None:
    si = si_unit_of(unit)
    assert si_unit_of(si) == si
    assert to_si(12.5, si) == 12.5 == from_si(12.5, si)


def test_half_a_degree_of_accuracy_is_half_a_kelvin() -> None:
    assert difference_to_si(0.5, "°C") == 0.5
    assert isclose(difference_to_si(1.8, "°F"), 1.0)
    assert isclose(difference_from_si(1.0, "°F"), 1.8)


def test_a_right_angle_is_half_of_pi() -> None:
    assert isclose(to_si(90, "deg"), pi / 2, rel_tol=1e-15)


def test_decimals_stay_short() -> None:
    # a single factor would give 0.07240000000000001
    assert to_si(72.4, "g") == 0.0724
    assert to_si(1.2, "mm") == 0.0012


def test_a_unit_that_is_not_ours_is_named() -> None:
    with pytest.raises(UnknownUnit, match="'furlong'") as caught:
        to_si(1, "furlong")
    assert caught.value.unit == "furlong"


@pytest.mark.parametrize("text", ["9**9**9", "meter", "inch", "lbs", "Mm", ""])
def test_names_that_only_pint_knows_are_refused(text: str) -> None:
    with pytest.raises(UnknownUnit):
        from_si(1.0, text)


def _in_a_new_process(code: Any) -> Any:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip()


def test_importing_quantities_does_not_load_pint() -> None:
    # a quarter of a second on every start otherwise, and again for each command
    assert _in_a_new_process("import sys, proofyard.quantities; print('pint' in sys.modules)") == "False"


def test_reading_a_text_that_is_refused_for_its_shape_does_not_load_pint() -> None:
    code = "import sys; from proofyard.quantities import read; read('9**9**9 mm', 'depth'); print('pint' in sys.modules)"
    assert _in_a_new_process(code) == "False"


def test_warming_loads_every_unit() -> None:
    code = (
        "from proofyard.quantities import units; units.warm_units(); "
        "print(units._line.cache_info().currsize == len(units.known_units()), units._registry.cache_info().currsize)"
    )
    assert _in_a_new_process(code) == "True 1"
    warm_units()
