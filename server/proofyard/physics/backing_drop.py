"""A ball let fall on a backing, so that a print in it means the same today as last month."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.physics.fall import STANDARD_GRAVITY_M_S2
from proofyard.quantities.reason import must_be_finite_result, must_lie_between

HEAVIEST_KG, HIGHEST_M = 20.0, 10.0


@dataclass(frozen=True)
class PrintedDrop:
    """A check of a backing as a standard has it: what falls, how far, and how deep the mean of so many drops may be."""

    mass_kg: float
    across_m: float
    height_m: float
    depth_m: float
    either_way_m: float
    drops: int


PRINTED_DROPS: Mapping[str, PrintedDrop] = MappingProxyType({"bullets_on_clay": PrintedDrop(1.043, 0.0635, 2.0, 0.019, 0.002, 5)})


def drop_energy_j(mass_kg: float, height_m: float) -> float:
    """Energy that something brings when it is let fall.

    E = m g h

    Takes
        mass_kg   scalar, kg, above 0 to 20  of what falls
        height_m  scalar, m, above 0 to 10   from its underside to the backing
    Gives
        scalar, J
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        it falls free from rest; air and the guide of a drop tower take a little
    Source
        NIJ Standard-0115.00 gives its blades 24, 33 and 43 J (industry summary of the standard); heights for them with
        1.9 kg worked out apart from the program. Checked in tests/published/test_blunt.py
    >>> round(drop_energy_j(1.043, 2.0), 2)
    20.46
    """
    must_lie_between("mass_kg", mass_kg, low=1e-6, high=HEAVIEST_KG)
    must_lie_between("height_m", height_m, low=1e-6, high=HIGHEST_M)
    return must_be_finite_result("drop_energy_j", mass_kg * STANDARD_GRAVITY_M_S2 * height_m)


def drop_speed_m_s(height_m: float) -> float:
    """Speed at which it strikes.

    v = sqrt(2 g h)

    Takes
        height_m  scalar, m, above 0 to 10  from its underside to the backing
    Gives
        scalar, m/s
    Refuses
        OutOfRange  outside its range or not finite
    Holds while
        it falls free from rest
    Source
        Galileo's law of fall with standard gravity, 9.80665 m/s^2: BIPM, The International System of Units, 9th edition,
        for the value. Checked in tests/published/test_blunt.py
    >>> round(drop_speed_m_s(2.0), 3)
    6.263
    """
    must_lie_between("height_m", height_m, low=1e-6, high=HIGHEST_M)
    return math.sqrt(2 * STANDARD_GRAVITY_M_S2 * height_m)


def printed_drop(rule: str) -> PrintedDrop:
    """The check of the backing that a standard prints. Borrowed: it was made for clay behind soft vests and bullets.

    mean of 5 drops: 19 mm ± 2 mm

    Takes
        rule  text  a name in PRINTED_DROPS
    Gives
        PrintedDrop: kg, m, number of drops
    Refuses
        KeyError  a name not in PRINTED_DROPS
    Holds while
        the backing is the clay of that standard, warmed and worked as it says. Clay that passes ranks bullets; it was found
        not to rank slow cutting and piercing points as tissue does
    Source
        NIJ Standard-0101.06. National Research Council, Testing of Body Armor Materials, Phase III, 2012, as quoted: a
        ball of 63.5 mm, five drops, mean 19 mm ± 2 mm; its 1.043 kg and 2.0 m quoted at third hand.
        A. Pettigrew and D. Bamforth, Open Archaeology, 2023: slow points in clay and gelatine. Checked in tests/published/test_blunt.py
    >>> printed_drop("bullets_on_clay").drops
    5
    """
    return PRINTED_DROPS[rule]
