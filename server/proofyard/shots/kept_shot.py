"""A shot out of what is kept of it, and what is kept of a shot: the two ways between figures and a row of `cache_shot`."""

from collections.abc import Mapping
from functools import lru_cache
from sys import intern
from typing import Any

from proofyard.quantities import Uncertain
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.cache_text import as_text, of_text, packed, unpacked
from proofyard.shots.fair_hits import FairMark
from proofyard.shots.impact import Impact
from proofyard.shots.loosed import LoosedShot

_SCOPES = ("instrument", "combination", "shot")
_ENERGIES = {place: tuple(f"{place}_{end}" for end in ("j", "u_j", "dof", "n")) for place in ("chronograph", "target")}
_PARTS = tuple(f"target_{scope}_u_j" for scope in _SCOPES)
READ = (
    "shot_id",
    "panel_build_id",
    "arrow_build_id",
    "basis",
    "speed_m_s",
    "drag_fitted",
    "target_speed_m_s",
    "mass_kg",
    *_ENERGIES["chronograph"],
    *_ENERGIES["target"],
    *_PARTS,
    "fair_answer",
    "fair_sort",
    "fair",
    "impact",
)
# Made whole again, and held for who asks twice: at most some 50 and 20 MB, however many shots a process remembers.
_whole_impact = lru_cache(maxsize=8_192)(unpacked)
_whole_mark = lru_cache(maxsize=32_768)(of_text)


class LoosedAndKept(LoosedShot):
    """A shot out of what is kept: its figures and its mark are made whole once somebody asks for more than pages ask of every shot."""

    __slots__ = (
        "fact",
        "basis",
        "measured",
        "speed_m_s",
        "target_speed_m_s",
        "mass_kg",
        "fair_answer",
        "fair_sort",
        "drag_fitted",
        "_at_chronograph",
        "_at_target",
        "_parts",
        "_fair",
        "_impact",
    )
    _at_chronograph: Uncertain | None
    _at_target: Uncertain | None
    _parts: tuple[float, float, float] | None
    _fair: str | None
    _impact: bytes

    def __init__(self, fact: ShotFact, impact: Any, fair: FairMark | None = None) -> None:
        """impact: the kept row, in the order of READ, which holds the mark too; or figures, and beside them a mark."""
        if isinstance(impact, Impact):
            row = row_of(fact, figures_of(impact), fair)
            impact = tuple(row[name] for name in READ)
        _, _, _, basis, speed, fitted, target_speed, mass, j, u_j, dof, n, t_j, t_u_j, t_dof, t_n, *parts, answer, sort, mark, whole = (
            impact
        )
        known = (
            fact,
            intern(basis),
            j is not None,
            speed,
            target_speed,
            mass,
            answer and intern(answer),
            sort and intern(sort),
            None if fitted is None else bool(fitted),
            None if j is None else Uncertain(j, u_j, dof, n),
            None if t_j is None else Uncertain(t_j, t_u_j, t_dof, t_n),
            None if parts[2] is None else tuple(parts),
            mark,
            whole,
        )
        for put, value in zip(_SETTERS, known, strict=True):
            put(self, value)

    def _otherwise(self, **said: Any) -> "LoosedAndKept":
        """The same shot, these slots otherwise."""
        other = object.__new__(LoosedAndKept)
        for name, put in zip(LoosedAndKept.__slots__, _SETTERS, strict=True):
            put(other, said[name] if name in said else getattr(self, name))
        return other

    def of_fact(self, fact: ShotFact) -> "LoosedAndKept":
        """The same figures and mark, of a shot whose names or words were changed."""
        return self._otherwise(fact=fact)

    def with_mark(self, fair: FairMark) -> "LoosedAndKept":
        return self._otherwise(_fair=as_text(fair), fair_answer=fair.answer, fair_sort=fair.sort)

    @property
    def impact(self) -> Impact:
        found: Impact = _whole_impact(self._impact)
        return found

    @property
    def fair(self) -> FairMark | None:
        if self._fair is None:
            return None
        found: FairMark = _whole_mark(self._fair)
        return found

    def energy_at(self, place: str) -> Uncertain | None:
        return self._at_target if place == "target" else self._at_chronograph

    def has_energy_at(self, place: str) -> bool:
        return self.energy_at(place) is not None

    def parts_at_target(self) -> tuple[float, Mapping[str, float]] | None:
        parts = self._parts
        return None if parts is None or self._at_target is None else (self._at_target.value, dict(zip(_SCOPES, parts, strict=True)))


_SETTERS = tuple(getattr(LoosedAndKept, name).__set__ for name in LoosedAndKept.__slots__)


def row_of(fact: ShotFact, figures: Mapping[str, Any], fair: FairMark | None) -> dict[str, Any]:
    """What is kept of a shot, by the names of its columns. `figures`: as `figures_of` gives them."""
    return {
        **{name: getattr(fact, name) for name in _OF_THE_FACT},
        **figures,
        "stale": 0,
        "voided": int(fact.voided),
        "fair_answer": fair.answer if fair else None,
        "fair_sort": fair.sort if fair else None,
        "fair": as_text(fair) if fair else None,
    }


def figures_of(impact: Impact) -> dict[str, Any]:
    """Of a shot's figures what is kept, by the names of its columns."""
    there = impact.at_target
    parts = there.budget.by_scope if there and not there.missing else {}
    row: dict[str, Any] = {}
    for place, names in _ENERGIES.items():
        one = impact.energy_at(place)
        row |= dict(zip(names, (one.value, one.standard_uncertainty, one.dof, one.n) if one else (None,) * 4, strict=True))
    return row | {
        "basis": impact.basis,
        "speed_m_s": impact.speed.value if impact.speed else None,
        "drag_fitted": int(there.drag.fitted) if there else None,
        "target_speed_m_s": there.speed_m_s if there else None,
        "mass_kg": impact.mass.value if impact.mass else None,
        **{name: parts.get(scope) for scope, name in zip(_SCOPES, _PARTS, strict=True)},
        "impact": packed(impact),
    }


_OF_THE_FACT = (
    "shot_id",
    "panel_build_id",
    "arrow_build_id",
    "combination_id",
    "setup_id",
    "session_id",
    "trial_id",
    "form",
    "construction",
    "thickness_m",
    "purpose",
    "hit",
    "outcome_low",
    "outcome_high",
)
