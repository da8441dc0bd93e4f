"""A trial's fair-hit distances in words: its own, or the default of each construction that it shoots at."""

from collections.abc import Iterable
from dataclasses import dataclass

from server.findings.fair_rules import BORROWED, DEFAULTS, FairRules, rules_of
from server.quantities import unit_for_reader, written
from server.records.panel import CONSTRUCTIONS
from server.records.trial import RUNG_WORDS, Trial

OWN_FIELDS = ("near_opened_m", "near_dented_m", "near_edge_m", "finger_m")


@dataclass(frozen=True)
class RuleLine:
    """The distances for one construction; `whose` says which of them are defaults."""

    construction: str
    words: str
    whose: str


@dataclass(frozen=True)
class BorrowedLine:
    words: str
    source: str


def rule_lines(trial: Trial | None, constructions: Iterable[str | None], *, reader: str) -> tuple[RuleLine, ...]:
    """One line for each construction, in the order that they came; for plate while nothing is set up yet."""
    wanted = list(dict.fromkeys(c or "other" for c in constructions)) or ["plate"]
    return tuple(
        RuleLine(CONSTRUCTIONS[c], distances_words(rules_of(trial, c), reader=reader), _whose(trial)) for c in wanted
    )


def distances_words(rules: FairRules, *, reader: str) -> str:
    unit = unit_for_reader("thickness", reader)
    opened, dented, edge, finger = (
        written(value, unit) for value in (rules.near_opened_m, rules.near_dented_m, rules.near_edge_m, rules.finger_m)
    )
    not_spoiling = [RUNG_WORDS[rung].lower() for rung in range(2, 6) if rung not in rules.spoils]
    also = [RUNG_WORDS[rung].lower() for rung in (0, 1) if rung in rules.spoils]
    said = f"{opened} from any hit that opened, {dented} from a dent, {edge} from the edge; a place is good to {finger}"
    if not_spoiling:
        said += f"; a hit spoils nothing if {' or '.join(not_spoiling)}"
    return said + (f"; {' or '.join(also)} spoils a spot too" if also else "")


def _whose(trial: Trial | None) -> str:
    own = sum(getattr(trial, name) is not None for name in OWN_FIELDS) if trial else 0
    if own == len(OWN_FIELDS):
        return "this trial’s own"
    return "defaults of the construction" if own == 0 else "this trial’s own; what it leaves empty is the construction’s default"


def default_lines(*, reader: str) -> tuple[RuleLine, ...]:
    """What an empty box stands for, construction by construction; alike ones in one line."""
    groups: dict[FairRules, list[str]] = {}
    for construction, rules in DEFAULTS.items():
        groups.setdefault(rules, []).append(CONSTRUCTIONS[construction])
    return tuple(
        RuleLine(", ".join([names[0], *(name.lower() for name in names[1:])]), distances_words(rules, reader=reader), "common practice, no source")
        for rules, names in groups.items()
    )


def borrowed_lines() -> tuple[BorrowedLine, ...]:
    """What standards for other things use. They are borrowed: made for bullets, and nobody has shown that they fit arrows."""
    return tuple(BorrowedLine(one.words, one.source) for one in BORROWED)
