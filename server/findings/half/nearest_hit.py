"""How far each hit lies from the nearest one that was there before it. Order is asked, never guessed."""

import math
from collections.abc import Mapping, Sequence

from server.findings.shot_order import ShotOrder
from server.records.shot_facts import ShotFact


def nearest_earlier_m(facts: Sequence[ShotFact]) -> Mapping[str, float | None]:
    """Shot id -> metres, or None: the first on its build, a place not known, or nobody knows which of two came first.

    `facts`: every shot at their panel builds. A hit whose place isn't known leaves those after it without an answer:
    it may be the nearest.
    """
    order = ShotOrder(facts)
    at_build: dict[str, list[ShotFact]] = {}
    for fact in facts:
        if not fact.struck and fact.purpose not in ("let_down", "speed_only") and fact.hit not in ("missed", "spoiled"):
            at_build.setdefault(fact.panel_build_id, []).append(fact)
    return {
        fact.shot_id: _nearest(fact, others, order) for others in at_build.values() for fact in others if fact.hit == "fair_target"
    }


def _nearest(fact: ShotFact, others: Sequence[ShotFact], order: ShotOrder) -> float | None:
    if fact.x_m is None or fact.y_m is None:
        return None
    placed = []
    for other in others:
        if other is fact:
            continue
        if other.x_m is None or other.y_m is None:
            if order.earlier(other, fact) is not False:
                return None
            continue
        placed.append((math.hypot(fact.x_m - other.x_m, fact.y_m - other.y_m), other))
    for away, other in sorted(placed, key=lambda pair: pair[0]):
        earlier = order.earlier(other, fact)
        if earlier is not False:
            return away if earlier else None
    return None
