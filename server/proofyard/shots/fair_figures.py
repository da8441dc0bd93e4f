"""The numbers behind a hit's fairness: how far the nearest earlier hit and the edge lay, and the limits that held.

The answer and its reason are `fair_hits.mark_hits`; these say nothing of what is fair.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Trial
from proofyard.shots.fair_hits import SLACK_M, FairRules, HitNeighbours, ShotOrder, from_edge_m, rules_of


@dataclass(frozen=True)
class FairFigures:
    """Of one hit. `nearest`: the earlier hit that lies nearest, of those known to be earlier; None where there is none or no place.

    from_edge_m  below 0 outside; None while the panel's size or the hit's place is not in the book
    """

    rules: FairRules
    nearest: ShotFact | None
    nearest_m: float | None
    from_edge_m: float | None


def fair_figures(facts: Sequence[ShotFact], trials: Mapping[str, Trial]) -> dict[str, FairFigures]:
    """By shot, of every counted hit on a panel. `facts`: every shot of the book; those crossed out are passed over."""
    standing = [fact for fact in facts if not fact.voided]
    order, by_build = ShotOrder(standing), dict[str, list[ShotFact]]()
    for fact in standing:
        by_build.setdefault(fact.panel_build_id, []).append(fact)
    found = {}
    for mine in by_build.values():
        others = HitNeighbours(mine)
        for fact in mine:
            if fact.hit == "on_panel" and fact.purpose == "counted":
                found[fact.shot_id] = _of_hit(fact, others, order, trials)
    return found


def _of_hit(fact: ShotFact, others: HitNeighbours, order: ShotOrder, trials: Mapping[str, Trial]) -> FairFigures:
    nearest, nearest_m = _nearest_earlier(fact, others, order)
    edge_m = None
    if fact.x_m is not None and fact.y_m is not None:
        edge_m = from_edge_m((fact.x_m, fact.y_m), fact.panel_outline, width_m=fact.panel_width_m, height_m=fact.panel_height_m)
    return FairFigures(rules_of(trials.get(fact.trial_id), fact.construction), nearest, nearest_m, edge_m)


def _nearest_earlier(fact: ShotFact, others: HitNeighbours, order: ShotOrder) -> tuple[ShotFact | None, float | None]:
    nearest: tuple[float, str, ShotFact] | None = None
    for about, other in others.outwards(fact):
        if nearest and about > nearest[0] + SLACK_M:
            break  # of two that lie equally near, the first by its label
        if other.hit == "on_panel" and other.purpose != "let_down" and order.earlier(other, fact):
            assert fact.x_m is not None and fact.y_m is not None and other.x_m is not None and other.y_m is not None
            one = math.hypot(fact.x_m - other.x_m, fact.y_m - other.y_m), other.label, other
            nearest = min(nearest, one, key=lambda pair: pair[:2]) if nearest else one
    return (nearest[2], nearest[0]) if nearest else (None, None)
