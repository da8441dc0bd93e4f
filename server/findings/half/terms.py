"""Angle, nearness to an earlier hit and way in, beside the energy: what one more of each asks of it."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.findings.cells import CountedShot
from server.records.shot import ALL_WAYS_IN
from server.statistics.heads_by_curve import CurveWithTerms, TermEffect, fit_with_terms
from server.statistics.refusals import CantTell

STEP_DEG, STEP_MM = 10.0, 10.0


@dataclass(frozen=True)
class TermsFound:
    """`lines`: what is said of each term. `why_not`: where nothing can be. `note`: what was asked and can't be part of it."""

    lines: tuple[str, ...]
    why_not: str
    note: str
    shots: int
    left_out: int


def terms_found(shots: Sequence[CountedShot], wanted: Sequence[str], *, nearest_m: Mapping[str, float | None]) -> TermsFound:
    """Over the shots whose answer is settled. `nearest_m`: shot id -> how far the nearest earlier hit is."""
    terms: dict[str, list[float | None]] = {}
    notes = []
    if "angle" in wanted:
        terms[f"{STEP_DEG:g}° more off square"] = [_angle(one) for one in shots]
    if "near" in wanted:
        terms[f"{STEP_MM:g} mm further from the nearest earlier hit"] = [_near(one, nearest_m) for one in shots]
    if "way" in wanted:
        ways = _ways(shots)
        terms |= ways
        if not ways:
            notes.append("Every shot here went in the same way, as far as anybody said, so the way in can’t be part of it.")
    if not terms:
        return TermsFound((), "", " ".join(notes), len(shots), 0)
    energies = [one.energy.value if one.energy else None for one in shots]
    found = fit_with_terms(energies, [int(one.through_low) for one in shots], terms=terms)
    if isinstance(found, CantTell):
        return TermsFound((), found.reason, " ".join(notes), len(shots), 0)
    return TermsFound(_lines(found), "", " ".join(notes), found.shots, found.left_out)


def _angle(one: CountedShot) -> float | None:
    """As read where it struck, else as the panel stood."""
    fact = one.shot.fact
    angle = fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad
    return None if angle is None else abs(math.degrees(angle)) / STEP_DEG


def _near(one: CountedShot, nearest_m: Mapping[str, float | None]) -> float | None:
    away = nearest_m.get(one.shot.fact.shot_id)
    return None if away is None else away * 1000 / STEP_MM


def _ways(shots: Sequence[CountedShot]) -> dict[str, list[float | None]]:
    """A term for each way in but the commonest; shots whose way nobody said, or could tell, have none."""
    said = [one.shot.fact.way_in for one in shots]
    known = Counter(way for way in said if way in ALL_WAYS_IN and way != "cant_tell")
    if len(known) < 2:
        return {}
    commonest, *others = (way for way, _ in known.most_common())
    return {
        f"in by {ALL_WAYS_IN[other].lower()} and not by {ALL_WAYS_IN[commonest].lower()}": [
            None if way not in known else float(way == other) for way in said
        ]
        for other in others
    }


def _lines(found: CurveWithTerms) -> tuple[str, ...]:
    return tuple(f"{one.name[:1].upper()}{one.name[1:]}: half get through at {_factor(one)}." for one in found.terms)


def _factor(one: TermEffect) -> str:
    low, high = one.energy_low, one.energy_high
    if low is None and high is None:
        return "an energy that may be any more or any less: the shots don’t tell"
    ends = f"{low:.2f} to {high:.2f}" if low is not None and high is not None else f"{low:.2f} or more" if low is not None else f"{high:.2f} or less"
    settled = (low is not None and low > 1) or (high is not None and high < 1)
    return f"{one.energy_factor:.2f} times the energy, may be {ends} (95\N{NO-BREAK SPACE}%){'' if settled else ', so it may do nothing'}"
