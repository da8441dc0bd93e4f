"""The kinds of quantity a field can ask for: the unit a bare number takes, what else may be typed, and its ranges.

Outside the *plausible* range a value is kept with a warning; outside the *possible* one it is refused. The ranges are
there to catch a slip of the finger (53 for 35, grams for grains), not to say what archery allows. Unless a line says
otherwise they are common practice, no source. They stand in SI, so that reading this file loads no unit library.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import pi
from types import MappingProxyType

from proofyard.quantities.spellings import EntryUnits, entry_units
from proofyard.quantities.units import si_unit_of


@dataclass(frozen=True)
class Kind:
    """What a field asks for.

    `words` is what it is in a sentence ("an arrow’s mass"), `asks` what to type ("a mass"), `shown_as` the row of
    UNITS_FOR_READER it is shown by. `zero` says whether 0 itself is possible where `possible` begins at 0.
    `difference` is true for a step on a scale: half a degree of accuracy is not half a degree of warmth.
    """

    name: str
    words: str
    asks: str
    unit: str
    entry_units: EntryUnits
    plausible: tuple[float, float]
    possible: tuple[float, float]
    example: str
    shown_as: str
    zero: bool = False
    whole: bool = False
    difference: bool = False
    si_unit: str = field(init=False)

    def __post_init__(self) -> None:
        low, high = self.possible
        if not low <= self.plausible[0] < self.plausible[1] <= high:
            raise ValueError(f"{self.name}: the plausible range has to lie inside the possible one")
        object.__setattr__(self, "si_unit", si_unit_of(self.unit))


_POUNDS_OF_FORCE = MappingProxyType(dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lbf"))

_ARROW_MASS = entry_units(("g", "gr", "oz", "kg", "lb"))
_PANEL_MASS = entry_units(("kg", "g", "lb", "oz"))
_LENGTH = entry_units(("mm", "cm", "m", "in", "ft"))
_SMALL = entry_units(("mm", "cm", "in", "thou", "µm"))
_DISTANCE = entry_units(("m", "yd", "ft", "cm", "mm", "in"))
_SPEED = entry_units(("m/s", "ft/s", "km/h", "mph"))
_FORCE = entry_units(("lbf", "N", "kgf"), also=_POUNDS_OF_FORCE)
_TEMPERATURE = entry_units(("°C", "°F", "K"))
_PRESSURE = entry_units(("hPa", "kPa", "Pa", "inHg", "mmHg"))
_SHARE = entry_units(("%",))
_TIME = entry_units(("ms", "s", "µs", "min"))

_A_MASS = "72.4 g or 1117 gr"


def _mass(
    name: str, words: str, plausible: tuple[float, float], possible: tuple[float, float], *, unit: str = "g", example: str = _A_MASS
) -> Kind:
    entry, shown_as = (_ARROW_MASS, "mass") if unit == "g" else (_PANEL_MASS, "heavy_mass")
    return Kind(name, words, "a mass", unit, entry, plausible, possible, example, shown_as)


def _length(name: str, words: str, plausible: tuple[float, float], possible: tuple[float, float], example: str) -> Kind:
    return Kind(name, words, "a length", "mm", _LENGTH, plausible, possible, example, "length")


def _thin(name: str, words: str, plausible: tuple[float, float], possible: tuple[float, float], example: str) -> Kind:
    return Kind(name, words, "a length", "mm", _SMALL, plausible, possible, example, "thickness")


def _accuracy(name: str, of: Kind, plausible: tuple[float, float], high: float, example: str) -> Kind:
    """What an instrument's display steps by, or is good for: the same units as what it measures, but small."""
    return replace(
        of,
        name=name,
        words="an instrument’s resolution or accuracy",
        plausible=plausible,
        possible=(0.0, high),
        example=example,
        zero=False,
    )


