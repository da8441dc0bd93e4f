"""An armour panel in numbers: how much it weighs for its size, how many layers lie at a spot, how much is in the way.

What is worked out from measures stands beside what the scale says: where they differ, a measure or a layer is wrong.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from proofyard.quantities.reason import OutOfRange, because, must_be_above_zero, must_lie_between, must_not_be_negative

STEEL_KG_M3 = 7850.0  # mild steel (common practice, no source: 7,750 to 8,050 by alloy)


def plate_areal_density_kg_m2(thickness_m: float, *, density_kg_m3: float = STEEL_KG_M3) -> float:
    """Mass of a square metre of plain plate.

    s = rho t

    Takes
        thickness_m    scalar, m, above 0        mean of the readings
        density_kg_m3  scalar, kg/m^3, above 0   7,850 for steel; wrought iron 7,700 with its slag
    Gives
        scalar, kg/m^2, above 0
    Refuses
        OutOfRange  either not above 0 or not finite
    Holds while
        the plate has no holes worth speaking of
    Source
        The definition of density. Checked in tests/published/test_panels.py
    >>> round(plate_areal_density_kg_m2(0.002), 6)
    15.7
    """
    must_be_above_zero("thickness_m", thickness_m)
    must_be_above_zero("density_kg_m3", density_kg_m3)
    return density_kg_m3 * thickness_m


@dataclass(frozen=True)
class PlateLattice:
    """Small plates in rows, all alike: each plate's size, how far it is to the next, and how far a row is shifted.

    The pitch is the plate's size less the overlap. `shift_m` moves every second row sideways.
    """

    plate_width_m: float
    plate_height_m: float
    pitch_across_m: float
    pitch_down_m: float
    shift_m: float = 0.0

    def __post_init__(self) -> None:
        for name in ("plate_width_m", "plate_height_m", "pitch_across_m", "pitch_down_m"):
            must_be_above_zero(name, getattr(self, name))
        must_lie_between("shift_m", self.shift_m, low=0.0, high=self.pitch_across_m)
        # More than 20 layers is a slip of a unit or a pitch typed for an overlap.
        if self.plate_width_m > 20 * self.pitch_across_m:
            raise OutOfRange("pitch_across_m", self.pitch_across_m, because("at_least", least=self.plate_width_m / 20))
        if self.plate_height_m > 20 * self.pitch_down_m:
            raise OutOfRange("pitch_down_m", self.pitch_down_m, because("at_least", least=self.plate_height_m / 20))


def mean_layers(plates: PlateLattice) -> float:
    """How many plates lie over one another, on average.

    n = (w / p_w) (h / p_h)

    Takes
        plates  PlateLattice  size and pitch
    Gives
        scalar, no unit, above 0; under 1 where the plates leave gaps
    Refuses
        OutOfRange  what PlateLattice refuses
    Holds while
        the panel is many plates wide and high: at its edges fewer overlap
    Source
        Each plate stands for one pitch by one pitch of the panel: geometry. Checked in tests/physics/test_physics_panel_by_hand.py
    >>> round(mean_layers(PlateLattice(0.025, 0.060, 0.020, 0.045)), 4)
    1.6667
    """
    return plates.plate_width_m * plates.plate_height_m / (plates.pitch_across_m * plates.pitch_down_m)


def plated_areal_density_kg_m2(
    plates: PlateLattice, thickness_m: float, *, lace_m_each: float = 0.0, lace_kg_m: float = 0.0, density_kg_m3: float = STEEL_KG_M3
) -> float:
    """Mass of a square metre of lamellar, scale or other small plates, with their lacing.

    s = rho t n + l q / (p_w p_h)

    Takes
        plates         PlateLattice              size and pitch
        thickness_m    scalar, m, above 0        mean over several plates
        lace_m_each    scalar, m, 0 or more      lace that goes to one plate
        lace_kg_m      scalar, kg/m, 0 or more   mass of a metre of lace
        density_kg_m3  scalar, kg/m^3, above 0   of the plates
    Gives
        scalar, kg/m^2, above 0
    Refuses
        OutOfRange  what PlateLattice refuses, anything else outside its range or not finite
    Holds while
        holes and rounded corners are small: they take off a few per cent
    Source
        Geometry and the definition of density. Checked in tests/physics/test_physics_panel_by_hand.py
    >>> round(plated_areal_density_kg_m2(PlateLattice(0.025, 0.060, 0.020, 0.045), 0.001), 4)
    13.0833
    """
    must_not_be_negative("lace_m_each", lace_m_each)
    must_not_be_negative("lace_kg_m", lace_kg_m)
    steel = plate_areal_density_kg_m2(thickness_m, density_kg_m3=density_kg_m3) * mean_layers(plates)
    return steel + lace_m_each * lace_kg_m / (plates.pitch_across_m * plates.pitch_down_m)


def ring_mass_kg(outer_m: float, wire_m: float, *, lap_m: float = 0.0, density_kg_m3: float = STEEL_KG_M3) -> float:
    """Mass of one ring of mail, of round wire.

    m = rho (pi d^2/4) (pi (D - d) + lap)

    Takes
        outer_m        scalar, m, above 2 wires  the ring's outer diameter
        wire_m         scalar, m, above 0        the wire's
        lap_m          scalar, m, 0 or more      how far the ends of a riveted ring lie over each other
        density_kg_m3  scalar, kg/m^3, above 0   of the wire
    Gives
        scalar, kg, above 0
    Refuses
        OutOfRange  a ring with no hole, anything else outside its range or not finite
    Holds while
        the wire is round; flattened rings are wider than they are thick: weigh a hundred
    Source
        Pappus: section times the way of its middle. Checked in tests/physics/test_physics_panel_by_hand.py
    >>> round(ring_mass_kg(0.010, 0.0015) * 1000, 4)
    0.3704
    """
    must_be_above_zero("wire_m", wire_m)
    must_be_above_zero("outer_m", outer_m)
    must_not_be_negative("lap_m", lap_m)
    must_be_above_zero("density_kg_m3", density_kg_m3)
    if outer_m <= 2 * wire_m:
        raise OutOfRange("outer_m", outer_m, because("above", limit=2 * wire_m))
    return density_kg_m3 * math.pi * wire_m**2 / 4 * (math.pi * (outer_m - wire_m) + lap_m)


def mail_areal_density_kg_m2(ring_kg: float, rings_per_m2: float) -> float:
    """Mass of a square metre of mail as it hangs.

    s = m N

    Takes
        ring_kg       scalar, kg, above 0      one ring
        rings_per_m2  scalar, 1/m^2, above 0   counted on the panel as it hangs: rows and columns over a decimetre
    Gives
        scalar, kg/m^2, above 0
    Refuses
        OutOfRange  either not above 0 or not finite
    Holds while
        the mail hangs at the shot as it did when counted: drawn out it is thinner
    Source
        The definition. Checked in tests/physics/test_physics_panel_by_hand.py
    >>> round(mail_areal_density_kg_m2(0.00037, 30000.0), 4)
    11.1
    """
    must_be_above_zero("ring_kg", ring_kg)
    must_be_above_zero("rings_per_m2", rings_per_m2)
    return ring_kg * rings_per_m2


def cloth_areal_density_kg_m2(layers_kg_m2: tuple[float, ...]) -> float:
    """Mass of a square metre of cloth layers, one over another.

    s = sum s_i

    Takes
        layers_kg_m2  array of scalars, kg/m^2, above 0  each layer, in order; 0.24 is "240 gsm"
    Gives
        scalar, kg/m^2, above 0
    Refuses
        OutOfRange  no layer at all, one not above 0 or not finite
    Holds while
        quilting doesn't draw the cloth in; it does by a few per cent
    Source
        The definition. Checked in tests/physics/test_physics_panel_by_hand.py
    >>> cloth_areal_density_kg_m2((0.25, 0.25, 0.5))
    1.0
    """
    if not layers_kg_m2:
        raise OutOfRange("layers_kg_m2", 0, because("at_least", least=1))
    for layer in layers_kg_m2:
        must_be_above_zero("layers_kg_m2", layer)
    return math.fsum(layers_kg_m2)


@dataclass(frozen=True)
class WeighedBeside:
    """Weighed and worked-out areal density, and how many standard uncertainties lie between (None: not known)."""

    weighed_kg_m2: float
    worked_out_kg_m2: float
    ratio: float
    apart: float | None


def weighed_beside_worked_out(
    mass_kg: float, area_m2: float, *, worked_out_kg_m2: float, weighed_u_kg_m2: float, worked_out_u_kg_m2: float
) -> WeighedBeside:
    """Whether the measures of a panel account for what it weighs.

    d = (m/A - s) / sqrt(u_1^2 + u_2^2)

    Takes
        mass_kg             scalar, kg, above 0       the whole panel
        area_m2             scalar, m^2, above 0      the whole panel
        worked_out_kg_m2    scalar, kg/m^2, above 0   from its measures
        weighed_u_kg_m2     scalar, kg/m^2, 0 or more standard uncertainty of m/A
        worked_out_u_kg_m2  scalar, kg/m^2, 0 or more standard uncertainty of the other
    Gives
        WeighedBeside; more than 2 apart says that a measure, a layer or a rivet is missing. Above 0: it weighs more
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        both were found independently
    Source
        JCGM 100:2008 (GUM), 5.1.2; two standard uncertainties as the limit is common practice.
        Checked in tests/physics/test_physics_panel_by_hand.py
    >>> found = weighed_beside_worked_out(
    ...     1.40, 0.09, worked_out_kg_m2=15.0, weighed_u_kg_m2=0.1, worked_out_u_kg_m2=0.2
    ... )
    >>> round(found.weighed_kg_m2, 3), round(found.ratio, 3), round(found.apart, 2)
    (15.556, 1.037, 2.48)
    """
    for name, value in (("mass_kg", mass_kg), ("area_m2", area_m2), ("worked_out_kg_m2", worked_out_kg_m2)):
        must_be_above_zero(name, value)
    must_not_be_negative("weighed_u_kg_m2", weighed_u_kg_m2)
    must_not_be_negative("worked_out_u_kg_m2", worked_out_u_kg_m2)
    weighed = mass_kg / area_m2
    u = math.hypot(weighed_u_kg_m2, worked_out_u_kg_m2)
    apart = (weighed - worked_out_kg_m2) / u if u > 0 else None
    return WeighedBeside(weighed, worked_out_kg_m2, weighed / worked_out_kg_m2, apart)


def layers_at_point(plates: PlateLattice, across_m: float, *, down_m: float) -> int:
    """How many plates an arrow meets at a spot.

    n = number of plates (i, j) with 0 <= x - i p_w - shift < w and 0 <= y - j p_h < h

    Takes
        plates    PlateLattice        size and pitch
        across_m  scalar, m, finite   from the left edge of a plate of an unshifted row, to the right
        down_m    scalar, m, finite   from that plate's upper edge, downwards
    Gives
        whole number, 0 or more; 0 is a gap
    Refuses
        OutOfRange  what PlateLattice refuses, a place not finite
    Holds while
        the spot is away from the panel's own edges, and the lacing holds the plates where they belong
    Source
        Geometry. Checked in tests/physics/test_physics_panel_by_hand.py
    >>> rows = PlateLattice(0.025, 0.060, 0.020, 0.045)
    >>> [layers_at_point(rows, x, down_m=y) for x, y in ((0.010, 0.030), (0.022, 0.030), (0.022, 0.050))]
    [1, 2, 4]
    """
    for name, value in (("across_m", across_m), ("down_m", down_m)):
        must_lie_between(name, value, low=-1e3, high=1e3)
    layers = 0
    for row in _covering(down_m, plates.plate_height_m, plates.pitch_down_m):
        shift = plates.shift_m if row % 2 else 0.0
        layers += len(_covering(across_m - shift, plates.plate_width_m, plates.pitch_across_m))
    return layers


def line_of_sight_thickness_m(thickness_m: float, angle_rad: float) -> float:
    """How much an arrow has before it when the plate stands at a slant.

    t_los = t / cos a

    Takes
        thickness_m  scalar, m, above 0                along the plate's own normal; several layers added up
        angle_rad    scalar, rad, 0 to 1.484 (85 degrees)  between the flight and the normal: 0 is square on. The
                     arrow's fall counts: fall.flight_to_target
    Gives
        scalar, m, at least the thickness
    Refuses
        OutOfRange  thickness not above 0, angle outside 0 to 85 degrees, either not finite
    Holds while
        the plate is flat where it is hit. A slant does more than this: it turns points aside
    Source
        Geometry; line-of-sight thickness is the usual word of armour tests. Checked in tests/published/test_panels.py
    >>> round(line_of_sight_thickness_m(0.0015, math.radians(60)) * 1000, 6)
    3.0
    """
    must_be_above_zero("thickness_m", thickness_m)
    must_lie_between("angle_rad", angle_rad, low=0.0, high=math.radians(85.0))
    return thickness_m / math.cos(angle_rad)


def _covering(place: float, size: float, pitch: float) -> range:
    """Numbers of the plates that cover a place in one direction: place - size < n pitch <= place."""
    last = math.floor(place / pitch)
    first = math.floor((place - size) / pitch) + 1
    return range(first, last + 1)
