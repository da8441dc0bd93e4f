"""A blunt blow on a chest, by the one criterion that was printed for it, and what a print in a backing can't say.

The criterion was made from animals and cadavers struck by bullets on vests and by blunt batons, not from armour that an
arrow struck. Whatever it gives here is illustrative and outside its data: no finding about anyone, and no medical advice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from server.physics.ranges import must_be_finite_result, must_lie_between

# Sort of body -> k of its wall, in cm over the cube root of kg, as remembered from print.
WALLS: Mapping[str, float] = MappingProxyType({"man": 0.711, "woman": 0.593})
LIGHTEST_KG, HEAVIEST_KG = 40.0, 120.0
# Where half of those struck had an injury of the chest of grade 2 to 3 of the abbreviated scale, as remembered from print.
PRINTED_HALF = 0.37


@dataclass(frozen=True)
class TriedOn:
    """From where to where something was varied when the criterion was held against blunt blows, in SI."""

    words: str
    unit: str
    low: float
    high: float


TRIED_ON: Mapping[str, TriedOn] = MappingProxyType(
    {
        "mass": TriedOn("mass of what strikes the body", "kg", 0.030, 0.140),
        "speed": TriedOn("its speed", "m/s", 20.0, 60.0),
        "diameter": TriedOn("its width", "m", 0.037, 0.0381),
        "energy": TriedOn("its energy", "J", 28.0, 112.0),
    }
)


@dataclass(frozen=True)
class PrintedBackFace:
    """A limit for how deep armour may be pushed in, as it was printed: what it was made for, and why that isn't this."""

    words: str
    depth_m: float
    made_for: str
    not_for: str


PRINTED_BACK_FACES: Mapping[str, PrintedBackFace] = MappingProxyType(
    {
        "bullets_on_clay": PrintedBackFace(
            "44 mm (1.7 in) into oil-based clay behind the armour",
            0.044,
            "soft vests that stop bullets of handguns, and taken from a few tests with animals, gelatine and clay",
            "such a bullet (8.0 g at 332 m/s) brings 441 J and 2.7 kg·m/s; an arrow of 80 g at 50 m/s brings 100 J and 4.0 kg·m/s, and "
            "clay need not give way to both alike. Looked at again, the data of goats behind the figure put one death in ten at "
            "44.7 mm, anywhere from 17.6 to 55.4 mm; and where a chest is stiff, injuries were reckoned below 44 mm",
        )
    }
)


def body_wall_m(body_kg: float, body: str) -> float:
    """Thickness of the wall of the chest that the criterion takes for a body of this mass.

    T = k W^(1/3), T in cm, W in kg

    Takes
        body_kg  scalar, kg, 40 to 120  W: whole body
        body     text                   a name in WALLS: man (k = 0.711), woman (k = 0.593)
    Gives
        scalar, m
    Refuses
        OutOfRange  a mass outside its range, or not finite
        KeyError    a body not in WALLS
    Holds while
        the body is grown and neither lean nor stout. It is a rule over many, and says nothing of one
    Source
        L. M. Sturdivan, D. C. Viano and H. R. Champion, Journal of Trauma 56, 2004; k from memory.
        Checked in tests/published/test_blunt.py
    >>> round(body_wall_m(75.0, "man"), 4)
    0.03
    """
    must_lie_between("body_kg", body_kg, low=LIGHTEST_KG, high=HEAVIEST_KG)
    return must_be_finite_result("body_wall_m", WALLS[body] * body_kg ** (1 / 3) / 100)


def blunt_criterion(energy_j: float, body_kg: float, *, wall_m: float, diameter_m: float) -> float:
    """Energy of a blunt blow against what the chest can take up: a number without a unit, greater for a worse blow.

    BC = ln( E / (W^(1/3) T D) ), E in J, W in kg, T and D in cm

    Takes
        energy_j    scalar, J, above 0 to 1000     of what strikes the body: behind armour, of panel and arrow after they
                    shared their momentum
        body_kg     scalar, kg, 40 to 120          W: whole body
        wall_m      scalar, m, 0.01 to 0.1         T: of the chest's wall, see body_wall_m
        diameter_m  scalar, m, 0.005 to 1          D: over which the blow comes; behind armour, of the dent in its back
    Gives
        scalar, no unit. 0.37 was printed as the even chance of an injury of the chest of grade 2 to 3 by blunt batons
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        a blunt thing of 30 to 140 g and 37 to 38.1 mm strikes the chest at 20 to 60 m/s (from memory): a hung panel is
        far outside of that in mass, speed and width, and an arrow's point is no blunt blow at all. Illustrative, outside
        validated range
    Source
        L. M. Sturdivan, D. C. Viano and H. R. Champion, Journal of Trauma 56, 2004: form from memory. The value of 0.37:
        C. Bir and D. C. Viano, Journal of Trauma 57, 2004, page 1218, from memory. Worked out apart from the program and
        checked in tests/published/test_blunt.py
    >>> round(blunt_criterion(28.0, 75.0, wall_m=body_wall_m(75.0, "man"), diameter_m=0.037), 3)
    -0.513
    """
    must_lie_between("energy_j", energy_j, low=1e-9, high=1000.0)
    must_lie_between("body_kg", body_kg, low=LIGHTEST_KG, high=HEAVIEST_KG)
    must_lie_between("wall_m", wall_m, low=0.01, high=0.1)
    must_lie_between("diameter_m", diameter_m, low=0.005, high=1.0)
    return must_be_finite_result("blunt_criterion", math.log(energy_j / (body_kg ** (1 / 3) * wall_m * 100 * diameter_m * 100)))


def printed_back_face(rule: str) -> PrintedBackFace:
    """The limit that a standard sets to a print in its backing. Borrowed: it was made for something else.

    depth at most 44 mm

    Takes
        rule  text  a name in PRINTED_BACK_FACES
    Gives
        PrintedBackFace, m, with what it was made for and why an arrow is not that
    Refuses
        KeyError  a name not in PRINTED_BACK_FACES
    Holds while
        a bullet is stopped by a soft vest on a backing that passed its check. It says nothing of arrows, of plate that
        hangs, or of anyone
    Source
        NIJ Standard-0101.06 as quoted in abstracts. N. Yoganandan and others, Military Medicine 188, 2023, page 598: what
        the figure was taken from. M. C. Bustamante and D. S. Cronin, Journal of Biomechanical Engineering 146, 2024:
        injuries below it. National Research Council, Testing of Body Armor Materials, Phase III, 2012, table 3-1: little
        medical ground for soft armour, none for hard. Abstracts seen. The bullet: NIJ Standard-0106.01, its table of
        ammunition as quoted. Checked in tests/published/test_blunt.py
    >>> printed_back_face("bullets_on_clay").depth_m
    0.044
    """
    return PRINTED_BACK_FACES[rule]
