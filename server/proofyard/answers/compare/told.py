"""What a comparison comes to, in reasons: the page's one finding, a row a pair, and the pair in detail."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from proofyard.answers.compare.groups import AskedFamily, Comparison, confounders_of
from proofyard.answers.compare.ranks import RankFinding, alike_levels, by_depth, by_ranks, depth_shift, outcome_level_bounds
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.views.cells import CountedShot
from proofyard.views.comparable import Kind
from proofyard.views.pair_comparison import (
    Pair,
    PairLevel,
    pair_ends,
    pair_in_short,
    pair_notes,
    pair_ratio,
    pair_told,
    pair_verdict,
    reference_told,
)
from proofyard.views.settings import Through


class PairLine(NamedTuple):
    """One row of a family's table."""

    pair: str
    ratio: Reason
    raw: Reason
    corrected: Reason
    p_value: Reason
    verdict: Reason


@dataclass(frozen=True)
class PairOut:
    """One pair in detail. `verdict`: what stands beside its names before it is opened."""

    title: str
    verdict: Reason
    told: tuple[Reason, ...]


@dataclass(frozen=True)
class FamilyOut:
    """One panel type (or head form) with its pairs. `more`: pairs that don't hold the reference, which pay for all there are."""

    id: str
    on: str
    reference: Reason
    declared: Reason
    lines: tuple[PairLine, ...]
    more: tuple[PairLine, ...]
    pairs: tuple[PairOut, ...]


def title_of(found: Comparison) -> Reason:
    """The page's one finding: a pair that is shown, the one named in advance before the others."""
    pairs = found.pairs
    shown = [pair for pair in pairs if pair.shown]
    if shown:
        return pair_told(max(shown, key=lambda pair: pair.named))
    if not pairs or all(pair.verdict == "apart" for pair in pairs):
        return because("not_at_equal_energy")
    if all(pair.verdict in ("too_few", "apart") for pair in pairs):
        return because("too_few_whatever_their_outcomes")
    if len(pairs) == 1:
        return because("no_difference_between", first=pairs[0].first.row.who, second=pairs[0].second.row.who)
    return because("no_difference_in_pairs", pairs=len(pairs))


def more_of(found: Comparison) -> Reason:
    """What the title leaves open."""
    pairs = found.pairs
    if not pairs or all(pair.verdict == "apart" for pair in pairs):
        return because("no_two_at_one_level")
    shown = sum(pair.shown for pair in pairs)
    return because("pairs_that_show", shown=shown, pairs=len(pairs)) if shown else because("a_difference_may_exist")


def families_told(found: Comparison, *, kind: Kind, through: Through) -> tuple[FamilyOut, ...]:
    """Each family's table and its pairs in detail."""
    return tuple(_family(one, kind=kind, through=through) for one in found.families)


def _family(one: AskedFamily, *, kind: Kind, through: Through) -> FamilyOut:
    family = one.family
    return FamilyOut(
        id=f"on-{family.key}".replace(".", "_").replace("+", "-"),
        on=family.on,
        reference=reference_told(family),
        declared=family.declared.reason,
        lines=tuple(pair_line(pair) for pair in one.pairs),
        more=tuple(pair_line(pair) for pair in one.beyond),
        pairs=tuple(PairOut(pair.names, pair_in_short(pair), told_of(pair, kind=kind, through=through)) for pair in one.every),
    )


def pair_line(pair: Pair) -> PairLine:
    """The pair in a table: raw first, corrected beside it."""
    way, p = pair.found.way, pair.found.p_value
    return PairLine(
        pair.names,
        pair_ratio(pair),
        pair_ends(pair.raw, way=way),
        pair_ends(pair.corrected, way=way),
        because("pair_no_ends") if p is None else because("p_value", p=p),
        pair_verdict(pair),
    )


def told_of(pair: Pair, *, kind: Kind, through: Through) -> tuple[Reason, ...]:
    """The sentence on the pair, its levels with their counts, depth and outcome level by rank, and what goes together with it."""
    levels = [_level_told(pair, level, through=through) for level in pair.levels]
    ranked: list[tuple[str, RankFinding | CantTell]] = []
    if alike_levels(pair):
        ranked = [("depth", by_depth(pair)), ("outcomes", by_ranks(pair, outcome_level_bounds))]
    return (
        because("sentence_of_its_own", why=pair_told(pair)),
        *pair_notes(pair),
        *levels,
        *(_ranks_told(pair, found, kind=name) for name, found in ranked),
        *_confounded(pair, kind),
    )


def _level_told(pair: Pair, level: PairLevel, *, through: Through) -> Reason:
    low, high = level.energies_j
    return because(
        "pair_level",
        low_j=low,
        high_j=high,
        first=pair.first.row.who,
        first_counts=_counts(level.first),
        past=through.past,
        second=pair.second.row.who,
        second_counts=_counts(level.second),
        alike=level.found.alike,
        gap=level.found.gap,
        own=level.found.own,
    )


def _ranks_told(pair: Pair, found: RankFinding | CantTell, *, kind: str) -> Reason:
    """How often the first stands above the second, of all pairs of shots at one level."""
    if isinstance(found, CantTell):
        return because("ranks_not_told", kind=kind, why=found.reason)
    shifts = _shifts(pair) if kind == "depth" else ()
    higher = found.higher_share * found.pairs
    return because("ranks_told", who=pair.first.row.who, kind=kind, higher=higher, pairs=found.pairs, p=found.p_value, shifts=shifts)


def _shifts(pair: Pair) -> tuple[Reason, ...]:
    said = []
    for level in alike_levels(pair):
        found = depth_shift(level)
        if isinstance(found, CantTell) or found.shift is None or found.low is None or found.high is None:
            continue
        low_j, high_j = level.energies_j
        said.append(
            because(
                "depth_shift",
                at_low_j=low_j,
                at_high_j=high_j,
                first=pair.first.row.who,
                second=pair.second.row.who,
                shift_m=found.shift,
                low_m=found.low,
                high_m=found.high,
            )
        )
    return tuple(said)


def _confounded(pair: Pair, kind: Kind) -> tuple[Reason, ...]:
    """What goes together with the two, so that one can't be told from the other."""
    shared = confounders_of(pair, kind)
    return (because("confounded", first=pair.first.row.who, second=pair.second.row.who, shared=shared),) if shared else ()


def _counts(shots: Sequence[CountedShot]) -> Reason:
    hits = sum(one.through_low for one in shots)
    return because("hits_of", low=hits, high=hits, shots=len(shots))
