"""One shot as a row of a list, in words: who shot what at what, with what energy, how it ended, whether it was fair."""

from dataclasses import dataclass

from proofyard.quantities.reason import because
from proofyard.records.shot import ALL_ENTRIES, HITS, PURPOSES
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import outcome_name
from proofyard.shots.loosed import LoosedShot
from proofyard.wording.fairness import FAIR_WORDS
from proofyard.wording.figures import with_uncertainty
from proofyard.wording.reasons.said import said


@dataclass(frozen=True)
class ListedShot:
    """One shot as a row of a list."""

    label: str
    href: str
    words: str
    small: str
    outcome_low: int | None
    outcome_high: int | None
    voided: bool
    glyph: str


def listed_shot(shot: LoosedShot, *, place: str = "chronograph", reader: str, photo: bool = False) -> ListedShot:
    """What a reader needs to pick a shot out of a list; its energy at that place. photo: there is one of it."""
    fact = shot.fact
    parts = [
        fact.archer,
        fact.bow_name,
        f"arrow {fact.arrow_tag}",
        _energy(shot, place, reader),
        fact.panel_name,
        ALL_ENTRIES.get(fact.entry or "", "").lower(),
        _depth(fact, reader),
        f"{FAIR_WORDS[shot.fair.answer]}: {said(shot.fair.reason, reader)}" if shot.fair else "",
        fact.day,
        "with a photo" if photo else "",
    ]
    small = ", ".join(part for part in parts if part)
    return ListedShot(
        fact.label, f"/shots/{fact.shot_id}", _ended(fact), small, fact.outcome_low, fact.outcome_high, fact.voided, _glyph(fact)
    )


def _glyph(fact: ShotFact) -> str:
    """For a shot without an outcome level."""
    if fact.voided:
        return "voided"
    if fact.outcome_low is not None or fact.purpose != "counted":
        return ""
    return fact.hit if fact.hit in ("partial", "missed", "spoiled") else "unread"


def _ended(fact: ShotFact) -> str:
    if fact.outcome_low is not None:
        return outcome_name(fact.outcome_low, fact.outcome_high)
    if fact.purpose != "counted":
        return PURPOSES[fact.purpose]
    if fact.hit is None:
        return "Unread"
    return HITS[fact.hit] + (f", {fact.why}" if fact.why else "")


def _energy(shot: LoosedShot, place: str, reader: str) -> str:
    energy = shot.energy_at(place)
    if energy is None:
        return "energy not measured" if not shot.measured else said(because("energy_not_told", place=place))
    return f"{with_uncertainty(energy, 'energy', reader)} at the {place}"


def _depth(fact: ShotFact, reader: str) -> str:
    if not fact.depth_m:
        return ""
    return said(because("past_rear_face", depth_m=fact.depth_m, at_least=fact.depth_bound == "at_least"), reader)
