"""What shots.csv says of the blow behind, with the caution that stands beside every such figure."""

from collections.abc import Callable

from server.exchange.csv_writing import Column, Value, yes_no
from server.findings.blow.cautions import IN_FILES
from server.findings.blow.shared import ENDING_WORDS, Shared, SharedBlow, reason_of, shared_blow
from server.findings.loosed import LoosedShot
from server.records.panel import Panel
from server.records.stand import Stand

Blow = Shared | None
AskBlow = Callable[[Blow], Value]

_MIND = "Illustrative: see blow_caution"


def blow_of(shot: LoosedShot, *, panel: Panel | None, stand: Stand | None) -> Blow:
    """None for what left no blow to speak of: unread, missed, struck through, not counted."""
    fact = shot.fact
    if fact.struck or fact.hit != "fair_target" or fact.purpose != "counted":
        return None
    return shared_blow(fact, shot.impact, panel=panel, stand=stand)


def caution_of(shot: LoosedShot, blow: Blow) -> Value:
    """Wherever a figure of the blow stands, a print in the backing among them."""
    return IN_FILES if isinstance(blow, SharedBlow) or shot.fact.back_face_m is not None else None


def _told(of: Callable[[SharedBlow], Value]) -> AskBlow:
    return lambda blow: of(blow) if isinstance(blow, SharedBlow) else None


def _number(name: str, meaning: str, unit: str, of: Callable[[SharedBlow], Value]) -> tuple[Column, AskBlow]:
    return Column(name, f"{meaning}. {_MIND}", unit, "worked out", number=True), _told(of)


def _high(of: Callable[[SharedBlow], Value]) -> Callable[[SharedBlow], Value]:
    return lambda blow: None if blow.open_above else of(blow)


BLOW_COLUMNS: tuple[tuple[Column, AskBlow], ...] = (
    (
        Column("blow_ending", f"How the arrow left the panel, as far as it was read. {_MIND}", "", "worked out", values="; ".join(f"{key} = {words}" for key, words in ENDING_WORDS.items())),
        _told(lambda blow: blow.ending),
    ),
    _number("blow_moving_mass_low_kg", "Least mass that may have moved with the panel at the spot", "kg", lambda blow: blow.least_kg),
    _number("blow_moving_mass_high_kg", "Greatest: the panel and what hangs with it", "kg", lambda blow: blow.most_kg),
    _number("blow_momentum_low_kg_m_s", "Least momentum that the panel’s side took", "kg·m/s", lambda blow: blow.momentum_kg_m_s[0].value),
    _number("blow_momentum_low_u_kg_m_s", "Standard uncertainty of that (GUM), from the arrow’s momentum alone; empty where it can’t be told", "kg·m/s", lambda blow: blow.momentum_kg_m_s[0].standard_uncertainty),
    _number("blow_momentum_high_kg_m_s", "Greatest", "kg·m/s", lambda blow: blow.momentum_kg_m_s[1].value),
    _number("blow_momentum_high_u_kg_m_s", "Standard uncertainty of that", "kg·m/s", lambda blow: blow.momentum_kg_m_s[1].standard_uncertainty),
    _number("blow_energy_low_j", "Least energy that went on in the panel", "J", lambda blow: blow.energy_j[0].value),
    _number("blow_energy_low_u_j", "Standard uncertainty of that, from the arrow’s momentum alone", "J", lambda blow: blow.energy_j[0].standard_uncertainty),
    _number("blow_energy_high_j", "Greatest; empty where nothing bounds it", "J", _high(lambda blow: blow.energy_j[1].value)),
    _number("blow_energy_high_u_j", "Standard uncertainty of that", "J", _high(lambda blow: blow.energy_j[1].standard_uncertainty)),
    (
        Column("blow_energy_open_above", f"The armour is not rigid, so nothing bounds the energy above. {_MIND}", "", "worked out", values="yes; no"),
        _told(lambda blow: yes_no(blow.open_above)),
    ),
    (
        Column("blow_not_known_because", "What is missing where the blow can’t be told", "", "worked out"),
        reason_of,
    ),
)  # fmt: skip
CAUTION = Column("blow_caution", f"{IN_FILES} It stands in every row that has a figure of the blow behind or of the back face", "", "given")
