"""The blunt criterion for one shot's impact: a range, and all that lies outside its data."""

from dataclasses import dataclass

from proofyard.answers.blunt.ask import BluntAsked
from proofyard.answers.blunt.shared import SharedImpact, came_through, may_have_come_through
from proofyard.physics.trauma import TRIED_ON, blunt_criterion, body_wall_m
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.panel import Panel
from proofyard.records.shot_facts import ShotFact
from proofyard.wording import formula_names

MOST_J = 1000.0
NARROWEST_M, WIDEST_M = 0.037, 1.0  # narrower than a baton, an impact is no longer blunt: our own bound


@dataclass(frozen=True)
class Outside:
    """One input that lies outside of what the criterion was tried on: what it is, here, and as tried."""

    words: str
    here: Reason
    tried: Reason


@dataclass(frozen=True)
class CriterionFound:
    """From least to greatest; None: nothing bounds that end. `outside`: never empty for a panel that hangs."""

    low: float | None
    high: float | None
    wall_m: float
    width_m: tuple[float, float]
    width_typed: bool
    outside: tuple[Outside, ...]
    maybe_through: bool


def criterion_of(fact: ShotFact, shared: SharedImpact | CantTell, *, panel: Panel | None, asked: BluntAsked) -> CriterionFound | CantTell:
    """Where nothing came through and the impact could be shared out."""
    if came_through(fact):
        return CantTell(because("blunt_got_through"))
    if isinstance(shared, CantTell):
        return shared
    width = width_of(panel, asked)
    if isinstance(width, CantTell):
        return width
    narrow, wide = width
    if shared.most_energy_j > MOST_J:
        return CantTell(because("blunt_too_much"))
    wall = body_wall_m(asked.body_kg, asked.body)

    def at(energy_j: float, across_m: float) -> float | None:
        return blunt_criterion(energy_j, asked.body_kg, wall_m=wall, diameter_m=across_m) if energy_j > 1e-9 else None

    return CriterionFound(
        low=at(shared.least_energy_j, wide),
        high=None if shared.open_above else at(shared.most_energy_j, narrow),
        wall_m=wall,
        width_m=(narrow, wide),
        width_typed=asked.width_m is not None,
        outside=_outside(shared, (narrow, wide)),
        maybe_through=may_have_come_through(fact),
    )


def width_of(panel: Panel | None, asked: BluntAsked) -> tuple[float, float] | CantTell:
    """As the reader said; else anything from the width of a baton to the panel's own lesser size."""
    if asked.width_m is not None:
        return asked.width_m, asked.width_m
    sizes = [size for size in (panel.width_m, panel.height_m) if size] if panel else []
    if len(sizes) < 2:
        return CantTell(because("blunt_no_width"))
    widest = min(*sizes, WIDEST_M)
    return min(NARROWEST_M, widest), widest


def _outside(shared: SharedImpact, width_m: tuple[float, float]) -> tuple[Outside, ...]:
    found = []
    for name, (low, high), shown_as in (("speed", shared.range.speed_m_s, "speed"), ("diameter", width_m, "length")):
        tried = TRIED_ON[name]
        if not (tried.low <= low and high <= tried.high):
            here = because("blunt_span", low_si=low, high_si=high, shown_as=shown_as, figures=2)
            there = because("blunt_span", low_si=tried.low, high_si=tried.high, shown_as=shown_as, figures=3)
            found.append(Outside(formula_names.TRIED_ON[name], here, there))
    return tuple(found)
