"""What it takes to get a slow sharp point through plate, mail or cloth, as others found it and printed it.

Few have shot arrows at armour and printed the joules. These are their figures and the one rule made of them; nothing here
is a law, and other heads, other steel and other ways to hold a panel do otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities.reason import CantTell, because, must_be_above_zero, must_be_finite_result, must_lie_between

ONE_MM_OF_MILD_STEEL_J = 55.0
THICKNESS_POWER = 1.6
# Shot at and printed; between those and the outer limits the rule is an extrapolation.
SHOT_AT_M = (0.001, 0.003)
THINNEST_M, THICKEST_M = 0.0005, 0.006
LINEN_LAYERS, LINEN_J = 16, 50.0


# How well a plate of an iron or steel resists, beside modern mild steel of the same thickness.
QUALITIES: Mapping[str, float] = MappingProxyType(
    {"slaggy_iron": 0.5, "low_carbon": 0.75, "mild_steel": 1.0, "medium_carbon": 1.1, "hardened": 1.5}
)


@dataclass(frozen=True)
class PrintedEnergy:
    """The range of a printed energy. `arrow`: it was an arrowhead, not a lance."""

    low_j: float
    high_j: float
    arrow: bool


PRINTED_ENERGIES: Mapping[str, PrintedEnergy] = MappingProxyType(
    {
        "mail": PrintedEnergy(80.0, 120.0, True),
        "mail_over_padding": PrintedEnergy(100.0, 120.0, True),
        "linen_16": PrintedEnergy(LINEN_J, LINEN_J, False),
        "buff_leather": PrintedEnergy(30.0, 30.0, True),
        "boiled_leather": PrintedEnergy(20.0, 30.0, False),
    }
)


def plate_energy_j(thickness_m: float, quality: float = 1.0) -> float:
    """Energy at which an arrowhead of the needle kind defeats one plate, hit square on.

    E = 55 J (t / 1 mm)^1.6 W

    Takes
        thickness_m  scalar, m, 0.0005 to 0.006  of one plate
        quality      scalar, no unit, 0.5 to 1.5  W: 1 for modern mild steel, the others in QUALITIES
    Gives
        scalar, J, above 0
    Refuses
        OutOfRange  thickness or quality outside its range, or not finite
    Holds while
        the plate is between 1 and 3 mm, where it was tried; thinner or thicker is an extrapolation. The point was about
        45 mm through when the plate counted as defeated. Blunter heads need more, thin needles may need less
    Source
        A. Williams, The Knight and the Blast Furnace, 2003, section on the energy to defeat armour: 55 J at 1 mm seen as
        quoted second-hand; power and factors from memory, held against three more quoted figures.
        Checked in tests/published/test_resistance.py
    >>> round(plate_energy_j(0.00125, 1.5), 1)
    117.9
    """
    must_lie_between("thickness_m", thickness_m, low=THINNEST_M - 1e-9, high=THICKEST_M + 1e-9)
    must_lie_between("quality", quality, low=0.5, high=1.5)
    return must_be_finite_result("plate_energy_j", ONE_MM_OF_MILD_STEEL_J * (thickness_m * 1000) ** THICKNESS_POWER * quality)


def printed_energy(armour: str) -> PrintedEnergy:
    """What was printed of mail, cloth or leather: a range of joules, no rule.

    E_low to E_high as printed

    Takes
        armour  text  a name in PRINTED_ENERGIES
    Gives
        PrintedEnergy, J, and whether an arrowhead hit it
    Refuses
        KeyError  an armour that no figure is known for
    Holds while
        rings, cloth and head are like those that were hit; they hardly ever are, and the figures don't say how fine the
        rings were. A lance point is broader than an arrow's
    Source
        A. Williams, The Knight and the Blast Furnace, 2003, as quoted second-hand; 120 J for mail and padding is quoted
        twice. Checked in tests/published/test_resistance.py
    >>> printed_energy("mail").low_j, printed_energy("mail").high_j
    (80.0, 120.0)
    """
    return PRINTED_ENERGIES[armour]


def linen_energy_j(layers: int) -> float:
    """Energy at which a lance point goes through layers of linen, in proportion to one printed figure.

    E = 50 J n / 16

    Takes
        layers  whole number, 8 to 32  of linen of about 0.11 kg/m^2 each, quilted
    Gives
        scalar, J, above 0
    Refuses
        OutOfRange  fewer than 8 layers or more than 32: that far from 16 nobody tried
    Holds while
        each layer takes as much as the last. That layers add up is common practice, no source; a sharp arrowhead that cuts
        needs less than a lance point
    Source
        50 J for 16 layers, 60 g over 16 by 21 cm: A. Williams, The Knight and the Blast Furnace, 2003, as quoted
        second-hand. Checked in tests/published/test_resistance.py
    >>> linen_energy_j(24)
    75.0
    """
    must_lie_between("layers", layers, low=LINEN_LAYERS / 2, high=LINEN_LAYERS * 2)
    return LINEN_J * layers / LINEN_LAYERS


def residual_speed_m_s(
    speed_m_s: float, limit_m_s: float, *, arrow_kg: float = 1.0, plug_kg: float = 0.0, power: float = 2.0
) -> float | CantTell:
    """Speed that is left after a plate, of what hit it faster than it can stop.

    v_r = m / (m + m_p) (v^p - v_50^p)^(1/p)

    Takes
        speed_m_s  scalar, m/s, 0 or more      at which it hit
        limit_m_s  scalar, m/s, above 0        limit at which 50 % get through
        arrow_kg   scalar, kg, above 0         matters only beside a plug
        plug_kg    scalar, kg, 0 or more       knocked out of the plate and carried along; a sharp point makes none
        power      scalar, no unit, 1 to 5     2 is the balance of energies; the other form has it fitted to tests
    Gives
        scalar, m/s; CantTell at or under the limit: there half are stopped, and none goes on at a known speed
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the plate takes the same energy however fast it is hit, and the shaft doesn't drag in the hole. A shaft does
    Source
        R. F. Recht and T. W. Ipson, Journal of Applied Mechanics 1963 30:384 (power 2); J. P. Lambert and G. H. Jonas,
        BRL-R-1852, 1976. Checked in tests/physics/test_physics_resistance_by_hand.py
    >>> round(residual_speed_m_s(55.0, 40.0), 3)
    37.749
    """
    must_lie_between("speed_m_s", speed_m_s, low=0.0, high=1000.0)
    must_be_above_zero("limit_m_s", limit_m_s)
    must_be_above_zero("arrow_kg", arrow_kg)
    must_lie_between("plug_kg", plug_kg, low=0.0, high=10.0)
    must_lie_between("power", power, low=1.0, high=5.0)
    if speed_m_s <= limit_m_s:
        return CantTell(because("no_faster_than_the_limit"))
    share = arrow_kg / (arrow_kg + plug_kg)
    # As a part of the speed, so that no power overflows.
    return share * speed_m_s * math.pow(1 - math.pow(limit_m_s / speed_m_s, power), 1 / power)
