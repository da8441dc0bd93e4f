"""How a number is written for a reader: in their unit, with no more figures than its uncertainty carries.

An uncertainty has one digit, two if the first is 1, and the value is rounded to the same place: J. R. Taylor, An
Introduction to Error Analysis, section 2.2 (from memory). GUM 7.2.6 (JCGM 100:2008, from memory) allows two digits at most.
A no-break space stands between number and unit, a true minus (U+2212) before a negative.
"""

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Context, Decimal
from math import floor, isfinite, log10
from types import MappingProxyType

from proofyard.quantities import units
from proofyard.quantities.kinds import KINDS
from proofyard.quantities.reason import Uncertain
from proofyard.quantities.units import difference_from_si

NO_BREAK_SPACE = "\u00a0"
MINUS = "\u2212"

# A float holds 15 to 17 figures and a conversion costs one or two: 100.145 °C comes back as 100.14500000000004.
_FIGURES_IN_A_FLOAT = 14

# room for the largest float written out: the usual 28 figures would refuse 1e30
_ROOMY = Context(prec=700, rounding=ROUND_HALF_EVEN)

_SYMBOLS = MappingProxyType({"deg": "°", "1": ""})

READERS = ("metric", "archery")

# reader -> what is shown -> our unit. Thin things are in millimetres for everyone: nobody orders 0.047 in of plate.
UNITS_FOR_READER: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "metric": MappingProxyType(
            {
                "mass": "g",
                "heavy_mass": "kg",
                "speed": "m/s",
                "length": "mm",
                "thickness": "mm",
                "distance": "m",
                "force": "N",
                "energy": "J",
                "momentum": "kg·m/s",
                "temperature": "°C",
                "pressure": "hPa",
                "angle": "deg",
                "share": "%",
                "time": "ms",
                "count": "1",
                "rate": "Hz",
                "density": "kg/m³",
                "areal_density": "kg/m²",
                "cloth_mass": "g/m²",
                "lace_mass": "g/m",
                "strength": "MPa",
                "area": "mm²",
                "edge_energy": "J/mm",
                "area_energy": "J/mm²",
            }
        ),
        "archery": MappingProxyType(
            {
                "mass": "gr",
                "heavy_mass": "lb",
                "speed": "ft/s",
                "length": "in",
                "thickness": "mm",
                "distance": "yd",
                "force": "lbf",
                "energy": "ft·lbf",
                "momentum": "slug·ft/s",
                "temperature": "°F",
                "pressure": "inHg",
                "angle": "deg",
                "share": "%",
                "time": "ms",
                "count": "1",
                "rate": "Hz",
                "density": "lb/ft³",
                "areal_density": "lb/ft²",
                "cloth_mass": "oz/yd²",
                "lace_mass": "oz/yd",
                "strength": "MPa",
                "area": "in²",
                "edge_energy": "ft·lbf/in",
                "area_energy": "ft·lbf/in²",
            }
        ),
    }
)


def unit_for_reader(shown_as: str, reader: str) -> str:
    """The unit in which this reader is shown a mass, a speed... (`Kind.shown_as`, or a row of the table above).

    >>> unit_for_reader("energy", "archery")
    'ft·lbf'
    """
    return UNITS_FOR_READER[reader][shown_as]


def written(value_si: float, unit: str, *, uncertainty_si: float | None = None, figures: int = 4) -> str:
    """A value in `unit`. Rounded to the place its uncertainty reaches, or to `figures` if it has none.

    >>> written(98.3472, "J", uncertainty_si=1.4).replace(NO_BREAK_SPACE, " ")
    '98.3 J'
    """
    _check_finite(value_si)
    value = units.from_si(value_si, unit)
    if not uncertainty_si:
        return with_unit(plainly(value, figures=figures), unit)
    place = _place_shown(value, _checked_uncertainty(uncertainty_si, unit))
    return with_unit(_to_place(value, place), unit)


