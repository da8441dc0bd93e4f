"""What an impact leaves in a panel that hangs free: momentum and energy shared between arrow and panel.

Momentum is kept, energy is not: most of a hard impact becomes a dent, heat and a broken shaft. How much depends on how
fast arrow and panel part afterwards, which is seldom known: then both ends are given.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities.reason import (
    OutOfRange,
    because,
    must_be_above_zero,
    must_be_finite_result,
    must_lie_between,
    must_not_be_negative,
)


@dataclass(frozen=True)
class PanelImpact:
    """What moves on after the hit, and where the energy went. Where the arrow stayed in, it moves with the panel.

    moving_kg, speed_m_s, momentum_kg_m_s, energy_j   of what goes on towards the wearer
    arrow_j   what an arrow that is not in the panel keeps
    lost_j    spent on dent, heat, sound, a broken shaft
    """

    moving_kg: float
    speed_m_s: float
    momentum_kg_m_s: float
    energy_j: float
    arrow_j: float
    lost_j: float


@dataclass(frozen=True)
class PanelImpactRange:
    """The least and the greatest that an ending leaves open."""

    momentum_kg_m_s: tuple[float, float]
    speed_m_s: tuple[float, float]
    energy_j: tuple[float, float]

    @property
    def known(self) -> bool:
        return self.energy_j[0] == self.energy_j[1]


# Ending -> how fast arrow and panel part, as a share of how fast they met: from, to; takes the arrow's mass over the
# panel's. 0 is together, 1 a bounce that loses nothing, −1 an arrow that never felt the panel.
ENDINGS: Mapping[str, Callable[[float], tuple[float, float]]] = MappingProxyType(
    {
        "stood": lambda ratio: (0.0, 0.0),
        "dropped": lambda ratio: (0.0, min(ratio, 1.0)),
        "held": lambda ratio: (0.0, 1.0),
        "bounced": lambda ratio: (0.0, 1.0),
        "passed": lambda ratio: (-1.0, 0.0),
        "unknown": lambda ratio: (-1.0, 1.0),
    }
)


def stuck_impact(mass_kg: float, speed_m_s: float, *, panel_kg: float) -> PanelImpact:
    """The arrow stays in a free panel, and both move on together.

    V = m v / (m + M)
    E = (m v)^2 / (2 (m + M))

    Takes
        mass_kg    scalar, kg, above 0     whole arrow
        speed_m_s  scalar, m/s, 0 or more  at the panel
        panel_kg   scalar, kg, above 0     M: all that moves with the panel at the spot that was hit
    Gives
        PanelImpact: speed in m/s, momentum in kg m/s, energies in J. Momentum is the arrow's own, whatever the panel weighs
    Refuses
        OutOfRange  a mass not above 0, speed below 0, anything not finite
    Holds while
        panel and arrow are free along the flight, the panel does not bend away under the spot, and the impact is square and
        in line with the panel's middle; for another spot take mass_at_spot_kg. Ropes and a slow frame pull too late to
        matter; a clamp, a wall or a body right behind does not
    Source
        Conservation of momentum: Newton, Principia, corollary III to the laws of motion. 60 g at 55 m/s on 1.0 kg was
        worked out apart from the program. Checked in tests/published/test_blunt.py
    >>> round(stuck_impact(0.060, 55.0, panel_kg=1.0).energy_j, 3)
    5.137
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_not_be_negative("speed_m_s", speed_m_s)
    must_be_above_zero("panel_kg", panel_kg)
    momentum, moving = mass_kg * speed_m_s, mass_kg + panel_kg
    energy = must_be_finite_result("stuck_impact", momentum * momentum / (2 * moving))
    before = must_be_finite_result("stuck_impact", mass_kg * speed_m_s * speed_m_s / 2)
    return PanelImpact(moving, momentum / moving, momentum, energy, 0.0, before - energy)


