"""From a unit of ours to SI and back. The only file that knows pint.

pint is handed names out of the table below and nothing else: it hangs on `9**9**9 mm` and reads `1,5 mm` as 15 mm,
so text that a person typed is read by `typed.py`. pint is loaded when the first unit is needed (a quarter of a second),
and counts in fractions here, so that a foot is 0.3048 m and not 0.30479999999999996.
"""

from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Any

# our name -> (pint's name, our name of the SI unit)
_UNITS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "1": ("dimensionless", "1"),
        "%": ("percent", "1"),
        "kg": ("kilogram", "kg"),
        "g": ("gram", "kg"),
        "gr": ("grain", "kg"),
        "oz": ("ounce", "kg"),
        "lb": ("pound", "kg"),
        "m": ("meter", "m"),
        "mm": ("millimeter", "m"),
        "cm": ("centimeter", "m"),
        "µm": ("micrometer", "m"),
        "km": ("kilometer", "m"),
        "in": ("inch", "m"),
        "thou": ("thou", "m"),
        "ft": ("foot", "m"),
        "yd": ("yard", "m"),
        "m/s": ("meter/second", "m/s"),
        "ft/s": ("foot/second", "m/s"),
        "km/h": ("kilometer/hour", "m/s"),
        "mph": ("mile/hour", "m/s"),
        "N": ("newton", "N"),
        "lbf": ("pound_force", "N"),
        "kgf": ("kilogram_force", "N"),
        "J": ("joule", "J"),
        "ft·lbf": ("foot*pound_force", "J"),
        "kg·m/s": ("kilogram*meter/second", "kg·m/s"),
        "slug·ft/s": ("slug*foot/second", "kg·m/s"),
        "K": ("kelvin", "K"),
        "°C": ("degree_Celsius", "K"),
        "°F": ("degree_Fahrenheit", "K"),
        "rad": ("radian", "rad"),
        "deg": ("degree", "rad"),
        "Pa": ("pascal", "Pa"),
        "hPa": ("hectopascal", "Pa"),
        "kPa": ("kilopascal", "Pa"),
        "inHg": ("inch_Hg", "Pa"),
        "mmHg": ("millimeter_Hg", "Pa"),
        "s": ("second", "s"),
        "ms": ("millisecond", "s"),
        "µs": ("microsecond", "s"),
        "min": ("minute", "s"),
        "Hz": ("hertz", "Hz"),
        "MPa": ("megapascal", "Pa"),
        "kg/m³": ("kilogram/meter**3", "kg/m³"),
        "lb/ft³": ("pound/foot**3", "kg/m³"),
        "kg/m²": ("kilogram/meter**2", "kg/m²"),
        "lb/ft²": ("pound/foot**2", "kg/m²"),
        "g/m²": ("gram/meter**2", "kg/m²"),
        "oz/yd²": ("ounce/yard**2", "kg/m²"),
        "kg/m": ("kilogram/meter", "kg/m"),
        "g/m": ("gram/meter", "kg/m"),
        "oz/yd": ("ounce/yard", "kg/m"),
        "m²": ("meter**2", "m²"),
        "mm²": ("millimeter**2", "m²"),
        "in²": ("inch**2", "m²"),
        "J/m": ("joule/meter", "J/m"),
        "J/mm": ("joule/millimeter", "J/m"),
        "ft·lbf/in": ("foot*pound_force/inch", "J/m"),
        "J/m²": ("joule/meter**2", "J/m²"),
        "J/mm²": ("joule/millimeter**2", "J/m²"),
        "ft·lbf/in²": ("foot*pound_force/inch**2", "J/m²"),
        "1/m": ("1/meter", "1/m"),
        "1/km": ("1/kilometer", "1/m"),
    }
)

# whole numbers below this are floats without rounding
_EXACT_IN_A_FLOAT = 2**53


class UnknownUnit(ValueError):
    """A unit that isn't in the table: a slip of ours, never the user's (their spellings are checked before)."""

    def __init__(self, unit: str) -> None:
        self.unit = unit
        super().__init__(f"no unit of ours is called {unit!r}")


def known_units() -> tuple[str, ...]:
    """Every unit name of ours."""
    return tuple(_UNITS)


def si_unit_of(unit: str) -> str:
    """The SI unit that measures the same kind of thing: "m" for "in"."""
    return _row(unit)[1]


def to_si(value: float, unit: str) -> float:
    """The value in SI. A temperature is a point on the scale: 20 °C is 293.15 K.

    >>> to_si(1.0, "ft")
    0.3048
    """
    times, over, offset = _line(unit)
    return value * times / over + offset


def from_si(value_si: float, unit: str) -> float:
    """The SI value in one of our units.

    >>> from_si(0.0724, "g")
    72.4
    """
    times, over, offset = _line(unit)
    return (value_si - offset) * over / times


def difference_to_si(value: float, unit: str) -> float:
    """As `to_si` for a step, a spread or an uncertainty: half a degree Celsius is half a kelvin, not 273.65 K."""
    times, over, _ = _line(unit)
    return value * times / over


def difference_from_si(value_si: float, unit: str) -> float:
    """As `from_si` for a step, a spread or an uncertainty."""
    times, over, _ = _line(unit)
    return value_si * over / times


def warm_units() -> None:
    """Load pint and every factor now, so that the first page doesn't wait for it."""
    for unit in _UNITS:
        _line(unit)


def _row(unit: str) -> tuple[str, str]:
    try:
        return _UNITS[unit]
    except KeyError:
        raise UnknownUnit(unit) from None


@cache
def _line(unit: str) -> tuple[float, float, float]:
    """SI = value * times / over + offset.

    Two numbers instead of one factor: 72.4 / 1000 is 0.0724, while 72.4 * 0.001 is 0.07240000000000001.
    """
    name, si = _row(unit)
    offset = _converted(Fraction(0), name, _UNITS[si][0])
    scale = _converted(Fraction(1), name, _UNITS[si][0]) - offset
    if max(scale.numerator, scale.denominator) < _EXACT_IN_A_FLOAT:
        return float(scale.numerator), float(scale.denominator), float(offset)
    return float(scale), 1.0, float(offset)


def _converted(value: Fraction, name: str, si_name: str) -> Fraction:
    return Fraction(_registry().Quantity(value, name).to(si_name).magnitude)


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(non_int_type=Fraction)
