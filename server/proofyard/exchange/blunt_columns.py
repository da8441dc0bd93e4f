"""What shots.csv says of blunt impact behind armour, with the caution that stands beside every such figure."""

from collections.abc import Callable

from proofyard.answers.blunt.shared import Shared, SharedImpact, shared_impact
from proofyard.exchange.csv_writing import Column, Value, yes_no
from proofyard.quantities.reason import CantTell
from proofyard.records.panel import Panel
from proofyard.records.stand import Stand
from proofyard.shots.loosed import LoosedShot
from proofyard.wording.blunt_cautions import IN_FILES
from proofyard.wording.reasons.blunt import ENDINGS
from proofyard.wording.reasons.said import said

Blunt = Shared | None
AskBlunt = Callable[[Blunt], Value]

_MIND = "Illustrative: see blunt_caution"


def blunt_of(shot: LoosedShot, *, panel: Panel | None, stand: Stand | None) -> Blunt:
    """None for what left no blunt impact: unread, missed, crossed out, not counted."""
    fact = shot.fact
    if fact.voided or fact.hit != "on_panel" or fact.purpose != "counted":
        return None
    return shared_impact(fact, shot.impact, panel=panel, stand=stand)


def caution_of(shot: LoosedShot, blunt: Blunt) -> Value:
    """Wherever a figure of it stands, a print in the backing among them."""
    return IN_FILES if isinstance(blunt, SharedImpact) or shot.fact.back_face_m is not None else None


def _told(of: Callable[[SharedImpact], Value]) -> AskBlunt:
    return lambda told: of(told) if isinstance(told, SharedImpact) else None


def _not_known(shared: Shared | None) -> Value:
    """None where it is, or where there was no impact to speak of."""
    return said(shared.reason) if isinstance(shared, CantTell) else None


def _number(name: str, meaning: str, unit: str, of: Callable[[SharedImpact], Value]) -> tuple[Column, AskBlunt]:
    return Column(name, f"{meaning}. {_MIND}", unit, "worked out", number=True), _told(of)


def _high(of: Callable[[SharedImpact], Value]) -> Callable[[SharedImpact], Value]:
    return lambda told: None if told.open_above else of(told)


BLUNT_COLUMNS: tuple[tuple[Column, AskBlunt], ...] = (
    (
        Column(
            "blunt_ending",
            f"How the arrow left the panel, as far as it was read. {_MIND}",
            "",
            "worked out",
            values="; ".join(f"{key} = {words}" for key, words in ENDINGS.items()),
        ),
        _told(lambda told: told.ending),
    ),
    _number("blunt_moving_mass_low_kg", "Least mass that may have moved with the panel at the spot", "kg", lambda told: told.least_kg),
    _number("blunt_moving_mass_high_kg", "Greatest: the panel and what hangs with it", "kg", lambda told: told.most_kg),
    _number(
        "blunt_bounce_speed_high_m_s",
        (
            "Greatest speed at which a bounced arrow can have come back, by how far it lay, from a spot 0.5 m high or more; empty where "
            "nobody read how far, or so far fits any speed"
        ),
        "m/s",
        lambda told: told.bounce.fastest_m_s if told.bounce else None,
    ),
    _number("blunt_momentum_low_kg_m_s", "Least momentum that the panel’s side took", "kg·m/s", lambda told: told.momentum_kg_m_s[0].value),
    _number(
        "blunt_momentum_low_u_kg_m_s",
        "Standard uncertainty of that (GUM), from the arrow’s momentum alone; empty where it is not known",
        "kg·m/s",
        lambda told: told.momentum_kg_m_s[0].standard_uncertainty,
    ),
    _number("blunt_momentum_high_kg_m_s", "Greatest", "kg·m/s", lambda told: told.momentum_kg_m_s[1].value),
    _number(
        "blunt_momentum_high_u_kg_m_s", "Standard uncertainty of that", "kg·m/s", lambda told: told.momentum_kg_m_s[1].standard_uncertainty
    ),
    _number("blunt_energy_low_j", "Least energy that went on in the panel", "J", lambda told: told.energy_j[0].value),
    _number(
        "blunt_energy_low_u_j",
        "Standard uncertainty of that, from the arrow’s momentum alone",
        "J",
        lambda told: told.energy_j[0].standard_uncertainty,
    ),
    _number("blunt_energy_high_j", "Greatest; empty where nothing bounds it", "J", _high(lambda told: told.energy_j[1].value)),
    _number("blunt_energy_high_u_j", "Standard uncertainty of that", "J", _high(lambda told: told.energy_j[1].standard_uncertainty)),
    (
        Column(
            "blunt_energy_open_above",
            f"The armour is not rigid, so nothing bounds the energy above. {_MIND}",
            "",
            "worked out",
            values="yes; no",
        ),
        _told(lambda told: yes_no(told.open_above)),
    ),
    (Column("blunt_not_known_because", "What is missing where the blunt impact is not known", "", "worked out"), _not_known),
)
CAUTION = Column(
    "blunt_caution", f"{IN_FILES} It stands in every row that has a figure of blunt impact behind armour or of the back face", "", "given"
)
