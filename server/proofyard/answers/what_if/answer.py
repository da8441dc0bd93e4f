"""One what-if answered: the energy that half would need, from where to where, what each bow would do there, what to check."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from proofyard.answers.what_if.ask import Changes, WhatIfAsked
from proofyard.answers.what_if.basis import Armour, Basis, Layers, own_panels_at
from proofyard.answers.what_if.bows import BowBrings, BowNeeded, bows_bring, bows_needed
from proofyard.answers.what_if.rules import ChangeFound, changes_found, printed_found, product
from proofyard.answers.what_if.weight import weight_of_change
from proofyard.physics.resistance import residual_speed_m_s
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.speed_facts import CombinationFact
from proofyard.shots.bow_records import BowRecords
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.wording.formula_names import STEELS

Whole = tuple[float | None, float | None]


@dataclass(frozen=True)
class BowRow:
    """One bow, or the energy that was typed, against the answer. `left_j`: what an arrow keeps behind, by the rules, if it gets through.

    verdict  through, leans_through, open, leans_held or held
    """

    bow: str
    shots: int
    low_j: float
    mean_j: float
    high_j: float
    verdict: str
    left_j: tuple[float, float] | None

    @property
    def cells(self) -> tuple[Reason, ...]:
        """Who, with what energy, and what comes of it."""
        left = self.left_j or (None, None)
        return (
            because("what_if_bow", bow=self.bow, shots=self.shots),
            because("what_if_brings", low_j=self.low_j, mean_j=self.mean_j, high_j=self.high_j),
            because("what_if_does", verdict=self.verdict, left_low_j=left[0], left_high_j=left[1]),
        )


@dataclass(frozen=True)
class Answer:
    """`rules_low_j` to `rules_high_j`: by the rules from the 50 % energy itself; `low_j` to `high_j` with the shots' uncertainty,
    an end None where the shots don't bound it. All None where no rule can speak.

    printed  the printed rules that stand in for shots; None where shots place the 50 % energy
    finding  what it comes to; `lead`: what that means; `cautions`: what to check; `needed`: each bow, and how strong one would do
    """

    letter: str
    changes: tuple[ChangeFound, ...]
    printed: ChangeFound | None
    rules_low_j: float | None
    rules_high_j: float | None
    low_j: float | None
    high_j: float | None
    finding: Reason
    lead: tuple[Reason, ...]
    cautions: tuple[Reason, ...]
    rows: tuple[BowRow, ...]
    needed: tuple[tuple[str, Reason], ...]
    changed: bool

    @property
    def told(self) -> bool:
        return self.rules_low_j is not None

    @property
    def rules(self) -> tuple[ChangeFound, ...]:
        """All that has rules to lay side by side."""
        return tuple(one for one in (self.printed, *self.changes) if one is not None and one.lines)


@dataclass(frozen=True)
class Bows:
    """All that tells what the archers' bows bring."""

    loosed: Loosed
    impacts: Impacts
    known: Sequence[CombinationFact]
    records: BowRecords

    @property
    def shots(self) -> Sequence[LoosedShot]:
        return self.loosed.shots


def answer_of(what: Changes, letter: str, *, asked: WhatIfAsked, armour: Armour, basis: Basis, bows: Bows) -> Answer:
    """Everything of one what-if."""
    printed = None if basis.point is not None else printed_found(what, armour, steel_now=asked.steel_now)
    changes = changes_found(_scaled(what, printed), armour, steel_now=asked.steel_now)
    factors, start = product(changes), _start(basis, printed)
    changed = what.any_of_armour or what.distance_m is not None
    if factors is None or start is None:
        why = _unanswered(changes, basis, printed, armour)
        return Answer(letter, changes, printed, None, None, None, None, because("what_if_no_answer"), why, (), (), (), changed)
    (mid_low, mid_high), (low, high) = start
    rules = mid_low * factors[0], mid_high * factors[1]
    whole = None if low is None else low * factors[0], None if high is None else high * factors[1]
    brought = bows_bring(bows.shots, bows.records, head=asked.head, place=basis.place, distance_m=what.distance_m)
    against = (*_typed(asked), *brought)
    rows = tuple(_row(one, rules, whole) for one in against)
    verdicts = _bows_would([(one.bow_words, row.verdict) for one, row in zip(against, rows, strict=True)])
    beside = _beside(what, rules, armour=armour, asked=asked, behind=basis.behind, loosed=bows.loosed)
    needed = bows_needed(brought, rules[0], high_j=rules[1], impacts=bows.impacts, known=bows.known)
    left_out = _left_out(bows, brought, head=asked.head)
    return Answer(
        letter=letter,
        changes=changes,
        printed=printed,
        rules_low_j=rules[0],
        rules_high_j=rules[1],
        low_j=whole[0],
        high_j=whole[1],
        finding=_finding(what, rules, whole, armour),
        lead=(*verdicts, *beside, *_lead(basis, rules, whole, factors if changes else None), *weight_of_change(what, armour)),
        cautions=tuple(_cautions(basis, changes, printed, armour=armour, rules=rules, left_out=left_out)),
        rows=rows,
        needed=tuple((one.bow.words, _needed(one, _heaviest(brought))) for one in needed),
        changed=changed,
    )


