"""Which shots speak of a claim: those that it names, fair, on the panel, not by a gap; what is undecided counts against either answer."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from proofyard.records.claim import Claim
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.claims import Counts, side_of_energy
from proofyard.views.claimed import named_by, why_apart
from proofyard.views.settings import Through, through_bounds_of

# What a shot may still turn out to be, the worst for the answer first. A hit whose fairness is open may leave the count.
AGAINST_NO, AGAINST_YES = ("held", "out", "through"), ("through", "out", "held")


@dataclass(frozen=True)
class Evidence:
    """One shot that counts: for a no, for a yes (at an energy it may be for one only), and what it may turn out to be."""

    shot: LoosedShot
    may_be: frozenset[str]
    for_no: bool = True
    for_yes: bool = True

    @property
    def decided(self) -> bool:
        return len(self.may_be) == 1


@dataclass(frozen=True)
class Gathered:
    """The shots that count, by head in the order loosed, and how many of those named do not, by reason.

    reasons  unread, not_fair, by_gap, cant_tell_way, no_target, too_near
    """

    by_head: Mapping[str, tuple[Evidence, ...]]
    apart: Mapping[str, int]


def gather(claim: Claim, heads: Sequence[str], shots: Sequence[LoosedShot], *, through: Through) -> Gathered:
    """Every standing shot of the trial that the claim names, sorted."""
    found: dict[str, list[Evidence]] = {head: [] for head in heads}
    apart: Counter[str] = Counter()
    for shot in shots:
        if shot.fact.form not in found or not named_by(claim, shot.fact):
            continue
        why = why_apart(shot)
        if why is not None:
            apart[why] += why != "no_shot"
            continue
        sides = (True, True) if claim.energy_j is None else _sides(shot, claim.energy_j)
        if isinstance(sides, str):
            apart[sides] += 1
            continue
        found[shot.fact.form].append(Evidence(shot, may_be(shot, through), *sides))
    return Gathered({head: tuple(some) for head, some in found.items()}, {why: n for why, n in apart.items() if n})


def may_be(shot: LoosedShot, through: Through) -> frozenset[str]:
    """What it may turn out to be: through, held, or out of the count."""
    sure, maybe = through_bounds_of(shot.fact, through) if shot.fact.outcome_low is not None else (False, True)
    open_fairness = shot.fair is None or shot.fair.answer == "not_known"
    return frozenset((["through"] if maybe else []) + ([] if sure else ["held"]) + (["out"] if open_fairness else []))


def counts(evidence: Sequence[Evidence], worst_first: Sequence[str]) -> Counts:
    """Through and shots if all that is open turns out as the first of these that it may be."""
    taken = [(one, next(sort for sort in worst_first if sort in one.may_be)) for one in evidence]
    kept = [(one.shot.fact, sort) for one, sort in taken if sort != "out"]
    return Counts(
        through=sum(sort == "through" for _, sort in kept),
        shots=len(kept),
        by_arrow=_sizes(kept, lambda fact: fact.arrow_id),
        by_panel=_sizes(kept, lambda fact: fact.panel_id),
    )


def _sizes(kept: Sequence[tuple[ShotFact, str]], of: Callable[[ShotFact], str]) -> tuple[int, ...]:
    return tuple(Counter(of(fact) for fact, _ in kept).values())


def _sides(shot: LoosedShot, energy_j: float) -> tuple[bool, bool] | str:
    """For a no, for a yes: a shot with less energy that got through refutes all the more, one with more that held supports.

    Compared is what all shots share of the uncertainty: the instrument's, and that of the combination's mean.
    """
    there = shot.impact.at_target
    if there is None or there.missing:
        return "no_target"
    shared = (there.budget.by_scope["instrument"] ** 2 + there.budget.by_scope["combination"] ** 2) ** 0.5
    sides = side_of_energy(there.budget.value, energy_j, shared_u_j=shared)
    return sides if any(sides) else "too_near"
