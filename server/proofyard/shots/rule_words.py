"""A trial's fair-hit distances as its pages show them: its own, or the default of each construction that it shoots at."""

from collections.abc import Iterable
from dataclasses import dataclass

from proofyard.quantities.reason import because
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.records.trial import Trial
from proofyard.shots.fair_hits import BORROWED, DEFAULTS, FairRules, rules_of
from proofyard.wording.reasons.said import said

OWN_FIELDS = ("near_opened_m", "near_dented_m", "near_edge_m", "position_accuracy_m")


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
    return tuple(RuleLine(CONSTRUCTIONS[c], distances_words(rules_of(trial, c), reader=reader), _whose(trial)) for c in wanted)


def distances_words(rules: FairRules, *, reader: str) -> str:
    distances = because(
        "fair_hit_distances",
        opened_m=rules.near_opened_m,
        dented_m=rules.near_dented_m,
        edge_m=rules.near_edge_m,
        accuracy_m=rules.position_accuracy_m,
        spoils=tuple(sorted(rules.spoils)),
    )
    return said(distances, reader)


def _whose(trial: Trial | None) -> str:
    own = sum(getattr(trial, name) is not None for name in OWN_FIELDS) if trial else 0
    return said(because("fair_hit_rules_of", own=own, all=len(OWN_FIELDS)))


def default_lines(*, reader: str) -> tuple[RuleLine, ...]:
    """What an empty box stands for, construction by construction; alike ones in one line."""
    groups: dict[FairRules, list[str]] = {}
    for construction, rules in DEFAULTS.items():
        groups.setdefault(rules, []).append(CONSTRUCTIONS[construction])
    return tuple(
        RuleLine(
            ", ".join([names[0], *(name.lower() for name in names[1:])]),
            distances_words(rules, reader=reader),
            said(because("common_practice")),
        )
        for rules, names in groups.items()
    )


def borrowed_lines() -> tuple[BorrowedLine, ...]:
    """What standards for other things use. They are borrowed: made for bullets, and nobody has shown that they fit arrows."""
    return tuple(BorrowedLine(said(one.what), said(one.source)) for one in BORROWED)