def verdict_of(energy_j: float, rules: tuple[float, float], *, whole: Whole) -> str:
    """An energy against the range of the half: outside the whole of it something can be said, inside it only leans."""
    low, high = whole
    if high is not None and energy_j >= high:
        return "through"
    if low is not None and energy_j <= low:
        return "held"
    if energy_j > rules[1]:
        return "leans_through"
    return "leans_held" if energy_j < rules[0] else "open"


def _finding(what: Changes, rules: tuple[float, float], whole: Whole, armour: Armour) -> Reason:
    asked = because(
        "what_if_asked",
        thickness_m=what.thickness_m,
        hardness=what.steel.words if what.steel else "",
        steel=STEELS[what.steel_quality].lower() if what.steel_quality else "",
        layers=what.layers,
        cloths=what.cloths,
        wire_m=what.wire_m,
        angle_rad=what.angle_rad,
        distance_m=what.distance_m,
    )
    return because(
        "what_if_finding",
        panel=armour.panel.name,
        asked=asked,
        of_armour=what.any_of_armour,
        rules_low_j=rules[0],
        rules_high_j=rules[1],
        low_j=whole[0],
        high_j=whole[1],
    )


def _lead(basis: Basis, rules: tuple[float, float], whole: Whole, factors: tuple[float, float] | None) -> list[Reason]:
    """What of the range is the rules' alone, and what it would have meant for the shots that were shot. `factors` None: nothing changed."""
    if basis.point is None:
        return [because("what_if_published_alone")]
    if factors is None:
        return [because("what_if_as_shot", low_j=whole[0], high_j=whole[1])]
    said = [because("what_if_with_rules", low_j=whole[0], high_j=whole[1], rules_low_j=rules[0], rules_high_j=rules[1])]
    held = [one.energy.value for one in basis.shots if one.energy is not None and not one.through_low]
    through = [one.energy.value for one in basis.shots if one.energy is not None and one.through_low]
    if factors[1] <= 1 and held:
        said.append(because("what_if_more_through", more=sum(energy > rules[1] for energy in held), of=len(held), above_j=rules[1]))
    elif factors[0] >= 1 and through:
        said.append(because("what_if_more_stopped", less=sum(energy < rules[0] for energy in through), of=len(through), below_j=rules[0]))
    return said


def _bows_would(verdicts: Sequence[tuple[str, str]]) -> list[Reason]:
    """Who would more often get through or be stopped, and for whom it is not clear, one of each verdict. `verdicts`: bow, verdict."""
    said = []
    for verdict in ("through", "leans_through", "open", "leans_held", "held"):
        bows = tuple(dict.fromkeys(bow for bow, found in verdicts if found == verdict))
        if bows:
            said.append(because("what_if_bows_would", bows=bows, verdict=verdict))
    return said


def _beside(
    what: Changes, rules: tuple[float, float], *, armour: Armour, asked: WhatIfAsked, behind: Layers | None, loosed: Loosed
) -> list[Reason]:
    """The book's own panels of the thickness asked about, where thickness is all that changes: shots outrank any rule."""
    if what.thickness_m is None or replace(what, thickness_m=None, distance_m=None).any_of_armour:
        return []
    own = own_panels_at(loosed, armour, asked=asked, behind=behind, thickness_m=what.thickness_m)
    if own is None or own.point is None:
        return []
    low, high = own.point.low_j, own.point.high_j
    apart = (low is not None and rules[1] < low) or (high is not None and rules[0] > high)
    return [because("what_if_own_panels", panels=own.names, energy_j=own.point.energy_j, low_j=low, high_j=high, apart=apart)]