_MASSES = (
    # 20 to 150 g: from a light flight arrow to a heavy war arrow. 72 g typed as "72 gr" is 4.7 g and is refused.
    _mass("arrow_mass", "an arrow’s mass", (0.020, 0.150), (0.005, 0.500)),
    _mass("head_mass", "a head’s mass", (0.003, 0.060), (0.0, 0.300), example="18.2 g or 281 gr"),
    _mass("panel_mass", "a panel’s mass", (0.05, 15.0), (0.0, 100.0), example="2.35 kg or 5.2 lb", unit="kg"),
    # 0: the panel hangs alone
    replace(_mass("hung_mass", "a hung mass", (0.0, 80.0), (0.0, 500.0), example="12 kg or 26 lb", unit="kg"), zero=True),
    _mass("string_mass", "a string’s mass", (0.003, 0.040), (0.0, 0.200), example="9.5 g or 147 gr"),
    # what is let fall on a backing: a ball of a kilogram or so
    _mass("drop_mass", "what was let fall", (0.2, 10.0), (0.0, 20.0), example="1.043 kg or 2.3 lb", unit="kg"),
    _mass("body_mass", "a body’s mass", (40.0, 120.0), (0.0, 300.0), example="75 kg or 165 lb", unit="kg"),
    _mass("ring_mass", "one ring’s mass", (0.000_05, 0.002), (0.0, 0.020), example="0.38 g or 5.9 gr"),
)

_BOW = (
    Kind("arrow_speed", "an arrow’s speed", "a speed", "m/s", _SPEED, (20.0, 90.0), (0.0, 150.0), "55 m/s or 180 fps", "speed"),
    # 20 to 200 lbf; refused above 400 lbf
    Kind("draw_weight", "a draw weight", "a force", "lbf", _FORCE, (88.9, 890.0), (0.0, 1780.0), "110 lb or 489 N", "force"),
    # 20 to 36 in
    replace(_length("draw_length", "a draw length", (0.508, 0.9144), (0.2, 1.3), "31 in or 787 mm"), unit="in"),
    # a place of the string on the bow scale: the braced string's own, where the force is 0, is one of them
    replace(_length("point_draw", "where the string stands", (0.1, 0.9144), (0.02, 1.3), "28 in or 711 mm"), unit="in"),
    Kind(
        "point_force", "the force on a string", "a force", "lbf", _FORCE, (0.0, 890.0), (0.0, 1780.0), "95 lb or 423 N", "force", zero=True
    ),
    _length("arrow_length", "an arrow’s length", (0.5, 1.1), (0.1, 2.0), "790 mm or 31 in"),
    _length("brace_height", "a brace height", (0.100, 0.250), (0.02, 0.5), "165 mm or 6 1/2 in"),
    _thin("shaft_diameter", "a shaft’s diameter", (0.006, 0.016), (0.002, 0.05), "12.7 mm or 1/2 in"),
    # nock to nock: from a short composite to a tall self bow; a bare 75 (inches meant) is refused, not 75 m
    replace(_length("bow_length", "a bow’s length", (0.9, 2.3), (0.3, 3.5), "1.93 m or 76 in"), unit="m"),
)

