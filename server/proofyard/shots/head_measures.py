"""A head's shape in numbers, from what was measured of it: what it pushes through, cuts with, and touches first.

What can't be told has its reason. Nothing is made up: an area whose outline nobody gave stays unknown.
"""

from dataclasses import dataclass
from functools import lru_cache

from proofyard.physics.contact import (
    SECTIONS,
    cutting_edge_m,
    flat_tip_area_m2,
    frontal_area_m2,
    sectional_density_kg_m2,
    tip_radius_area_m2,
    wedge_angle_rad,
)
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import OutOfRange, Reason, because
from proofyard.records.arrow import Head
from proofyard.records.shot_facts import ShotFact

# Shares of the figure, as standard uncertainties: common practice, no source. Two measures with a calliper make an
# area; a tip under a glass is known to a tenth at best.
FRONT_SHARE, EDGE_SHARE, TIP_SHARE = 0.03, 0.03, 0.10
# A rounded tip has no area at first touch: it is reckoned so deep in, and every figure says so.
TIP_DEPTH_M = 0.0001
# Heads of these forms have two straight edges from tip to widest; others are measured or not told.
TWO_EDGED = ("leaf", "barbed")


@dataclass(frozen=True)
class Measure:
    """A figure in SI with how it was found, or None with the reason."""

    value: Uncertain | None
    how: Reason
    method: str = ""


@dataclass(frozen=True)
class HeadShape:
    """What was measured of a head; None where nothing was."""

    form: str | None
    section: str | None
    width_m: float | None
    thickness_m: float | None
    tip_to_widest_m: float | None
    tip_flat_m: float | None
    tip_radius_m: float | None
    edge_length_m: float | None


@dataclass(frozen=True)
class HeadMeasures:
    tip_flat: Measure
    tip_area: Measure
    frontal_area: Measure
    edge: Measure
    wedge: Measure


def shape_of_head(head: Head) -> HeadShape:
    return HeadShape(
        head.form,
        head.section,
        head.width_m,
        head.thickness_m,
        head.tip_to_widest_m,
        head.tip_flat_m,
        head.tip_radius_m,
        head.edge_length_m,
    )


def shape_of_fact(fact: ShotFact) -> HeadShape:
    return HeadShape(
        fact.form,
        fact.head_section,
        fact.head_width_m,
        fact.head_thickness_m,
        fact.tip_to_widest_m,
        fact.tip_flat_m,
        fact.tip_radius_m,
        fact.edge_length_m,
    )


@lru_cache(maxsize=1024)
def measures_of(shape: HeadShape) -> HeadMeasures:
    """Worked out once for each head, however many shots it flew."""
    return HeadMeasures(_tip_flat(shape), _tip_area(shape), _front(shape), _edge(shape), _wedge(shape))


def _not_told(why: Reason) -> Measure:
    return Measure(None, why)


def _tip_flat(shape: HeadShape) -> Measure:
    if shape.tip_flat_m is None:
        return _not_told(because("tip_flat_not_measured"))
    return Measure(Uncertain(shape.tip_flat_m, shape.tip_flat_m * TIP_SHARE / 2), because("tip_flat_measured"))


def _tip_area(shape: HeadShape) -> Measure:
    """The flat's own outline is taken as the section's; a blade's flat has two measures, of which one was taken."""
    if shape.tip_flat_m:
        if shape.section is None or shape.section not in SECTIONS:
            return _not_told(because("tip_outline_not_known"))
        if SECTIONS[shape.section].takes_thickness:
            return _not_told(because("tip_of_two_measures", section=shape.section))
        area = flat_tip_area_m2(shape.tip_flat_m, section=shape.section)
        return Measure(_by_share(area, TIP_SHARE), because("tip_area_of_the_flat", section=shape.section), "flat_tip_area_m2")
    if shape.tip_radius_m:
        if shape.tip_radius_m < TIP_DEPTH_M:
            return _not_told(because("tip_too_sharp_for_an_area", depth_m=TIP_DEPTH_M))
        area = tip_radius_area_m2(shape.tip_radius_m, TIP_DEPTH_M)
        return Measure(_by_share(area, TIP_SHARE), because("tip_area_of_the_round", depth_m=TIP_DEPTH_M), "tip_radius_area_m2")
    if shape.tip_flat_m == 0:
        return _not_told(because("tip_without_flat_or_radius"))
    return _not_told(because("tip_not_measured"))


def _front(shape: HeadShape) -> Measure:
    if shape.section is None or shape.section not in SECTIONS:
        return _not_told(because("section_not_given") if shape.section is None else because("section_not_covered"))
    section = SECTIONS[shape.section]
    if shape.width_m is None or (section.takes_thickness and shape.thickness_m is None):
        return _not_told(because("head_width_not_measured") if shape.width_m is None else because("head_thickness_not_measured"))
    try:
        area = frontal_area_m2(shape.section, shape.width_m, thickness_m=shape.thickness_m if section.takes_thickness else None)
    except OutOfRange as fault:
        return _not_told(because("measures_do_not_fit_the_section", of=fault.name, expected=fault.expected))
    return Measure(_by_share(area, FRONT_SHARE), because("front_of_the_section", section=shape.section), "frontal_area_m2")


def _edge(shape: HeadShape) -> Measure:
    if shape.edge_length_m:
        return Measure(_by_share(shape.edge_length_m, EDGE_SHARE), because("edge_measured"))
    if shape.edge_length_m == 0:
        return _not_told(because("no_cutting_edge"))
    if shape.form in TWO_EDGED and shape.width_m and shape.tip_to_widest_m:
        edge = cutting_edge_m(shape.width_m, shape.tip_to_widest_m, edges=2)
        return Measure(_by_share(edge, EDGE_SHARE), because("edge_of_two_straight_lines"), "cutting_edge_m")
    return _not_told(because("edge_not_measured"))


def _wedge(shape: HeadShape) -> Measure:
    if not shape.width_m or not shape.tip_to_widest_m:
        return _not_told(because("wedge_not_measured"))
    try:
        angle = wedge_angle_rad(shape.width_m, shape.tip_to_widest_m, tip_width_m=shape.tip_flat_m or 0.0)
    except OutOfRange:
        return _not_told(because("tip_broader_than_the_head"))
    return Measure(_by_share(angle, FRONT_SHARE), because("wedge_is_the_mean"), "wedge_angle_rad")


def sectional_density(shape: HeadShape, arrow_mass: Uncertain | None) -> Measure:
    """Mass of the whole arrow over the head's frontal area."""
    front = measures_of(shape).frontal_area
    if front.value is None:
        return front
    if arrow_mass is None:
        return _not_told(because("arrow_never_weighed"))
    value = sectional_density_kg_m2(arrow_mass.value, front.value.value)
    return Measure(_by_share(value, FRONT_SHARE), because("mass_over_the_front"), "sectional_density_kg_m2")


def _by_share(value: float, share: float) -> Uncertain:
    return Uncertain(value, value * share)