def _cautions(
    basis: Basis,
    changes: Sequence[ChangeFound],
    printed: ChangeFound | None,
    *,
    armour: Armour,
    rules: tuple[float, float],
    left_out: Sequence[str],
) -> Iterator[Reason]:
    """What to check before it is trusted, the gravest first."""
    founded = (printed, *changes) if printed is not None else tuple(changes)
    yield from (because("what_if_extrapolated", change=one.what) for one in founded if one.outside)
    yield from (because("what_if_one_rule", change=one.what) for one in founded if one.alone)
    if basis.point is not None and basis.shots:
        least, most = min(basis.energies_j), max(basis.energies_j)
        if not least <= rules[0] <= rules[1] <= most:
            yield because("what_if_outside_shots", least_j=least, most_j=most)
        if basis.point.outside:
            yield because("what_if_start_outside")
        if len(basis.heads) > 1:
            yield because("what_if_mixed_heads", forms=len(basis.heads))
        if basis.point.unbounded:
            yield because("what_if_unbounded", why=basis.point.unbounded)
        if basis.either:
            yield because("what_if_undecided", shots=basis.either)
    if armour.plated and armour.construction != "plate" and founded:
        yield because("what_if_single_plate")
    if left_out:
        yield because("what_if_left_out", bows=tuple(left_out))


def _unanswered(changes: Sequence[ChangeFound], basis: Basis, printed: ChangeFound | None, armour: Armour) -> tuple[Reason, ...]:
    """Why there is no answer."""
    said = []
    if basis.point is None and (printed is None or printed.low is None):
        said.append(because("what_if_no_start", why=basis.why_not, printed=_no_printed(armour)))
    for one in changes:
        if one.low is None:
            reasons = tuple(dict.fromkeys(line.note for line in one.lines if line.low is None and line.note))
            said.append(because("what_if_silent", change=one.what, reasons=reasons))
    return tuple(said)


def _no_printed(armour: Armour) -> Reason:
    if armour.plated and armour.thickness_m is None:
        return because("what_if_plate_unmeasured")
    return because("what_if_cloth_needs_layers") if armour.construction == "textile" else because("what_if_nothing_published")


def _needed(one: BowNeeded, heaviest_n: float | None) -> Reason:
    """How strong a bow of this one's make would reach the 50 % energy."""
    if one.low_times is None:
        return because("what_if_bow_unknown", why=one.why_not)
    if one.enough:
        return because("what_if_bow_enough", energy_j=one.bow.mean_j)
    if one.high_times is None:
        return because("what_if_bow_at_least", times=one.low_times, why=one.why_not)
    weight = one.bow.weight_n
    return because(
        "what_if_bow_stronger",
        low_times=one.low_times,
        high_times=one.high_times,
        limbs_known=one.limbs_known,
        weight_n=weight,
        source=one.bow.weight_source,
        extrapolated=weight is not None and heaviest_n is not None and one.high_times * weight > heaviest_n * 1.001,
    )


def _scaled(what: Changes, printed: ChangeFound | None) -> Changes:
    """Printed rules speak of the changed plate or cloth themselves; nothing is left to scale then."""
    if printed is None:
        return what
    return replace(what, thickness_m=None, steel_quality="", cloths=None)


def _start(basis: Basis, printed: ChangeFound | None) -> tuple[tuple[float, float], tuple[float | None, float | None]] | None:
    """The energy to start from, and from where to where it may lie itself. Printed rules have no uncertainty but their own range."""
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
    return [BowBrings("The energy you entered", "the energy you entered", "", "", None, None, 0, energy, energy, energy, energy, 1.0, 1.0)]


def _row(bow: BowBrings, rules: tuple[float, float], whole: Whole) -> BowRow:
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
    read = bows_bring(bows.shots, bows.records, head=head, place="chronograph", distance_m=None)
    held = {one.words for one in brought}
    return [one.words for one in read if one.words not in held]


def _heaviest(bows: Sequence[BowBrings]) -> float | None:
    return max((one.weight_n for one in bows if one.weight_n), default=None)
