"""A blunt impact on a chest, by the one criterion that was printed for it, and what a print in a backing can't say.

The criterion was made from animals and cadavers hit by bullets on vests and by blunt batons, not from armour that an
arrow hit. Whatever it gives here is illustrative and outside its data: no finding about anyone, and no medical advice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities.reason import must_be_finite_result, must_lie_between

# Sort of body -> k of its wall, in cm over the cube root of kg: an assumption, since the print was not at hand.
WALLS: Mapping[str, float] = MappingProxyType({"man": 0.711, "woman": 0.593})
LIGHTEST_KG, HEAVIEST_KG = 40.0, 120.0


@dataclass(frozen=True)
class TriedOn:
    """From where to where something was varied where the criterion was held against blunt impacts in print that was seen, in SI."""

    unit: str
    low: float
    high: float


TRIED_ON: Mapping[str, TriedOn] = MappingProxyType(
    {
        # Tolerance of the skull to blunt ballistic temporo-parietal impact, abstract: seven heads of the dead, fourteen impacts.
        "speed": TriedOn("m/s", 18.0, 37.0),
        "diameter": TriedOn("m", 0.038, 0.038),
    }
)


# Limits for how deep armour may be pushed in, as they were printed: for bullets, not for arrows.
PRINTED_BACK_FACES_M: Mapping[str, float] = MappingProxyType({"bullets_on_clay": 0.044})


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
        k is an assumption: remembered of L. M. Sturdivan, D. C. Viano and H. R. Champion, Journal of Trauma 56, 2004,
        whose print was not found. Worked by hand, and checked in tests/published/test_blunt.py
    >>> round(body_wall_m(75.0, "man"), 4)
    0.03
    """
    must_lie_between("body_kg", body_kg, low=LIGHTEST_KG, high=HEAVIEST_KG)
    return must_be_finite_result("body_wall_m", WALLS[body] * body_kg ** (1 / 3) / 100)


def blunt_criterion(energy_j: float, body_kg: float, *, wall_m: float, diameter_m: float) -> float:
    """Energy of a blunt impact against what the chest can take up: a number without a unit, greater for a worse impact.

    BC = ln( E / (W^(1/3) T D) ), E in J, W in kg, T and D in cm

    Takes
        energy_j    scalar, J, above 0 to 1000     of what strikes the body: behind armour, of panel and arrow after they
                    shared their momentum
        body_kg     scalar, kg, 40 to 120          W: whole body
        wall_m      scalar, m, 0.01 to 0.1         T: of the chest's wall, see body_wall_m
        diameter_m  scalar, m, 0.005 to 1          D: over which the push comes; behind armour, of the dent in its back
    Gives
        scalar, no unit. It ranks impacts on one body; no limit stands against it here, since none was found in print
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        something blunt strikes a body, as a baton of 38 mm that hit heads of the dead at 18 to 37 m/s: a hung panel is
        far outside of that in speed and width, and an arrow's point is no blunt impact at all. Illustrative, outside
        validated range
    Source
        L. M. Sturdivan's blunt criterion: its form at second hand, as public program code that names him has it; the paper
        (Journal of Trauma 56, 2004) was not found. That it was held against impacts: Tolerance of the skull to blunt
        ballistic temporo-parietal impact, abstract seen. Worked out apart from the program and checked in
        tests/published/test_blunt.py
    >>> round(blunt_criterion(28.0, 75.0, wall_m=body_wall_m(75.0, "man"), diameter_m=0.037), 3)
    -0.513
    """
    must_lie_between("energy_j", energy_j, low=1e-9, high=1000.0)
    must_lie_between("body_kg", body_kg, low=LIGHTEST_KG, high=HEAVIEST_KG)
    must_lie_between("wall_m", wall_m, low=0.01, high=0.1)
    must_lie_between("diameter_m", diameter_m, low=0.005, high=1.0)
    return must_be_finite_result("blunt_criterion", math.log(energy_j / (body_kg ** (1 / 3) * wall_m * 100 * diameter_m * 100)))


def printed_back_face_m(rule: str) -> float:
    """The limit that a standard sets to a print in its backing. Borrowed: it was made for something else.

    depth at most 44 mm

    Takes
        rule  text  a name in PRINTED_BACK_FACES_M
    Gives
        scalar, m, above 0
    Refuses
        KeyError  a name not in PRINTED_BACK_FACES_M
    Holds while
        a bullet is stopped by a soft vest on a backing that passed its check. It says nothing of arrows, of plate that
        hangs, or of anyone
    Source
        NIJ Standard-0101.06, table 4, 44 mm (1.73 in) for every type, as quoted in notes on the standard.
        N. Yoganandan and others, Military Medicine 188, 2023, page 598: what the figure was taken from. M. C. Bustamante and D. S. Cronin,
        Journal of Biomechanical Engineering 146, 2024:
        injuries below it. National Research Council, Testing of Body Armor Materials, Phase III, 2012, table 3-1: little
        medical ground for soft armour, none for hard. Abstracts seen. The bullet: NIJ Standard-0106.01, its table of
        ammunition as quoted. Checked in tests/published/test_blunt.py
    >>> printed_back_face_m("bullets_on_clay")
    0.044
    """
    return PRINTED_BACK_FACES_M[rule]
