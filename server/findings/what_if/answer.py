"""One what-if answered: the energy that half would need, from where to where, and what each bow would do there."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.findings.impact import Impacts
from server.findings.loosed import Loosed, LoosedShot
from server.findings.what_if.ask import Changes, WhatIfAsked
from server.findings.what_if.basis import Armour, Basis, own_panels_at
from server.findings.what_if.bows import BowBrings, bows_bring, bows_needed
from server.findings.what_if.rules import ChangeFound, changes_found, printed_found, product
from server.findings.what_if.words import (
    Verdict,
    lead_words,
    mind_words,
    needed_words,
    own_words,
    title_words,
    unanswered_words,
    verdict_of,
    verdict_words,
)
from server.physics.ranges import CantTell
from server.physics.resistance import residual_speed_m_s
from server.records.speed_facts import PairingFact


@dataclass(frozen=True)
class BowRow:
    """One bow, or the energy that was typed, against the answer. `left_j`: what an arrow keeps behind, by the rules, if it gets through."""

    words: str
    shots: int
    low_j: float
    mean_j: float
    high_j: float
    verdict: Verdict
    left_j: tuple[float, float] | None


@dataclass(frozen=True)
class Answer:
    """`rules_low_j` to `rules_high_j`: by the rules from the 50 % energy itself; `low_j` to `high_j` with the shots' doubt,
    an end None where the shots don't bound it. All None where no rule can speak.

    printed  the printed rules that stand in for shots; None where shots place the 50 % energy
    """

    letter: str
    changes: tuple[ChangeFound, ...]
    printed: ChangeFound | None
    rules_low_j: float | None
    rules_high_j: float | None
    low_j: float | None
    high_j: float | None
    title_words: str
    lead: tuple[str, ...]
    minds: tuple[str, ...]
    rows: tuple[BowRow, ...]
    needed: tuple[tuple[str, str], ...]
    changed: bool

    @property
    def told(self) -> bool:
        return self.rules_low_j is not None


@dataclass(frozen=True)
class Bows:
    """All that tells what the archers' bows bring."""

    loosed: Loosed
    impacts: Impacts
    known: Sequence[PairingFact]

    @property
    def shots(self) -> Sequence[LoosedShot]:
        return self.loosed.shots


def answer_of(
    what: Changes, letter: str, *, asked: WhatIfAsked, armour: Armour, basis: Basis, bows: Bows, reader: str
) -> Answer:  # fmt: skip
    """Everything of one what-if."""
    printed = None if basis.point is not None else printed_found(what, armour, steel_now=asked.steel_now, reader=reader)
    changes = changes_found(_scaled(what, printed), armour, steel_now=asked.steel_now, reader=reader)
    factors, start = product(changes), _start(basis, printed)
    changed = what.any_of_armour or what.distance_m is not None
    if factors is None or start is None:
        why = unanswered_words(changes, basis, printed=printed, armour=armour)
        return Answer(letter, changes, printed, None, None, None, None, "It can’t be told", why, (), (), (), changed)
    (mid_low, mid_high), (low, high) = start
    rules = mid_low * factors[0], mid_high * factors[1]
    whole = None if low is None else low * factors[0], None if high is None else high * factors[1]
    brought = bows_bring(bows.shots, head=asked.head, place=basis.place, distance_m=what.distance_m)
    against = (*_typed(asked), *brought)
    rows = tuple(_row(one, rules, whole) for one in against)
    verdicts = verdict_words([(one.bow_words, row.verdict) for one, row in zip(against, rows, strict=True)])
    beside = _beside(what, rules, armour=armour, asked=asked, loosed=bows.loosed, reader=reader)
    needed = bows_needed(brought, rules[0], high_j=rules[1], impacts=bows.impacts, known=bows.known)
    return Answer(
        letter=letter,
        changes=changes,
        printed=printed,
        rules_low_j=rules[0],
        rules_high_j=rules[1],
        low_j=whole[0],
        high_j=whole[1],
        title_words=title_words(what, rules, armour=armour, reader=reader),
        lead=(*verdicts, *beside, *lead_words(basis, rules, whole=whole, changed=bool(changes), factors=factors, reader=reader)),
        minds=mind_words(basis, changes, printed=printed, armour=armour, rules=rules, left_out=_left_out(bows, brought, head=asked.head), reader=reader),
        rows=rows,
        needed=needed_words(needed, heaviest_n=_heaviest(brought), reader=reader),
        changed=changed,
    )


def _beside(
    what: Changes, rules: tuple[float, float], *, armour: Armour, asked: WhatIfAsked, loosed: Loosed, reader: str
) -> tuple[str, ...]:  # fmt: skip
    """The book's own panels of the thickness asked about, where thickness is all that changes: shots outrank any rule."""
    if what.thickness_m is None or replace(what, thickness_m=None, distance_m=None).any_of_armour:
        return ()
    own = own_panels_at(loosed, armour, asked=asked, thickness_m=what.thickness_m)
    return () if own is None else (own_words(own, rules, reader=reader),)


def _scaled(what: Changes, printed: ChangeFound | None) -> Changes:
    """Printed rules speak of the changed plate or cloth themselves; nothing is left to scale then."""
    if printed is None:
        return what
    return replace(what, thickness_m=None, steel_sort="", cloths=None)


def _start(basis: Basis, printed: ChangeFound | None) -> tuple[tuple[float, float], tuple[float | None, float | None]] | None:
    """The energy to start from, and from where to where it may lie itself. Printed rules have no doubt but their own range."""
    if basis.point is not None:
        return (basis.point.energy_j, basis.point.energy_j), (basis.point.low_j, basis.point.high_j)
    if printed is None or printed.low is None or printed.high is None:
        return None
    return (printed.low, printed.high), (printed.low, printed.high)


def _typed(asked: WhatIfAsked) -> list[BowBrings]:
    """The energy that was typed as if it were a bow's."""
    if asked.energy_j is None:
        return []
    energy = asked.energy_j
    return [BowBrings("The energy that you typed", "the energy that you typed", "", "", None, 0, energy, energy, energy, energy, 1.0, 1.0)]


def _row(bow: BowBrings, rules: tuple[float, float], whole: tuple[float | None, float | None]) -> BowRow:
    verdict = verdict_of(bow.mean_j, rules, whole=whole)
    return BowRow(bow.words, bow.shots, bow.low_j, bow.mean_j, bow.high_j, verdict, _left(bow.mean_j, rules))


def _left(energy_j: float, rules: tuple[float, float]) -> tuple[float, float] | None:
    """By the balance of energies, at the mass of 1 kg that cancels out; None where the rules don't let it through."""
    ends = []
    for limit in (rules[1], rules[0]):
        found = residual_speed_m_s(math.sqrt(2 * energy_j), math.sqrt(2 * limit))
        ends.append(0.0 if isinstance(found, CantTell) else found**2 / 2)
    return (ends[0], ends[1]) if ends[1] > 0 else None


def _left_out(bows: Bows, brought: Sequence[BowBrings], *, head: str) -> list[str]:
    """Bows whose energy is known where they were read, and not at the armour."""
    read = bows_bring(bows.shots, head=head, place="chronograph", distance_m=None)
    held = {one.words for one in brought}
    return [one.words for one in read if one.words not in held]


def _heaviest(bows: Sequence[BowBrings]) -> float | None:
    return max((one.marked_weight_n for one in bows if one.marked_weight_n), default=None)