_HEAD_AND_PANEL = (
    # also a head's width, and tip to widest: a needle is 6 mm wide, a long one 200 mm long
    _length("head_length", "a length on a head", (0.003, 0.200), (0.0, 0.600), "85 mm or 3 3/8 in"),
    replace(_length("edge_length", "a cutting edge’s length", (0.0, 0.150), (0.0, 0.5), "42 mm or 1 5/8 in"), zero=True),
    _thin("thickness", "a plate’s thickness", (0.0003, 0.005), (0.0, 0.1), "1.2 mm or 3/64 in"),
    replace(_thin("cloth_thickness", "a cloth’s thickness", (0.0003, 0.060), (0.0, 0.3), "19 mm or 3/4 in"), shown_as="length"),
    # rings, laces, the flat on a tip; a tip with no flat has 0
    replace(_thin("small_length", "a small length", (0.0, 0.030), (0.0, 0.2), "9.5 mm or 3/8 in"), zero=True),
    _thin("drop_across", "how wide something is that was let fall", (0.01, 0.15), (0.0, 0.5), "63.5 mm or 2 1/2 in"),
    # a lamella, a scale or a plate of a brigandine: a few centimetres
    _length("plate_size", "a small plate’s width or height", (0.015, 0.25), (0.005, 1.0), "45 mm or 1 3/4 in"),
    _length("panel_size", "a panel’s width or height", (0.05, 1.0), (0.01, 3.0), "400 mm or 15 3/4 in"),
    _length("lace_length", "a lace’s length", (0.02, 1.0), (0.0, 5.0), "210 mm or 8 1/4 in"),
    # from fine linen to felted wool
    Kind(
        "cloth_mass",
        "what a layer of cloth weighs",
        "a mass for its area",
        "g/m²",
        entry_units(("g/m²", "kg/m²", "oz/yd²")),
        (0.080, 1.5),
        (0.0, 10.0),
        "240 g/m² or 7.1 oz/yd²",
        "cloth_mass",
    ),
    # from a linen shirt to a block of clay; what is worn is a few kilograms
    Kind(
        "layer_weight",
        "what a square metre of a layer weighs",
        "a mass for its area",
        "kg/m²",
        entry_units(("kg/m²", "g/m²", "oz/yd²")),
        (0.1, 20.0),
        (0.0, 600.0),
        "3.2 kg/m² or 94 oz/yd²",
        "areal_density",
    ),
    # from silk cord to a thong of raw hide
    Kind(
        "lace_mass",
        "what a metre of lace weighs",
        "a mass for its length",
        "g/m",
        entry_units(("g/m", "kg/m", "oz/yd")),
        (0.000_5, 0.040),
        (0.0, 0.5),
        "5.2 g/m",
        "lace_mass",
    ),
)

_AT_THE_BUTT = (
    # measured from a mark on the panel, so either sign
    _length("place", "a place on the panel", (-0.5, 0.5), (-3.0, 3.0), "120 mm or -35 mm"),
    replace(_length("depth", "a depth", (0.0, 0.3), (0.0, 1.5), "28 mm or 1 1/8 in"), zero=True),
    replace(_length("gap", "a gap", (0.0, 0.1), (0.0, 1.0), "20 mm or 3/4 in"), zero=True),
    # from the underside of what falls to the backing
    replace(_length("drop_height", "a height of fall", (0.3, 3.0), (0.0, 10.0), "2 m or 6 ft 7 in"), unit="m", shown_as="distance"),
    Kind("distance", "a distance", "a length", "m", _DISTANCE, (2.0, 60.0), (0.0, 400.0), "14 m or 15 yd", "distance"),
    # 0: the screens stand level with the bow's grip
    Kind(
        "distance_from_bow",
        "how far a chronograph stands from the bow",
        "a length",
        "m",
        _DISTANCE,
        (0.0, 20.0),
        (0.0, 400.0),
        "1.5 m or 5 ft",
        "distance",
        zero=True,
    ),
    Kind(
        "bounce_distance",
        "how far an arrow bounced",
        "a length",
        "m",
        _DISTANCE,
        (0.0, 10.0),
        (0.0, 60.0),
        "1.5 m or 5 ft",
        "distance",
        zero=True,
    ),
    Kind("angle", "an angle", "an angle", "deg", entry_units(("deg", "rad")), (-pi / 3, pi / 3), (-pi / 2, pi / 2), "15° or -10°", "angle"),
)