def parted_impact(mass_kg: float, speed_m_s: float, *, panel_kg: float, after_m_s: float) -> PanelImpact:
    """The arrow passed through or came back, and its speed afterwards was read.

    V = m (v - v') / M
    E = M V^2 / 2
    lost = m v^2 / 2 - E - m v'^2 / 2

    Takes
        mass_kg    scalar, kg, above 0     whole arrow, nothing broken off
        speed_m_s  scalar, m/s, above 0    at the panel
        panel_kg   scalar, kg, above 0     M: all that moves with the panel at the spot that was hit
        after_m_s  scalar, m/s             v': along the flight; below 0 for an arrow that came back
    Gives
        PanelImpact: of the panel alone, with what the arrow kept and what was lost, J
    Refuses
        OutOfRange  a mass or the speed not above 0, anything not finite, an after-speed that would make energy out of
                    nothing
    Holds while
        as for stuck_impact, and the arrow stayed whole
    Source
        Conservation of momentum, as for stuck_impact. An elastic impact between like masses, where they change speeds, is the
        check: Huygens, De motu corporum ex percussione, proposition I. Checked in tests/published/test_blunt.py
    >>> round(parted_impact(0.060, 55.0, panel_kg=1.0, after_m_s=-10.0).speed_m_s, 3)
    3.9
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_be_above_zero("speed_m_s", speed_m_s)
    must_be_above_zero("panel_kg", panel_kg)
    common = mass_kg * speed_m_s / (mass_kg + panel_kg)
    # What parts no faster than it met: −1 to 1 times the speed, around the common speed.
    widest = panel_kg * speed_m_s / (mass_kg + panel_kg)
    if not (math.isfinite(after_m_s) and common - widest * (1 + 1e-9) <= after_m_s <= speed_m_s * (1 + 1e-12)):
        raise OutOfRange("after_m_s", after_m_s, because("between", low=common - widest, high=speed_m_s))
    momentum = mass_kg * (speed_m_s - after_m_s)
    panel_speed = momentum / panel_kg
    energy = must_be_finite_result("parted_impact", momentum * panel_speed / 2)
    kept = mass_kg * after_m_s * after_m_s / 2
    return PanelImpact(panel_kg, panel_speed, momentum, energy, kept, max(mass_kg * speed_m_s * speed_m_s / 2 - energy - kept, 0.0))


def impact_between(
    mass_kg: float, speed_m_s: float, *, panel_kg: tuple[float, float], ending: str, fastest_back_m_s: float | None = None
) -> PanelImpactRange:
    """The least and the most that an impact can have left, where nobody read the arrow's speed afterwards.

    P = (1 + e) m M v / (m + M), at most m (v + v') where v' is known to be the fastest that it came back
    E = P^2 / (2 M), with the arrow in it E = (m v)^2 / (2 (m + M))

    Takes
        mass_kg    scalar, kg, above 0      whole arrow
        speed_m_s  scalar, m/s, above 0     at the panel
        panel_kg   two scalars, kg, above 0 least and greatest mass that may have moved with the panel
        ending     text                     a name in ENDINGS: stood (in the panel), dropped (came to rest, and fell), held
                   (it did not get through, and nothing more is recorded), bounced, passed, unknown
        fastest_back_m_s  scalar, m/s, 0 or more, or None   v': fastest that it can have come back, see fastest_bounce_m_s
    Gives
        PanelImpactRange: momentum in kg m/s, speed in m/s, energy in J, each from least to greatest
    Refuses
        OutOfRange  a mass or the speed not above 0, anything not finite, the least mass above the greatest, a speed back
                    below 0
        KeyError    an ending not in ENDINGS
    Holds while
        as for stuck_impact. e, how fast they part as a share of how fast they met, goes from 0 to 1 for what did not get
        through, from -1 to 0 for what did; an arrow that dropped came to rest between the panel's speed and none
    Source
        Newton's rule for e: Principia, scholium to the laws of motion. Ends checked against stuck_impact and Huygens's like
        masses in tests/published/test_blunt.py
    >>> impact_between(0.060, 55.0, panel_kg=(1.0, 1.0), ending="bounced").momentum_kg_m_s[1] > 6.2
    True
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_be_above_zero("speed_m_s", speed_m_s)
    low, high = panel_kg
    must_be_above_zero("panel_kg", low)
    must_lie_between("panel_kg", high, low=low, high=math.inf)
    if fastest_back_m_s is not None:
        must_not_be_negative("fastest_back_m_s", fastest_back_m_s)
    of_ratio = ENDINGS[ending]
    # Energy in the panel is greatest for a panel as heavy as the arrow, so that mass counts where it lies between.
    masses = [low, high, *([mass_kg] if low < mass_kg < high else [])]
    if ending == "stood":
        both = [stuck_impact(mass_kg, speed_m_s, panel_kg=one) for one in masses]
    else:
        fastest = math.inf if fastest_back_m_s is None else fastest_back_m_s / speed_m_s
        both = [
            _of_rebound(mass_kg, speed_m_s, panel_kg=one, rebound=min(e, _rebound_of_back(mass_kg / one, fastest)))
            for one in masses
            for e in of_ratio(mass_kg / one)
        ]
    return PanelImpactRange(
        momentum_kg_m_s=(min(b.momentum_kg_m_s for b in both), max(b.momentum_kg_m_s for b in both)),
        speed_m_s=(min(b.speed_m_s for b in both), max(b.speed_m_s for b in both)),
        energy_j=(min(b.energy_j for b in both), max(b.energy_j for b in both)),
    )


def impact_after(mass_kg: float, speed_m_s: float, *, panel_kg: tuple[float, float], after_m_s: float) -> PanelImpactRange:
    """The least and the most that an impact can have left, where the arrow's speed afterwards was read.

    P = m (v - v')
    E = P^2 / (2 M), M at least m (v - v') / v' for an arrow that passed, m (v - v') / (v + v') for one that came back

    Takes
        mass_kg    scalar, kg, above 0      whole arrow, nothing broken off
        speed_m_s  scalar, m/s, above 0     at the panel
        panel_kg   two scalars, kg, above 0 least and greatest mass that may have moved with the panel
        after_m_s  scalar, m/s              v': along the flight; below 0 for an arrow that came back
    Gives
        PanelImpactRange: momentum in kg m/s (one figure), speed in m/s, energy in J, each from least to greatest
    Refuses
        OutOfRange  a mass or the speed not above 0, anything not finite, the least mass above the greatest, a speed
                    afterwards that no panel of these masses can have left
    Holds while
        as for parted_impact. A panel lighter than the formula's least would have to be slower than the arrow in it, or make
        energy out of nothing, so the lower masses are cut off there
    Source
        Conservation of momentum, as for stuck_impact; where nothing is left out it gives what parted_impact gives. Checked in
        tests/physics/test_physics_blunt_by_hand.py
    >>> round(impact_after(0.060, 55.0, panel_kg=(1.0, 3.0), after_m_s=-5.0).energy_j[1], 3)
    6.48
    """
    must_be_above_zero("mass_kg", mass_kg)
    must_be_above_zero("speed_m_s", speed_m_s)
    low, high = panel_kg
    must_be_above_zero("panel_kg", low)
    must_lie_between("panel_kg", high, low=low, high=math.inf)
    if not -speed_m_s < after_m_s <= speed_m_s:
        raise OutOfRange("after_m_s", after_m_s, because("between", low=-speed_m_s, high=speed_m_s))
    against = after_m_s if after_m_s > 0 else speed_m_s + after_m_s
    lightest = mass_kg * (speed_m_s - after_m_s) / against
    if lightest > high:
        raise OutOfRange("after_m_s", after_m_s, because("what_a_panel_can_leave", panel_kg=high))
    both = [parted_impact(mass_kg, speed_m_s, panel_kg=one, after_m_s=after_m_s) for one in (max(low, lightest), high)]
    return PanelImpactRange(
        momentum_kg_m_s=(both[0].momentum_kg_m_s, both[0].momentum_kg_m_s),
        speed_m_s=(both[1].speed_m_s, both[0].speed_m_s),
        energy_j=(both[1].energy_j, both[0].energy_j),
    )


def _rebound_of_back(ratio: float, back: float) -> float:
    """How fast they part, as a share of how fast they met, where the arrow comes back at `back` times its speed."""
    return ratio + back * (1 + ratio)


def _of_rebound(mass_kg: float, speed_m_s: float, *, panel_kg: float, rebound: float) -> PanelImpact:
    after = (mass_kg - rebound * panel_kg) * speed_m_s / (mass_kg + panel_kg)
    return parted_impact(mass_kg, speed_m_s, panel_kg=panel_kg, after_m_s=min(after, speed_m_s))


def mass_at_spot_kg(panel_kg: float, *, x_m: float, y_m: float, width_m: float, height_m: float) -> float:
    """The mass that a free rigid panel sets against an impact away from its middle: it turns as well, and gives way sooner.

    M' = M / (1 + 12 x^2/w^2 + 12 y^2/h^2)

    Takes
        panel_kg   scalar, kg, above 0  of a flat, even, rectangular panel
        x_m        scalar, m            right of its middle, up to half its width either way
        y_m        scalar, m            above its middle, up to half its height either way
        width_m    scalar, m, above 0
        height_m   scalar, m, above 0
    Gives
        scalar, kg, from M/7 at a corner to M in the middle
    Refuses
        OutOfRange  a mass or size not above 0, a spot off the panel, anything not finite
    Holds while
        the panel is rigid, flat and free to turn. Mail and cloth are not rigid: there less moves. What hangs on it or
        stands behind it only adds
    Source
        Moments of inertia of a thin rectangular plate, M w^2/12 and M h^2/12; a rod hit at its end sets a quarter of
        its mass against the push: elementary dynamics (common practice, no source).
        Checked in tests/published/test_blunt.py
    >>> mass_at_spot_kg(2.0, x_m=0.0, y_m=0.2, width_m=0.3, height_m=0.4)
    0.5
    """
    must_be_above_zero("panel_kg", panel_kg)
    must_be_above_zero("width_m", width_m)
    must_be_above_zero("height_m", height_m)
    must_lie_between("x_m", x_m, low=-width_m / 2, high=width_m / 2)
    must_lie_between("y_m", y_m, low=-height_m / 2, high=height_m / 2)
    return must_be_finite_result("mass_at_spot_kg", panel_kg / (1 + 12 * (x_m / width_m) ** 2 + 12 * (y_m / height_m) ** 2))
