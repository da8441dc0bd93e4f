"""Details of a 50 % energy: the uncertainty of the energies, other shares, what to check, the averaging limit, heads compared."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from proofyard.answers.fifty_percent.averaging import AveragingFound
from proofyard.quantities.reason import Reason, because
from proofyard.statistics.fifty_percent_point import FEWEST_FOR_TAILS, EnergyPoint
from proofyard.views import kept_fits
from proofyard.views.curve import FiftyPercent, energy_of, estimate_of, told_of, widened_of
from proofyard.views.energy_parts import energy_parts
from proofyard.views.pair_comparison import Pair, PairFamily, pair_ends, pair_notes, pair_ratio, pair_verdict, reference_told

FEW = 10
Facts = tuple[tuple[str | Reason, Reason], ...]


def uncertainty_told(found: FiftyPercent, *, place: str) -> tuple[Reason, ...]:
    """What the uncertainty of the energies adds to the point's interval, each part by itself. Empty without a point."""
    if found.point is None:
        return ()
    parts = energy_parts(found.settled, place)
    if not parts.known:
        return (because("no_energy_has_uncertainty"),)
    widened = widened_of(found, parts)
    if widened is None:
        return ()
    most = max(parts.combination.values(), default=0.0)
    return (
        because("with_energy_uncertainty", low_j=widened.low_j, high_j=widened.high_j),
        because("of_instruments", part=parts.instrument),
        because("of_combinations", most=most, combinations=widened.combinations, moved=widened.from_combinations),
        widened.flattening if parts.shot > 0 or not parts.each_own else because("each_its_own_speed"),
        *((because("energies_without_uncertainty", shots=parts.unknown),) if parts.unknown else ()),
    )


def tails_told(found: FiftyPercent, shares: Sequence[float]) -> Facts:
    """The energies of other shares; refused below 40 shots and outside the energies shot."""
    if found.curve is None:
        return ()
    if found.shots < FEWEST_FOR_TAILS:
        too_few = because("too_few_for_tails", shots=found.shots, needed=FEWEST_FOR_TAILS)
        return ((because("energy_of_shares", shares=tuple(shares)), too_few),)
    facts = []
    for share in shares:
        point = _tail_point(found.curve, share, chosen=found.chosen)
        told = estimate_of(point) if isinstance(point, EnergyPoint) else because("sentence_of_its_own", why=point.reason)
        facts.append((because("energy_of_shares", shares=(share,)), told))
    return tuple(facts)


_tail_point = lru_cache(maxsize=256)(kept_fits.tail)  # a curve is what it is, so it is told by identity


def cautions(found: FiftyPercent) -> tuple[Reason, ...]:
    """Few shots, one panel, shots that are in neither count."""
    told = [because("point_of_chosen_energies")] if found.chosen and found.point is not None else []
    if found.point is not None and found.point.one_sided_level is not None:
        told.append(because("one_sided_means"))
    elif found.point is not None and found.point.outside:
        told.append(because("closed_off_the_middle"))
    if found.point is not None and found.shots < FEW:
        told.append(because("only_few_shots", shots=found.shots))
    panels = {one.shot.fact.panel_build_id: one.shot.fact.panel_name for one in found.settled}
    if found.point is not None and len(panels) == 1:
        told.append(because("point_on_one_panel", panel=next(iter(panels.values()))))
    if found.open_shots and found.settled:
        if_all, if_none = (energy_of(point) if point else None for point in (found.if_all, found.if_none))
        told.append(because("undecided_left_out", shots=len(found.open_shots), if_all=if_all, if_none=if_none))
    if found.unmeasured and found.settled:
        told.append(because("unmeasured_left_out", shots=found.unmeasured))
    return tuple(told)


def limit_told(found: AveragingFound, point: FiftyPercent) -> Facts:
    """The averaging limit beside the curve's own answer, and never instead of it."""
    beside = ("50\N{NO-BREAK SPACE}% energy by the curve", because("by_the_curve", told=told_of(point)))
    if found.limit is None or found.energy_j is None or found.mass_kg is None:
        return ("Averaging limit", because("not_worked_out", why=found.why_not)), beside
    limit = found.limit
    made_of = because(
        "limit_made_of",
        each=limit.rule.each_side,
        shots=limit.shots,
        arrows=found.arrows,
        spread_m_s=limit.spread_m_s,
        widest_m_s=limit.rule.widest_spread_m_s,
    )
    told = because("averaging_limit", limit_m_s=limit.limit_m_s, energy_j=found.energy_j, mass_kg=found.mass_kg)
    return ("Averaging limit", told), ("Made of", made_of), beside


@dataclass(frozen=True)
class HeadsCompared:
    """The heads of one panel type against the reference: rows of pair, ratio, interval by itself and corrected, result; or why none."""

    reference: Reason | None
    rows: tuple[tuple[str, Reason, Reason, Reason, Reason], ...]
    notes: tuple[Reason, ...]
    why_none: Reason | None


def compare_heads(family: PairFamily | None) -> HeadsCompared:
    """The one comparison of views/pair_comparison.py, as it stands on every page."""
    if family is None or not family.pairs:
        only = family.sides[0].row.who if family and family.sides else ""
        return HeadsCompared(None, (), (), because("only_this_head", head=only) if only else because("no_shots"))
    rows = tuple((pair.names, pair_ratio(pair), *_both_ends(pair), pair_verdict(pair)) for pair in family.pairs)
    notes = tuple(dict.fromkeys(note for pair in family.pairs for note in pair_notes(pair)))
    return HeadsCompared(reference_told(family), rows, (family.declared.reason, *notes), None)


def _both_ends(pair: Pair) -> tuple[Reason, Reason]:
    return pair_ends(pair.raw, way=pair.found.way), pair_ends(pair.corrected, way=pair.found.way)
