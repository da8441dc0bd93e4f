"""How fast an arrow can have come back from a panel, told by how far from it the arrow lay."""

from __future__ import annotations

import math

from proofyard.physics.fall import STANDARD_GRAVITY_M_S2
from proofyard.quantities.reason import CantTell, because, must_be_above_zero, must_be_finite_result, must_lie_between, must_not_be_negative


def fastest_bounce_m_s(length_m: float, fall_m: float, *, down_rad: float) -> float | CantTell:
    """The greatest speed along the ground that a bounce of this length leaves room for.

    v = L sqrt(g / (2 (h - L tan a)))

    Takes
        length_m  scalar, m, 0 or more     L: from the panel to where the arrow came to rest, along the ground
        fall_m    scalar, m, above 0       h: from the spot that was hit down to where the arrow came to rest
        down_rad  scalar, rad, 0 to 1.5    a: how far below level it may have left
    Gives
        scalar, m/s, 0 or more; CantTell where a line that steep reaches the ground sooner than L, so that any speed fits
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        nothing but the ground stopped it. An arrow that left less steeply, or slid on after it came down, was slower; one
        that hit a net, a bench or another arrow may have been faster. Air is left out: it takes some 4 % of the speed of a
        tumbling arrow over the first metre, so that a length is better taken a tenth longer
    Source
        A throw without air: Galilei, Discorsi, fourth day. Worked out with a desk calculator; checked in
        tests/published/test_worked_bounce.py
    >>> round(fastest_bounce_m_s(1.1, 1.2, down_rad=0.0), 2)
    2.22
    """
    must_not_be_negative("length_m", length_m)
    must_be_above_zero("fall_m", fall_m)
    must_lie_between("down_rad", down_rad, low=0.0, high=1.5)
    of_fall = fall_m - length_m * math.tan(down_rad)
    if of_fall <= 0:
        return CantTell(because("bounce_fits_any_speed"))
    return must_be_finite_result("fastest_bounce_m_s", length_m * math.sqrt(STANDARD_GRAVITY_M_S2 / (2 * of_fall)))
