"""The blunt criterion for one shot's blow: a range, the printed figure beside it, and all that lies outside its data."""

from dataclasses import dataclass

from server.findings.blow.ask import BlowAsked
from server.findings.blow.shared import SharedBlow, came_through, may_have_come_through
from server.physics.ranges import CantTell
from server.physics.trauma import TRIED_ON, TriedOn, blunt_criterion, body_wall_m
from server.quantities import unit_for_reader, written
from server.records.panel import Panel
from server.records.shot_facts import ShotFact

MOST_J = 1000.0
NARROWEST_M, WIDEST_M = TRIED_ON["diameter"].low, 1.0
NO_BREAK = "\N{NO-BREAK SPACE}"
NO_BLOW = "Its point came behind the armour: that is no blunt blow, and no criterion here speaks of it."


@dataclass(frozen=True)
class Outside:
    """One input that lies outside of what the criterion was tried on: what it is here, and what was tried."""

    words: str
    here: str
    tried: str


@dataclass(frozen=True)
class CriterionFound:
    """From least to greatest; None: nothing bounds that end. `outside`: never empty for a panel that hangs."""

    low: float | None
    high: float | None
    wall_m: float
    width_m: tuple[float, float]
    width_words: str
    outside: tuple[Outside, ...]
    maybe_through: bool


def criterion_of(fact: ShotFact, shared: SharedBlow | CantTell, *, panel: Panel | None, asked: BlowAsked, reader: str) -> CriterionFound | CantTell:
    """Where nothing came through and the blow could be shared out."""
    if came_through(fact):
        return CantTell(NO_BLOW)
    if isinstance(shared, CantTell):
        return shared
    width = width_of(panel, asked)
    if isinstance(width, CantTell):
        return width
    (narrow, wide), words = width
    if shared.most_energy_j > MOST_J:
        return CantTell("So much energy is beyond anything that the criterion was made from.")
    wall = body_wall_m(asked.body_kg, asked.body)

    def at(energy_j: float, across_m: float) -> float | None:
        return blunt_criterion(energy_j, asked.body_kg, wall_m=wall, diameter_m=across_m) if energy_j > 1e-9 else None

    return CriterionFound(
        low=at(shared.least_energy_j, wide),
        high=None if shared.open_above else at(shared.most_energy_j, narrow),
        wall_m=wall,
        width_m=(narrow, wide),
        width_words=words,
        outside=_outside(shared, (narrow, wide), reader),
        maybe_through=may_have_come_through(fact),
    )


def width_of(panel: Panel | None, asked: BlowAsked) -> tuple[tuple[float, float], str] | CantTell:
    """As the reader said; else anything from the narrowest baton that was tried to the panel's own lesser size."""
    if asked.width_m is not None:
        return (asked.width_m, asked.width_m), "as you typed it"
    sizes = [size for size in (panel.width_m, panel.height_m) if size] if panel else []
    if len(sizes) < 2:
        return CantTell("Over what width the blow comes nobody knows: measure the dent in the panel’s back and type its width.")
    widest = min(*sizes, WIDEST_M)
    return (min(NARROWEST_M, widest), widest), "from the narrowest baton that was tried to the whole of the panel, since nobody typed a width"


def _outside(shared: SharedBlow, width_m: tuple[float, float], reader: str) -> tuple[Outside, ...]:
    here = {
        "mass": ((shared.least_kg, shared.most_kg), "heavy_mass"),
        "speed": (shared.range.speed_m_s, "speed"),
        "diameter": (width_m, "length"),
        "energy": ((shared.least_energy_j, shared.most_energy_j), "energy"),
    }
    found = []
    for name, (ends, shown_as) in here.items():
        tried = TRIED_ON[name]
        if tried.low <= ends[0] and ends[1] <= tried.high:
            continue
        unit = unit_for_reader(shown_as, reader)
        found.append(Outside(tried.words, span(*ends, unit=unit), _tried(tried, unit)))
    return tuple(found)


def _tried(tried: TriedOn, unit: str) -> str:
    return span(tried.low, tried.high, unit=unit, figures=3)


def span(low_si: float, high_si: float, *, unit: str, figures: int = 2) -> str:
    """ "0.2 to 3.1 J"; one figure where both ends read the same."""
    low, high = (written(one, unit, figures=figures) for one in (low_si, high_si))
    return low if low == high else f"{low.rpartition(NO_BREAK)[0] or low} to {high}"
