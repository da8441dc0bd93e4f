"""A head's shape in numbers: what it pushes through, what it cuts with, what it touches first.

They let you ask of the results whether a point concentrates what an edge spreads. None of them is a law of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities.reason import OutOfRange, because, must_be_above_zero, must_be_finite_result, must_not_be_negative


@dataclass(frozen=True)
class Section:
    """The area of a cross-section from its width (and thickness, where there is one)."""

    takes_thickness: bool
    area: Callable[[float, float], float]


SECTIONS: Mapping[str, Section] = MappingProxyType(
    {
        "round": Section(False, lambda w, t: math.pi * w * w / 4),
        "square": Section(False, lambda w, t: w * w),
        "triangle": Section(False, lambda w, t: math.sqrt(3) / 4 * w * w),
        "diamond": Section(True, lambda w, t: w * t / 2),
        "flat": Section(True, lambda w, t: w * t),
    }
)


def frontal_area_m2(section: str, width_m: float, *, thickness_m: float | None = None) -> float:
    """Area that a head has to make room for, at its broadest.

    round pi w^2/4, square w^2, triangle sqrt(3) w^2/4, diamond w t/2, flat w t

    Takes
        section      text                     a name in SECTIONS
        width_m      scalar, m, above 0       round: across; square: flat to flat; triangle: one side; diamond: the long
                     diagonal; flat: across the blade
        thickness_m  scalar, m, above 0, or None  diamond: the short diagonal; flat: through the blade. Not asked for the
                     others
    Gives
        scalar, m^2, above 0
    Refuses
        OutOfRange  width or thickness not above 0 or not finite, a thickness missing where the section needs one,
                    greater than the width, or given where the section has none
        KeyError    a section not in SECTIONS, such as "other": its area has to be measured
    Holds while
        the faces are flat. Hollow-ground faces have less, a midrib and sockets more; barbs count with the width
    Source
        Elementary geometry. Checked in tests/published/test_heads.py
    >>> round(frontal_area_m2("square", 0.008) * 1e6, 6)
    64.0
    """
    shape = SECTIONS[section]
    must_be_above_zero("width_m", width_m)
    if not shape.takes_thickness:
        if thickness_m is not None:
            raise OutOfRange("thickness_m", thickness_m, because("section_has_no_thickness", section=section))
        return must_be_finite_result("frontal_area_m2", shape.area(width_m, 0.0))
    must_be_above_zero("thickness_m", math.nan if thickness_m is None else thickness_m)
    assert thickness_m is not None
    if thickness_m > width_m:
        raise OutOfRange("thickness_m", thickness_m, because("at_most", most=width_m))
    return must_be_finite_result("frontal_area_m2", shape.area(width_m, thickness_m))


def cutting_edge_m(width_m: float, tip_to_widest_m: float, *, edges: int) -> float:
    """Length of edge that a head presents, all edges together, where nobody measured it along the edge.

    L = n sqrt((w/2)^2 + l^2)

    Takes
        width_m          scalar, m, above 0      at the broadest
        tip_to_widest_m  scalar, m, 0 or more    along the head; 0 for a chisel, whose edge lies across: then L = n w/2
        edges            whole number, 1 to 8    sharp edges from tip to widest: a leaf has 2, a lozenge 2 or 4
    Gives
        scalar, m, above 0
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        edges run straight. A leaf's belly adds some: measure along it with a thread instead
    Source
        Pythagoras. Checked in tests/published/test_heads.py
    >>> round(cutting_edge_m(0.030, 0.020, edges=2), 6)
    0.05
    """
    must_be_above_zero("width_m", width_m)
    must_not_be_negative("tip_to_widest_m", tip_to_widest_m)
    if edges not in range(1, 9):
        raise OutOfRange("edges", edges, because("whole_between", low=1, high=8))
    return must_be_finite_result("cutting_edge_m", edges * math.hypot(width_m / 2, tip_to_widest_m))


def wedge_angle_rad(width_m: float, tip_to_widest_m: float, *, tip_width_m: float = 0.0) -> float:
    """Whole angle at which a head opens, from its tip to where it is broadest.

    2 a = 2 atan((w - w_tip) / (2 l))

    Takes
        width_m          scalar, m, above 0      at the broadest
        tip_to_widest_m  scalar, m, above 0      along the head
        tip_width_m      scalar, m, 0 or more    of a blunted tip's flat
    Gives
        scalar, rad, 0 to pi
    Refuses
        OutOfRange  anything outside its range or not finite, a tip broader than the head
    Holds while
        the sides run straight; for bellied or waisted heads it is a mean
    Source
        Elementary geometry. Checked in tests/published/test_heads.py
    >>> round(math.degrees(wedge_angle_rad(0.010, 0.0866025404)), 4)
    6.6086
    """
    must_be_above_zero("width_m", width_m)
    must_be_above_zero("tip_to_widest_m", tip_to_widest_m)
    must_not_be_negative("tip_width_m", tip_width_m)
    if tip_width_m > width_m:
        raise OutOfRange("tip_width_m", tip_width_m, because("at_most", most=width_m))
    return 2 * math.atan2((width_m - tip_width_m) / 2, tip_to_widest_m)


def flat_tip_area_m2(tip_flat_m: float, *, section: str = "square", other_way_m: float | None = None) -> float:
    """Area of a blunted tip's flat: what touches first.

    as frontal_area_m2 with the flat's width; an edge w long and t thick is flat: w t

    Takes
        tip_flat_m   scalar, m, above 0            width of the flat
        section      text                          a name in SECTIONS, the flat's own outline
        other_way_m  scalar, m, above 0, or None   its other measure, for diamond and flat
    Gives
        scalar, m^2, above 0
    Refuses
        OutOfRange  what frontal_area_m2 refuses
        KeyError    a section not in SECTIONS
    Holds while
        the flat is flat. Under a glass most tips are round: tip_radius_area_m2
    Source
        Elementary geometry. Checked in tests/published/test_heads.py
    >>> round(flat_tip_area_m2(0.0005) * 1e6, 6)
    0.25
    """
    return frontal_area_m2(section, tip_flat_m, thickness_m=other_way_m)


def tip_radius_area_m2(tip_radius_m: float, depth_m: float) -> float:
    """Area of a rounded tip's contact once it is pressed in a little.

    A = pi (2 R h - h^2)

    Takes
        tip_radius_m  scalar, m, above 0       of the ball that fits the tip
        depth_m       scalar, m, above 0, at most the radius  how deep: say it with every figure, since the area has no
                      size of its own at first touch
    Gives
        scalar, m^2, above 0
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the tip is part of a ball, and the armour hasn't risen about it
    Source
        Circle that a plane cuts out of a ball: elementary geometry. Checked in tests/published/test_heads.py
    >>> round(tip_radius_area_m2(0.0005, 0.0001) * 1e6, 6)
    0.282743
    """
    must_be_above_zero("tip_radius_m", tip_radius_m)
    must_be_above_zero("depth_m", depth_m)
    if depth_m > tip_radius_m:
        raise OutOfRange("depth_m", depth_m, because("at_most", most=tip_radius_m))
    return math.pi * (2 * tip_radius_m * depth_m - depth_m * depth_m)


def sectional_density_kg_m2(mass_kg: float, area_m2: float) -> float:
    """Mass behind each square metre of a head's section.

    SD = m / A

    Takes
        mass_kg  scalar, kg, above 0    whole arrow
        area_m2  scalar, m^2, above 0   of the head at its broadest
    Gives
        scalar, kg/m^2, above 0. Tables for bullets divide by the diameter squared, without pi/4, in lb/in^2
    Refuses
        OutOfRange  either not above 0 or not finite
    Holds while
        it is a measure to compare heads by, and no more
    Source
        The definition. Checked in tests/published/test_heads.py
    >>> round(sectional_density_kg_m2(0.064, 64e-6), 6)
    1000.0
    """
    return _shared_out("mass_kg", mass_kg, "area_m2", area_m2)


def energy_per_edge_j_m(energy_j: float, edge_m: float) -> float:
    """Energy for each metre of cutting edge.

    e = E / L

    Takes
        energy_j  scalar, J, above 0    where the arrow strikes
        edge_m    scalar, m, above 0    presented edge, all together
    Gives
        scalar, J/m, above 0
    Refuses
        OutOfRange  either not above 0 or not finite
    Holds while
        all of the edge cuts; once through, only what still touches does
    Source
        The definition. Checked in tests/published/test_heads.py
    >>> round(energy_per_edge_j_m(80.0, 0.05), 6)
    1600.0
    """
    return _shared_out("energy_j", energy_j, "edge_m", edge_m)


def energy_per_area_j_m2(energy_j: float, area_m2: float) -> float:
    """Energy for each square metre of what touches first, or of the head's section.

    e = E / A

    Takes
        energy_j  scalar, J, above 0     where the arrow strikes
        area_m2   scalar, m^2, above 0   tip or frontal area: say which
    Gives
        scalar, J/m^2, above 0
    Refuses
        OutOfRange  either not above 0 or not finite
    Holds while
        for a tip: at first contact only. A tip's area is known to a tenth at best, and so is this
    Source
        The definition. Checked in tests/published/test_heads.py
    >>> round(energy_per_area_j_m2(80.0, 0.25e-6) / 1e6, 6)
    320.0
    """
    return _shared_out("energy_j", energy_j, "area_m2", area_m2)


def _shared_out(what: str, amount: float, over_what: str, over: float) -> float:
    must_be_above_zero(what, amount)
    must_be_above_zero(over_what, over)
    return must_be_finite_result(f"{what} per {over_what}", amount / over)
