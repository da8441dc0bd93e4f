"""What one shot left in the panel that it hit: momentum and energy, from least to most, or why that can't be told."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.physics.bounce_back import fastest_bounce_m_s
from proofyard.physics.panel_impact import PanelImpactRange, impact_after, impact_between, mass_at_spot_kg
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, OutOfRange, Reason, because
from proofyard.records.panel import Panel
from proofyard.records.shot_facts import ShotFact
from proofyard.records.stand import Stand
from proofyard.shots.impact import Impact

FREE = ("hung", "weighted")
RIGID = ("plate",)
POINT_THROUGH = 4  # the first outcome level at which a point stands behind the armour

# Endings of an arrow that left, and which way: along its flight, or back.
LEFT: Mapping[str | None, int] = MappingProxyType({"passed": 1, "bounced": -1})
# What the arrow did -> its ending, if nothing came through; the same, if something did.
_DID: Mapping[str | None, tuple[str, str]] = MappingProxyType(
    {
        "stuck_armour": ("stood", "stood"),
        "stuck_backing": ("passed", "passed"),
        "passed": ("passed", "passed"),
        "dropped": ("dropped", "dropped"),
        "bounced": ("bounced", "bounced"),
        "glanced": ("unknown", "unknown"),
        "broke_up": ("held", "unknown"),
        None: ("held", "unknown"),
    }
)
# Taken where nobody typed how high the spot was: no panel of a stand is hit lower. Common practice, no source.
LOWEST_FALL_M = 0.5
# How far below level an arrow may leave a panel that it hit square on, and how much further it may have lain than
# somebody wrote down, with what the air takes of a tumbling arrow. Common practice, no source.
DOWN_RAD = math.radians(15)
LONGER = 1.1
STEEPEST_RAD = 1.5


@dataclass(frozen=True)
class BounceRead:
    """`fastest_m_s` None: so long a bounce fits any speed. `fall_typed`: whether somebody typed the height."""

    length_m: float
    fall_m: float
    fall_typed: bool
    down_rad: float
    fastest_m_s: float | None


@dataclass(frozen=True)
class SharedImpact:
    """Between which ends the impact lies; `u`: the standard uncertainty of an end, as a share of it, None if not known.

    least_kg, most_kg   mass that may have moved with the panel: it alone, `turning` if it was hit off its middle; all that hangs
    open_above          the panel is not rigid: less of it moves at once, so more can stay than the greatest here
    bounce              how far the arrow lay, and how fast that lets it have come back; None where nobody read it
    """

    ending: str
    range: PanelImpactRange
    momentum_u: float | None
    least_kg: float
    most_kg: float
    turning: bool
    open_above: bool
    bounce: BounceRead | None = None

    @property
    def energy_j(self) -> tuple[Uncertain, Uncertain]:
        """Momentum squared goes into the energy, so its uncertainty counts double."""
        share = None if self.momentum_u is None else 2 * self.momentum_u
        return _of(self.range.energy_j[0], share), _of(self.range.energy_j[1], share)

    @property
    def momentum_kg_m_s(self) -> tuple[Uncertain, Uncertain]:
        return _of(self.range.momentum_kg_m_s[0], self.momentum_u), _of(self.range.momentum_kg_m_s[1], self.momentum_u)

    @property
    def most_energy_j(self) -> float:
        return self.energy_j[1].value + (self.energy_j[1].standard_uncertainty or 0.0)

    @property
    def least_energy_j(self) -> float:
        return max(self.energy_j[0].value - (self.energy_j[0].standard_uncertainty or 0.0), 0.0)


def _of(value: float, share: float | None) -> Uncertain:
    return Uncertain(value, None if share is None else value * share)


Shared = SharedImpact | CantTell


def came_through(fact: ShotFact) -> bool:
    """Whether the point surely was through: that is no blunt impact."""
    return fact.outcome_low is not None and fact.outcome_low >= POINT_THROUGH


def may_have_come_through(fact: ShotFact) -> bool:
    return fact.outcome_high is None or fact.outcome_high >= POINT_THROUGH


def shared_impact(
    fact: ShotFact, impact: Impact, *, panel: Panel | None, stand: Stand | None, after_m_s: float | None = None, fall_m: float | None = None
) -> SharedImpact | CantTell:
    """Needs the energy at the target, the panel's mass, how it was held, and what hangs with it.

    fall_m     how high the spot was above the ground; None: taken widely
    after_m_s  how fast the arrow left, without a sign: which way says what it did. Of others than those in LEFT nothing is made of it
    """
    why = why_not_shared(fact, impact, panel=panel, stand=stand)
    if why is not None:
        return CantTell(why)
    if impact.at_target is None or panel is None or panel.mass_kg is None or stand is None or stand.hung_mass_kg is None:
        raise AssertionError("nothing is missing, and yet it is")
    there = impact.at_target
    least, turning = _least(fact, panel)
    bounce = bounce_read(fact, fall_m)
    ending = "bounced" if bounce else _DID.get(fact.arrow_did, ("unknown", "unknown"))[may_have_come_through(fact)]
    momentum = there.momentum_kg_m_s
    u = None if momentum.standard_uncertainty is None or momentum.value == 0 else momentum.standard_uncertainty / momentum.value
    masses = (least, panel.mass_kg + stand.hung_mass_kg)
    if after_m_s is not None and fact.arrow_did in LEFT:
        try:
            found = impact_after(there.inputs.mass_kg, there.speed.value, panel_kg=masses, after_m_s=LEFT[fact.arrow_did] * after_m_s)
        except OutOfRange:
            return CantTell(because("blunt_too_fast"))
        ending = "read"
    else:
        fastest = bounce.fastest_m_s if bounce else None
        found = impact_between(there.inputs.mass_kg, there.speed.value, panel_kg=masses, ending=ending, fastest_back_m_s=fastest)
        ending = ending if fastest is None else "bounced_length"
    return SharedImpact(
        ending=ending,
        range=found,
        momentum_u=u,
        least_kg=least,
        most_kg=panel.mass_kg + stand.hung_mass_kg,
        turning=turning,
        open_above=panel.construction not in RIGID,
        bounce=bounce,
    )


def why_not_shared(fact: ShotFact, impact: Impact, *, panel: Panel | None, stand: Stand | None) -> Reason | None:
    """All that is missing, so that one look tells what to measure; None where all is there."""
    if fact.hit != "on_panel":
        return because("blunt_no_hit", hit=fact.hit)
    missing = []
    if impact.at_target is None:
        missing.append(because("blunt_no_energy", why=impact.why_not or impact.no_target or None))
    elif impact.at_target.speed.value <= 0:
        missing.append(because("blunt_no_speed"))
    if panel is None or panel.mass_kg is None:
        missing.append(because("blunt_no_panel_mass", panel=fact.panel_name))
    if stand is None:
        missing.append(because("blunt_no_stand"))
    elif stand.held is None:
        missing.append(because("blunt_no_hold", stand=stand.name))
    elif stand.held not in FREE:
        missing.append(because("blunt_not_free", stand=stand.name, held=stand.held))
    elif stand.gap_m == 0:
        missing.append(because("blunt_on_backing", stand=stand.name))
    elif stand.hung_mass_kg is None:
        missing.append(because("blunt_no_hung_mass", stand=stand.name))
    return because("blunt_missing", missing=tuple(missing)) if missing else None


def _least(fact: ShotFact, panel: Panel) -> tuple[float, bool]:
    """A rigid panel hit off its middle turns, and sets less of its mass against the impact; of others that can't be told."""
    assert panel.mass_kg is not None
    if panel.construction not in RIGID or not panel.width_m or not panel.height_m or fact.x_m is None or fact.y_m is None:
        return panel.mass_kg, False
    if abs(fact.x_m) > panel.width_m / 2 or abs(fact.y_m) > panel.height_m / 2:
        return panel.mass_kg, False
    there = mass_at_spot_kg(panel.mass_kg, x_m=fact.x_m, y_m=fact.y_m, width_m=panel.width_m, height_m=panel.height_m)
    return (panel.mass_kg, False) if math.isclose(there, panel.mass_kg, rel_tol=1e-3) else (there, True)


def bounce_read(fact: ShotFact, fall_m: float | None) -> BounceRead | None:
    """None where the arrow did not come back, or nobody read how far."""
    if fact.bounced_m is None or fact.arrow_did not in ("bounced", None):
        return None
    # An impact off square throws the arrow back at twice the angle.
    angle = fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad or 0.0
    down = min(DOWN_RAD + 2 * abs(angle), STEEPEST_RAD)
    height = LOWEST_FALL_M if fall_m is None else fall_m
    found = fastest_bounce_m_s(LONGER * fact.bounced_m, height, down_rad=down)
    return BounceRead(fact.bounced_m, height, fall_m is not None, down, None if isinstance(found, CantTell) else found)
