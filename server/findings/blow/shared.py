"""What one shot left in the panel that it struck: momentum and energy, from least to most, or why that can't be told."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from server.findings.impact import Impact
from server.physics.panel_blow import PanelBlowRange, blow_after, blow_between, mass_at_spot_kg
from server.physics.ranges import CantTell, OutOfRange
from server.quantities import Uncertain
from server.records.panel import Panel
from server.records.shot_facts import ShotFact
from server.records.stand import HELD, Stand

FREE = ("hung", "weighted")
RIGID = ("plate",)
POINT_BEHIND = 4  # the first rung at which a point stands behind the armour

ENDING_WORDS: Mapping[str, str] = MappingProxyType(
    {
        "read": "how fast it left was read, and you typed it",
        "stood": "it stayed in, so both moved on together",
        "dropped": "it came to rest and fell, so the panel took all that it brought, or a little less",
        "bounced": "it came back, and nobody read how fast: anything from together to a bounce that lost nothing",
        "held": "it did not get through, and how fast it came back nobody said: anything from together to a bounce that lost nothing",
        "passed": "it went on through, and nobody read how fast: the panel took anything from nothing to its share",
        "unknown": "how it left nobody can say: anything from nothing to a bounce that lost nothing",
    }
)
# Endings of an arrow that left, and which way: along its flight, or back.
LEFT: Mapping[str | None, int] = MappingProxyType({"passed": 1, "bounced": -1})
# What the arrow did -> its ending, if nothing came through; the same, if something did.
_DID: Mapping[str | None, tuple[str, str]] = MappingProxyType(
    {
        "stood_armour": ("stood", "stood"),
        "stood_backing": ("passed", "passed"),
        "passed": ("passed", "passed"),
        "dropped": ("dropped", "dropped"),
        "bounced": ("bounced", "bounced"),
        "glanced": ("unknown", "unknown"),
        "broke_up": ("held", "unknown"),
        None: ("held", "unknown"),
    }
)


# How a loose ended, where that left no blow to share out.
_NO_HIT: Mapping[str | None, str] = MappingProxyType(
    {
        None: "It is not read yet",
        "missed": "It missed the panel",
        "partial": "It clipped the panel’s edge, and how much of it pushed nobody knows",
        "spoiled": "It was spoiled, so what it brought nobody knows",
    }
)


@dataclass(frozen=True)
class SharedBlow:
    """Between which ends the blow lies; `u`: the standard uncertainty of an end, as a share of it, None if not known.

    least_kg, most_kg   mass that may have moved with the panel; `least_words` and `most_words` say what is in them
    open_above          the panel is not rigid: less of it moves at once, so more can stay than the greatest here
    """

    ending: str
    range: PanelBlowRange
    momentum_u: float | None
    least_kg: float
    most_kg: float
    least_words: str
    most_words: str
    open_above: bool

    @property
    def energy_j(self) -> tuple[Uncertain, Uncertain]:
        """Momentum squared goes into the energy, so its doubt counts double."""
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


Shared = SharedBlow | CantTell


def reason_of(shared: Shared | None) -> str | None:
    """Why nothing is told; None where it is, or where there was no blow to speak of."""
    return shared.reason if isinstance(shared, CantTell) else None


def came_through(fact: ShotFact) -> bool:
    """Whether the point surely stood behind: what it did there was no blunt blow."""
    return fact.outcome_low is not None and fact.outcome_low >= POINT_BEHIND


def may_have_come_through(fact: ShotFact) -> bool:
    return fact.outcome_high is None or fact.outcome_high >= POINT_BEHIND


def shared_blow(
    fact: ShotFact, impact: Impact, *, panel: Panel | None, stand: Stand | None, after_m_s: float | None = None
) -> SharedBlow | CantTell:
    """Needs the energy at the target, the panel's mass, how it was held, and what hangs with it.

    after_m_s  how fast the arrow left, without a sign: which way says what it did. Of others than those in LEFT nothing is made of it
    """
    why = why_not_shared(fact, impact, panel=panel, stand=stand)
    if why or impact.at_target is None or panel is None or panel.mass_kg is None or stand is None or stand.hung_mass_kg is None:
        return CantTell(why)
    there = impact.at_target
    least, words = _least(fact, panel)
    ending = _DID.get(fact.arrow_did, ("unknown", "unknown"))[may_have_come_through(fact)]
    momentum = there.momentum_kg_m_s
    u = None if momentum.standard_uncertainty is None or momentum.value == 0 else momentum.standard_uncertainty / momentum.value
    masses = (least, panel.mass_kg + stand.hung_mass_kg)
    if after_m_s is not None and fact.arrow_did in LEFT:
        try:
            found = blow_after(there.inputs.mass_kg, there.speed.value, panel_kg=masses, after_m_s=LEFT[fact.arrow_did] * after_m_s)
        except OutOfRange:
            return CantTell("That speed afterwards does not go with these masses: energy would have to come from nothing.")
        ending = "read"
    else:
        found = blow_between(there.inputs.mass_kg, there.speed.value, panel_kg=masses, ending=ending)
    return SharedBlow(
        ending=ending,
        range=found,
        momentum_u=u,
        least_kg=least,
        most_kg=panel.mass_kg + stand.hung_mass_kg,
        least_words=words,
        most_words="panel and what hangs with it" if stand.hung_mass_kg else "the panel alone",
        open_above=panel.construction not in RIGID,
    )


def why_not_shared(fact: ShotFact, impact: Impact, *, panel: Panel | None, stand: Stand | None) -> str:
    """All that is missing, so that one look tells what to measure; empty where all is there."""
    if fact.hit != "fair_target":
        return f"{_NO_HIT[fact.hit]}."
    missing = []
    if impact.at_target is None:
        missing.append((impact.why_not or impact.no_target or "Its energy at the target is not known.").rstrip("."))
    elif impact.at_target.speed.value <= 0:
        missing.append("It had no speed left at the target")
    if panel is None or panel.mass_kg is None:
        missing.append(f"Panel {fact.panel_name} was never weighed")
    if stand is None:
        missing.append("Nobody wrote down what the panel stood in")
    elif stand.held is None:
        missing.append(f"Nobody wrote down how {stand.name} holds a panel")
    elif stand.held not in FREE:
        missing.append(f"{stand.name} holds it {HELD[stand.held].lower()}, not free: the blow goes on into what holds it, and nobody measured how much")
    elif stand.gap_m == 0:
        missing.append(f"In {stand.name} it hangs against what stands behind it, not free: the blow goes on into that at once, and nobody measured how much")
    elif stand.hung_mass_kg is None:
        missing.append(f"What hangs with the panel in {stand.name} was never weighed: type 0 kg if nothing does")
    return ". ".join(missing) + ("." if missing else "")


def _least(fact: ShotFact, panel: Panel) -> tuple[float, str]:
    """A rigid panel struck off its middle turns, and sets less of its mass against the blow; of others that can't be told."""
    assert panel.mass_kg is not None
    alone = panel.mass_kg, "the panel alone"
    if panel.construction not in RIGID or not panel.width_m or not panel.height_m or fact.x_m is None or fact.y_m is None:
        return alone
    if abs(fact.x_m) > panel.width_m / 2 or abs(fact.y_m) > panel.height_m / 2:
        return alone
    there = mass_at_spot_kg(panel.mass_kg, x_m=fact.x_m, y_m=fact.y_m, width_m=panel.width_m, height_m=panel.height_m)
    return (there, "the panel alone, turning as it is struck off its middle") if not math.isclose(there, panel.mass_kg, rel_tol=1e-3) else alone