def written_with_uncertainty(quantity: Uncertain, unit: str, *, figures: int = 4) -> str:
    """A value and its standard uncertainty; the value alone (to `figures`) where no uncertainty is known.

    >>> written_with_uncertainty(Uncertain(98.3472, 1.4), "J").replace(NO_BREAK_SPACE, " ")
    '98.3 J ± 1.4'
    """
    uncertainty_si = quantity.standard_uncertainty
    text = written(quantity.value, unit, uncertainty_si=uncertainty_si, figures=figures)
    if not uncertainty_si:
        return text
    uncertainty = _checked_uncertainty(uncertainty_si, unit)
    place = _place_shown(units.from_si(quantity.value, unit), uncertainty)
    return f"{text} ±{NO_BREAK_SPACE}{_to_place(uncertainty, place)}"


def in_readers(value_si: float, shown_as: str, reader: str, *, figures: int = 4) -> str:
    """A value that has no uncertainty, in this reader's unit.

    >>> in_readers(12.0, "distance", "archery").replace(NO_BREAK_SPACE, " ")
    '13.12 yd'
    """
    return written(value_si, unit_for_reader(shown_as, reader), figures=figures)


def hand_length(metres: float, reader: str) -> str:
    """A length that is as good as a hand put it: whole millimetres, or tenths of an inch.

    >>> [hand_length(0.0523, reader).replace(NO_BREAK_SPACE, " ") for reader in READERS]
    ['52 mm', '2.1 in']
    """
    unit = unit_for_reader("length", reader)
    return with_unit(_to_place(units.from_si(metres, unit), 0 if unit == "mm" else -1), unit)


def last_place(uncertainty: float) -> int:
    """The power of ten of an uncertainty's last digit; it has one, two if the first is 1 (0.0996 rounds to 0.10).

    >>> [last_place(one) for one in (0.38, 1.4, 0.12, 0.0996, 9.96, 30.0)]
    [-1, -1, -2, -2, 0, 1]
    """
    digits, _, power = f"{uncertainty:.1e}".partition("e")
    return int(power) - (1 if digits.startswith("1") else 0)


def plainly(value: float, *, figures: int = 4) -> str:
    """A number that has no uncertainty: `figures` of them, no closing zeros, whole numbers never rounded off.

    >>> plainly(1117.32), plainly(72.40), plainly(-0.3048)
    ('1117', '72.4', '−0.3048')
    """
    _check_finite(value)
    if value == 0.0:
        return "0"
    place = min(0, floor(log10(abs(value))) + 1 - figures)
    text = _to_place(value, place)
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_unit(number: str, unit: str) -> str:
    """Number and unit, no break between; an angle's degree stands close (SI brochure, formatting the value of a quantity)."""
    symbol = _SYMBOLS.get(unit, unit)
    return number + (symbol if symbol in ("", "°") else NO_BREAK_SPACE + symbol)


def _checked_uncertainty(uncertainty_si: float, unit: str) -> float:
    _check_finite(uncertainty_si)
    if uncertainty_si < 0:
        raise ValueError(f"an uncertainty is not below 0: {uncertainty_si}")
    return units.difference_from_si(uncertainty_si, unit)


def _place_shown(value: float, uncertainty: float) -> int:
    """As far as the uncertainty reaches, and no further than a float does."""
    place = last_place(uncertainty)
    if value == 0.0:
        return place
    return max(place, floor(log10(abs(value))) + 1 - _FIGURES_IN_A_FLOAT)


def _to_place(value: float, place: int) -> str:
    _check_finite(value)
    rounded = Decimal(f"{value:.{_FIGURES_IN_A_FLOAT}g}").quantize(Decimal((0, (1,), place)), context=_ROOMY)
    return (MINUS if rounded < 0 else "") + format(rounded.copy_abs(), "f")


def _check_finite(value: float) -> None:
    if not isfinite(value):
        raise ValueError(f"only a finite number can be written, not {value}")


# A stored value of a kind as its reader sees it: the unit is the reader's, and a step on a scale stays a step.


def figure(value_si: float, kind: str, reader: str, *, figures: int = 4) -> str:
    """
    >>> figure(0.5, "temperature_accuracy", "metric")
    '0.5\xa0°C'
    """
    known = KINDS[kind]
    unit = unit_for_reader(known.shown_as, reader)
    if known.difference:
        return with_unit(plainly(difference_from_si(value_si, unit), figures=figures), unit)
    return written(value_si, unit, figures=figures)
