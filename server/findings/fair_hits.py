"""May a hit be counted as one on a fresh panel: fair, not fair, or not known, with the reason in words.

It rests only on what was so before the arrow struck, never on how the hit turned out. Earlier hits count per panel
build, across trials. An archer may overrule; that is stored, the mark itself is worked out each time.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from server.findings.fair_rules import FairRules, rules_of
from server.findings.shot_order import ShotOrder
from server.records.arrow import ArrowCheck
from server.records.listing import all_of
from server.records.panel import SMALL_PLATED
from server.records.shot import HEAD_FATES, SHAFT_FATES
from server.records.shot_facts import ShotFact, shot_facts
from server.records.trial import Trial
from server.storage import Session

FAIR, NOT_FAIR, NOT_KNOWN = "fair", "not_fair", "not_known"
SORTS = {
    "fair": "fair",
    "overruled": "overruled by an archer",
    "arrow": "arrow not sound",
    "edge": "at the panel’s edge, or too near it",
    "edge_limit": "too near the limit from the panel’s edge to say",
    "old_hit": "in an old hit",
    "same_plate": "same plate as an earlier hit",
    "unread": "an earlier shot is not read yet",
    "order": "order within the walk not known",
    "place": "place not known",
    "either": "may be another shot’s hit",
    "limit": "too near the limit to say",
    "near": "too near an earlier hit",
}


@dataclass(frozen=True)
class FairMark:
    """The answer and its reason. Where an archer overruled, `worked_out` keeps what the rules gave."""

    answer: str
    reason: str
    sort: str = "fair"  # a key of SORTS: what the reason is of, without its shot and its millimetres
    overruled: bool = False
    worked_out: str | None = None


def fair_marks(session: Session, facts: Sequence[ShotFact]) -> dict[str, FairMark]:
    """The marks of those shots that struck the panel, by shot id; three statements whatever the number of shots."""
    builds = sorted({fact.panel_build_id for fact in facts})
    if not builds:
        return {}
    on_builds = shot_facts(session, panel_build_id=builds)
    trials = {trial.id: trial for trial in all_of(session, Trial, struck=True)}
    marks = mark_hits(on_builds, trials=trials, checks=all_of(session, ArrowCheck))
    wanted = {fact.shot_id for fact in facts}
    return {shot_id: mark for shot_id, mark in marks.items() if shot_id in wanted}


def mark_hits(
    facts: Sequence[ShotFact], *, trials: Mapping[str, Trial] | None = None, checks: Iterable[ArrowCheck] = ()
) -> dict[str, FairMark]:
    """The marks of all hits among these shots, which must hold every shot at their panel builds."""
    order, trials = ShotOrder(facts), trials or {}
    by_build: dict[str, list[ShotFact]] = {}
    by_arrow: dict[str, list[ShotFact]] = {}
    for fact in facts:
        by_build.setdefault(fact.panel_build_id, []).append(fact)
        by_arrow.setdefault(fact.arrow_build_id, []).append(fact)
    checked: dict[str, list[ArrowCheck]] = {}
    for check in checks:
        checked.setdefault(check.arrow_build_id, []).append(check)
    marks = {}
    for fact in facts:
        if fact.hit == "fair_target" and fact.purpose == "counted":
            rules = rules_of(trials.get(fact.trial_id), fact.construction)
            unsound = _unsound(fact, by_arrow[fact.arrow_build_id], checked.get(fact.arrow_build_id, []), order=order)
            marks[fact.shot_id] = _overruled(fact, _mark(fact, by_build[fact.panel_build_id], rules=rules, order=order, unsound=unsound))
    return marks


def _overruled(fact: ShotFact, mark: FairMark) -> FairMark:
    if fact.fair_overrule is None:
        return mark
    reason = f"overruled: {fact.fair_reason or 'no reason given'}"
    worked_out = f"{mark.answer}: {mark.reason}"
    return replace(mark, answer=fact.fair_overrule, reason=reason, sort="overruled", overruled=True, worked_out=worked_out)


def _mark(
    fact: ShotFact, others: Sequence[ShotFact], *, rules: FairRules, order: ShotOrder, unsound: str | None
) -> FairMark:
    """One reason against is enough; one thing unknown is enough to say so; else the nearest earlier hit is named."""
    if unsound:
        return FairMark(NOT_FAIR, unsound, "arrow")
    if "panel_edge" in (fact.way_in, fact.touched_first):
        return FairMark(NOT_FAIR, "panel edge", "edge")
    if "old_hit" in (fact.way_in, fact.touched_first):
        return FairMark(NOT_FAIR, "went in at an old hit", "old_hit")
    findings = [_edge(fact, rules)] + [_against(fact, other, rules=rules, order=order) for other in others if other is not fact]
    for answer in (NOT_FAIR, NOT_KNOWN):
        found = next((f for f in findings if f and f.answer == answer), None)
        if found:
            return found
    if fact.may_be_shot_id:
        label = next((o.label for o in others if o.shot_id == fact.may_be_shot_id), "another shot")
        return FairMark(NOT_KNOWN, f"may be the hit of {label}", "either")
    return FairMark(FAIR, _nearest(fact, others, order))


def _edge(fact: ShotFact, rules: FairRules) -> FairMark | None:
    if fact.x_m is None or fact.y_m is None:
        return FairMark(NOT_KNOWN, "its place is not known", "place")
    inside = _from_edge(fact, fact.x_m, fact.y_m)
    if inside is None:
        return None  # the panel's size was not written down, so the edge says nothing
    if inside < rules.near_edge_m - rules.finger_m:
        return FairMark(NOT_FAIR, f"{_mm(max(inside, 0.0))} from the panel’s edge", "edge")
    if inside < rules.near_edge_m + rules.finger_m:
        return FairMark(NOT_KNOWN, f"{_mm(inside)} from the panel’s edge: nearer the limit than a finger’s error", "edge_limit")
    return None


def _from_edge(fact: ShotFact, x: float, y: float) -> float | None:
    if not fact.panel_width_m or not fact.panel_height_m:
        return None
    across, up = fact.panel_width_m / 2, fact.panel_height_m / 2
    if fact.panel_outline == "disc":
        # Exact for a round panel; for an oval one never more than the true distance, so nothing is called fair by it.
        return (1 - math.hypot(x / across, y / up)) * min(across, up)
    return min(across - abs(x), up - abs(y))  # a breastplate's outline is taken as its rectangle


def _against(fact: ShotFact, other: ShotFact, *, rules: FairRules, order: ShotOrder) -> FairMark | None:
    """What one other shot at this build says against `fact`, if anything."""
    if other.struck or other.purpose in ("let_down", "speed_only") or other.hit in ("missed", "spoiled"):
        return None
    earlier = order.earlier(other, fact)
    if earlier is False:
        return None
    if other.hit is None:
        when = "before it" if earlier else "of about the same time"
        return FairMark(NOT_KNOWN, f"{other.label} {when} is not read yet", "unread")
    near = _too_near(fact, other, rules)
    if near is None:
        return None
    if earlier is None:
        return FairMark(NOT_KNOWN, f"nobody knows whether {other.label} came before it: {near.reason}", "order")
    return near


def _too_near(fact: ShotFact, other: ShotFact, rules: FairRules) -> FairMark | None:
    low = rules.reach_of(other.outcome_low if other.outcome_low is not None else 2)
    high = rules.reach_of(other.outcome_high if other.outcome_high is not None else 2)
    if other.hit == "partial" and other.x_m is None:
        return None  # it clipped the edge somewhere; what lies that near the edge is not fair anyhow
    if max(low, high) == 0:
        return None
    if None in (other.x_m, other.y_m, fact.x_m, fact.y_m):
        return FairMark(NOT_KNOWN, f"the place of {other.label} before it is not known", "place") if other.x_m is None else None
    assert fact.x_m is not None and fact.y_m is not None and other.x_m is not None and other.y_m is not None
    away = math.hypot(fact.x_m - other.x_m, fact.y_m - other.y_m)
    if _same_plate(fact, other):
        return FairMark(NOT_FAIR, f"same plate as {other.label}", "same_plate")
    if away < min(low, high) - rules.finger_m:
        near = "in an opened ring’s reach, " if fact.construction == "mail" and (other.outcome_low or 0) >= 3 else ""
        return FairMark(NOT_FAIR, f"{near}{_mm(away)} from {other.label}", "near")
    if away < max(low, high) + rules.finger_m:
        why = "nearer the limit than a finger’s error" if low == high else f"what {other.label} did is not settled"
        return FairMark(NOT_KNOWN, f"{_mm(away)} from {other.label}: {why}", "limit")
    return None


def _same_plate(fact: ShotFact, other: ShotFact) -> bool:
    """Small plates are told apart by what the reader called them, such as "row 3, plate 5"; distance says the rest."""
    if fact.construction not in SMALL_PLATED or not fact.plate or not other.plate:
        return False
    return fact.plate.casefold().split() == other.plate.casefold().split()


def _unsound(fact: ShotFact, flights: Sequence[ShotFact], checks: Sequence[ArrowCheck], *, order: ShotOrder) -> str | None:
    """What was already wrong with the arrow when it was loosed, as somebody wrote it down."""
    before = [c for c in checks if c.at is not None and fact.loosed_at is not None and c.at <= fact.loosed_at]
    last = max(before, key=lambda c: c.at or 0, default=None)
    if last is not None and last.sound == "not_sound":
        return "arrow unsound: looked at and found not sound"
    for flight in flights:
        if flight is fact or not order.earlier(flight, fact):
            continue
        if last is not None and flight.loosed_at is not None and flight.loosed_at < (last.at or 0):
            continue  # somebody looked at it since and said sound
        hurt = [HEAD_FATES[f].lower() for f in flight.head_fate if f != "sound"] + [SHAFT_FATES[f].lower() for f in flight.shaft_fate if f != "sound"]
        if hurt:
            return f"arrow unsound: {', '.join(hurt)} at {flight.label}"
    return None


def _nearest(fact: ShotFact, others: Sequence[ShotFact], order: ShotOrder) -> str:
    if fact.x_m is None or fact.y_m is None:
        return "nothing stood against it"
    placed = [
        (math.hypot(fact.x_m - o.x_m, fact.y_m - o.y_m), o.label)
        for o in others
        if o is not fact and o.hit == "fair_target" and o.x_m is not None and o.y_m is not None and order.earlier(o, fact)
    ]
    if not placed:
        return "first hit on this build"
    away, label = min(placed)
    return f"{_mm(away)} from {label}, the nearest"


def _mm(metres: float) -> str:
    return f"{metres * 1000:.0f}\u00a0mm"
