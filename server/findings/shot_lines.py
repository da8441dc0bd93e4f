"""One line for a shot in a list: what was loosed, with what energy, and how it stands."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.findings.loosed import LoosedShot
from server.quantities import Uncertain, unit_for_reader, written
from server.records.arrow import FORMS
from server.records.shot import HITS, PURPOSES
from server.records.shot_facts import ShotFact

FAIR_WORDS = {"fair": "fair", "not_fair": "not fair", "not_known": "fair or not: not known"}


@dataclass(frozen=True)
class ShotLine:
    """mark: the label, or the order on a panel. low, high: the rung, None while unread or without one."""

    shot_id: str
    mark: str
    words: str
    small: str
    low: int | None
    high: int | None
    unread: bool
    struck: bool
    glyph: str


def energy_words(energy: Uncertain | None, reader: str) -> str:
    """ "98 J": whole joules are enough to know a shot by; its own page has the figures that its doubt carries."""
    return "energy not measured" if energy is None else written(energy.value, unit_for_reader("energy", reader), figures=2)


def head_words(fact: ShotFact) -> str:
    return FORMS.get(fact.form or "", fact.head_name or "no head named").lower()


def fair_words(shot: LoosedShot) -> str:
    """ "fair, 68 mm from A5, the nearest"; empty for what is not asked."""
    if shot.fair is None:
        return ""
    return f"{FAIR_WORDS[shot.fair.answer]}, {shot.fair.reason}"


def is_unread(fact: ShotFact) -> bool:
    """Whether a hand is still wanted: somebody has to go and look."""
    return not fact.struck and fact.hit is None and fact.purpose not in ("let_down", "speed_only")


def shot_line(shot: LoosedShot, reader: str, *, mark: str = "") -> ShotLine:
    fact = shot.fact
    words = [head_words(fact)] + ([] if fact.struck else [energy_words(shot.impact.energy_at_chronograph_j, reader)])
    return ShotLine(
        shot_id=fact.shot_id, mark=mark or fact.label, words=", ".join([fact.label, *words] if mark else [words[0].capitalize(), *words[1:]]),
        small=_small(shot), low=fact.outcome_low, high=fact.outcome_high, unread=is_unread(fact), struck=fact.struck,
        glyph="" if fact.outcome_low is not None else {"missed": "missed", "partial": "partial", "spoiled": "spoiled"}.get(fact.hit or "", ""),
    )  # fmt: skip


def _small(shot: LoosedShot) -> str:
    fact = shot.fact
    if fact.struck:
        return "struck through"
    said = [] if fact.purpose == "counted" else [PURPOSES[fact.purpose].lower()]
    if is_unread(fact):
        said.append("not read yet")
    elif fact.hit is not None and fact.hit != "fair_target":
        said.append(HITS[fact.hit].lower() + (f": {fact.why}" if fact.why else ""))
    elif shot.fair is not None:
        said.append(fair_words(shot))
    if fact.look_behind:
        said.append("look behind it on the bench")
    if fact.short_draw:
        said.append("short draw")
    return "; ".join(said)


def shot_lines(shots: Iterable[LoosedShot], reader: str) -> tuple[ShotLine, ...]:
    return tuple(shot_line(shot, reader) for shot in shots)
