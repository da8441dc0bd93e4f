"""What one change of an armour does to the energy that gets through it, as a factor: each change on its own.

A factor above 1 says that it takes more. Several rules answer each question, made of different tests and different
thoughts; where they differ, nobody knows better for arrows, so ask them all.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.physics.hardness import StrengthRange
from proofyard.physics.resistance import SHOT_AT_M, THICKEST_M, THICKNESS_POWER, THINNEST_M
from proofyard.quantities.reason import CantTell, OutOfRange, because, must_lie_between

STEEPEST_RAD = math.radians(60.0)
MOST_PLATES = 4
MOST_CLOTHS = 60
WIRE_M = (0.0005, 0.003)
STRENGTH_PA = (250e6, 2100e6)


@dataclass(frozen=True)
class PowerRule:
    """One power of one measure. `inside`: where it was tried, in the measure's unit; `for_points`: tried with points."""

    power: float
    inside: tuple[float, float]
    for_points: bool


@dataclass(frozen=True)
class Factor:
    """From where to where the energy changes, and whether the rule was asked beyond what it was made from."""

    low: float
    high: float
    outside: bool


THICKNESS_RULES: Mapping[str, PowerRule] = MappingProxyType(
    {
        "arrows": PowerRule(THICKNESS_POWER, SHOT_AT_M, True),  # Williams 2003, from memory
        "hole": PowerRule(1.0, (THINNEST_M, 0.004), True),  # Taylor 1948, from memory
        "missiles": PowerRule(1.5, (0.006, 0.1), False),  # BC-TOP-9A, 1974, from memory
        "guns": PowerRule(1.4, (0.05, 0.5), False),  # De Marre 1890, from memory
    }
)
WIRE_RULES: Mapping[str, PowerRule] = MappingProxyType(
    {
        "pull": PowerRule(2.0, WIRE_M, True),  # strength times area, any textbook
        "bend": PowerRule(3.0, WIRE_M, True),  # fully plastic moment s d^3/6, any textbook
    }
)
ANGLE_RULES = ("arrows", "way", "thicker", "square_part")
LAYER_RULES = ("apart", "as_one")
# Angle in degrees, factor: Williams 2003, from memory.
_SLANTED = ((0.0, 1.0), (30.0, 1.2), (45.0, 1.4))


def thickness_factor(new_m: float, old_m: float, *, rule: str) -> Factor:
    """How much more energy a thicker plate takes, of the same steel and hit in the same way.

    E' / E = (t' / t)^n, n = 1.6 arrows, 1 hole, 1.5 missiles, 1.4 guns

    Takes
        new_m  scalar, m, 0.0005 to 0.006  thickness asked about
        old_m  scalar, m, 0.0005 to 0.006  thickness that was shot at
        rule   text                        a name in THICKNESS_RULES
    Gives
        Factor, no unit, both ends alike; outside where a thickness is beyond what the rule was tried on
    Refuses
        OutOfRange  a thickness outside its range or not finite
        KeyError    a rule that isn't there
    Holds while
        both plates fail alike. A thin plate dishes and tears, a thick one lets itself be pushed aside; over a factor of two
        in thickness no one power holds. Missiles and guns are far outside their data here, whatever the thickness
    Source
        Arrows: Williams 2003; missiles: BC-TOP-9A, 1974; guns: De Marre 1890; all from memory. The hole: G. I. Taylor,
        Quarterly Journal of Mechanics and Applied Mathematics 1948 1:103, plastic work in
        proportion to thickness. Checked in tests/published/test_resistance.py
    >>> round(thickness_factor(0.0010, 0.0012, rule="arrows").low, 3), round(thickness_factor(0.0010, 0.0012, rule="hole").low, 3)
    (0.747, 0.833)
    """
    for name, value in (("new_m", new_m), ("old_m", old_m)):
        must_lie_between(name, value, low=THINNEST_M - 1e-9, high=THICKEST_M + 1e-9)
    return _by_power(new_m, old_m, THICKNESS_RULES[rule])


def wire_factor(new_m: float, old_m: float, *, rule: str) -> Factor:
    """How much more energy mail of thicker wire takes, of the same pattern, rings larger in proportion.

    E' / E = (d' / d)^n, n = 2 pull, 3 bend

    Takes
        new_m  scalar, m, 0.0005 to 0.003  wire asked about
        old_m  scalar, m, 0.0005 to 0.003  wire of the mail that was shot at
        rule   text                        a name in WIRE_RULES
    Gives
        Factor, no unit
    Refuses
        OutOfRange  a wire outside its range or not finite
        KeyError    a rule that isn't there
    Holds while
        rings fail in their wire. Riveted rings often fail at the rivet, and padding behind takes its own share; nobody has
        printed a test of this with arrows
    Source
        Textbook strength of a round wire: pulled, stress times area; bent, the plastic moment s d^3/6.
        Checked in tests/physics/test_physics_resistance_by_hand.py
    >>> wire_factor(0.002, 0.001, rule="pull").low, wire_factor(0.002, 0.001, rule="bend").low
    (4.0, 8.0)
    """
    for name, value in (("new_m", new_m), ("old_m", old_m)):
        must_lie_between(name, value, low=WIRE_M[0] - 1e-9, high=WIRE_M[1] + 1e-9)
    return _by_power(new_m, old_m, WIRE_RULES[rule])


