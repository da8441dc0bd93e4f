"""The invented model that the demo's outcomes are drawn from. Evidence of nothing; see README.md."""

import math
import random
from dataclasses import dataclass

SEED = 20261010
SLOPE = 9.0  # of ln energy
WEAR_PER_HIT = 0.03
NEAR_OLD_HIT_M, NEAR_OLD_HIT_FACTOR = 0.045, 0.8
# Half get a point through at so many joules: (construction, thickness in mm or None, head form).
FIFTY_PERCENT_J = {
    ("plate", 1.2, "needle"): 86.0,
    ("plate", 1.2, "short_bodkin"): 80.0,
    ("plate", 1.2, "leaf"): 108.0,
    ("plate", 1.2, "barbed"): 150.0,
    ("plate", 1.6, "needle"): 98.0,
    ("plate", 1.6, "short_bodkin"): 90.0,
    ("plate", 1.6, "leaf"): 140.0,
    ("plate", 1.6, "barbed"): 190.0,
    ("mail", None, "needle"): 70.0,
    ("mail", None, "short_bodkin"): 92.0,
    ("mail", None, "leaf"): 96.0,
    ("mail", None, "barbed"): 130.0,
    ("scale", None, "needle"): 84.0,
    ("scale", None, "short_bodkin"): 95.0,
    ("scale", None, "leaf"): 120.0,
    ("scale", None, "barbed"): 155.0,
}
NO_MARK_BELOW, MARKED_BELOW, DENTED_BELOW = 0.30, 0.50, 0.75
DEPTH_M, DEPTH_LEAST_M = 0.090, 0.004
# Shares of shots.
MISSES, PARTIALS, SPOILED, SHORT_DRAWS = 0.03, 0.025, 0.015, 0.025
SHAFT_BREAKS, POINT_CURLS, HEAD_OFF, BOUNCES = 0.10, 0.16, 0.05, 0.12
SPEED_READ_ON_SHOT, SPEED_MISREAD = 0.72, 0.03
SPEED_SCATTER_M_S, MASS_SCATTER_KG, AIM_SCATTER_M = 0.55, 0.00005, 0.014


@dataclass(frozen=True)
class BowModel:
    """Stored energy and virtual mass: v = sqrt(2 W / (m + K))."""

    stored_j: float
    virtual_kg: float

    def speed_m_s(self, mass_kg: float) -> float:
        return math.sqrt(2 * self.stored_j / (mass_kg + self.virtual_kg))


@dataclass(frozen=True)
class Outcome:
    outcome_level: int
    depth_m: float | None


def draw_outcome(
    rng: random.Random, *, energy_j: float, fifty_percent_j: float, hits: int, angle_rad: float, near_old_hit: bool, tip_to_widest_m: float
) -> Outcome:
    """One outcome of the stated model."""
    half = fifty_percent_j * (1 + WEAR_PER_HIT * hits) * (NEAR_OLD_HIT_FACTOR if near_old_hit else 1.0)
    u = min(max(rng.random(), 1e-9), 1 - 1e-9)
    r = energy_j * math.cos(angle_rad) / half * math.exp(math.log(u / (1 - u)) / SLOPE)
    if r < 1:
        return Outcome(0 if r < NO_MARK_BELOW else 1 if r < MARKED_BELOW else 2 if r < DENTED_BELOW else 3, None)
    depth = round(DEPTH_M * (r - 1) + DEPTH_LEAST_M, 3)
    return Outcome(5 if depth > tip_to_widest_m else 4, depth)


def back_face_mm(energy_j: float, *, rigid: bool) -> int:
    """How far the back of a panel that held went into the clay: invented, like all here, and drawn from no dice."""
    return round(2 + energy_j * (0.09 if rigid else 0.21))
