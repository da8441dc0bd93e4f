"""Days at an invented range whose truth the book never gets: a hidden armour decides each shot, and what a logger would type is stored.

    truth = Truth({"needle": 62.0, "leaf": 95.0}, slope=10)     # 50 % energies at the panel, J
    day = shoot_day(book, truth, Plan(heads=("needle", "leaf")), seed=1)
    day.trial, day.session                                      # what pages are asked by; nothing of the truth is in the book

Every arrow flies with a true mass and speed of its own. The scale and the chronograph misread both; the air slows it by a formula of
this file; the armour lets it through by chance. Stored are the readings and what was seen, through the same door as a phone's. All is
invented.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from proofyard.records.devices import now_ms
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.trials_for_tests import SPOTS

HOUR_MS = 3_600_000
DISTANCE_M, CHRONOGRAPH_AT_M, SHAFT_M = 14.0, 2.0, 0.010
MASS_KG = 0.064
AIR_KG_M3, DRAG = 1.24, 1.95  # of a fletched shaft over its own section: invented within what such arrows have
SCALE_G, CHRONOGRAPH = 0.05, 0.002  # standard deviations: of a weighing, and of a speed over the speed


@dataclass(frozen=True)
class Truth:
    """What only the armour knows: at which energy half get through, by head, and how fast the log-odds rise with ln(energy)."""

    half_j: Mapping[str, float]
    slope: float

    def share_through(self, head: str, energy_j: float) -> float:
        return float(1 / (1 + (energy_j / self.half_j[head]) ** -self.slope))

    def outcome_level(self, head: str, energy_j: float, lots: np.random.Generator) -> str:
        """A level as it is read from behind: 4 or 5 is through, 1 to 3 held."""
        if lots.random() < self.share_through(head, energy_j):
            return str(lots.choice(["4", "5"]))
        return str(lots.choice(["1", "2", "3"]))


@dataclass(frozen=True)
class Plan:
    """What was set before the first shot: who shoots what. `speeds`: each bow's at the chronograph, m/s."""

    heads: tuple[str, ...]
    speeds: tuple[float, ...] = (44.0, 51.0, 58.0)
    arrows: int = 4
    shots_a_head: int = 21
    claim: Mapping[str, Any] | None = None  # of the bow numbered `claim_bow`
    claim_bow: int = 0
    varied: str = "head form"
    thickness: str = "1.6 mm"
    question: str = "Which of the two heads gets through 1.6 mm plate?"


@dataclass(frozen=True)
class InventedDay:
    """Where to look: ids alone."""

    trial: str
    session: str


@dataclass(frozen=True)
class _Arrow:
    head: str
    kit: kit.Arrow
    true_kg: float


def shoot_day(book: Storage, truth: Truth, plan: Plan, *, seed: int) -> InventedDay:
    """One day by this plan: heads in turn, each bow as often as the next, each spot once."""
    lots = np.random.default_rng(seed)
    scale = kit.scale(book, accuracy="0.1 g", accuracy_means="limit")
    chronograph = kit.chronograph(book)
    archer, stand = kit.archer(book, "Sorrel"), kit.stand(book)
    bows = [kit.bow(book, f"Elm {n}") for n in range(1, len(plan.speeds) + 1)]
    arrows = {head: [_arrow(book, head, n, scale, lots) for n in range(plan.arrows)] for head in plan.heads}
    shots = plan.shots_a_head * len(plan.heads)
    trial = kit.trial(book, plan.question, varied=plan.varied, through="4", stop_rule="shots", stop_shots=str(shots))
    if plan.claim:
        kit.put(book, "claim", {"trial": trial, "construction": "plate", "bow": bows[plan.claim_bow].bow, **plan.claim})
    session = kit.session(book, trial, temperature="11 °C", humidity="70 %")
    panels = [kit.panel(book, f"P{n + 1}", thickness=plan.thickness) for n in range(math.ceil(shots / len(SPOTS)))]
    where = {"stand_id": stand, "distance": f"{DISTANCE_M:g} m", "chronograph": chronograph, "chronograph_at": f"{CHRONOGRAPH_AT_M:g} m"}
    setups = [kit.setup(book, session, panel.build, **where) for panel in panels]
    began = now_ms() + HOUR_MS
    bodies, seen = [], []
    for nth in range(shots):
        head, round_ = plan.heads[nth % len(plan.heads)], nth // len(plan.heads)
        arrow, bow = arrows[head][round_ % plan.arrows], round_ % len(plan.speeds)
        loosed_at = began + nth * 300_000
        shooting_end = kit.shooting_end(book, setups[nth // len(SPOTS)], begun_at=loosed_at)
        by = {"bow_build": bows[bow].build, "arrow_build": arrow.kit.build, "archer": archer}
        bodies.append({"label": f"A{nth + 1}", "shooting_end": shooting_end, **by, "purpose": "counted", "loosed_at": loosed_at})
        seen.append(_flown(truth, arrow, plan.speeds[bow], lots))
    for nth, (shot, (speed, level)) in enumerate(zip(kit.put_all(book, [("shot", body) for body in bodies]), seen, strict=True)):
        x, y = SPOTS[nth % len(SPOTS)]
        kit.shot_speed(book, shot, speed)
        kit.reading(book, shot, outcome_low=level, outcome_high=level, x=f"{x} mm", y=f"{y} mm", place_known="yes", entry="plate")
    return InventedDay(trial, session)


def energy_at_panel_j(mass_kg: float, speed_m_s: float) -> float:
    """By this file's own air: what an arrow has left of its energy, from the chronograph to the panel."""
    slowing = AIR_KG_M3 * DRAG * math.pi * SHAFT_M**2 / 4 / (2 * mass_kg)
    return mass_kg / 2 * (speed_m_s * math.exp(-slowing * (DISTANCE_M - CHRONOGRAPH_AT_M))) ** 2


def _arrow(book: Storage, head: str, nth: int, scale: str, lots: np.random.Generator) -> _Arrow:
    true_g = float(1000 * lots.normal(MASS_KG, MASS_KG / 160))
    made = kit.arrow(book, f"{head[0].upper()}{nth + 1}", form=head, masses=(), diameter="10 mm", head_more={"name": f"{head} {nth + 1}"})
    for _ in range(3):
        kit.mass_reading(book, made.build, f"{true_g + lots.normal(0, SCALE_G):.1f} g", instrument=scale)
    return _Arrow(head, made, true_g / 1000)


def _flown(truth: Truth, arrow: _Arrow, speed_m_s: float, lots: np.random.Generator) -> tuple[str, str]:
    """A shot as the logger has it: the speed that the chronograph showed, and the level that was read."""
    true_m_s = float(speed_m_s * (1 + lots.normal(0, 0.012)))
    level = truth.outcome_level(arrow.head, energy_at_panel_j(arrow.true_kg, true_m_s), lots)
    return f"{true_m_s * (1 + lots.normal(0, CHRONOGRAPH)):.1f} m/s", level
