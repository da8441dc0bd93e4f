"""May a hit be counted as one on a fresh panel: fair, not fair, or not known, with the reason in words.

It rests only on what was so before the arrow struck, never on how the hit turned out. Earlier hits count per panel
build, across trials. An archer may overrule; that is stored, the mark itself is worked out each time.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from server.findings.fair_rules import FairRules, rules_of
from server.findings.hit_neighbours import RUNG_UNSAID, SLACK_M, HitNeighbours, plate_called
from server.findings.panel_edge import from_edge_m
from server.findings.shot_order import ShotOrder
from server.records.arrow import ArrowCheck
from server.records.listing import all_of
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
    hurt: dict[str, list[tuple[ShotFact, str]]] = {}
    for fact in facts:
        by_build.setdefault(fact.panel_build_id, []).append(fact)
        if words := _hurt(fact):
            hurt.setdefault(fact.arrow_build_id, []).append((fact, words))
    checked: dict[str, list[ArrowCheck]] = {}
    for check in checks:
        checked.setdefault(check.arrow_build_id, []).append(check)
    at_build = {build: HitNeighbours(shots) for build, shots in by_build.items()}
    marks = {}
    for fact in facts:
        if fact.hit == "fair_target" and fact.purpose == "counted":
            rules = rules_of(trials.get(fact.trial_id), fact.construction)
            arrow = fact.arrow_build_id
            unsound = _unsound(fact, hurt.get(arrow, ()), checked.get(arrow, ()), order=order)
            mark = _mark(fact, at_build[fact.panel_build_id], rules=rules, order=order, unsound=unsound)
            marks[fact.shot_id] = _overruled(fact, mark)
    return marks


def _overruled(fact: ShotFact, mark: FairMark) -> FairMark:
    if fact.fair_overrule is None:
        return mark
    reason = f"overruled: {fact.fair_reason or 'no reason given'}"
    worked_out = f"{mark.answer}: {mark.reason}"
    return replace(mark, answer=fact.fair_overrule, reason=reason, sort="overruled", overruled=True, worked_out=worked_out)


def _mark(
    fact: ShotFact, others: HitNeighbours, *, rules: FairRules, order: ShotOrder, unsound: str | None
) -> FairMark:
    """One reason against is enough; one thing unknown is enough to say so; else the nearest earlier hit is named."""
    if unsound:
        return FairMark(NOT_FAIR, unsound, "arrow")
    if "panel_edge" in (fact.way_in, fact.touched_first):
        return FairMark(NOT_FAIR, "panel edge", "edge")
    if "old_hit" in (fact.way_in, fact.touched_first):
        return FairMark(NOT_FAIR, "went in at an old hit", "old_hit")
    edge = _edge(fact, rules)
    if edge and edge.answer == NOT_FAIR:
        return edge
    against = _hits_against(fact, others, rules=rules, order=order)
    if against and (against.answer == NOT_FAIR or not edge):
        return against
    if edge:
        return edge
    if fact.may_be_shot_id:
        label = others.label_of(fact.may_be_shot_id, otherwise="another shot")
        return FairMark(NOT_KNOWN, f"may be the hit of {label}", "either")
    return FairMark(FAIR, _nearest(fact, others, order))


def _hits_against(
    fact: ShotFact, others: HitNeighbours, *, rules: FairRules, order: ShotOrder
) -> FairMark | None:
    """The first of the other shots to say "not fair"; if none does, the first that leaves it not known."""
    unknown: tuple[int, FairMark] | None = None
    for place, other in others.near(fact, rules):
        found = _against(fact, other, rules=rules, order=order)
        if found and found.answer == NOT_FAIR:
            return found
        if found and unknown is None:
            unknown = place, found
    for place, other in others.silent:  # not read or not placed: they can leave it open, never say no
        if other is fact:
            continue
        if unknown is not None and place > unknown[0]:
            break
        found = _against(fact, other, rules=rules, order=order)
        if found:
            return found
    return unknown[1] if unknown else None


def _edge(fact: ShotFact, rules: FairRules) -> FairMark | None:
    if fact.x_m is None or fact.y_m is None:
        return FairMark(NOT_KNOWN, "its place is not known", "place")
    inside = from_edge_m((fact.x_m, fact.y_m), fact.panel_outline, width_m=fact.panel_width_m, height_m=fact.panel_height_m)
    if inside is None:
        return None  # the panel's size was not written down, so the edge says nothing
    if inside < rules.near_edge_m - rules.finger_m:
        return FairMark(NOT_FAIR, f"{_mm(max(inside, 0.0))} from the panel’s edge", "edge")
    if inside < rules.near_edge_m + rules.finger_m:
        return FairMark(NOT_KNOWN, f"{_mm(inside)} from the panel’s edge: nearer the limit than a finger’s error", "edge_limit")
    return None


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
    low = rules.reach_of(RUNG_UNSAID if other.outcome_low is None else other.outcome_low)
    high = rules.reach_of(RUNG_UNSAID if other.outcome_high is None else other.outcome_high)
    if other.hit == "partial" and other.x_m is None:
        return None  # it clipped the edge somewhere; what lies that near the edge is not fair anyhow
    if max(low, high) == 0:
        return None
    if None in (other.x_m, other.y_m, fact.x_m, fact.y_m):
        return FairMark(NOT_KNOWN, f"the place of {other.label} before it is not known", "place") if other.x_m is None else None
    assert fact.x_m is not None and fact.y_m is not None and other.x_m is not None and other.y_m is not None
    away = math.hypot(fact.x_m - other.x_m, fact.y_m - other.y_m)
    if plate_called(fact) and plate_called(fact) == plate_called(other):
        return FairMark(NOT_FAIR, f"same plate as {other.label}", "same_plate")
    if away < min(low, high) - rules.finger_m:
        near = "in an opened ring’s reach, " if fact.construction == "mail" and (other.outcome_low or 0) >= 3 else ""
        return FairMark(NOT_FAIR, f"{near}{_mm(away)} from {other.label}", "near")
    if away < max(low, high) + rules.finger_m:
        why = "nearer the limit than a finger’s error" if low == high else f"what {other.label} did is not settled"
        return FairMark(NOT_KNOWN, f"{_mm(away)} from {other.label}: {why}", "limit")
    return None


def _hurt(flight: ShotFact) -> str:
    """What became of the arrow, in words; empty while nothing did."""
    hurt = [HEAD_FATES[f] for f in flight.head_fate if f != "sound"] + [SHAFT_FATES[f] for f in flight.shaft_fate if f != "sound"]
    return ", ".join(words.lower() for words in hurt)


def _unsound(
    fact: ShotFact, hurt: Sequence[tuple[ShotFact, str]], checks: Sequence[ArrowCheck], *, order: ShotOrder
) -> str | None:
    """What was already wrong with the arrow when it was loosed, as somebody wrote it down."""
    before = [c for c in checks if c.at is not None and fact.loosed_at is not None and c.at <= fact.loosed_at]
    last = max(before, key=lambda c: c.at or 0, default=None)
    if last is not None and last.sound == "not_sound":
        return "arrow unsound: looked at and found not sound"
    for flight, words in hurt:
        if flight is fact or not order.earlier(flight, fact):
            continue
        if last is not None and flight.loosed_at is not None and flight.loosed_at < (last.at or 0):
            continue  # somebody looked at it since and said sound
        return f"arrow unsound: {words} at {flight.label}"
    return None


def _nearest(fact: ShotFact, others: HitNeighbours, order: ShotOrder) -> str:
    if fact.x_m is None or fact.y_m is None:
        return "nothing stood against it"
    nearest: tuple[float, str] | None = None
    for about, other in others.outwards(fact):
        if nearest and about > nearest[0] + SLACK_M:
            break  # of two that lie equally near, the first by its label
        if other.hit == "fair_target" and other.x_m is not None and other.y_m is not None and order.earlier(other, fact):
            one = math.hypot(fact.x_m - other.x_m, fact.y_m - other.y_m), other.label
            nearest = min(nearest, one) if nearest else one
    return f"{_mm(nearest[0])} from {nearest[1]}, the nearest" if nearest else "first hit on this build"


def _mm(metres: float) -> str:
    return f"{metres * 1000:.0f}\u00a0mm"
