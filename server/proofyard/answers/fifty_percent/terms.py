"""Angle, nearness to an earlier hit and where it went in, beside the energy: how each changes the 50 % energy."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.shot import ALL_ENTRIES
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.fair_hits import ShotOrder
from proofyard.statistics.heads_by_curve import fit_with_terms
from proofyard.views.cells import CountedShot
from proofyard.wording.reasons.said import said

STEP_DEG, STEP_MM = 10.0, 10.0


def terms_told(shots: Sequence[CountedShot], wanted: Sequence[str], *, nearest_m: Mapping[str, float | None]) -> tuple[Reason, ...]:
    """What each term does, or why it can't be told; over the shots whose answer is settled.

    nearest_m  shot id -> how far the nearest earlier hit is
    """
    terms: dict[str, list[float | None]] = {}
    note = []
    if "angle" in wanted:
        terms[said(because("term_angle", step_deg=STEP_DEG))] = [_angle(one) for one in shots]
    if "near" in wanted:
        terms[said(because("term_near", step_mm=STEP_MM))] = [_near(one, nearest_m) for one in shots]
    if "entry" in wanted:
        ways = _entries(shots)
        terms |= ways
        note = [] if ways else [because("one_entry_only")]
    if not terms:
        return tuple(note)
    energies = [one.energy.value if one.energy else None for one in shots]
    found = fit_with_terms(energies, [int(one.through_low) for one in shots], terms=terms)
    if isinstance(found, CantTell):
        return *note, because("not_worked_out", why=found.reason)
    told = [because("term_told", term=one.name, times=one.energy_factor, low=one.energy_low, high=one.energy_high) for one in found.terms]
    return *told, *note, because("terms_rest_on", shots=found.shots, left_out=found.left_out)


def _angle(one: CountedShot) -> float | None:
    """As read where it hit, else as the panel stood."""
    fact = one.shot.fact
    angle = fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad
    return None if angle is None else abs(math.degrees(angle)) / STEP_DEG


def _near(one: CountedShot, nearest_m: Mapping[str, float | None]) -> float | None:
    away = nearest_m.get(one.shot.fact.shot_id)
    return None if away is None else away * 1000 / STEP_MM


def _entries(shots: Sequence[CountedShot]) -> dict[str, list[float | None]]:
    """A term for each where it went in but the commonest; shots whose entry is not recorded, or can’t be told, have none."""
    entries = [one.shot.fact.entry for one in shots]
    known = Counter(entry for entry in entries if entry in ALL_ENTRIES and entry != "cant_tell")
    if len(known) < 2:
        return {}
    commonest, *others = (entry for entry, _ in known.most_common())
    return {
        said(because("term_entry", entry=other, usual=commonest)): [float(entry == other) if entry in known else None for entry in entries]
        for other in others
    }


def nearest_earlier_m(facts: Sequence[ShotFact]) -> Mapping[str, float | None]:
    """Shot id -> metres, or None: the first on its build, a place not known, or nobody knows which of two came first.

    `facts`: every shot at their panel builds. A hit whose place isn't known leaves those after it without an answer:
    it may be the nearest.
    """
    order = ShotOrder(facts)
    at_build: dict[str, list[ShotFact]] = {}
    for fact in facts:
        if not fact.voided and fact.purpose not in ("let_down", "speed_only") and fact.hit not in ("missed", "spoiled"):
            at_build.setdefault(fact.panel_build_id, []).append(fact)
    return {fact.shot_id: _nearest(fact, others, order) for others in at_build.values() for fact in others if fact.hit == "on_panel"}


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