def strength_factor(new: StrengthRange, old: StrengthRange) -> Factor | CantTell:
    """How much more energy a plate of stronger steel takes, from one interval of strength to another.

    E' / E from s'_low / s_high to s'_high / s_low

    Takes
        new  StrengthRange, Pa  of the steel asked about: hardness.strength_of
        old  StrengthRange, Pa  of the plate that was shot at
    Gives
        Factor, no unit, low to high; outside where one steel is more than twice as strong as the other. CantTell where an
        end of either interval is open: an interval without an end has no factor
    Refuses
        OutOfRange  a strength outside 250 to 2100 MPa, an interval the wrong way round
    Holds while
        both steels stretch before they tear. A hard plate cracks instead, and then takes less than its strength promises;
        at over 1300 MPa or so (about 42 HRC) expect that
    Source
        The work to push a hole open goes with the stress that the metal flows at: G. I. Taylor, Quarterly Journal of
        Mechanics and Applied Mathematics 1948 1:103; SRI formula for missiles, in proportion to strength (BC-TOP-9A, 1974;
        both from memory). Checked in tests/published/test_resistance.py
    >>> strength_factor(StrengthRange(600e6, 640e6), StrengthRange(400e6, 400e6))
    Factor(low=1.5, high=1.6, outside=False)
    """
    ends = (new.low_pa, new.high_pa, old.low_pa, old.high_pa)
    if None in ends:
        return CantTell(because("asked_steel_open") if None in ends[:2] else because("shot_steel_open"))
    for name, one in (("new", new), ("old", old)):
        assert one.low_pa is not None and one.high_pa is not None
        must_lie_between(f"{name}.low_pa", one.low_pa, low=STRENGTH_PA[0], high=STRENGTH_PA[1])
        must_lie_between(f"{name}.high_pa", one.high_pa, low=one.low_pa, high=STRENGTH_PA[1])
    assert new.low_pa and new.high_pa and old.low_pa and old.high_pa
    low, high = new.low_pa / old.high_pa, new.high_pa / old.low_pa
    return Factor(low, high, not 0.5 <= low <= high <= 2.0)


def angle_factor(angle_rad: float, *, rule: str) -> Factor:
    """How much more energy a slanted plate takes than one hit square on.

    arrows 1, 1.2, 1.4 at 0, 30, 45 degrees, straight between; way 1/cos a; thicker (1/cos a)^1.6; square_part 1/cos^2 a

    Takes
        angle_rad  scalar, rad, 0 to 1.048 (60 degrees)  between the flight and the plate's normal; 0 is square on
        rule       text                                  a name in ANGLE_RULES
    Gives
        Factor, no unit, 1 or more; outside above 45 degrees
    Refuses
        OutOfRange  an angle outside 0 to 60 degrees, or not finite; for the rule "arrows" above 45 degrees
        KeyError    a rule that isn't there
    Holds while
        the point bites. Past some angle it skids and no energy helps; that angle depends on the tip and isn't known here
    Source
        arrows: A. Williams, The Knight and the Blast Furnace, 2003, from memory. way: geometry,
        panel.line_of_sight_thickness_m. thicker: that with plate_energy_j. square_part: the energy of the square part of
        the speed is E cos^2 a. Checked in tests/physics/test_physics_resistance_by_hand.py
    >>> [round(angle_factor(math.radians(30), rule=rule).low, 3) for rule in ANGLE_RULES]
    [1.2, 1.155, 1.259, 1.333]
    """
    must_lie_between("angle_rad", angle_rad, low=0.0, high=STEEPEST_RAD + 1e-9)
    longer = 1 / math.cos(angle_rad)
    if rule == "arrows":
        factor = _slanted(math.degrees(angle_rad))
    else:
        factor = longer ** {"way": 1.0, "thicker": THICKNESS_POWER, "square_part": 2.0}[rule]
    return Factor(factor, factor, angle_rad > math.radians(45.0) + 1e-9)


def layers_factor(new: int, old: int, *, rule: str) -> Factor:
    """How much more energy several plates or cloths take, one on the other.

    apart n'/n; as_one (n'/n)^1.6

    Takes
        new   whole number, 1 to 4 plates (as_one) or 60 cloths (apart)  layers asked about
        old   whole number, the same                                     layers that were shot at
        rule  text                                                       a name in LAYER_RULES
    Gives
        Factor, no unit
    Refuses
        OutOfRange  fewer layers than 1 or more than the rule allows
        KeyError    a rule that isn't there
    Holds while
        layers lie on each other and are alike. Plates that can slide take about their sum, plates that are held together
        nearer to one thick plate: the truth is expected between the two
    Source
        apart: energies add up, common practice, no source. as_one: plate_energy_j of the whole thickness.
        Checked in tests/physics/test_physics_resistance_by_hand.py
    >>> layers_factor(2, 1, rule="apart").low, round(layers_factor(2, 1, rule="as_one").low, 3)
    (2.0, 3.031)
    """
    power = {"apart": 1.0, "as_one": THICKNESS_POWER}[rule]
    most = MOST_CLOTHS if rule == "apart" else MOST_PLATES
    for name, count in (("new", new), ("old", old)):
        if count != int(count):
            raise OutOfRange(name, count, because("whole_number"))
        must_lie_between(name, count, low=1, high=most)
    factor = (new / old) ** power
    return Factor(factor, factor, False)


def _by_power(new: float, old: float, rule: PowerRule) -> Factor:
    low, high = rule.inside
    factor = (new / old) ** rule.power
    return Factor(factor, factor, not all(low - 1e-9 <= one <= high + 1e-9 for one in (new, old)))


def _slanted(degrees: float) -> float:
    must_lie_between("angle_rad", math.radians(degrees), low=0.0, high=math.radians(_SLANTED[-1][0]) + 1e-9)
    for (a, at_a), (b, at_b) in zip(_SLANTED, _SLANTED[1:], strict=False):
        if degrees <= b:
            return at_a + (at_b - at_a) * (degrees - a) / (b - a)
    return _SLANTED[-1][1]