_WEATHER = (
    # -10 to 40 °C; refused outside -60 to 60 °C, a little wider than people have shot in
    Kind(
        "temperature",
        "a temperature",
        "a temperature",
        "°C",
        _TEMPERATURE,
        (263.15, 313.15),
        (213.15, 333.15),
        "18 °C or 64 °F",
        "temperature",
    ),
    Kind("humidity", "a relative humidity", "a share", "%", _SHARE, (0.10, 1.0), (0.0, 1.0), "65 %", "share", zero=True),
    # Station pressure. Highest ever reduced to sea level: near 1084 hPa (from memory); 300 hPa is the top of Everest.
    Kind(
        "pressure",
        "an air pressure",
        "a pressure",
        "hPa",
        _PRESSURE,
        (70_000.0, 106_000.0),
        (30_000.0, 110_000.0),
        "1013 hPa or 29.92 inHg",
        "pressure",
    ),
)

_OTHER = (
    Kind("share", "a share", "a share", "%", _SHARE, (0.0, 0.1), (0.0, 1.0), "0.5 %", "share", zero=True),
    # how much of something gets through: any share is as plausible as another
    Kind("chance", "a share of shots", "a share", "%", _SHARE, (0.0, 1.0), (0.0, 1.0), "60 %", "share", zero=True),
    # how much more energy one thing needs than another, over the other's; refused above ten times as much
    Kind("difference", "a difference of energies", "a share", "%", _SHARE, (0.02, 1.0), (0.0, 10.0), "10 %", "share"),
    Kind(
        "energy",
        "an energy",
        "an energy",
        "J",
        entry_units(("J", "ft·lbf")),
        (0.0, 250.0),
        (0.0, 1000.0),
        "90 J or 66 ft·lbf",
        "energy",
        zero=True,
    ),
    # between a sound or a photo and the next
    Kind(
        "time_between", "a time between two events", "a time", "ms", _TIME, (0.0, 2.0), (0.0, 60.0), "254 ms or 0.254 s", "time", zero=True
    ),
    # from the start of a recording
    Kind(
        "recording_time",
        "a moment in a recording",
        "a time",
        "s",
        _TIME,
        (0.0, 120.0),
        (0.0, 120.0),
        "0.812 s or 812 ms",
        "time",
        zero=True,
    ),
    # As filmed. In this field "fps" is frames a second: elsewhere it is feet.
    Kind(
        "frame_rate",
        "a frame rate",
        "a rate",
        "Hz",
        entry_units(("Hz",), also=MappingProxyType({"fps": "Hz", "f/s": "Hz"})),
        (20.0, 2000.0),
        (1.0, 100_000.0),
        "240 fps or 240 Hz",
        "rate",
    ),
    Kind(
        "count", "a count", "a whole number", "1", entry_units(()), (0.0, 1000.0), (0.0, 1_000_000.0), "12", "count", zero=True, whole=True
    ),
)

_BY_NAME = {kind.name: kind for kind in (*_MASSES, *_BOW, *_HEAD_AND_PANEL, *_AT_THE_BUTT, *_WEATHER, *_OTHER)}

_ACCURACIES = (
    _accuracy("mass_accuracy", _BY_NAME["arrow_mass"], (0.000_001, 0.05), 1.0, "0.1 g or 1 gr"),
    _accuracy("length_accuracy", _BY_NAME["small_length"], (0.000_001, 0.01), 0.1, "0.02 mm or 1/64 in"),
    replace(
        _accuracy("distance_accuracy", _BY_NAME["distance"], (0.001, 0.5), 10.0, "5 cm or 2 in"),
        words="how far a distance may be off",
        zero=True,
    ),
    _accuracy("speed_accuracy", _BY_NAME["arrow_speed"], (0.001, 3.0), 20.0, "0.3 m/s or 1 fps"),
    # 0.01 to 10 lbf
    _accuracy("force_accuracy", _BY_NAME["draw_weight"], (0.04, 45.0), 200.0, "0.5 lb or 2 N"),
    replace(_accuracy("temperature_accuracy", _BY_NAME["temperature"], (0.01, 3.0), 20.0, "0.5 °C or 1 °F"), difference=True),
)

KINDS: Mapping[str, Kind] = MappingProxyType(_BY_NAME | {kind.name: kind for kind in _ACCURACIES})
