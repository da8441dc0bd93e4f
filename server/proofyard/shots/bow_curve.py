"""A bow's force-draw points as one curve from the string at rest to full draw, and the energy under it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from proofyard.physics.bow import FEWEST_POINTS, StoredEnergy, energy_lost_by_a_short_draw_j, energy_per_weight_and_draw, stored_energy_j
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.bow import DrawPoint
from proofyard.records.instrument import Instrument
from proofyard.statistics.repeated_readings import accuracy_uncertainty, resolution_uncertainty

# How well a draw is read off a marked arrow while you hold the bow: common practice, no source.
DRAW_U_M = 0.003
SAME_DRAW_M = 0.0005
A_LITTLE_SHORT_M = 0.010


@dataclass(frozen=True)
class Curve:
    """Draws rise, the first force is 0.

    rest_from_brace  the first point was not read: it is the build's brace height
    read_again       draws that were read more than once, whose mean stands
    """

    draws_m: tuple[float, ...]
    forces_n: tuple[float, ...]
    rest_from_brace: bool
    read_again: int

    def force_at(self, draw_m: float) -> float:
        """Straight between the points; only asked inside them."""
        pairs = list(zip(self.draws_m, self.forces_n, strict=True))
        for (a, f_a), (b, f_b) in zip(pairs, pairs[1:], strict=False):
            if draw_m <= b:
                return f_a + (f_b - f_a) * (draw_m - a) / (b - a)
        return self.forces_n[-1]

    def up_to(self, draw_m: float) -> "Curve":
        """The same curve, drawn no further than this."""
        kept = [(d, f) for d, f in zip(self.draws_m, self.forces_n, strict=True) if d < draw_m - SAME_DRAW_M]
        kept.append((draw_m, self.force_at(draw_m)))
        return replace(self, draws_m=tuple(d for d, _ in kept), forces_n=tuple(f for _, f in kept))


@dataclass(frozen=True)
class Stored:
    """What a bow stores up to one draw. `energy` has no uncertainty where the bow scale's is not written down.

    fullness          W / (F x): 0.5 is a straight line
    lost_a_little_j   what the last 10 mm of draw hold; lost_share of the energy, lost_speed_share of the speed by the model
    little_worth_n    what 10 mm of draw are worth in force at the end of the curve
    """

    found: StoredEnergy
    energy: Uncertain
    fullness: float
    draw_m: float
    force_n: float
    lost_a_little_j: float
    lost_share: float
    lost_speed_share: float
    little_worth_n: float
    why_no_uncertainty: Reason | None


def curve_of(points: Sequence[DrawPoint], brace_height_m: float | None) -> Curve | CantTell:
    """The points in order, those of one draw averaged, from where the string rests."""
    groups: list[list[DrawPoint]] = []
    for point in sorted(points, key=lambda one: one.draw_m):
        if groups and point.draw_m - groups[-1][0].draw_m < SAME_DRAW_M:
            groups[-1].append(point)
        else:
            groups.append([point])
    draws = [group[0].draw_m for group in groups]
    forces = [math.fsum(one.force_n for one in group) / len(group) for group in groups]
    again, from_brace = sum(1 for group in groups if len(group) > 1), False
    if not groups:
        return CantTell(because("no_force_read"))
    if forces[0] > 0:
        if brace_height_m is None:
            return CantTell(because("string_rest_unknown"))
        if brace_height_m >= draws[0]:
            return CantTell(because("first_point_within_the_brace"))
        draws, forces, from_brace = [brace_height_m, *draws], [0.0, *forces], True
    if len(draws) < FEWEST_POINTS:
        return CantTell(because("too_few_points_with_a_force", fewest=FEWEST_POINTS - 1))
    return Curve(tuple(draws), tuple(forces), from_brace, again)


def stored_to(
    curve: Curve, points: Sequence[DrawPoint], *, tools: Mapping[str, Instrument], draw_m: float | None = None
) -> Stored | CantTell:
    """Energy up to a draw; to the last point where none is given."""
    last = curve.draws_m[-1]
    if draw_m is not None and draw_m > last + SAME_DRAW_M:
        return CantTell(because("points_end_before_that_draw"))
    if draw_m is not None and draw_m <= curve.draws_m[0]:
        return CantTell(because("draw_before_the_rest"))
    cut = curve if draw_m is None or draw_m > last - SAME_DRAW_M else curve.up_to(draw_m)
    if len(cut.draws_m) < FEWEST_POINTS:
        return CantTell(because("too_few_points_below_that_draw"))
    each, zero, scale = (0.0, 0.0, 0.0)
    uncertainties = _scale_uncertainties(points, tools)
    if uncertainties is not None:
        each, zero, scale = uncertainties
    found = stored_energy_j(cut.draws_m, cut.forces_n, draw_u_m=DRAW_U_M, force_u_n=each, force_zero_u_n=zero, force_scale_u=scale)
    if found.energy_j.value <= 0:
        return CantTell(because("every_force_is_zero"))
    why = None if uncertainties is not None else because("bow_scale_accuracy_not_recorded")
    energy = found.energy_j if uncertainties is not None else replace(found.energy_j, standard_uncertainty=None, dof=None)
    stroke, work = found.power_stroke_m, found.energy_j.value
    lost = energy_lost_by_a_short_draw_j(cut.draws_m, cut.forces_n, short_by_m=min(A_LITTLE_SHORT_M, stroke))
    slope = (cut.forces_n[-1] - cut.forces_n[-2]) / (cut.draws_m[-1] - cut.draws_m[-2])
    return Stored(
        found=found,
        energy=energy,
        fullness=energy_per_weight_and_draw(work, found.peak_force_n, power_stroke_m=stroke),
        draw_m=cut.draws_m[-1],
        force_n=cut.forces_n[-1],
        lost_a_little_j=lost,
        lost_share=lost / work,
        # v^2 = 2 W/(m + K): with K the same, v goes with the root of W
        lost_speed_share=1 - math.sqrt(max(0.0, 1 - lost / work)),
        little_worth_n=slope * A_LITTLE_SHORT_M,
        why_no_uncertainty=why,
    )


def _scale_uncertainties(points: Sequence[DrawPoint], tools: Mapping[str, Instrument]) -> tuple[float, float, float] | None:
    """Standard uncertainties of one force (N), of the scale's zero (N) and of its factor; the least sure of several.

    A stated amount is taken for the zero's, a share of the reading for the factor's.
    """
    found = []
    for tool_id in {point.instrument_id for point in points}:
        tool = tools.get(tool_id or "")
        if tool is None or (tool.accuracy_si is None and tool.accuracy_ratio is None):
            return None
        means = tool.accuracy_means or "limit"
        found.append(
            (
                resolution_uncertainty(tool.resolution_si) if tool.resolution_si else 0.0,
                accuracy_uncertainty(tool.accuracy_si, means) if tool.accuracy_si else 0.0,
                accuracy_uncertainty(tool.accuracy_ratio, means) if tool.accuracy_ratio else 0.0,
            )
        )
    each, zeros, factors = zip(*found, strict=True)
    return max(each), max(zeros), max(factors)
