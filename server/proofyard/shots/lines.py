"""One line for a shot in a list: what was loosed, with what energy, and how it stands."""

from collections.abc import Iterable
from dataclasses import dataclass

from proofyard.quantities import unit_for_reader, written
from proofyard.records.arrow import FORMS
from proofyard.records.shot import HITS, PURPOSES
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.fair_hits import FairMark
from proofyard.shots.impact import Impact
from proofyard.shots.loosed import LoosedShot
from proofyard.wording.fairness import FAIR_WORDS
from proofyard.wording.reasons.said import said as reason_words
from proofyard.wording.reasons.shots import STILL_TO_CHECK


@dataclass(frozen=True)
class ShotLine:
    """mark: the label, or the order on a panel. low, high: the outcome level, None while unread or without one."""

    shot_id: str
    mark: str
    words: str
    small: str
    low: int | None
    high: int | None
    unread: bool
    voided: bool
    glyph: str


def energy_place(impact: Impact) -> str:
    """Where a shot's energy is given wherever only one is: at the target if it can be told there, else where it was read."""
    return "target" if impact.has_energy_at("target") else "chronograph"


def place_words(impact: Impact) -> str:
    """ "at the target", "at the chronograph", "half way": an energy never stands without it."""
    place = energy_place(impact)
    return "half way" if place == "chronograph" and impact.half_way else f"at the {place}"


def energy_words(impact: Impact, reader: str) -> str:
    """ "98 J at the target": whole joules are enough to know a shot by; its own page has the figures that its uncertainty carries."""
    energy = impact.energy_at(energy_place(impact))
    if energy is None:
        return "energy not measured"
    return f"{written(energy.value, unit_for_reader('energy', reader), figures=2)} {place_words(impact)}"


def head_words(fact: ShotFact) -> str:
    return FORMS.get(fact.form or "", fact.head_name or "no head named").lower()


def fair_words(mark: FairMark | None, reader: str) -> str:
    """ "fair, 68 mm from A5, the nearest"; empty for what is not asked."""
    return "" if mark is None else f"{FAIR_WORDS[mark.answer]}, {reason_words(mark.reason, reader)}"


def shot_line(shot: LoosedShot, reader: str, *, mark: str = "") -> ShotLine:
    fact = shot.fact
    words = [head_words(fact)] + ([] if fact.voided else [energy_words(shot.impact, reader)])
    return ShotLine(
        shot_id=fact.shot_id,
        mark=mark or fact.label,
        words=", ".join([fact.label, *words] if mark else [words[0].capitalize(), *words[1:]]),
        small=_small(shot, reader),
        low=fact.outcome_low,
        high=fact.outcome_high,
        unread=fact.unread,
        voided=fact.voided,
        glyph=""
        if fact.outcome_low is not None
        else {"missed": "missed", "partial": "partial", "spoiled": "spoiled"}.get(fact.hit or "", ""),
    )


def _small(shot: LoosedShot, reader: str) -> str:
    fact = shot.fact
    if fact.voided:
        return "crossed out"
    said = [] if fact.purpose == "counted" else [PURPOSES[fact.purpose].lower()]
    if fact.unread:
        said.append("not read yet")
    elif fact.hit is not None and fact.hit != "on_panel":
        said.append(HITS[fact.hit].lower() + (f": {fact.why}" if fact.why else ""))
    elif shot.fair is not None:
        said.append(fair_words(shot.fair, reader))
    if fact.rear_check:
        said.append(STILL_TO_CHECK)
    if fact.short_draw:
        said.append("short draw")
    return "; ".join(said)


def shot_lines(shots: Iterable[LoosedShot], reader: str) -> tuple[ShotLine, ...]:
    return tuple(shot_line(shot, reader) for shot in shots)
