"""How people write each unit, and which of two letters' cases mean different things.

`exact` must be written so: "m" is a metre and "M" is not, "ms" is a millisecond and "Ms" is not, "G" is no gram.
`any_case` may be written in any case (a phone makes "grains" into "Grains"), and stands here in small letters.
A full stop after a word ("gr.", "in.") is taken off before looking here, and spaces around "/" and "·" are closed.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import product
from types import MappingProxyType

# SI unit -> what it measures, as a person would say it
MEASURES: Mapping[str, str] = MappingProxyType(
    {
        "1": "a share",
        "kg": "a mass",
        "m": "a length",
        "m/s": "a speed",
        "N": "a force",
        "J": "an energy",
        "kg·m/s": "a momentum",
        "K": "a temperature",
        "rad": "an angle",
        "Pa": "a pressure",
        "s": "a time",
        "Hz": "a rate",
        "kg/m²": "a mass for its area",
        "kg/m": "a mass for its length",
    }
)


@dataclass(frozen=True)
class Spelling:
    unit: str
    si_unit: str
    exact: tuple[str, ...] = ()
    any_case: tuple[str, ...] = ()


# "ft·lbf", "ft-lb", "ft lbs", "ftlb", "foot-pounds": people join the two words in every way there is
_FOOT_POUNDS = tuple(
    foot + join + pound for foot, join, pound in product(("ft", "foot"), ("·", "-", " ", "", "."), ("lbf", "lb", "lbs", "pound", "pounds"))
)

SPELLINGS: tuple[Spelling, ...] = (
    Spelling("%", "1", any_case=("%", "percent", "per cent", "pct")),
    Spelling("kg", "kg", any_case=("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme", "kilogrammes")),
    Spelling("g", "kg", exact=("g",), any_case=("gm", "gram", "grams", "gramme", "grammes")),
    Spelling("gr", "kg", any_case=("gr", "grs", "grn", "grain", "grains")),
    Spelling("oz", "kg", any_case=("oz", "ounce", "ounces")),
    Spelling("lb", "kg", any_case=("lb", "lbs", "pound", "pounds")),
    Spelling("m", "m", exact=("m",), any_case=("metre", "metres", "meter", "meters")),
    Spelling("mm", "m", exact=("mm", "MM"), any_case=("millimetre", "millimetres", "millimeter", "millimeters")),
    Spelling("cm", "m", any_case=("cm", "centimetre", "centimetres", "centimeter", "centimeters")),
    Spelling("µm", "m", exact=("µm", "um")),
    Spelling("km", "m", any_case=("km", "kilometre", "kilometres", "kilometer", "kilometers")),
    Spelling("in", "m", any_case=("in", "inch", "inches", '"')),
    # never "mil": in a workshop that is a millimetre as often
    Spelling("thou", "m", any_case=("thou", "thous")),
    Spelling("ft", "m", any_case=("ft", "foot", "feet", "'")),
    Spelling("yd", "m", any_case=("yd", "yds", "yard", "yards")),
    Spelling("m/s", "m/s", any_case=("m/s", "mps", "m/sec", "metres per second", "meters per second")),
    Spelling("ft/s", "m/s", any_case=("ft/s", "fps", "f/s", "ft/sec", "feet per second")),
    Spelling("km/h", "m/s", any_case=("km/h", "kmh", "kph", "km/hr")),
    Spelling("mph", "m/s", any_case=("mph", "mi/h")),
    Spelling("N", "N", exact=("N",), any_case=("newton", "newtons")),
    Spelling("lbf", "N", any_case=("lbf", "#")),
    Spelling("kgf", "N", any_case=("kgf", "kp")),
    Spelling("J", "J", exact=("J",), any_case=("joule", "joules")),
    Spelling("ft·lbf", "J", any_case=_FOOT_POUNDS),
    Spelling("kg·m/s", "kg·m/s", exact=("N·s", "N s", "Ns"), any_case=("kg·m/s", "kg m/s", "kgm/s")),
    Spelling("slug·ft/s", "kg·m/s", any_case=("slug·ft/s", "slug ft/s", "slug-ft/s")),
    Spelling("°C", "K", any_case=("°c", "c", "deg c", "degc", "celsius", "degrees c", "degrees celsius")),
    Spelling("°F", "K", any_case=("°f", "f", "deg f", "degf", "fahrenheit", "degrees f", "degrees fahrenheit")),
    Spelling("K", "K", exact=("K",), any_case=("kelvin",)),
    Spelling("deg", "rad", any_case=("°", "deg", "degree", "degrees")),
    Spelling("rad", "rad", any_case=("rad", "radian", "radians")),
    Spelling("hPa", "Pa", exact=("mb",), any_case=("hpa", "mbar", "millibar", "millibars")),
    Spelling("kPa", "Pa", any_case=("kpa",)),
    Spelling("Pa", "Pa", any_case=("pa", "pascal", "pascals")),
    Spelling("inHg", "Pa", any_case=("inhg", "in hg")),
    Spelling("mmHg", "Pa", any_case=("mmhg", "mm hg")),
    Spelling("s", "s", exact=("s",), any_case=("sec", "secs", "second", "seconds")),
    Spelling("ms", "s", exact=("ms",), any_case=("millisecond", "milliseconds")),
    Spelling("µs", "s", exact=("µs", "us"), any_case=("microsecond", "microseconds")),
    Spelling("min", "s", any_case=("min", "mins", "minute", "minutes")),
    Spelling("Hz", "Hz", any_case=("hz", "hertz", "frames/s", "frames per second")),
    Spelling("g/m²", "kg/m²", any_case=("g/m²", "g/m2", "g/m^2", "gsm")),
    Spelling("kg/m²", "kg/m²", any_case=("kg/m²", "kg/m2", "kg/m^2")),
    Spelling("oz/yd²", "kg/m²", any_case=("oz/yd²", "oz/yd2", "oz/yd^2")),
    Spelling("g/m", "kg/m", any_case=("g/m",)),
    Spelling("oz/yd", "kg/m", any_case=("oz/yd",)),
    Spelling("kg/m", "kg/m", any_case=("kg/m",)),
)


@dataclass(frozen=True)
class EntryUnits:
    """The units that a field takes, and spelling -> our unit name in two tables for the two case rules."""

    units: tuple[str, ...]
    exact: Mapping[str, str] = field(hash=False)
    any_case: Mapping[str, str] = field(hash=False)

    def find(self, spelling: str) -> str | None:
        """Our name of the unit, or None if this field doesn't take it."""
        return self.exact.get(spelling) or self.any_case.get(spelling.lower())


def entry_units(units: Iterable[str], *, also: Mapping[str, str] = MappingProxyType({})) -> EntryUnits:
    """The spellings of these units, and `also` some that mean something else in this field ("lb" as a force)."""
    exact: dict[str, str] = {}
    any_case: dict[str, str] = {}
    names = tuple(units)
    rows = {row.unit: row for row in SPELLINGS}
    for unit in names:
        exact |= dict.fromkeys(rows[unit].exact, unit)
        any_case |= dict.fromkeys(rows[unit].any_case, unit)
    return EntryUnits(names, MappingProxyType(exact), MappingProxyType(any_case | dict(also)))


_ANYWHERE = entry_units(row.unit for row in SPELLINGS)
_SI_UNITS = {row.unit: row.si_unit for row in SPELLINGS}

# Steel's scales are no measure with a unit, but a hardness typed in the wrong box should be told what it is.
_HARDNESS = frozenset({"hrc", "hrb", "rc", "rb", "hv", "hb", "hbw"})


def measured_by(spelling: str) -> str | None:
    """What a unit measures, whichever field it was typed in: "a length" for "yd"; None if nobody knows it."""
    if spelling.lower() in _HARDNESS:
        return "a hardness"
    unit = _ANYWHERE.find(spelling)
    return MEASURES[_SI_UNITS[unit]] if unit else None
